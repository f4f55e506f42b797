//! The freight trains of a session and of those that follow, with what each may carry.

use engineering::{
    ids::{StationId, TrackId},
    station::{Side, StationKind, TrackEnd, TrackUse},
};
use mechanical::{
    CarKind,
    tonnage::{Governs, RatedFor},
};
use model::{
    time::RailTime,
    units::{Actual, Weight},
};
use railroad::{Railroad, rating::train_limits};
use transportation::{StopWork, Train, TrainId, TrainKind, make_up::Allowed};

use crate::{
    routing::{Call, DAY, LegRoom, Run},
    town::end_toward,
};

/// Cars that any freight train takes.
pub(super) const ORDINARY: u32 = 1;
/// Cars that perishable trains take as well.
pub(super) const FAST: u32 = 2;

/// A train that carries freight.
pub(super) struct FreightTrain {
    pub id: TrainId,
    pub symbol: String,
    /// Where it works, in running order, its ends included.
    pub calls: Vec<Works>,
    /// What it may be from each call to the next.
    pub allowed: Vec<Allowed>,
    /// Length of its engines, and of its caboose.
    pub own: [Actual; 2],
    /// Whether it has a caboose: its weight, tons full size and by the reckoning that governs.
    pub caboose: Option<(f64, Weight)>,
    /// Its blocks, as its page names them.
    pub blocks: Vec<String>,
    pub made_up_on: Option<TrackId>,
    pub ends_on: Option<TrackId>,
    run: Run,
}

/// A train's work at a station.
pub(super) struct Works {
    pub station: StationId,
    pub arrive: RailTime,
    pub leave: RailTime,
    pub takes: bool,
    pub leaves: bool,
}

/// Lengths are counted in hundredths of an inch, tons in tenths, weights by rating in grams: what a car
/// takes is rounded up, what a train has room for down.
pub(super) fn size_up(value: f64) -> i64 {
    (value - 1e-6).ceil() as i64
}

fn room_down(value: Option<f64>) -> i64 {
    value.map_or(i64::MAX / 1_000_000, |value| {
        (value + 1e-6).floor().max(0.0) as i64
    })
}

/// Whether a station keeps cars from train to train.
pub(super) fn holds(railroad: &Railroad, station: StationId) -> bool {
    railroad.way.station(station).kind == StationKind::Yard
}

/// All trains that carry freight, in the order of their page.
pub(super) fn freight_trains(railroad: &Railroad) -> Vec<FreightTrain> {
    railroad
        .service
        .train_ids()
        .filter_map(|(id, train)| freight_train(railroad, id, train))
        .collect()
}

fn freight_train(railroad: &Railroad, id: TrainId, train: &Train) -> Option<FreightTrain> {
    let kind = train
        .kind
        .map_or(TrainKind::ThroughFreight, |kind| kind.value);
    let classes = match kind {
        TrainKind::Perishable => FAST,
        TrainKind::ThroughFreight | TrainKind::Local | TrainKind::Mixed | TrainKind::Transfer => {
            ORDINARY | FAST
        }
        TrainKind::Passenger
        | TrainKind::Express
        | TrainKind::Work
        | TrainKind::Helper
        | TrainKind::LightEngine => return None,
    };
    let find = |name: &model::Spanned<String>| railroad.way.find_station(&name.value);
    let from = find(train.from.as_ref()?)?;
    let to = find(train.to.as_ref()?)?;
    let leave = train.leave?.value;
    let mut calls = vec![Works {
        station: from,
        arrive: leave,
        leave,
        takes: true,
        leaves: false,
    }];
    let mut passes: Vec<Vec<StationId>> = vec![];
    let mut passed = vec![];
    let way = stations_of(railroad, train);
    let work_at = |station| {
        let stop = train
            .stops
            .iter()
            .find(|stop| stop.station.as_ref().and_then(find) == Some(station))?;
        let does = |wanted: StopWork| {
            stop.work
                .iter()
                .any(|work| work.value == wanted || work.value == StopWork::Switch)
        };
        let (takes, leaves) = (does(StopWork::PickUp), does(StopWork::SetOut));
        let arrive = stop.arrive.or(stop.leave)?.value;
        let leave = stop.leave.or(stop.arrive)?.value;
        (takes || leaves).then_some((takes, leaves, arrive, leave))
    };
    for &station in way.iter().skip(1) {
        if station == to {
            break;
        }
        match work_at(station) {
            Some((takes, leaves, arrive, leave)) => {
                passes.push(std::mem::take(&mut passed));
                calls.push(Works {
                    station,
                    arrive,
                    leave,
                    takes,
                    leaves,
                });
            }
            None => passed.push(station),
        }
    }
    passes.push(passed);
    let arrive = train.arrive.map_or_else(
        || calls.last().map_or(leave, |call| call.leave),
        |arrive| arrive.value,
    );
    calls.push(Works {
        station: to,
        arrive,
        leave: arrive,
        takes: false,
        leaves: true,
    });
    let own = own_length(railroad, train);
    let caboose = caboose_weight(railroad, train);
    let allowed = allowed(railroad, id, train, &calls, &way);
    let track = |station, name: Option<&model::Spanned<String>>| {
        railroad.way.station(station).find_track(&name?.value)
    };
    let made_up_on = track(from, train.from_track.as_ref());
    let blocks: Vec<String> = train
        .blocks
        .iter()
        .map(|block| block.value.clone())
        .collect();
    let run = Run {
        calls: calls
            .iter()
            .enumerate()
            .map(|(at, call)| {
                let (around, barred) = if at == 0 || at + 1 == calls.len() {
                    (vec![], vec![])
                } else {
                    spurs(railroad, call.station, calls[at - 1].station)
                };
                Call {
                    station: call.station.index(),
                    arrive: call.arrive.seconds(),
                    leave: call.leave.seconds(),
                    takes: call.takes,
                    leaves: call.leaves,
                    around,
                    barred,
                }
            })
            .collect(),
        legs: allowed
            .iter()
            .zip(&passes)
            .enumerate()
            .map(|(at, (allowed, passes))| LegRoom {
                room: [
                    room_down(allowed.cars.map(f64::from)),
                    room_down(
                        allowed
                            .length
                            .map(|length| (length - own[0] - own[1]).inches() * 100.0),
                    ),
                    room_down(
                        allowed
                            .tons
                            .map(|tons| (tons - caboose.map_or(0.0, |of| of.0)) * 10.0),
                    ),
                    room_down(allowed.rated.map(|most| {
                        (most - caboose.map_or(Weight::ZERO, |of| of.1)).kg() * 1000.0
                    })),
                ],
                haul: miles(railroad, calls[at].station, passes, calls[at + 1].station) * HAUL,
                passes: passes.iter().map(|station| station.index()).collect(),
            })
            .collect(),
        blocks: blocks
            .iter()
            .filter_map(|block| railroad.way.find_station(block))
            .map(StationId::index)
            .collect(),
        classes,
        track: made_up_on.map(|track| track.index()),
    };
    Some(FreightTrain {
        id,
        symbol: train.symbol.value.clone(),
        ends_on: track(to, train.to_track.as_ref()),
        calls,
        allowed,
        own,
        caboose,
        blocks,
        made_up_on,
        run,
    })
}

/// What a mile costs a car, in the units of [`super`].
pub(super) const HAUL: i64 = 6;

/// Every station of a train's way, by its own stations and the lines between them.
fn stations_of(railroad: &Railroad, train: &Train) -> Vec<StationId> {
    let named: Vec<StationId> = train
        .times()
        .iter()
        .filter_map(|place| railroad.way.find_station(&place.station?.value))
        .collect();
    let mut all: Vec<StationId> = vec![];
    for &next in &named {
        if let Some(&last) = all.last()
            && let Some(between) = between(railroad, last, next)
        {
            all.extend(between);
        }
        all.push(next);
    }
    all
}

/// The stations between two of one line, in order.
fn between(railroad: &Railroad, from: StationId, to: StationId) -> Option<Vec<StationId>> {
    let (line, [a, b]) = railroad.way.lines().find_map(|(line, _)| {
        let on = railroad.way.line_stations(line);
        let place = |wanted| on.iter().position(|&one| one == wanted);
        Some((line, [place(from)?, place(to)?]))
    })?;
    let on = railroad.way.line_stations(line);
    Some(if a < b {
        on[a + 1..b].to_vec()
    } else {
        on[b + 1..a].iter().rev().copied().collect()
    })
}

/// Miles by the timetable between neighbours of a way; where two have no line in common, none.
fn miles(railroad: &Railroad, from: StationId, passes: &[StationId], to: StationId) -> i64 {
    let way: Vec<StationId> = std::iter::once(from)
        .chain(passes.iter().copied())
        .chain([to])
        .collect();
    let sum: f64 = way
        .windows(2)
        .filter_map(|pair| {
            railroad.way.lines().find_map(|(line, _)| {
                let mile = |station| railroad.way.station(station).mile(line);
                Some((mile(pair[0])? - mile(pair[1])?).abs())
            })
        })
        .sum();
    sum.round() as i64
}

/// Length of the engines, and of a caboose if it has one.
fn own_length(railroad: &Railroad, train: &Train) -> [Actual; 2] {
    let engines = train
        .engines
        .iter()
        .filter_map(|engine| railroad.roster.find_engine(&engine.value))
        .filter_map(|id| railroad.roster.engine(id).length)
        .map(|length| length.value)
        .sum();
    let caboose = cabooses(railroad)
        .map(|(_, length)| length)
        .reduce(Actual::max)
        .filter(|_| train.caboose);
    [engines, caboose.unwrap_or(Actual::ZERO)]
}

/// The cabooses in service and their lengths.
pub(super) fn cabooses(
    railroad: &Railroad,
) -> impl Iterator<Item = (mechanical::CarId, Actual)> + '_ {
    railroad
        .roster
        .car_ids()
        .filter(|(_, car)| {
            car.kind.is_some_and(|kind| kind.value == CarKind::Caboose)
                && car.state == mechanical::CarState::InService
        })
        .filter_map(|(id, car)| Some((id, car.length?.value)))
}

fn caboose_weight(railroad: &Railroad, train: &Train) -> Option<(f64, Weight)> {
    train.caboose.then(|| {
        let heaviest = cabooses(railroad)
            .map(|(id, _)| weights(railroad, id, false))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        heaviest.unwrap_or((0.0, Weight::ZERO))
    })
}

/// Tons full size, and weight by the reckoning that governs ratings. What the car record does not say is
/// that of the car that ratings are counted in.
pub(super) fn weights(railroad: &Railroad, id: mechanical::CarId, loaded: bool) -> (f64, Weight) {
    let car = railroad.roster.car(id);
    let share = railroad.tonnage.load;
    let light = car
        .light_weight
        .map_or(Weight::from_short_tons(22.0), |weight| weight.value);
    let load = car
        .capacity
        .filter(|_| loaded)
        .map_or(Weight::ZERO, |capacity| capacity.value * share);
    let full = light + load;
    let governs = match railroad.tonnage.governs {
        Governs::FullSize => full,
        // The model weighs the same loaded and empty.
        Governs::Model => car.weight.map_or_else(
            || railroad::rating::rating_car(railroad).model,
            |weight| weight.value,
        ),
    };
    (full.short_tons(), governs)
}

/// What a train may be from call to call.
fn allowed(
    railroad: &Railroad,
    id: TrainId,
    train: &Train,
    calls: &[Works],
    way: &[StationId],
) -> Vec<Allowed> {
    let length = train
        .max_length
        .map(|length| length.value)
        .or(railroad.identity.limits.train_length);
    let cars = train
        .max_cars
        .and_then(|cars| u32::try_from(cars.value).ok());
    let tons = train.max_tons.map(|tons| tons.value);
    let rated = rated(railroad, id, way);
    calls
        .windows(2)
        .map(|pair| {
            let place = |wanted| way.iter().position(|&station| station == wanted);
            let rated = match (place(pair[0].station), place(pair[1].station)) {
                (Some(from), Some(to)) if from < to => rated
                    .get(from..to)
                    .and_then(|steps| steps.iter().flatten().copied().reduce(Weight::min)),
                _ => None,
            };
            Allowed {
                cars,
                length,
                tons,
                rated,
            }
        })
        .collect()
}

/// For each step of a train's way the weight that its engines take over it.
fn rated(railroad: &Railroad, id: TrainId, way: &[StationId]) -> Vec<Option<Weight>> {
    let mut steps = vec![None; way.len().saturating_sub(1)];
    let Some(limits) = train_limits(railroad, id, None) else {
        return steps;
    };
    let Ok(taken) = limits.governing() else {
        return steps;
    };
    let car = railroad::rating::rating_car(railroad);
    let car = match limits.governs {
        Governs::Model => car.model,
        Governs::FullSize => car.full_size,
    };
    let state = match limits.rated_for {
        RatedFor::Starting => 0,
        RatedFor::Moving => 1,
    };
    let name = |station: StationId| railroad.way.station(station).name.value.as_str();
    for (leg, cars) in limits.legs.iter().zip(&taken.stretches) {
        for (stretch, cars) in leg.stretches.iter().zip(cars) {
            let place = |at: usize| leg.profile.places.get(at).map(|place| place.name.as_str());
            let step = way.windows(2).position(|pair| {
                Some(name(pair[0])) == place(stretch.leaves)
                    && Some(name(pair[1])) == place(stretch.reaches)
            });
            if let Some(step) = step {
                steps[step] = Some(car * f64::from(cars[state]));
            }
        }
    }
    steps
}

/// The one-ended tracks of a station that a train coming from another can work only by running around its
/// cars, because it meets the points first; and those it cannot work at all, because there is nothing to
/// run around by.
fn spurs(railroad: &Railroad, station: StationId, from: StationId) -> (Vec<usize>, Vec<usize>) {
    let page = railroad.way.station(station);
    let orientation = railroad.network.orientation(station);
    let Some(enter) =
        end_toward(railroad, station, from, true).and_then(|end| orientation.ends[end.index()])
    else {
        return (vec![], vec![]);
    };
    let joined = |track: TrackId| {
        page.switches
            .iter()
            .flat_map(|switch| &switch.diverging)
            .filter(|(one, _)| *one == track)
            .count()
    };
    let run_around = page.tracks().any(|(id, track)| {
        joined(id) >= 2
            && matches!(
                track.usage,
                TrackUse::Siding | TrackUse::Runaround | TrackUse::ArrivalDeparture
            )
    });
    let facing = page.switches.iter().enumerate().filter_map(|(at, switch)| {
        let on = switch.track?;
        let runs = orientation.tracks[on.index()];
        let toward: Side = match orientation.facing[at] {
            TrackEnd::To => runs,
            TrackEnd::From => runs.other(),
        };
        (toward == enter).then_some(switch)
    });
    let found: Vec<usize> = facing
        .flat_map(|switch| &switch.diverging)
        .map(|(track, _)| *track)
        .filter(|&track| joined(track) == 1 && page.track(track).usage != TrackUse::Main)
        .map(|track| track.index())
        .collect();
    if run_around {
        (found, vec![])
    } else {
        (vec![], found)
    }
}

impl FreightTrain {
    /// Its run on a day so many after the one billed.
    pub fn run(&self, day: u32) -> Run {
        let mut run = self.run.clone();
        for call in &mut run.calls {
            call.arrive += i64::from(day) * DAY;
            call.leave += i64::from(day) * DAY;
        }
        run
    }
}

#[cfg(test)]
mod tests {
    use railroad::{Folder, load};

    use super::*;

    /// At Tansy Bench the packing house opens toward the west and cold storage toward the east: a train meets the points of
    /// the one first or of the other, by the way it comes. The station's page says so of cold storage.
    #[test]
    fn a_spur_is_easy_from_one_side() {
        let railroad = load(&Folder::built_in("example").unwrap()).railroad;
        let trains = freight_trains(&railroad);
        let station = railroad.way.find_station("Tansy Bench").unwrap();
        let page = railroad.way.station(station);
        let around = |symbol: &str| -> Vec<&str> {
            let train = trains.iter().find(|train| train.symbol == symbol).unwrap();
            let run = train.run(0);
            let call = run
                .calls
                .iter()
                .find(|call| call.station == station.index())
                .unwrap();
            // There is a siding to run around by: nothing is out of reach.
            assert!(call.barred.is_empty());
            call.around
                .iter()
                .map(|&track| page.track(TrackId(track as u32)).name.value.as_str())
                .collect()
        };
        let (west, east) = (around("41"), around("42"));
        assert!(
            east.contains(&"packing house") && !east.contains(&"cold storage"),
            "{east:?}"
        );
        assert!(
            west.contains(&"cold storage") && !west.contains(&"packing house"),
            "{west:?}"
        );
    }

    /// Passenger trains and light engines carry no freight; perishable trains only what is fast.
    #[test]
    fn only_freight_trains_carry_freight() {
        let railroad = load(&Folder::built_in("example").unwrap()).railroad;
        let trains = freight_trains(&railroad);
        let symbols: Vec<&str> = trains.iter().map(|train| train.symbol.as_str()).collect();
        for none in ["3", "4", "5", "6", "21", "22", "51"] {
            assert!(!symbols.contains(&none), "{none}");
        }
        let two = trains.iter().find(|train| train.symbol == "2").unwrap();
        assert_eq!(two.run(0).classes, FAST);
        // It works where it is made up, at Kellander, and where it ends: at helpers' stops it does not.
        assert_eq!(two.calls.len(), 3);
        assert!(two.calls[1].takes && !two.calls[1].leaves);
    }
}
