//! A railroad and its day's plan, as orders see them.

use std::collections::HashMap;

use engineering::ids::{OpenRef, StationId};
use model::time::{RailSpan, RailTime};
use railroad::Railroad;
use transportation::{
    DayPlan, TrainId,
    order::{District, DistrictNo, Place, PlaceNo, Run, Territory, Visit},
    rights::ScheduleTime,
};

use crate::day::{Day, Resource};

/// The territory of a plan: places and districts numbered as the stations and the districts of open
/// line, and the trains of the plan in its order; then the schedules that are annulled today.
///
/// The timetable shows times at every station a train passes: where its page has none, those of its
/// own running time from the last one shown.
pub fn territory(railroad: &Railroad, plan: &DayPlan) -> Territory {
    let way = &railroad.way;
    let places = way
        .stations()
        .map(|(_, station)| Place {
            name: station.name.value.clone(),
            office: station.office.as_ref().map(|office| {
                office
                    .hours
                    .unwrap_or([RailTime::MIDNIGHT, RailTime::from_hm(23, 59)])
            }),
            hands_out: station.office.is_none(),
        })
        .collect();
    let mut districts = Vec::new();
    let mut between: HashMap<(StationId, StationId), DistrictNo> = HashMap::new();
    for (id, open) in way.opens() {
        let [Some(low), Some(high)] = [open.ends[0].id, open.ends[1].id] else {
            continue;
        };
        let line = way.line(id.line);
        let superior_up = line
            .superior
            .as_ref()
            .is_none_or(|superior| superior.value == line.directions[1]);
        let number = DistrictNo(districts.len() as u32);
        for pair in [(low, high), (high, low)] {
            between.entry(pair).or_insert(number);
        }
        districts.push(District {
            ends: [PlaceNo(low.0), PlaceNo(high.0)],
            tracks: open.tracks.value,
            blocks: open.blocks,
            superior_up,
        });
    }
    let next = |calls: &[StationId], at: usize| {
        let (here, there) = (calls[at], *calls.get(at + 1)?);
        between.get(&(here, there)).copied()
    };
    let mut runs: Vec<Run> = plan
        .trains
        .iter()
        .map(|train| {
            let stations: Vec<StationId> = train.calls.iter().map(|call| call.station).collect();
            let shown = shown(train);
            Run {
                name: train.symbol.clone(),
                class: (!train.extra).then_some(u8::try_from(train.class).unwrap_or(u8::MAX)),
                visits: train
                    .calls
                    .iter()
                    .enumerate()
                    .map(|(at, call)| Visit {
                        place: PlaceNo(call.station.0),
                        due: if train.extra { None } else { shown[at] },
                        arrive: call.arrive,
                        leave: call.leave,
                        next: next(&stations, at),
                        stops: call.stops,
                    })
                    .collect(),
                runs: true,
                works: None,
            }
        })
        .collect();
    runs.extend(annulled(railroad, plan, &between));
    Territory {
        places,
        districts,
        runs,
    }
}

/// The territory of a solved day. A train leaves when it takes the open line, and has arrived when it is
/// off it: its rear may be in the
/// station while its head still runs to the end of its track, and one that is too long for the track it
/// stands on has not arrived until it goes on.
pub fn of_day(railroad: &Railroad, day: &Day) -> Territory {
    let mut territory = territory(railroad, &day.plan);
    let parts = &day.parts;
    let mut next: Vec<Option<i64>> = vec![None; day.problem.trains.len()];
    let mut on_and_off: HashMap<(usize, OpenRef), [i64; 2]> = HashMap::new();
    for event in day.solution.events.iter().rev() {
        let ends = next[event.train].replace(event.time);
        let part = parts
            .operations
            .get(event.train)
            .and_then(|operations| operations.get(event.operation));
        let (Some(ends), Some(part)) = (ends, part) else {
            continue;
        };
        let operation = &day.problem.trains[event.train].operations[event.operation];
        for used in &operation.resources {
            if let Some(Resource::Open { open, .. }) = parts.resources.get(used.resource) {
                let takes = parts.base + event.time;
                let clear = parts.base + ends + used.release_time;
                let [on, off] = on_and_off
                    .entry((part.train, *open))
                    .or_insert([takes, clear]);
                *on = takes.min(*on);
                *off = clear.max(*off);
            }
        }
    }
    for (train, way) in parts.ways.iter().enumerate() {
        let Some(run) = territory.runs.get_mut(train) else {
            continue;
        };
        for (at, (open, _)) in way.iter().enumerate() {
            let Some(&[on, off]) = on_and_off.get(&(train, *open)) else {
                continue;
            };
            if let Some(visit) = run.visits.get_mut(at) {
                visit.leave = RailTime::from_seconds(on);
            }
            if let Some(visit) = run.visits.get_mut(at + 1) {
                visit.arrive = RailTime::from_seconds(off);
            }
        }
    }
    territory
}

/// The railroad with some of its trains later than the timetable has them, so that a day can be planned
/// for them; the timetable itself is put right again by [`as_printed`].
pub fn with_late(railroad: &Railroad, late: &[(TrainId, RailSpan)]) -> Railroad {
    let mut later = railroad.clone();
    for &(id, span) in late {
        let train = &mut later.service.trains[id.index()];
        let shift = |time: &mut Option<model::Spanned<RailTime>>| {
            if let Some(time) = time {
                time.value += span;
            }
        };
        shift(&mut train.leave);
        shift(&mut train.arrive);
        for stop in &mut train.stops {
            shift(&mut stop.arrive);
            shift(&mut stop.leave);
        }
    }
    later
}

/// Gives late trains of a plan the times that the timetable shows.
pub fn as_printed(territory: &mut Territory, day: &Day, late: &[(TrainId, RailSpan)]) {
    for (run, train) in territory.runs.iter_mut().zip(&day.plan.trains) {
        let late = late.iter().find(|(id, _)| train.train == Some(*id));
        let Some((_, span)) = late else {
            continue;
        };
        for due in run.visits.iter_mut().filter_map(|visit| visit.due.as_mut()) {
            due.arrive -= *span;
            due.leave -= *span;
        }
    }
}

/// The times the timetable shows, per call.
fn shown(train: &transportation::TrainPlan) -> Vec<Option<ScheduleTime>> {
    let calls = &train.calls;
    let mut shown: Vec<Option<ScheduleTime>> = calls
        .iter()
        .map(|call| {
            let leave = call.due_leave.or(call.due_arrive)?;
            let arrive = call.due_arrive.unwrap_or(leave);
            Some(ScheduleTime { arrive, leave })
        })
        .collect();
    for at in 1..calls.len() {
        if shown[at].is_none()
            && let Some(before) = shown[at - 1]
        {
            let run = calls[at].arrive - calls[at - 1].leave;
            let minute = (before.leave + run).seconds().div_euclid(60) * 60;
            // Never past the next time the page gives.
            let next = calls[at..]
                .iter()
                .find_map(|call| call.due_arrive.or(call.due_leave));
            let time = RailTime::from_seconds(minute).max(before.leave);
            let time = next.map_or(time, |next| time.min(next));
            shown[at] = Some(ScheduleTime {
                arrive: time,
                leave: time,
            });
        }
    }
    shown
}

/// Schedules of the timetable that nobody runs today though their days would have it.
fn annulled(
    railroad: &Railroad,
    plan: &DayPlan,
    between: &HashMap<(StationId, StationId), DistrictNo>,
) -> Vec<Run> {
    let way = &railroad.way;
    let today = railroad.identity.date.map(|date| date.value.weekday());
    railroad
        .service
        .train_ids()
        .filter(|(id, train)| {
            let scheduled = today.is_none_or(|day| train.days.value.contains(day as u8));
            scheduled && !plan.trains.iter().any(|planned| planned.train == Some(*id))
        })
        .filter_map(|(_, train)| {
            let station =
                |name: &Option<model::Spanned<String>>| way.find_station(&name.as_ref()?.value);
            let (from, to) = (station(&train.from)?, station(&train.to)?);
            // The line on which both ends lie; a train that changes lines is not followed.
            let (line, _) = way.lines().find(|(line, _)| {
                let stations = way.line_stations(*line);
                stations.contains(&from) && stations.contains(&to)
            })?;
            let stations = way.line_stations(line);
            let (a, b) = (
                stations.iter().position(|&id| id == from)?,
                stations.iter().position(|&id| id == to)?,
            );
            let mut calls: Vec<StationId> = stations[a.min(b)..=a.max(b)].to_vec();
            if a > b {
                calls.reverse();
            }
            let visits = calls
                .iter()
                .enumerate()
                .map(|(at, &id)| {
                    let due = train
                        .time_at(&way.station(id).name.value)
                        .map(|(arrive, leave)| ScheduleTime { arrive, leave });
                    Visit {
                        place: PlaceNo(id.0),
                        due,
                        arrive: RailTime::MIDNIGHT,
                        leave: RailTime::MIDNIGHT,
                        next: calls
                            .get(at + 1)
                            .and_then(|&there| between.get(&(id, there)).copied()),
                        stops: false,
                    }
                })
                .collect();
            Some(Run {
                name: train.symbol.value.clone(),
                class: train.class.and_then(|class| u8::try_from(class.value).ok()),
                visits,
                runs: false,
                works: None,
            })
        })
        .collect()
}
