//! What each train carries: which cars it takes and leaves at every station, within its limits.
//!
//! [`judge()`] checks it car by car and train by train, whoever made it up: the planner or a yardmaster
//! with a pencil.

mod judge;

pub use judge::{CallFacts, CarFacts, Facts, TrackFacts, TrainFacts, judge};

use engineering::ids::{StationId, TrackId};
use mechanical::CarId;
use model::{
    time::RailTime,
    units::{Actual, Weight},
};
use traffic::WaybillNo;

use crate::TrainId;

/// What a train takes and leaves in a session.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeUp {
    /// The train.
    pub train: TrainId,
    /// The stations where it works, in running order: the first is where it is made up, the last where
    /// it is broken up.
    pub works: Vec<StationWork>,
    /// What it hauls from each of these stations to the next: one fewer than there are stations.
    pub hauls: Vec<Haul>,
    /// Cars that wanted to go with it and were left, and why.
    pub left: Vec<LeftCar>,
}

impl MadeUp {
    /// Cars that ride in it anywhere.
    pub fn cars(&self) -> usize {
        self.works.iter().map(|work| work.pick_up.len()).sum()
    }

    /// Its work at a station.
    pub fn work_at(&self, station: StationId) -> Option<&StationWork> {
        self.works.iter().find(|work| work.station == station)
    }

    /// The cars in it when it leaves a station of its work, in train order from the engine.
    pub fn consist_after(&self, works: usize) -> Vec<&CarMove> {
        let mut order: Vec<&CarMove> = vec![];
        for work in &self.works[..=works.min(self.works.len() - 1)] {
            order.retain(|car| !work.set_out.iter().any(|out| out.car == car.car));
            // Each block is put where it belongs: before the blocks that are set out later.
            for car in &work.pick_up {
                let at = order
                    .iter()
                    .position(|other| other.rank > car.rank)
                    .unwrap_or(order.len());
                order.insert(at, car);
            }
        }
        order
    }
}

/// A train's work at a station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationWork {
    /// The station.
    pub station: StationId,
    /// Cars it leaves, in train order from the engine.
    pub set_out: Vec<CarMove>,
    /// Cars it takes, in the order in which they are to stand in the train, from the engine.
    pub pick_up: Vec<CarMove>,
}

/// A car taken or left by a train.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CarMove {
    /// The car.
    pub car: CarId,
    /// Its waybill.
    pub bill: WaybillNo,
    /// In which block of the train.
    pub block: String,
    /// Where the block stands in the train: lower numbers are nearer the engine.
    pub rank: u32,
    /// On which track it stands or is to be put; `None` where the yard decides.
    pub track: Option<TrackId>,
    /// At which of the track's spots, by number.
    pub spot: Option<usize>,
    /// Whether it stands or is put there for the time being only, because its own place has no room.
    pub off_spot: bool,
}

/// What a train hauls between two stations of its work, engines not counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Haul {
    /// From.
    pub from: StationId,
    /// To.
    pub to: StationId,
    /// Cars, the caboose not counted.
    pub cars: u32,
    /// Length of the whole train, engines and caboose included.
    pub length: Actual,
    /// Weight of the cars, full size, in tons of 2000 lb; caboose included.
    pub tons: f64,
    /// Weight of the cars and caboose by the reckoning that governs its rating.
    pub weight: Weight,
    /// What it may be at most.
    pub allowed: Allowed,
    /// Which limit would be the first to stop one car more; `None` if it has none.
    pub governs: Option<Limit>,
}

/// What a train may be between two stations. What is `None` is not limited.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Allowed {
    /// Cars, the caboose not counted.
    pub cars: Option<u32>,
    /// Length of the whole train, engines and caboose included.
    pub length: Option<Actual>,
    /// Weight of cars and caboose, full size, in tons of 2000 lb.
    pub tons: Option<f64>,
    /// Weight of cars and caboose by the reckoning that governs its rating.
    pub rated: Option<Weight>,
}

model::words! {
    /// What limits a train.
    pub enum Limit {
        Length = "length", "it may be no longer, engines and caboose included";
        Cars = "cars", "it may have no more cars";
        Tons = "tons", "it may be no heavier, by its page";
        Rating = "rating", "its engines take no more over the hardest grade of the stretch";
    }
}

/// A car left behind, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftCar {
    /// The car.
    pub car: CarId,
    /// Its waybill, if it has one.
    pub bill: Option<WaybillNo>,
    /// Where it stays.
    pub station: StationId,
    /// Why.
    pub why: WhyLeft,
}

/// Why a car is left.
#[derive(Debug, Clone, PartialEq)]
pub enum WhyLeft {
    /// The train is full between these stations.
    Full {
        /// What it is full by.
        limit: Limit,
        /// From.
        from: StationId,
        /// To.
        to: StationId,
    },
    /// It comes too late to be put into a train that leaves then.
    CutOff {
        /// When it comes.
        comes: RailTime,
        /// By when it would have to be there.
        closes: RailTime,
    },
    /// There is no room for it where it goes.
    NoRoom {
        /// Where it goes.
        at: StationId,
        /// On which track.
        track: Option<TrackId>,
    },
    /// No train goes its way in this session; one does in so many sessions.
    NextSession(u32),
    /// No train takes it there at all.
    NoWay,
    /// Its load is not yet in or out.
    Loading,
    /// It is where it is wanted.
    Spotted,
    /// Nobody has ordered it: it waits for an order.
    Waiting,
    /// It is not fit to run.
    Unfit,
}
