//! Lines: what joins the stations.

mod build;
mod page;
pub mod rules;

use model::{
    Span, Spanned,
    units::{Actual, Grade, Prototype, Speed},
};

pub(crate) use build::{build, curves, pair, word};
pub(crate) use page::CURVE;
pub use page::PAGE;

use crate::ids::StationId;

model::words! {
    /// What sort of line.
    pub enum LineKind {
        Main = "main", "a main line";
        Branch = "branch", "a branch of another line";
        Joint = "joint", "used in common with another road";
        Foreign = "foreign", "another road's line that this railroad meets";
    }
}

model::words! {
    /// How a line takes part in a session.
    pub enum Worked {
        Worked = "worked", "trains run on it in sessions";
        Staged = "staged", "a hidden line that stands for the rest of the world";
        Stub = "stub", "track that leads out of sight; cars may stand there, trains do not run through";
    }
}

model::words! {
    /// To which hand a curve turns.
    pub enum Turn {
        Left = "left", "to the left";
        Right = "right", "to the right";
    }
}

model::words! {
    /// What a structure is.
    pub enum StructureKind {
        Bridge = "bridge", "a bridge";
        Trestle = "trestle", "a bridge on bents";
        Drawbridge = "drawbridge", "a bridge that opens for ships";
        Tunnel = "tunnel", "a tunnel";
        Snowshed = "snowshed", "a roof against snow";
        Culvert = "culvert", "a passage for water under the track";
        LiftOut = "lift-out", "a piece of the railroad that is taken out to let people through";
    }
}

/// A line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its name; the name of its file if none could be read.
    pub name: Spanned<String>,
    /// What sort of line.
    pub kind: LineKind,
    /// How it takes part in a session.
    pub worked: Worked,
    /// Marks of its owner, if it is another road.
    pub owner: Option<Spanned<String>>,
    /// Its division.
    pub division: Option<Spanned<String>>,
    /// What the timetable calls the directions toward lower and higher miles.
    pub directions: [String; 2],
    /// The superior direction as written.
    pub superior: Option<Spanned<String>>,
    /// How stations name their ends toward lower and higher miles.
    pub ends: [String; 2],
    /// Steepest grade allowed here.
    pub grade: Option<Grade>,
    /// Sharpest radius allowed here.
    pub radius: Option<Actual>,
    /// Speed allowed where nothing lower stands.
    pub speed: Option<Speed>,
    /// Speed allowed to passenger trains.
    pub passenger_speed: Option<Speed>,
    /// The districts of open line, as written.
    pub open: Vec<OpenLine>,
    /// The owner's note.
    pub note: Option<String>,
    /// The whole page.
    pub span: Span,
}

/// A district of open line: the track between two stations.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenLine {
    /// Where it stands.
    pub span: Span,
    /// The two ends: toward lower miles (`from`), toward higher miles (`to`).
    pub ends: [OpenEnd; 2],
    /// Length on the model.
    pub length: Option<Spanned<Actual>>,
    /// Whether the owner wrote it, rightly or wrongly.
    pub measured: bool,
    /// 1 or 2.
    pub tracks: Spanned<u8>,
    /// Blocks along it.
    pub blocks: u32,
    /// Scheduled length without track.
    pub gap: Option<Spanned<Prototype>>,
    /// Railhead at `from` and `to`, as written.
    pub elevation: Option<[Spanned<Actual>; 2]>,
    /// Where the grade changes on the way: distance from `from` and railhead.
    pub profile: Vec<[Spanned<Actual>; 2]>,
    /// Its curves.
    pub curves: Vec<Curve>,
    /// Speed allowed here.
    pub speed: Option<Speed>,
    /// Slow orders.
    pub slow: Vec<SlowOrder>,
    /// Bridges, tunnels and the like.
    pub structures: Vec<Structure>,
    /// The owner's note.
    pub note: Option<String>,
}

impl OpenLine {
    /// Length on the model; zero where none could be read.
    pub fn run(&self) -> Actual {
        self.length.map_or(Actual::ZERO, |length| length.value)
    }
}

/// Where a district of open line meets a station.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenEnd {
    /// The station as written.
    pub station: Option<Spanned<String>>,
    /// The station, if there is one of that name.
    pub id: Option<StationId>,
    /// The station's end, without the number of a double track: as written, or the line's word.
    pub end: Spanned<String>,
    /// Whether the owner wrote the end.
    pub written: bool,
}

impl OpenEnd {
    /// The name of the station end for one of the tracks, which count from 1.
    pub fn end_name(&self, tracks: u8, track: u8) -> String {
        if tracks > 1 {
            format!("{}{track}", self.end.value)
        } else {
            self.end.value.clone()
        }
    }
}

/// A stretch that turns.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Where it stands.
    pub span: Span,
    /// Where it begins and ends, from the beginning of its track.
    pub reach: Option<[Spanned<Actual>; 2]>,
    /// Radius of the center line.
    pub radius: Option<Spanned<Actual>>,
    /// To which hand it turns, if said.
    pub turn: Option<Turn>,
}

/// A stretch where trains must run slower.
#[derive(Debug, Clone, PartialEq)]
pub struct SlowOrder {
    /// Where it stands.
    pub span: Span,
    /// Where it begins and ends, from `from`.
    pub reach: Option<[Spanned<Actual>; 2]>,
    /// Speed allowed.
    pub speed: Option<Speed>,
    /// The reason.
    pub why: Option<String>,
}

/// A bridge, tunnel or the like.
#[derive(Debug, Clone, PartialEq)]
pub struct Structure {
    /// Where it stands.
    pub span: Span,
    /// Where it begins, from `from`.
    pub at: Option<Spanned<Actual>>,
    /// How long it is; zero for a point.
    pub length: Actual,
    /// What it is.
    pub kind: StructureKind,
    /// Clear height above the rail.
    pub height: Option<Spanned<Actual>>,
    /// Clear width, the track in its middle.
    pub width: Option<Spanned<Actual>>,
    /// Its name or number.
    pub name: Option<String>,
}
