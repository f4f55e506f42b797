//! What the books must know of tracks and cars, as plain numbers.

use engineering::ids::TrackRef;
use model::units::Actual;

/// What the books must know of a track.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackGround {
    /// `Station / track`, for the words.
    pub name: String,
    /// How much of it holds cars.
    pub room: Actual,
    /// How many spots it has.
    pub spots: usize,
    /// Whether cars are left on it.
    pub holds_cars: bool,
}

/// What the books must know of a car.
#[derive(Debug, Clone, PartialEq)]
pub struct CarGround {
    /// Marks and number, for the words.
    pub name: String,
    /// Over the pulling faces.
    pub length: Actual,
}

/// Tracks and cars, for keeping books.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ground {
    /// For each station its tracks.
    pub tracks: Vec<Vec<TrackGround>>,
    /// The cars, in the order of the car record.
    pub cars: Vec<CarGround>,
}

/// What sums of lengths may be off by without meaning anything.
pub(super) const SLACK: Actual = Actual::from_mm(0.1);

impl Ground {
    /// A track, if there is such a one.
    pub fn track(&self, track: TrackRef) -> Option<&TrackGround> {
        self.tracks
            .get(track.station.index())?
            .get(track.track.index())
    }
}
