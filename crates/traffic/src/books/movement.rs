//! What can happen to a car, and why it cannot have happened.

use engineering::ids::{StationId, TrackRef};
use mechanical::CarId;

use super::{Load, Moment, Whereabouts};

/// Something that happened to a car.
#[derive(Debug, Clone, PartialEq)]
pub struct Movement {
    /// The car.
    pub car: CarId,
    /// When.
    pub when: Moment,
    /// What.
    pub what: What,
}

/// What happened to a car.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// A train took it from the track where it stood.
    PickUp {
        /// The train's number or symbol.
        train: String,
    },
    /// The train that carried it left it.
    SetOut {
        /// On this track.
        track: TrackRef,
        /// At this of its spots.
        spot: Option<usize>,
        /// So many cars from the track's beginning.
        at: usize,
    },
    /// An engine moved it within its station.
    Shift {
        /// To this track.
        track: TrackRef,
        /// At this of its spots.
        spot: Option<usize>,
        /// So many cars from the track's beginning, counted without itself.
        at: usize,
    },
    /// It left the railroad: another road took it from the track where it stood.
    Leave {
        /// To where, if that is known.
        place: Option<String>,
        /// The day from which it may come back.
        back: Option<u32>,
    },
    /// It came back from another road, where it had left.
    Come {
        /// To this track.
        track: TrackRef,
        /// So many cars from the track's beginning.
        at: usize,
    },
    /// It was loaded where it stands.
    Load(Load),
    /// It was unloaded where it stands.
    Unload,
    /// It was found where the books had not placed it. For several cars at once see
    /// [`Books::found`](super::Books::found).
    Found(Whereabouts),
}

/// Why a movement cannot have happened.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refused {
    /// There is no such car.
    #[error("there is no car of number {0} on the roster")]
    NoCar(usize),
    /// There is no such track.
    #[error("{car}: there is no such track")]
    NoTrack {
        /// The car.
        car: String,
    },
    /// It is not where it would have to be.
    #[error("{car} cannot {what}: it is {is}, and would have to be {expected}")]
    Elsewhere {
        /// The car.
        car: String,
        /// What it was to do.
        what: &'static str,
        /// Where it is.
        is: String,
        /// Where it would have to be.
        expected: String,
    },
    /// Cars are not left on such a track.
    #[error("{car}: cars are not left on {track}, which is kept clear")]
    KeptClear {
        /// The car.
        car: String,
        /// The track.
        track: String,
    },
    /// The track is full.
    #[error(
        "{car} does not fit on {track}: {over_inches:.1} in too long beside the {standing} cars there"
    )]
    NoRoom {
        /// The car.
        car: String,
        /// The track.
        track: String,
        /// By how many inches.
        over_inches: f64,
        /// How many cars stand there.
        standing: usize,
    },
    /// The track has fewer spots.
    #[error("{car}: {track} has {spots} spots, and no spot {spot}")]
    NoSpot {
        /// The car.
        car: String,
        /// The track.
        track: String,
        /// How many it has.
        spots: usize,
        /// The spot asked for, from 1.
        spot: usize,
    },
    /// Another car stands there.
    #[error("{car} cannot be spotted on {track}: {other} stands at that spot")]
    SpotTaken {
        /// The car.
        car: String,
        /// The track.
        track: String,
        /// The car that stands there.
        other: String,
    },
    /// Spots lie along the track in order, and so must the cars at them.
    #[error("{car} cannot be spotted on {track}: {other} is at a spot on the wrong side of it")]
    SpotOrder {
        /// The car.
        car: String,
        /// The track.
        track: String,
        /// The car in the way.
        other: String,
    },
    /// There are fewer cars on the track.
    #[error("{car} cannot be number {at} on {track}: {standing} cars stand there")]
    NoPlace {
        /// The car.
        car: String,
        /// The track.
        track: String,
        /// The number asked for, from 1.
        at: usize,
        /// How many stand there.
        standing: usize,
    },
    /// It is loaded, or is not.
    #[error("{car} is {is} already")]
    Already {
        /// The car.
        car: String,
        /// Loaded or empty.
        is: &'static str,
    },
    /// Time runs forward.
    #[error("{car}: this would be before what happened to it last")]
    Earlier {
        /// The car.
        car: String,
    },
    /// The station is none by which it can come and go.
    #[error("{car} left by another station and cannot come back by this one")]
    OtherStation {
        /// The car.
        car: String,
        /// By which it left.
        via: StationId,
    },
}
