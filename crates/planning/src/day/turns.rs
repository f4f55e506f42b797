//! Which trains are one train to the dispatcher, and which wait for each other's engines and crews.
//!
//! A train whose engine and cars stay together and go back as another train stands on its track all the
//! while: the two are one *chain*. Where only the engine or the crew goes over, the second train waits for
//! the first: a *hand-over*.

use std::collections::BTreeMap;

use engineering::{
    ids::StationId,
    station::{StationKind, TrackUse},
};
use mechanical::EngineKind;
use model::time::{RailSpan, RailTime};
use railroad::{Railroad, TrainWay, way_between};
use transportation::{Train, TrainId, TrainKind};

/// What passes from one train to another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Handed {
    /// An engine, by number.
    Engine(String),
    /// A helper, by number.
    Helper(String),
    /// A crew, by its job.
    Crew(String),
    /// People or cars.
    Connection,
}

/// When within a train's run something is given or taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Moment {
    /// On arriving at the call.
    Arrival(usize),
    /// On leaving the call.
    Leaving(usize),
}

/// One train waits for another.
#[derive(Debug, Clone, PartialEq)]
pub struct HandOver {
    /// What.
    pub what: Handed,
    /// Who gives it.
    pub from: TrainId,
    /// When.
    pub given: Moment,
    /// Who takes it.
    pub to: TrainId,
    /// When.
    pub taken: Moment,
    /// How long lies between.
    pub takes: RailSpan,
}

/// Chains and hand-overs of the trains that run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Turns {
    /// Every train that runs, in chains by time.
    pub chains: Vec<Vec<TrainId>>,
    /// For each pair of a chain how long lies between arriving and leaving, at least.
    pub between: BTreeMap<TrainId, RailSpan>,
    /// Hand-overs.
    pub hand_overs: Vec<HandOver>,
    /// Helpers that run light to where they are wanted next, or home.
    pub lights: Vec<Light>,
}

/// A helper running light: a train of its own, which no page has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Light {
    /// What it goes by in hand-overs: beyond the trains of the service.
    pub id: TrainId,
    /// The engine, by number.
    pub engine: String,
    /// Where it cuts off.
    pub from: StationId,
    /// Where it goes.
    pub to: StationId,
    /// When it is cut off by the timetable.
    pub at: RailTime,
}

/// One use of an engine.
struct Use {
    train: TrainId,
    at: RailTime,
    helper: bool,
    begin: Moment,
    end: Moment,
    /// Where it begins and where it ends.
    places: [StationId; 2],
    /// When it ends by the timetable.
    done: RailTime,
    /// Whether it is to go back light, whoever wants it.
    returns: bool,
}

/// Between cutting off and being ready to run light, and between coming light and being coupled on, whose
/// minutes are the train's own: common practice, no source.
const LIGHT_OFF: RailSpan = RailSpan::from_minutes(1);

/// Finds chains and hand-overs among the trains that run.
pub fn turns(railroad: &Railroad, ways: &[Option<TrainWay>], running: &[TrainId]) -> Turns {
    let service = &railroad.service;
    let operating = &service.operating;
    let mut turns = Turns::default();
    let mut next: BTreeMap<TrainId, TrainId> = BTreeMap::new();
    let mut uses: BTreeMap<&str, Vec<Use>> = BTreeMap::new();
    for &id in running {
        let train = service.train(id);
        let (Some(way), Some(leave)) = (&ways[id.index()], train.leave) else {
            continue;
        };
        let last = way.stations.len() - 1;
        for engine in &train.engines {
            uses.entry(&engine.value).or_default().push(Use {
                train: id,
                at: leave.value,
                helper: false,
                begin: Moment::Leaving(0),
                end: Moment::Arrival(last),
                places: [way.stations[0], way.stations[last]],
                done: train.arrive.map_or(leave.value, |arrive| arrive.value),
                returns: false,
            });
        }
        if let Some(helper) = &train.helper
            && let (Some(engine), Some(from), Some(to)) = (&helper.engine, &helper.from, &helper.to)
        {
            let place = |name: &str| {
                way.stations
                    .iter()
                    .position(|station| railroad.way.station(*station).name.value == name)
            };
            if let (Some(on), Some(off)) = (place(&from.value), place(&to.value)) {
                let at = train
                    .time_at(&from.value)
                    .map_or(leave.value, |(_, leave)| leave);
                uses.entry(&engine.value).or_default().push(Use {
                    train: id,
                    at,
                    helper: true,
                    begin: Moment::Leaving(on),
                    end: if off == last {
                        Moment::Arrival(off)
                    } else {
                        Moment::Leaving(off)
                    },
                    places: [way.stations[on], way.stations[off]],
                    done: train.time_at(&to.value).map_or(at, |(_, leave)| leave),
                    returns: helper.returns,
                });
            }
        }
    }
    for (engine, mut uses) in uses {
        uses.sort_by_key(|one| (one.at, one.train));
        for (at, first) in uses.iter().enumerate() {
            let second = uses.get(at + 1);
            // Home, or to where it is wanted next.
            let to = match second {
                Some(second) if first.helper || second.helper => Some(second.places[0]),
                None if first.returns => Some(first.places[0]),
                _ => None,
            };
            let light = to
                .filter(|to| *to != first.places[1])
                .filter(|to| way_between(railroad, first.places[1], *to).is_some());
            if let Some(to) = light {
                let id = TrainId((service.trains.len() + turns.lights.len()) as u32);
                turns.lights.push(Light {
                    id,
                    engine: engine.to_owned(),
                    from: first.places[1],
                    to,
                    at: first.done,
                });
                turns.hand_overs.push(HandOver {
                    what: Handed::Engine(engine.to_owned()),
                    from: first.train,
                    given: first.end,
                    to: id,
                    taken: Moment::Leaving(0),
                    takes: LIGHT_OFF,
                });
                if let Some(second) = second {
                    let arrives = way_between(railroad, first.places[1], to)
                        .map_or(0, |way| way.stations.len() - 1);
                    turns.hand_overs.push(HandOver {
                        what: if second.helper {
                            Handed::Helper(engine.to_owned())
                        } else {
                            Handed::Engine(engine.to_owned())
                        },
                        from: id,
                        given: Moment::Arrival(arrives),
                        to: second.train,
                        taken: second.begin,
                        takes: LIGHT_OFF,
                    });
                }
                continue;
            }
            let Some(second) = second else { continue };
            if first.train == second.train {
                continue;
            }
            let (a, b) = (service.train(first.train), service.train(second.train));
            let whole = !first.helper && !second.helper;
            if whole
                && lies_over(railroad, a, b)
                && !next.contains_key(&first.train)
                && !next.values().any(|train| *train == second.train)
            {
                next.insert(first.train, second.train);
                let least = if a.engines.len() == 1 && is_motor(railroad, a) {
                    RailSpan::ZERO
                } else {
                    operating.crew_turn
                };
                turns.between.insert(second.train, least);
                continue;
            }
            let takes = match (first.helper || second.helper, is_motor(railroad, a)) {
                // Coupling on is part of the stop's own minutes.
                (true, _) | (_, true) => RailSpan::from_minutes(1),
                _ => operating.engine_turn,
            };
            turns.hand_overs.push(HandOver {
                what: if second.helper {
                    Handed::Helper(engine.to_owned())
                } else {
                    Handed::Engine(engine.to_owned())
                },
                from: first.train,
                given: first.end,
                to: second.train,
                taken: second.begin,
                takes,
            });
        }
    }
    crews(railroad, ways, running, &next, &mut turns);
    connections(railroad, ways, running, &mut turns);
    let begun: Vec<TrainId> = next.values().copied().collect();
    let lights = turns.lights.iter().map(|light| light.id);
    for id in running.iter().copied().chain(lights.collect::<Vec<_>>()) {
        if begun.contains(&id) {
            continue;
        }
        let mut chain = vec![id];
        while let Some(&after) = next.get(&chain[chain.len() - 1]) {
            chain.push(after);
        }
        turns.chains.push(chain);
    }
    turns
}

fn is_motor(railroad: &Railroad, train: &Train) -> bool {
    train.engines.iter().all(|number| {
        railroad
            .roster
            .find_engine(&number.value)
            .and_then(|id| railroad.roster.engine(id).kind)
            .is_some_and(|kind| kind.value == EngineKind::GasElectric)
    })
}

/// Whether a train stays on its track until it goes back as another.
fn lies_over(railroad: &Railroad, first: &Train, second: &Train) -> bool {
    let (Some(to), Some(from)) = (&first.to, &second.from) else {
        return false;
    };
    if to.value != from.value {
        return false;
    }
    let Some(station) = railroad.way.find_station(&to.value) else {
        return false;
    };
    let page = railroad.way.station(station);
    if let (Some(a), Some(b)) = (&first.to_track, &second.from_track) {
        return a.value == b.value;
    }
    let alone = matches!(
        first.kind.map(|kind| kind.value),
        Some(TrainKind::Helper | TrainKind::LightEngine)
    ) || is_motor(railroad, first);
    let stall = page
        .tracks
        .iter()
        .any(|track| track.usage == TrackUse::Engine);
    match page.kind {
        StationKind::Yard => false,
        _ => !(alone && stall),
    }
}

/// Crews that go from one train to another.
fn crews(
    railroad: &Railroad,
    ways: &[Option<TrainWay>],
    running: &[TrainId],
    next: &BTreeMap<TrainId, TrainId>,
    turns: &mut Turns,
) {
    let service = &railroad.service;
    for job in &service.jobs {
        if job.stands() {
            continue;
        }
        let mut trains: Vec<TrainId> = job
            .trains
            .iter()
            .filter_map(|name| service.find_train(&name.value))
            .filter(|id| running.contains(id))
            .collect();
        trains.sort_by_key(|id| service.train(*id).leave.map(|leave| leave.value));
        for pair in trains.windows(2) {
            let (Some(way), Some(_)) = (&ways[pair[0].index()], &ways[pair[1].index()]) else {
                continue;
            };
            if next.get(&pair[0]) == Some(&pair[1]) {
                continue;
            }
            turns.hand_overs.push(HandOver {
                what: Handed::Crew(job.name.value.clone()),
                from: pair[0],
                given: Moment::Arrival(way.stations.len() - 1),
                to: pair[1],
                taken: Moment::Leaving(0),
                takes: service.operating.crew_turn,
            });
        }
    }
}

fn connections(
    railroad: &Railroad,
    ways: &[Option<TrainWay>],
    running: &[TrainId],
    turns: &mut Turns,
) {
    let service = &railroad.service;
    for connection in &service.operating.connections {
        let train = |name: &Option<model::Spanned<String>>| {
            name.as_ref()
                .and_then(|name| service.find_train(&name.value))
                .filter(|id| running.contains(id))
        };
        let (Some(to), Some(from), Some(at)) = (
            train(&connection.train),
            train(&connection.waits_for),
            &connection.at,
        ) else {
            continue;
        };
        let place = |id: TrainId| {
            ways[id.index()].as_ref().and_then(|way| {
                way.stations
                    .iter()
                    .position(|station| railroad.way.station(*station).name.value == at.value)
            })
        };
        if let (Some(arrives), Some(leaves)) = (place(from), place(to)) {
            turns.hand_overs.push(HandOver {
                what: Handed::Connection,
                from,
                given: Moment::Arrival(arrives),
                to,
                taken: Moment::Leaving(leaves),
                takes: connection.minutes,
            });
        }
    }
}
