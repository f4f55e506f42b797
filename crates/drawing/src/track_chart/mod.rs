//! The track chart of a line: stations with their tracks, mileposts, curves, grades, structures.
//!
//! The chart runs from the line's lowest mile at the left to its highest at the right, in strips. Its
//! horizontal measure is track on the model; the mileposts ruled over it are the schedule's, closer
//! or wider as the line is compressed, with a break where country is left out.

mod facts;
mod lanes;
mod sheet;

pub use facts::{
    ChartCurve, ChartGap, ChartGrade, ChartStation, ChartStructure, ChartSwitch, ChartTrack,
    ChartTurntable, Facts, TrackShape, facts,
};
pub use sheet::{Paper, pages, station, whole};
