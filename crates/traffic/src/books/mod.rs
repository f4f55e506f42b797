//! The car accountant's books: where every car is, what is in it, and what it is to do.
//!
//! Every car is always in exactly one place ([`Whereabouts`]). The books change by [`Movement`]s alone,
//! each of which says what happened to one car and when; [`Books::apply`] refuses one that cannot have
//! happened, so that no car jumps from one place to another. [`judge`](mod@judge) looks at books kept by anyone and
//! shares no code with this.

mod apply;
mod ground;
pub mod judge;
mod movement;

pub use ground::{CarGround, Ground, TrackGround};
pub use judge::{Facts, Wrong, judge};
pub use movement::{Movement, Refused, What};

use std::sync::Arc;

use engineering::ids::{StationId, TrackRef};
use mechanical::CarId;
use model::{time::RailTime, units::Actual};

use crate::{
    FlowId,
    bill::{Bill, WaybillNo},
    order::CarOrder,
};

/// A time of a session. Sessions are counted from 0, the one that the folder is ready for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment {
    /// Which session: one day of the railroad's calendar.
    pub day: u32,
    /// When, by the railroad's clock.
    pub time: RailTime,
}

impl Moment {
    /// The beginning of a day.
    pub const fn midnight(day: u32) -> Self {
        Self {
            day,
            time: RailTime::from_seconds(0),
        }
    }

    /// Seconds of the railroad's clock since the first midnight.
    pub fn seconds(self) -> i64 {
        i64::from(self.day) * 86_400 + self.time.seconds()
    }
}

/// Where a car is: exactly one place.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Whereabouts {
    /// On a track.
    Track {
        /// The track.
        track: TrackRef,
        /// At which of its spots, by number, if it stands at one.
        spot: Option<usize>,
        /// How many cars stand between it and the beginning of the track.
        at: usize,
    },
    /// In a train.
    Train {
        /// The train's number or symbol.
        train: String,
        /// Where the train was last said to be: where it took the car, until it sets it out.
        from: StationId,
    },
    /// Off the railroad, with another road.
    Off {
        /// The station by which it left and comes back.
        via: StationId,
        /// Where it is, if that is known.
        place: Option<String>,
        /// The day from which it may come back, if that is known.
        back: Option<u32>,
    },
    /// Neither on the railroad nor expected: on the bench, at home with its owner, or nobody has
    /// written where.
    Aside,
}

impl Whereabouts {
    /// The station at which it is, or by which it is off the railroad; none in a train or aside.
    pub fn station(&self) -> Option<StationId> {
        match self {
            Self::Track { track, .. } => Some(track.station),
            Self::Off { via, .. } => Some(*via),
            Self::Train { .. } | Self::Aside => None,
        }
    }
}

/// What is in a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Load {
    /// Which shipper's or receiver's row of `shippers.csv` it belongs to, if any does.
    pub flow: Option<FlowId>,
    /// What it is.
    pub commodity: String,
}

/// What a standing car waits for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Waiting {
    /// It is being loaded at its spot.
    Loading {
        /// For whom.
        flow: FlowId,
        /// When it will be done.
        until: Moment,
    },
    /// It is being unloaded at its spot.
    Unloading {
        /// For whom.
        flow: FlowId,
        /// When it will be done.
        until: Moment,
    },
    /// It stands in for a car that is beyond staging, and is not to be had before.
    Beyond {
        /// Where.
        place: String,
        /// When it will be back.
        until: Moment,
    },
    /// A train, to go where it is billed.
    Train,
    /// Room at the place where it is to be spotted.
    Spot {
        /// For whom.
        flow: FlowId,
    },
    /// An order: it is empty and nobody wants it.
    Order,
    /// The car shop.
    Repairs,
}

/// What the books say of one car.
#[derive(Debug, Clone, PartialEq)]
pub struct CarBook {
    /// The car.
    pub car: CarId,
    /// Where it is.
    pub at: Whereabouts,
    /// What is in it; nothing if it is empty.
    pub load: Option<Load>,
    /// The waybill it moves by, until that is settled.
    pub waybill: Option<WaybillNo>,
    /// Since when it is where it is.
    pub since: Moment,
    /// What it waits for.
    pub waiting_for: Option<Waiting>,
}

/// Where every car is. The cars are in the order of the car record.
#[derive(Debug, Clone)]
pub struct Books {
    /// Which session comes next.
    pub day: u32,
    /// The waybills at work.
    pub bills: Vec<Bill>,
    /// The car orders that are not filled yet.
    pub orders: Vec<CarOrder>,
    cars: Vec<CarBook>,
    /// For each station and track the cars that stand there, from its beginning.
    standing: Vec<Vec<Vec<CarId>>>,
    /// For each station and track the length that is taken.
    taken: Vec<Vec<Actual>>,
    ground: Arc<Ground>,
}

impl Books {
    /// Books with every car aside.
    ///
    /// # Panics
    /// If the ground's cars are not those of `cars` in order.
    pub fn new(ground: Arc<Ground>, cars: impl IntoIterator<Item = CarId>) -> Self {
        let cars: Vec<CarBook> = cars
            .into_iter()
            .map(|car| CarBook {
                car,
                at: Whereabouts::Aside,
                load: None,
                waybill: None,
                since: Moment::midnight(0),
                waiting_for: None,
            })
            .collect();
        assert!(
            cars.len() == ground.cars.len()
                && cars
                    .iter()
                    .enumerate()
                    .all(|(at, book)| book.car.index() == at),
            "the ground's cars in the order of the car record"
        );
        Self {
            day: 0,
            bills: vec![],
            orders: vec![],
            cars,
            standing: ground
                .tracks
                .iter()
                .map(|tracks| vec![Vec::new(); tracks.len()])
                .collect(),
            taken: ground
                .tracks
                .iter()
                .map(|tracks| vec![Actual::ZERO; tracks.len()])
                .collect(),
            ground,
        }
    }

    /// What is known of tracks and cars.
    pub fn ground(&self) -> &Ground {
        &self.ground
    }

    /// All cars, in the order of the car record.
    pub fn cars(&self) -> &[CarBook] {
        &self.cars
    }

    /// One car.
    pub fn car(&self, car: CarId) -> &CarBook {
        &self.cars[car.index()]
    }

    /// The cars on a track, from its beginning.
    pub fn standing(&self, track: TrackRef) -> &[CarId] {
        self.standing
            .get(track.station.index())
            .and_then(|tracks| tracks.get(track.track.index()))
            .map_or(&[], Vec::as_slice)
    }

    /// How much of a track the cars on it take.
    pub fn taken(&self, track: TrackRef) -> Actual {
        self.taken
            .get(track.station.index())
            .and_then(|tracks| tracks.get(track.track.index()))
            .copied()
            .unwrap_or(Actual::ZERO)
    }

    /// How much room a track has left.
    pub fn room(&self, track: TrackRef) -> Actual {
        self.ground
            .track(track)
            .map_or(Actual::ZERO, |ground| ground.room - self.taken(track))
    }

    /// Whether no car stands at a spot.
    pub fn spot_is_free(&self, track: TrackRef, spot: usize) -> bool {
        self.standing(track).iter().all(
            |&car| !matches!(self.car(car).at, Whereabouts::Track { spot: Some(s), .. } if s == spot),
        )
    }

    /// Where on a track a car would stand that is put at a spot, so that spots keep their order: how
    /// many cars would then be between it and the beginning.
    pub fn place_for_spot(&self, track: TrackRef, spot: usize) -> usize {
        self.standing(track)
            .iter()
            .rposition(
                |&car| matches!(self.car(car).at, Whereabouts::Track { spot: Some(s), .. } if s < spot),
            )
            .map_or(0, |at| at + 1)
    }

    /// Writes what a car waits for: no movement, a remark.
    pub fn remark(&mut self, car: CarId, waiting_for: Option<Waiting>) {
        self.cars[car.index()].waiting_for = waiting_for;
    }

    /// Writes what is in a car, wherever it is: no movement, a remark. For books taken up again; what is
    /// loaded or unloaded while they are kept is a movement.
    pub fn carries(&mut self, car: CarId, load: Option<Load>) {
        self.cars[car.index()].load = load;
    }

    /// Writes by which waybill a car moves: no movement, a remark.
    pub fn bill(&mut self, car: CarId, waybill: Option<WaybillNo>) {
        self.cars[car.index()].waybill = waybill;
    }
}
