//! The answer of the engine as the plan of a day.

use std::collections::BTreeMap;

use dispatching::{Plan, reasons};
use engineering::ids::TrackRef;
use model::time::{RailSpan, RailTime};
use railroad::Railroad;
use transportation::day::{
    Call, DayPlan, Encounter, EncounterKind, Staged, TrainIndex, TrainPlan, Wait, encounters,
};

use super::{
    compile::{Compiled, Kind, Resource},
    legs::Leg,
    words,
};

/// The operations that each train of the problem runs, with their times, in order.
pub(super) fn courses(compiled: &Compiled, plan: &Plan) -> Vec<Vec<(usize, i64)>> {
    let mut courses = vec![Vec::new(); compiled.problem.trains.len()];
    for event in &plan.events {
        courses[event.train].push((event.operation, event.time));
    }
    courses
}

/// The plan of the day; reasons are put into words.
pub(super) fn read(railroad: &Railroad, compiled: &Compiled, legs: &[Leg], plan: &Plan) -> DayPlan {
    let courses = courses(compiled, plan);
    let mut trains: Vec<TrainPlan> = legs.iter().map(empty).collect();
    let time = |seconds: i64| RailTime::from_seconds(seconds + compiled.base);
    for (train, course) in courses.iter().enumerate().take(compiled.chains) {
        for (operation, at) in course {
            let tag = compiled.tags[train][*operation];
            let leg = &legs[tag.leg];
            let last = leg.way.stations.len() - 1;
            let call = &mut trains[tag.leg].calls[tag.call];
            match tag.kind {
                Kind::Stand => {
                    call.track = tag.track;
                    if tag.call > 0 {
                        call.arrive = time(at + tag.run_in);
                        call.leave = call.arrive;
                    }
                }
                Kind::Out if tag.call == 0 => {
                    call.track = tag.track;
                    call.arrive = time(*at);
                    call.leave = time(*at);
                }
                Kind::Open(0) => {
                    if tag.call > 0 {
                        call.leave = time(*at);
                        if !call.stops && call.leave < call.arrive {
                            call.arrive = call.leave;
                        }
                    }
                    call.leaves_by = tag.open_track;
                }
                _ => {}
            }
            if tag.call == last && tag.kind == Kind::Stand {
                call.leave = call.arrive;
            }
        }
    }
    let mut day = DayPlan {
        trains,
        staged: staged(compiled, legs, &courses),
        ..DayPlan::default()
    };
    for call in day.trains.iter_mut().flat_map(|train| &mut train.calls) {
        call.stops |= call.leave - call.arrive > RailSpan::from_seconds(SHORT);
    }
    let meets = encounters(&railroad.way, &day);
    for (train, calls) in meets.into_iter().enumerate() {
        for (call, meets) in calls.into_iter().enumerate() {
            day.trains[train].calls[call].meets = meets;
        }
    }
    waits(railroad, compiled, legs, plan, &courses, &mut day);
    day
}

/// How trains stand at first on tracks for several.
fn staged(compiled: &Compiled, legs: &[Leg], courses: &[Vec<(usize, i64)>]) -> Vec<Staged> {
    let mut rows: BTreeMap<TrackRef, Vec<(u32, TrainIndex)>> = BTreeMap::new();
    for (train, course) in courses.iter().enumerate().take(compiled.chains) {
        for (operation, _) in course {
            let tag = compiled.tags[train][*operation];
            let first = &compiled.problem.trains[train].operations[*operation];
            if tag.kind == Kind::Stand
                && tag.call == 0
                && first.start_ub == Some(0)
                && let (Some(track), Some(spot)) = (tag.track, tag.spot)
            {
                let track = TrackRef {
                    station: legs[tag.leg].way.stations[0],
                    track,
                };
                let row = rows.entry(track).or_default();
                row.push((spot[0], TrainIndex(tag.leg)));
            }
        }
    }
    rows.into_iter()
        .map(|(track, mut row)| {
            row.sort_unstable();
            Staged {
                track,
                order: row.into_iter().map(|(_, train)| train).collect(),
            }
        })
        .collect()
}

fn empty(leg: &Leg) -> TrainPlan {
    TrainPlan {
        train: leg.train,
        symbol: leg.symbol.clone(),
        class: leg.class,
        direction: leg.direction.clone(),
        superior_direction: leg.superior_direction,
        extra: leg.train.is_none(),
        calls: leg
            .way
            .stations
            .iter()
            .zip(&leg.asks)
            .map(|(station, ask)| Call {
                station: *station,
                track: None,
                leaves_by: None,
                arrive: RailTime::MIDNIGHT,
                leave: RailTime::MIDNIGHT,
                due_arrive: ask.due_arrive,
                due_leave: ask.due_leave,
                stops: ask.stops,
                work: ask.work,
                meets: Vec::<Encounter>::new(),
            })
            .collect(),
        waits: Vec::new(),
    }
}

/// Shorter waits than this are no waits to people, seconds.
const SHORT: i64 = 30;

fn waits(
    railroad: &Railroad,
    compiled: &Compiled,
    legs: &[Leg],
    plan: &Plan,
    courses: &[Vec<(usize, i64)>],
    day: &mut DayPlan,
) {
    let Ok(found) = reasons::explain(&compiled.problem, plan) else {
        return;
    };
    let time = |seconds: i64| RailTime::from_seconds(seconds + compiled.base);
    for wait in found {
        let tag = compiled.tags[wait.train.index][wait.operation];
        // An engine that stands until it is taken waits for nobody.
        if tag.kind == Kind::After
            || wait.length() < SHORT
            || tag.leg >= legs.len()
            || wait.chain.is_empty()
        {
            continue;
        }
        let leg = &legs[tag.leg];
        // A wait to come in is a wait on the line before.
        let station = leg.way.stations[tag.call];
        let mut chain = words::chain(railroad, compiled, legs, courses, &wait);
        if let Some(first) = in_the_way(railroad, compiled, legs, courses, &wait) {
            chain.insert(0, first);
        }
        let mut for_whom: Vec<TrainIndex> = Vec::new();
        for (_, leg) in &chain {
            if let Some(leg) = leg
                && !for_whom.contains(&TrainIndex(*leg))
            {
                for_whom.push(TrainIndex(*leg));
            }
        }
        let at_what = match wait.chain.first() {
            Some(reasons::Link::Cleared { resources, .. }) => resources
                .iter()
                .min_by_key(|name| (name.len(), name.as_str()))
                .cloned()
                .unwrap_or_default(),
            Some(reasons::Link::MayNotStand { holding, .. }) => {
                holding.first().cloned().unwrap_or_default()
            }
            None => String::new(),
        };
        let outside = matches!(tag.kind, Kind::Stand | Kind::In) && tag.call > 0;
        let costs = costs_time(leg, day, tag.leg, tag.call);
        day.trains[tag.leg].waits.push(Wait {
            station,
            outside,
            from: time(wait.from),
            until: time(wait.until),
            for_whom,
            at_what,
            chain: chain.into_iter().map(|(sentence, _)| sentence).collect(),
            by_timetable: false,
            costs,
        });
    }
    saw_bys(railroad, compiled, courses, day);
    scheduled(railroad, legs, day);
    for train in &mut day.trains {
        train.waits.sort_by_key(|wait| wait.from);
    }
}

/// Saw-bys, which take time: each as a wait for the other train.
fn saw_bys(
    railroad: &Railroad,
    compiled: &Compiled,
    courses: &[Vec<(usize, i64)>],
    day: &mut DayPlan,
) {
    let sawn: Vec<(usize, usize)> = courses
        .iter()
        .enumerate()
        .take(compiled.chains)
        .flat_map(|(train, course)| course.iter().map(move |(at, _)| compiled.tags[train][*at]))
        .filter(|tag| tag.kind == Kind::Sawn)
        .map(|tag| (tag.leg, tag.call))
        .collect();
    for &(train, call) in &sawn {
        let page = &day.trains[train].calls[call];
        let (station, from, until) = (page.station, page.arrive, page.leave);
        let other = sawn.iter().find(|(other, at)| {
            let there = &day.trains[*other].calls[*at];
            *other != train
                && there.station == station
                && there.arrive < until
                && from < there.leave
        });
        let Some(&(other, at)) = other else { continue };
        let both = from.max(day.trains[other].calls[at].arrive);
        let sentence = format!(
            "{} and {} saw by at {}, for neither fits the siding; it takes {}",
            day.trains[train].symbol,
            day.trains[other].symbol,
            railroad.way.station(station).name.value,
            words::minutes(until - both)
        );
        day.trains[train].waits.push(Wait {
            station,
            outside: false,
            from: both,
            until,
            for_whom: vec![TrainIndex(other)],
            at_what: "the saw-by".to_owned(),
            chain: vec![sentence],
            by_timetable: false,
            costs: false,
        });
    }
}

/// Whether the train waited for stands before the waiting one on a track for several, in words.
fn in_the_way(
    railroad: &Railroad,
    compiled: &Compiled,
    legs: &[Leg],
    courses: &[Vec<(usize, i64)>],
    wait: &reasons::Wait,
) -> Option<(String, Option<usize>)> {
    let tag = compiled.tags[wait.train.index][wait.operation];
    let (Some(track), Some(_)) = (tag.track, tag.spot) else {
        return None;
    };
    let Some(reasons::Link::Cleared { holder, .. }) = wait.chain.first() else {
        return None;
    };
    let operations = |train: usize, operation: usize| {
        &compiled.problem.trains[train].operations[operation].resources
    };
    // What it runs over on its way out.
    let out: Vec<usize> = courses[wait.train.index]
        .iter()
        .filter(|(operation, _)| {
            let one = compiled.tags[wait.train.index][*operation];
            (one.leg, one.call, one.kind) == (tag.leg, tag.call, Kind::Out)
        })
        .flat_map(|(operation, _)| operations(wait.train.index, *operation))
        .map(|used| used.resource)
        .collect();
    let station = legs[tag.leg].way.stations[tag.call];
    let stands = courses[holder.index].windows(2).find(|pair| {
        let ((operation, _), (_, until)) = (pair[0], pair[1]);
        let one = compiled.tags[holder.index][operation];
        one.kind == Kind::Stand
            && one.track == Some(track)
            && one.spot.is_some()
            && legs[one.leg].way.stations[one.call] == station
            && until > wait.from
            && operations(holder.index, operation).iter().any(|used| {
                out.contains(&used.resource)
                    && matches!(compiled.resources[used.resource], Resource::Stand { .. })
            })
    })?;
    // By the name under which it goes on.
    let other = compiled.tags[holder.index][stands[1].0].leg;
    let goes = RailTime::from_seconds(stands[1].1 + compiled.base);
    let sentence = format!(
        "{} stands behind {} on {}, which leaves at {}",
        legs[tag.leg].symbol,
        legs[other].symbol,
        words::track_at(railroad, station, track),
        words::time(railroad, goes)
    );
    Some((sentence, Some(other)))
}

/// Longer than this a train stands beyond its work before it is said to wait, seconds.
const STANDS: i64 = 120;

/// Waits that the timetable itself asks for: until the leaving time, for whom it meets or lets pass.
fn scheduled(railroad: &Railroad, legs: &[Leg], day: &mut DayPlan) {
    for (train, leg) in legs.iter().enumerate() {
        let last = leg.asks.len() - 1;
        for call in 1..last {
            let page = &day.trains[train].calls[call];
            let ready = page.arrive + RailSpan::from_seconds(leg.asks[call].dwell);
            let Some(due) = page.due_leave else { continue };
            if (due - ready).seconds() < STANDS || page.leave < due {
                continue;
            }
            let place = &railroad.way.station(page.station).name.value;
            let due_words = words::time(railroad, due);
            let symbol = &leg.symbol;
            let mut for_whom: Vec<TrainIndex> = Vec::new();
            let mut met: Vec<String> = Vec::new();
            for meet in &page.meets {
                let other = &day.trains[meet.other.0];
                // Those that came by after it was ready; others it did not wait for.
                let Some(there) = other
                    .call(page.station)
                    .filter(|there| there.leave >= ready)
                else {
                    continue;
                };
                for_whom.push(meet.other);
                let when = words::time(railroad, there.arrive.max(page.arrive));
                let class = match other.class.cmp(&leg.class) {
                    std::cmp::Ordering::Less => ", of higher class",
                    std::cmp::Ordering::Equal
                        if other.superior_direction && !leg.superior_direction =>
                    {
                        ", of the superior direction"
                    }
                    _ => "",
                };
                let verb = match meet.kind {
                    EncounterKind::Meet => "meets",
                    EncounterKind::Passed => "is passed by",
                    EncounterKind::Passes => "passes",
                };
                met.push(format!("{verb} {} at {when}{class}", other.symbol));
            }
            let mut chain = vec![format!(
                "{symbol} stands until its leaving time, {due_words}{}",
                if met.is_empty() {
                    ": the timetable has time to spare here".to_owned()
                } else {
                    format!("; it {}", met.join(" and "))
                }
            )];
            chain.extend(for_whom.iter().filter_map(|other| {
                let other = &day.trains[other.0];
                let written = leg.train.is_some_and(|id| {
                    railroad.service.train(id).meets.iter().any(|meet| {
                        meet.train.as_ref().is_some_and(|t| t.value == other.symbol)
                            && meet.at.as_ref().is_some_and(|at| at.value == *place)
                    })
                });
                written.then(|| {
                    format!(
                        "the timetable has {symbol} meet {} at {place}",
                        other.symbol
                    )
                })
            }));
            let wait = Wait {
                station: page.station,
                outside: false,
                from: ready,
                until: due.min(page.leave),
                for_whom,
                at_what: "its leaving time".to_owned(),
                chain,
                by_timetable: true,
                costs: false,
            };
            day.trains[train].waits.push(wait);
        }
    }
}

/// Whether a train is late at the next place where it is timed.
fn costs_time(leg: &Leg, day: &DayPlan, train: usize, call: usize) -> bool {
    leg.asks
        .iter()
        .enumerate()
        .skip(call)
        .find_map(|(at, ask)| ask.due_arrive.map(|due| (at, due)))
        .is_some_and(|(at, due)| day.trains[train].calls[at].arrive > due)
}
