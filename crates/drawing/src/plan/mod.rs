//! The plan of the rooms: walls, benchwork and track to scale, with the data of curves and grades.
//!
//! [`facts`] gathers what stands where, in metres on the plan, *y* up; [`draw`] puts it on paper.

mod facts;
mod labels;
mod sheet;

pub use facts::{CurveFact, Facts, GradeFact, RoomFact, TrackFact, TurnoutFact, facts};
pub use sheet::draw;

use engineering::ids::{LineId, StationId};

/// What of the railroad to draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Everything that has its place.
    All,
    /// The tracks of a station.
    Station(StationId),
    /// The main tracks of a line and its open line.
    Line(LineId),
}
