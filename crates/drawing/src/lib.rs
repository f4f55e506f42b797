//! Drawings of a railroad as SVG: the track chart, and grade against capacity.
//!
//! A drawing is made in two steps: the *facts* (what stands where, in metres along the track; the same
//! that `--json` prints) and the *sheet* (lines and letters in millimetres). Colours are chosen for
//! print and for colour-blind readers, and nothing is told by colour alone.

pub mod diagram;
pub mod line_map;
pub mod plan;
pub mod season;
pub mod svg;
pub mod tonnage;
pub mod track_chart;
