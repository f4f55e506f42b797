//! How trains are authorised to run, and who is superior to whom.

mod build;
mod page;
mod superiority;

pub use build::{Closed, Connection, Operating};
pub use page::PAGE;
pub use superiority::{Standing, Superior, superior};

model::words! {
    /// By what a train may occupy the main track.
    pub enum Method {
        TimetableAndTrainOrder = "timetable and train order", "by timetable, as changed by train orders";
        VerbalAuthority = "verbal authority", "by the dispatcher's word, from place to place";
        TrackWarrant = "track warrant", "by a written warrant for a stretch of track";
        Signals = "signals", "by the indications of signals the dispatcher controls";
        Sequence = "sequence", "one after another in the order of a list, with no clock";
    }
}

#[allow(
    clippy::derivable_impls,
    reason = "the variants come from a list of words"
)]
impl Default for Method {
    fn default() -> Self {
        Self::TimetableAndTrainOrder
    }
}

impl Method {
    /// Whether trains have rights by timetable.
    pub fn has_timetable_rights(self) -> bool {
        self == Self::TimetableAndTrainOrder
    }
}
