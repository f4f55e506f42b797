//! Single-track lines in the form `stl/1`, compiled to the general problem and back.
//!
//! The form: stations in a row, each with tracks; segments of one or more blocks between them; trains
//! that call at consecutive stations. Its rules: dwells and earliest departures (R1); a least running
//! time per block (R2); a train stands only where it fits, but may run through a main track too short
//! for it (R3); a track is occupied from arrival until a clearing time after departure (R4); trains of
//! one direction follow each other block by block (R5); trains of opposite directions exclude each
//! other from a whole single-track segment (R6); nothing happens after the horizon (R7).
//!
//! The compilation is exact where clearing times are 1 or more. With a clearing time of 0 the rules
//! would let two trains change places at the same instant; the general problem, like a railroad, does
//! not.
//!
//! *Why a block that all trains share is enough for R6.* Let an eastbound train cross the boundaries of
//! an n-block segment at a0 < ... < an and a westbound one at b0 < ... < bn (from its end). On block i
//! (from the west) the eastbound is first if a(i+1) <= b(n-i-1), the westbound if b(n-i) <= a(i), each
//! with the clearing time. If the eastbound is first on block i and the westbound on block i+1, then
//! a(i+1) < b(n-i-1) < a(i+1); if the westbound is first on i and the eastbound on i+1, then
//! b(n-i) < a(i) < a(i+2) < b(n-i-2) < b(n-i). So the order is the same on all blocks, and on the last
//! block of the first train it is R6.

mod compile;
mod read;
mod solution;

pub use compile::Compiled;
pub use read::{LineFault, read_line};
pub use solution::SolutionFault;

use crate::problem::Time;

/// A line, its trains and what they must do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The instance's name.
    pub name: String,
    /// Nothing happens after this.
    pub horizon: Time,
    /// The stations in the order in which they lie.
    pub stations: Vec<Station>,
    /// Segment i joins station i and station i + 1.
    pub segments: Vec<Segment>,
    /// The trains.
    pub trains: Vec<LineTrain>,
}

/// A place where trains can stand.
#[derive(Debug, Clone, PartialEq, Eq, serde::Deserialize)]
pub struct Station {
    /// What it is called.
    pub name: String,
    /// How long a track stays blocked after a train left it.
    pub clear: Time,
    /// Its tracks.
    pub tracks: Vec<Track>,
}

/// A track of a station.
#[derive(Debug, Clone, PartialEq, Eq, serde::Deserialize)]
pub struct Track {
    /// What it is called.
    pub name: String,
    /// The longest train that can stand on it.
    pub length: i64,
    /// Whether longer trains may run through without stopping.
    pub main: bool,
}

/// The line between two stations.
#[derive(Debug, Clone, PartialEq, Eq, serde::Deserialize)]
pub struct Segment {
    /// How many blocks it has.
    pub blocks: usize,
    /// How long a block stays blocked after a train left it.
    pub clear: Time,
    /// 1: opposing trains exclude each other. 2: they do not.
    #[serde(default = "one")]
    pub tracks: u8,
}

fn one() -> u8 {
    1
}

/// A train of a line.
#[derive(Debug, Clone, PartialEq, Eq, serde::Deserialize)]
pub struct LineTrain {
    /// What it is called; unique.
    pub id: String,
    /// Its class; no rule depends on it.
    #[serde(default)]
    pub class: String,
    /// How long it is, in the unit of the tracks.
    pub length: i64,
    /// 1 towards higher stations, -1 towards lower ones.
    pub dir: i8,
    /// Not on the line before this.
    pub release: Time,
    /// Every station it passes, in running order.
    pub stops: Vec<Stop>,
}

/// A station as a train passes it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Deserialize)]
pub struct Stop {
    /// Which station.
    pub station: usize,
    /// The least time it stands there; 0 if it may run through.
    pub dwell: Time,
    /// It does not depart before this.
    #[serde(default)]
    pub earliest_dep: Option<Time>,
    /// Arriving after this costs.
    #[serde(default)]
    pub due: Option<Time>,
    /// How much a unit of lateness costs.
    pub weight: i64,
    /// The least time per block to the next stop, in running order; none at the last stop.
    #[serde(default)]
    pub run: Option<Vec<Time>>,
}
