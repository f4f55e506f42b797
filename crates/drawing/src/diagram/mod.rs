//! The time-distance diagram of a line's day: trains as lines over hours and miles.
//!
//! The form is as old as the timetable: stations spaced by running distance, hours ruled in parts, meets
//! where lines cross, stops level (Ibry, 1846; Marey, *La méthode graphique*, 1878).

mod facts;
mod sheet;

pub use facts::{Conflict, Facts, Place, Stop, Trace, facts};
pub use sheet::{pages, whole};
