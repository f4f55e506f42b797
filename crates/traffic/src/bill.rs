//! A move to be made: the waybill that goes with a car until it stands where it is wanted.
//!
//! [`Waybill`](crate::Waybill) is a row of the history page; a [`Bill`] is the same paper while it is
//! still at work, with the tracks and trains known.

use engineering::ids::{StationId, TrackId};
use mechanical::CarId;
use model::{date::Date, time::RailTime};

use crate::{CarLoad, FlowId};

/// The number of a waybill; none is given twice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WaybillNo(pub u32);

/// Where a move begins or ends.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Stand {
    /// The station; for a place off the line the staging or interchange by which it is reached.
    pub station: StationId,
    /// The tracks there on any of which the car may stand, the preferred first; empty if any will do.
    pub tracks: Vec<TrackId>,
    /// The spots of the first of the tracks at any of which it may stand, by number; empty if it has
    /// none.
    pub spots: Vec<usize>,
    /// The place off the line, if it lies beyond the station.
    pub beyond: Option<String>,
}

impl Stand {
    /// A station, wherever there is room.
    pub const fn at(station: StationId) -> Self {
        Self {
            station,
            tracks: vec![],
            spots: vec![],
            beyond: None,
        }
    }
}

/// What a crew must mind about a car.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Restriction {
    /// What it carries is dangerous: not next to the engine or the caboose.
    Hazard,
    /// Too high or too wide for some of the way: the words say for what.
    HighWide(String),
    /// Its bunkers are to be filled by then.
    IceBy(RailTime),
    /// It must not miss its connection.
    Rush,
    /// Livestock: to be unloaded for feed, water and rest by then.
    UnloadBy(RailTime),
}

impl Restriction {
    /// As it stands on the waybill. Times are in the railroad's words.
    pub fn words(&self, time: impl Fn(RailTime) -> String) -> String {
        match self {
            Self::Hazard => "dangerous: not next to engine or caboose".to_owned(),
            Self::HighWide(what) => format!("high or wide: {what}"),
            Self::IceBy(by) => format!("ice by {}", time(*by)),
            Self::Rush => "rush: must make its connection".to_owned(),
            Self::UnloadBy(by) => format!("livestock: unload by {}", time(*by)),
        }
    }
}

/// Part of a move: in one train.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Leg {
    /// In how many sessions from the one billed: 0 is that session.
    pub day: u32,
    /// The train's number or symbol.
    pub train: String,
    /// Where the car is taken.
    pub from: StationId,
    /// Where it is left.
    pub to: StationId,
    /// In which of the train's blocks.
    pub block: String,
}

/// A waybill at work.
#[derive(Debug, Clone, PartialEq)]
pub struct Bill {
    /// Its number.
    pub no: WaybillNo,
    /// The car.
    pub car: CarId,
    /// Where it stands when it is billed.
    pub from: Stand,
    /// Where it goes.
    pub to: Stand,
    /// The flow it moves for: that of the load, or of the shipper who ordered the empty.
    pub flow: Option<FlowId>,
    /// What it carries; for an empty that was ordered, what it is to carry.
    pub commodity: Option<String>,
    /// Loaded or empty.
    pub state: CarLoad,
    /// Which is moved first when trains are full: 1 before 2.
    pub priority: i64,
    /// What the crews must mind.
    pub restrictions: Vec<Restriction>,
    /// Its trains, in the order in which it rides them: of this session and those that follow. Only
    /// those of this session are firm: the rest is billed anew when it closes.
    pub legs: Vec<Leg>,
    /// The way in words: `41 to Kellander, next day 33 to Ellenmoor`.
    pub route: String,
    /// The day it was written.
    pub written: Option<Date>,
}
