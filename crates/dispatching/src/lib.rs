//! The general train-dispatching problem, and a solver for it.
//!
//! Trains are directed acyclic graphs of operations; an operation holds resources for at least its
//! minimum duration; resources are exclusive, with a release time; the objective is a sum of delay
//! terms. The form is that of the public DISPLIB 2025 library (Kloster, Luteberget, Mannino and
//! Sartor, 2025). Nothing here knows of model railroads.

pub mod check;
pub mod engine;
pub mod exact;
pub mod json;
pub mod problem;
pub mod reasons;
pub mod replan;
mod restrict;
mod search;
pub mod single_track;
pub mod solver;
pub mod validate;
pub mod whatif;

pub use problem::{Cost, DelayTerm, Event, Operation, Plan, Problem, ResourceUse, Time, Train};
