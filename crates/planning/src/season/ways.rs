//! By which trains a car gets from any station to any other.
//!
//! The day's freight trains, over and over, are a network of stops in time. A car may ride a train from
//! a stop where it picks up to a later one where it sets out: that of its destination, or a yard or the
//! end of the run, where it waits for another train. For every stop and every destination the best
//! arrival is found by value iteration backward from the destination (Bellman); a car takes a train if
//! no later one brings it there sooner, every change of trains counting as some hours.
//!
//! Blocks are kept: a train with blocks carries a car to a change of trains only if one of its blocks
//! goes on from there by the same trains as the car, or is that of the place itself. Where no train's
//! blocks lead to a destination, they are set aside for it.

use engineering::{
    ids::StationId,
    station::{StationKind, TrackUse},
};
use railroad::Railroad;
use transportation::{StopWork, TrainId, TrainKind};

/// A day in seconds.
pub const DAY: i64 = 86_400;

/// What cars are carried by a train.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carries {
    /// Any.
    All,
    /// Only loads in reefers and stock cars.
    Perishable,
}

/// A freight train, as cars see it.
#[derive(Debug, Clone)]
pub struct FreightTrain {
    /// The train.
    pub train: TrainId,
    /// What it carries.
    pub carries: Carries,
    /// Whether it is there for the stations between.
    pub local: bool,
    /// Its calls, numbers in [`Ways::calls`], in running order.
    pub calls: Vec<usize>,
}

/// A stop at which a train picks up or sets out.
#[derive(Debug, Clone, Copy)]
pub struct Call {
    /// Number of the train in [`Ways::trains`].
    pub train: usize,
    /// Its place among the train's calls.
    pub nth: usize,
    /// Where.
    pub station: StationId,
    /// When it comes, seconds of the day.
    pub arrive: i64,
    /// When it goes.
    pub leave: i64,
    /// Whether it takes cars.
    pub takes: bool,
    /// Whether it leaves cars.
    pub leaves: bool,
    /// Whether cars change trains here.
    pub change: bool,
    /// Seconds allowed for the work, by the railroad's clock; none where a yard does it.
    pub work: Option<i64>,
}

/// For ordinary cars and for perishable loads.
pub const CLASSES: usize = 2;

/// The network of freight trains, and the best way through it.
#[derive(Debug, Clone)]
pub struct Ways {
    /// The freight trains.
    pub trains: Vec<FreightTrain>,
    /// Their calls.
    pub calls: Vec<Call>,
    stations: usize,
    /// For class, destination and call: at which call of the same train a car is left that takes it
    /// there; none if it does not take it.
    take: Vec<Option<u8>>,
    /// For class, station and destination: seconds from midnight until a car is there.
    eta: Vec<i64>,
    /// For each destination the stations from which cars come, the nearest first.
    near: Vec<Vec<StationId>>,
}

/// What a change of trains counts as, besides the waiting.
pub(super) const HANDLING: i64 = 6 * 3600;

/// What it counts as that a car goes from yard to yard in a local, or that a load that spoils goes in a
/// common freight: they do so only where nothing better runs within the day.
const BY_LESS: i64 = 12 * 3600;

/// More than any way takes.
const NEVER: i64 = 1 << 40;

impl Ways {
    /// The network of a railroad's trains. `connection` is how many seconds a car needs from one train
    /// to the next.
    pub fn new(railroad: &Railroad, connection: i64) -> Self {
        let stations = railroad.way.stations.len();
        let mut ways = Self {
            trains: vec![],
            calls: vec![],
            stations,
            take: vec![],
            eta: vec![],
            near: vec![],
        };
        for (id, _) in railroad.service.train_ids() {
            ways.add(railroad, id);
        }
        ways.solve(railroad, connection);
        ways
    }

    fn add(&mut self, railroad: &Railroad, id: TrainId) {
        let train = railroad.service.train(id);
        let carries = match train.kind.map(|kind| kind.value) {
            Some(
                TrainKind::Passenger
                | TrainKind::Express
                | TrainKind::Work
                | TrainKind::Helper
                | TrainKind::LightEngine,
            ) => return,
            Some(TrainKind::Perishable) => Carries::Perishable,
            _ => Carries::All,
        };
        let find = |name: Option<&model::Spanned<String>>| {
            name.and_then(|name| railroad.way.find_station(&name.value))
        };
        let (Some(from), Some(to)) = (find(train.from.as_ref()), find(train.to.as_ref())) else {
            return;
        };
        let number = self.trains.len();
        let mut calls: Vec<Call> = vec![];
        let mut add = |station, arrive: i64, leave: i64, takes, leaves, change, work| {
            calls.push(Call {
                train: number,
                nth: calls.len(),
                station,
                arrive,
                leave,
                takes,
                leaves,
                change,
                work,
            });
        };
        let leave = train.leave.map_or(0, |time| time.value.seconds());
        add(from, leave, leave, true, false, false, None);
        for stop in &train.stops {
            let Some(station) = find(stop.station.as_ref()) else {
                continue;
            };
            let does = |work: StopWork| {
                stop.work
                    .iter()
                    .any(|one| one.value == work || one.value == StopWork::Switch)
            };
            let (takes, leaves) = (does(StopWork::PickUp), does(StopWork::SetOut));
            if !takes && !leaves {
                continue;
            }
            let at = |time: Option<model::Spanned<model::time::RailTime>>| {
                time.map(|time| time.value.seconds())
            };
            let arrive = at(stop.arrive).or(at(stop.leave)).unwrap_or(leave);
            let gone = at(stop.leave).unwrap_or(arrive).max(arrive);
            let yard = is_yard(railroad, station);
            let minutes = stop.minutes.map(|span| span.value.seconds());
            let work = (!yard).then(|| minutes.unwrap_or(0).max(gone - arrive));
            add(station, arrive, gone, takes, leaves, yard, work);
        }
        let arrive = train.arrive.map_or(leave, |time| time.value.seconds());
        add(
            to,
            arrive.max(leave),
            arrive.max(leave),
            false,
            true,
            true,
            None,
        );
        if calls.len() > usize::from(u8::MAX) {
            return;
        }
        let first = self.calls.len();
        self.trains.push(FreightTrain {
            train: id,
            carries,
            local: matches!(
                train.kind.map(|kind| kind.value),
                Some(TrainKind::Local | TrainKind::Mixed)
            ),
            calls: (first..first + calls.len()).collect(),
        });
        self.calls.extend(calls);
    }

    fn solve(&mut self, railroad: &Railroad, connection: i64) {
        let n = self.stations;
        let calls = self.calls.len();
        let mut leaving: Vec<Vec<usize>> = vec![vec![]; n];
        for (at, call) in self.calls.iter().enumerate() {
            if call.takes {
                leaving[call.station.index()].push(at);
            }
        }
        // Which stations cars go to at all: where something is loaded, unloaded or kept.
        self.take = vec![None; CLASSES * n * calls];
        self.eta = vec![NEVER; CLASSES * n * n];
        for class in 0..CLASSES {
            // First without regard to blocks: by which trains a car goes on from each place.
            let free: Vec<Vec<i64>> = (0..n)
                .map(|to| {
                    self.values(
                        class,
                        StationId(to as u32),
                        connection,
                        &leaving,
                        &|_, _| true,
                    )
                })
                .collect();
            let mut onward: Vec<Vec<Vec<usize>>> = vec![vec![vec![]; n]; n];
            for (to, value) in free.iter().enumerate() {
                for (at, departures) in leaving.iter().enumerate() {
                    let best = |k: usize| self.first_best(value, departures, k);
                    for &k in departures {
                        if value[k] < NEVER && best(k) {
                            onward[at][to].push(self.calls[k].train);
                        }
                    }
                }
            }
            let blocks: Vec<Option<Vec<StationId>>> = self
                .trains
                .iter()
                .map(|train| {
                    let train = railroad.service.train(train.train);
                    (!train.blocks.is_empty()).then(|| {
                        train
                            .blocks
                            .iter()
                            .filter_map(|block| railroad.way.find_station(&block.value))
                            .collect()
                    })
                })
                .collect();
            for (to, free) in free.iter().enumerate() {
                let allowed = |call: &Call, to: StationId| {
                    let Some(blocks) = &blocks[call.train] else {
                        return true;
                    };
                    call.station == to
                        || blocks.iter().any(|&block| {
                            let on = &onward[call.station.index()];
                            block == call.station
                                || block == to
                                || on[block.index()]
                                    .iter()
                                    .any(|train| on[to.index()].contains(train))
                        })
                };
                let kept = self.values(class, StationId(to as u32), connection, &leaving, &allowed);
                // Where blocks lead nowhere they are set aside.
                let blocked = (0..calls).any(|k| kept[k] >= NEVER && free[k] < NEVER);
                let stuck = |at: usize| {
                    leaving[at].iter().all(|&k| kept[k] >= NEVER)
                        && leaving[at].iter().any(|&k| free[k] < NEVER)
                };
                let loose = blocked && (0..n).any(stuck);
                self.settle(class, to, &kept, &leaving, connection, &allowed);
                if loose {
                    let any = |_: &Call, _: StationId| true;
                    for at in (0..n).filter(|&at| stuck(at)) {
                        self.settle_at(class, to, at, free, &leaving, connection, &any);
                    }
                }
            }
        }
        self.near = (0..n)
            .map(|to| {
                let mut from: Vec<StationId> = (0..n as u32)
                    .map(StationId)
                    .filter(|&from| self.eta(0, from, StationId(to as u32)) < NEVER)
                    .collect();
                from.sort_by_key(|&from| (self.eta(0, from, StationId(to as u32)), from));
                from
            })
            .collect();
    }

    /// Seconds from each call's leaving until a car that takes it is at its destination.
    fn values(
        &self,
        class: usize,
        to: StationId,
        connection: i64,
        leaving: &[Vec<usize>],
        allowed: &dyn Fn(&Call, StationId) -> bool,
    ) -> Vec<i64> {
        let mut value = vec![NEVER; self.calls.len()];
        loop {
            let mut changed = false;
            for at in 0..self.calls.len() {
                if let Some((best, _)) =
                    self.best(class, at, to, connection, leaving, allowed, &value)
                    && best < value[at]
                {
                    value[at] = best;
                    changed = true;
                }
            }
            if !changed {
                return value;
            }
        }
    }

    /// For a call, how soon its train brings a car on, and at which of its calls it is left.
    #[allow(
        clippy::too_many_arguments,
        reason = "the state of one step of the iteration"
    )]
    fn best(
        &self,
        class: usize,
        at: usize,
        to: StationId,
        connection: i64,
        leaving: &[Vec<usize>],
        allowed: &dyn Fn(&Call, StationId) -> bool,
        value: &[i64],
    ) -> Option<(i64, usize)> {
        let call = &self.calls[at];
        let train = &self.trains[call.train];
        let last = train.calls[train.calls.len() - 1];
        if !call.takes || call.station == to || (class == 0 && train.carries == Carries::Perishable)
        {
            return None;
        }
        train.calls[call.nth + 1..]
            .iter()
            .filter_map(|&k| {
                let end = &self.calls[k];
                if !end.leaves || !(end.station == to || end.change) || !allowed(end, to) {
                    return None;
                }
                let through = train.local && call.nth == 0 && k == last;
                let common = class == 1 && train.carries == Carries::All && call.nth == 0;
                let less = if through || common { BY_LESS } else { 0 };
                let ride = end.arrive - call.leave + less;
                let rest = if end.station == to {
                    0
                } else {
                    HANDLING
                        + self.wait(
                            end.arrive + connection,
                            &leaving[end.station.index()],
                            value,
                        )
                };
                (rest < NEVER).then_some((ride + rest, k))
            })
            .min()
    }

    /// Seconds from a time until a car that is ready then is at its destination.
    fn wait(&self, ready: i64, departures: &[usize], value: &[i64]) -> i64 {
        departures
            .iter()
            .filter(|&&k| value[k] < NEVER)
            .map(|&k| (self.calls[k].leave - ready).rem_euclid(DAY) + value[k])
            .min()
            .unwrap_or(NEVER)
    }

    /// Whether a car ready when a call leaves can do no better than take it.
    fn first_best(&self, value: &[i64], departures: &[usize], k: usize) -> bool {
        let leave = self.calls[k].leave;
        departures.iter().all(|&other| {
            other == k
                || value[other] >= NEVER
                || (self.calls[other].leave - leave).rem_euclid(DAY) + value[other] >= value[k]
        })
    }

    fn settle(
        &mut self,
        class: usize,
        to: usize,
        value: &[i64],
        leaving: &[Vec<usize>],
        connection: i64,
        allowed: &dyn Fn(&Call, StationId) -> bool,
    ) {
        for at in 0..self.stations {
            self.settle_at(class, to, at, value, leaving, connection, allowed);
        }
    }

    #[allow(
        clippy::too_many_arguments,
        reason = "the state of one step of the iteration"
    )]
    fn settle_at(
        &mut self,
        class: usize,
        to: usize,
        at: usize,
        value: &[i64],
        leaving: &[Vec<usize>],
        connection: i64,
        allowed: &dyn Fn(&Call, StationId) -> bool,
    ) {
        let n = self.stations;
        let eta = if at == to {
            0
        } else {
            self.wait(0, &leaving[at], value)
        };
        self.eta[(class * n + at) * n + to] = eta;
        for &k in &leaving[at] {
            if value[k] >= NEVER || !self.first_best(value, &leaving[at], k) {
                continue;
            }
            let station = StationId(to as u32);
            if let Some((_, end)) =
                self.best(class, k, station, connection, leaving, allowed, value)
            {
                let nth = self.calls[end].nth as u8;
                self.take[(class * n + to) * self.calls.len() + k] = Some(nth);
            }
        }
    }

    /// At which call of the same train a car is left that takes this one toward a destination; none if
    /// it does not take it.
    pub fn take(&self, class: usize, call: usize, to: StationId) -> Option<usize> {
        let nth = self.take[(class * self.stations + to.index()) * self.calls.len() + call]?;
        Some(self.trains[self.calls[call].train].calls[usize::from(nth)])
    }

    /// Seconds from midnight until a car is there; a long time if no train goes.
    pub fn eta(&self, class: usize, from: StationId, to: StationId) -> i64 {
        self.eta[(class * self.stations + from.index()) * self.stations + to.index()]
    }

    /// Whether cars get from one station to another.
    pub fn reaches(&self, class: usize, from: StationId, to: StationId) -> bool {
        self.eta(class, from, to) < NEVER
    }

    /// The stations from which cars come to a destination, itself first, the nearest before others.
    pub fn near(&self, to: StationId) -> &[StationId] {
        &self.near[to.index()]
    }
}

/// Whether trains are made up here by engines of the place.
pub fn is_yard(railroad: &Railroad, station: StationId) -> bool {
    let page = railroad.way.station(station);
    matches!(page.kind, StationKind::Yard | StationKind::Staging)
        || page
            .tracks
            .iter()
            .any(|track| track.usage == TrackUse::Classification)
}
