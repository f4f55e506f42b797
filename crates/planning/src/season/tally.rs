//! What is counted while sessions are played.

use std::collections::BTreeSet;

use engineering::ids::{StationId, TrackRef};
use mechanical::{CarId, CarKind};
use traffic::books::Books;

use super::plan::Plan;

/// Something that no longer works as it should.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fault {
    /// Cars are left behind because a station has no room for them.
    NoRoom(StationId),
    /// An order of a lane has waited more than a week: number of the lane.
    Starved(usize),
    /// More loads wait for a shipper's spots than it has: number of the place.
    Flooded(usize),
    /// A train leaves many cars behind because it is full: number of the train.
    Full(usize),
    /// A train's work takes longer than its stops allow, by half an hour and more: number of the train.
    NoTime(usize),
}

/// How many sessions on end something must be so to count as broken.
pub const ON_END: u32 = 5;

/// Cars that are left behind in a session, from which on a train counts as full.
const MANY: u32 = 3;

/// Minutes of the railroad's clock a train may be late by its work before that counts.
const MUCH: f64 = 30.0;

/// How many sessions an order may wait.
pub const STARVED: u32 = 7;

/// Counts of one run of sessions.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    /// Sessions counted.
    pub sessions: u32,
    /// For each track and session how full it was at the fullest, a part of its room.
    pub tracks: Vec<Vec<f32>>,
    peak: Vec<f32>,
    /// For each station and session how full its tracks for keeping cars were at the fullest.
    pub stations: Vec<Vec<f32>>,
    station_peak: Vec<f32>,
    /// For each lane cars offered, loaded and delivered.
    pub offered: Vec<u64>,
    /// Loads begun.
    pub loaded: Vec<u64>,
    /// Loads unloaded.
    pub delivered: Vec<u64>,
    /// For each lane the days by which loads were late, summed.
    pub late: Vec<f64>,
    /// For each lane orders due and not loaded this morning.
    pub open_today: Vec<u32>,
    /// For each lane the sum of these over the sessions.
    pub open: Vec<f64>,
    /// For each lane the sessions in which its oldest order had waited a week.
    pub starved: Vec<u32>,
    /// For each place of a shipper the loads that waited for a spot, summed over sessions.
    pub held: Vec<f64>,
    held_today: Vec<BTreeSet<CarId>>,
    /// For each place the sessions in which more loads waited than it has spots.
    pub flooded: Vec<u32>,
    /// For each kind of car the idle ones, summed over sessions.
    pub idle: Vec<f64>,
    /// For each kind the fewest idle.
    pub least_idle: Vec<u32>,
    /// For each kind the orders due without a car, summed over sessions.
    pub short: Vec<f64>,
    /// For each train how often it ran.
    pub runs: Vec<u32>,
    /// Runs on which it had at most one car all the way.
    pub light: Vec<u32>,
    most_cars: Vec<Option<usize>>,
    /// Cars carried.
    pub carried: Vec<u64>,
    /// Cars left behind because it was full.
    pub full: Vec<u32>,
    full_before: Vec<u32>,
    /// Minutes of the railroad's clock by which its work took longer than its stops allow, summed.
    pub over: Vec<f64>,
    over_before: Vec<f64>,
    /// Runs without a caboose where it has one.
    pub no_caboose: Vec<u32>,
    /// For each station cars left behind because it had no room.
    pub no_room: Vec<u32>,
    no_room_before: Vec<u32>,
    /// Cars that could not be left where their train ended.
    pub stuck: u32,
    /// Cars left near their spot.
    pub off_spot: u32,
    /// Cars carried past their stop.
    pub carried_by: u32,
    /// What broke, and in which session it began.
    pub faults: Vec<(u32, Fault)>,
    streaks: std::collections::BTreeMap<Fault, u32>,
    /// For each session: cars moved, orders due and not loaded, loads delivered, loads held, idle.
    pub daily: Vec<[f32; 5]>,
    delivered_before: u64,
    carried_before: u64,
    first_track: Vec<usize>,
}

impl Tally {
    pub(super) fn new(plan: &Plan, kinds: &[CarKind]) -> Self {
        let mut first_track = vec![];
        let mut tracks = 0;
        for station in &plan.ground.tracks {
            first_track.push(tracks);
            tracks += station.len();
        }
        let (lanes, places, trains, stations) = (
            plan.lanes.len(),
            plan.places.len(),
            plan.trains.len(),
            plan.stations.len(),
        );
        Self {
            tracks: vec![vec![]; tracks],
            peak: vec![0.0; tracks],
            stations: vec![vec![]; stations],
            station_peak: vec![0.0; stations],
            offered: vec![0; lanes],
            loaded: vec![0; lanes],
            delivered: vec![0; lanes],
            late: vec![0.0; lanes],
            open_today: vec![0; lanes],
            open: vec![0.0; lanes],
            starved: vec![0; lanes],
            held: vec![0.0; places],
            held_today: vec![BTreeSet::new(); places],
            flooded: vec![0; places],
            idle: vec![0.0; kinds.len()],
            least_idle: vec![u32::MAX; kinds.len()],
            short: vec![0.0; kinds.len()],
            runs: vec![0; trains],
            light: vec![0; trains],
            most_cars: vec![None; trains],
            carried: vec![0; trains],
            full: vec![0; trains],
            full_before: vec![0; trains],
            over: vec![0.0; trains],
            over_before: vec![0.0; trains],
            no_caboose: vec![0; trains],
            no_room: vec![0; stations],
            no_room_before: vec![0; stations],
            first_track,
            ..Self::default()
        }
    }

    /// How full the tracks of a station are now.
    pub(super) fn peak(&mut self, books: &Books, plan: &Plan, station: StationId) {
        let base = self.first_track[station.index()];
        for (at, ground) in plan.ground.tracks[station.index()].iter().enumerate() {
            let track = TrackRef {
                station,
                track: engineering::ids::TrackId(at as u32),
            };
            let part = books.taken(track) / ground.room;
            if part.is_finite() {
                let peak = &mut self.peak[base + at];
                *peak = peak.max(part as f32);
            }
        }
        let hold = &plan.stations[station.index()].hold;
        let taken: model::units::Actual = hold.iter().map(|&track| books.taken(track)).sum();
        let room: model::units::Actual = hold
            .iter()
            .filter_map(|&track| plan.ground.track(track))
            .map(|track| track.room)
            .sum();
        let part = taken / room;
        if part.is_finite() {
            let peak = &mut self.station_peak[station.index()];
            *peak = peak.max(part as f32);
        }
    }

    pub(super) fn held(&mut self, place: usize, car: CarId, loaded: bool) {
        if loaded {
            self.held_today[place].insert(car);
        }
    }

    pub(super) fn leaves_with(&mut self, train: usize, nth: usize, cars: usize) {
        let before = self.most_cars[train].filter(|_| nth > 0).unwrap_or(0);
        self.most_cars[train] = Some(before.max(cars));
    }

    pub(super) fn close(
        &mut self,
        plan: &Plan,
        books: &Books,
        day: u32,
        idle: &[u32],
        short: &[u32],
        oldest: &[u32],
    ) {
        for station in 0..plan.stations.len() {
            self.peak(books, plan, StationId(station as u32));
        }
        for (track, peak) in self.peak.iter_mut().enumerate() {
            self.tracks[track].push(std::mem::take(peak));
        }
        for (station, peak) in self.station_peak.iter_mut().enumerate() {
            self.stations[station].push(std::mem::take(peak));
        }
        let mut faults: Vec<(Fault, bool)> = vec![];
        for (lane, &age) in oldest.iter().enumerate() {
            self.open[lane] += f64::from(self.open_today[lane]);
            let starved = age > STARVED;
            self.starved[lane] += u32::from(starved);
            faults.push((Fault::Starved(lane), starved));
        }
        let mut held = 0;
        for (place, cars) in self.held_today.iter_mut().enumerate() {
            let count = cars.len();
            cars.clear();
            held += count;
            self.held[place] += count as f64;
            let flooded = count > plan.places[place].holds;
            self.flooded[place] += u32::from(flooded);
            faults.push((Fault::Flooded(place), flooded));
        }
        for kind in 0..idle.len() {
            self.idle[kind] += f64::from(idle[kind]);
            self.short[kind] += f64::from(short[kind]);
            self.least_idle[kind] = self.least_idle[kind].min(idle[kind]);
        }
        for station in 0..self.no_room.len() {
            let now = self.no_room[station];
            let before = std::mem::replace(&mut self.no_room_before[station], now);
            faults.push((Fault::NoRoom(StationId(station as u32)), now > before));
        }
        for train in 0..self.runs.len() {
            let cars = self.most_cars[train].take();
            self.light[train] += u32::from(cars.is_some_and(|cars| cars <= 1));
            let before = std::mem::replace(&mut self.full_before[train], self.full[train]);
            faults.push((Fault::Full(train), self.full[train] - before >= MANY));
            let before = std::mem::replace(&mut self.over_before[train], self.over[train]);
            faults.push((Fault::NoTime(train), self.over[train] - before >= MUCH));
        }
        for (fault, now) in faults {
            if !now {
                self.streaks.remove(&fault);
                continue;
            }
            let streak = self.streaks.entry(fault).or_default();
            *streak += 1;
            if *streak == ON_END && self.faults.iter().all(|(_, known)| *known != fault) {
                self.faults.push((day + 1 - ON_END, fault));
            }
        }
        let delivered: u64 = self.delivered.iter().sum();
        let carried: u64 = self.carried.iter().sum();
        let open: u32 = self.open_today.iter().sum();
        let idle: u32 = idle.iter().sum();
        self.daily.push([
            (carried - self.carried_before) as f32,
            open as f32,
            (delivered - self.delivered_before) as f32,
            held as f32,
            idle as f32,
        ]);
        self.delivered_before = delivered;
        self.carried_before = carried;
        self.sessions += 1;
    }
}
