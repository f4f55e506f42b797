//! Alignments: where the track lies in the room.
//!
//! A page describes center lines ([`Described`]); [`Way::locate`](crate::Way::locate) compiles them
//! into a [`Plan`], solves it, and gives tracks and open line the lengths, curves and grades that
//! follow. What may be asked of the result (where is the track, how high, how near) is asked of
//! [`Located`].

mod build;
mod compile;
mod feed;
mod heights;
pub mod near;
mod page;
pub mod plan;
pub mod rules;
pub mod solve;
pub mod vertical;

use model::{
    Span, Spanned,
    units::{Actual, Grade},
};

pub(crate) use build::{Known, build, point};
pub(crate) use feed::tolerance;
pub use page::PAGE;
pub(crate) use page::POINT;
pub use plan::Plan;
pub use solve::Solved;
pub use vertical::{GradePoint, Vertical};

use crate::{
    curve::{Path, Point},
    ids::{OpenRef, TrackRef},
    line::Turn,
    station::Hand,
};

model::words! {
    /// Which of an alignment and a tape holds where they disagree.
    pub enum Governs {
        Alignment = "alignment", "what follows from the alignment: the track is to be laid by it";
        Tape = "tape", "what was measured: the track is there, and the alignment only tells where";
    }
}

model::words! {
    /// What of an element may be adjusted.
    pub enum Adjusts {
        Length = "length", "how long a tangent is, or how far a curve goes";
        Radius = "radius", "the radius of a curve";
    }
}

/// What a center line is that of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Of {
    /// A station's track.
    Track(TrackRef),
    /// A track, from 1, of a district of open line.
    Open(OpenRef, u8),
}

/// A center line as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// Its name.
    pub name: Spanned<String>,
    /// What it is that of, if it is a track of the railroad.
    pub of: Option<Of>,
    /// Where what it is that of is written.
    pub of_span: Span,
    /// Where it begins, if said.
    pub begin: Option<Terminal>,
    /// Where it is to end, if said.
    pub end: Option<Terminal>,
    /// Its elements.
    pub elements: Vec<Step>,
    /// Its grade points.
    pub grades: Vec<GradeStep>,
    /// Which holds if the tape disagrees.
    pub governs: Governs,
}

/// Where a center line begins or ends, as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Terminal {
    /// Where it stands.
    pub span: Span,
    /// What it says.
    pub what: TerminalWhat,
}

/// What is said of a beginning or an end.
#[derive(Debug, Clone, PartialEq)]
pub enum TerminalWhat {
    /// A point and a bearing in radians to the left of the x axis.
    At(Point, f64),
    /// The end of another (of a beginning), or the beginning of another (of an end).
    Other(Spanned<String>),
    /// The beginning of another, the other way.
    BackFrom(Spanned<String>),
    /// A turnout of another.
    Turnout(Spanned<String>, Spanned<String>),
    /// Where it began.
    Closed,
    /// Not enough to tell.
    Unclear,
}

/// An element as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Where it stands.
    pub span: Span,
    /// What it is.
    pub what: StepWhat,
}

/// What an element is.
#[derive(Debug, Clone, PartialEq)]
pub enum StepWhat {
    /// Lengths, radii and angles: nothing that has to be looked up.
    Plain(plan::Element),
    /// A connection; with the tangent to be kept between reverse curves if that is said.
    Connect(plan::Element, Option<f64>),
    /// A parallel: of which, how far, on which side, by which radius, for how long.
    Parallel(
        Spanned<String>,
        Option<f64>,
        Option<Turn>,
        Option<f64>,
        Option<f64>,
    ),
    /// A turnout.
    Turnout(TurnoutStep),
    /// A crossing.
    Crossing(Spanned<String>),
    /// It has no head, or several, or lacks something: said so where it was read.
    Unclear,
}

/// A turnout as an element.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnoutStep {
    /// Its name.
    pub name: Spanned<String>,
    /// Its frog number, if said here.
    pub number: Option<f64>,
    /// Its hand, if said here.
    pub hand: Option<Hand>,
    /// Whether the frog comes before the points.
    pub trailing: bool,
    /// Whether the diverging side is taken.
    pub diverging: bool,
}

/// A grade point as written.
#[derive(Debug, Clone, PartialEq)]
pub struct GradeStep {
    /// Where it stands.
    pub span: Span,
    /// Distance from the beginning.
    pub at: Option<Spanned<Actual>>,
    /// Height.
    pub elevation: Option<Spanned<Actual>>,
    /// Grade from here on.
    pub grade: Option<Grade>,
    /// Length of the vertical curve.
    pub curve: Option<Actual>,
    /// Change of grade in it, rise over run for each metre.
    pub change: Option<f64>,
}

/// Where everything lies.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Located {
    /// The center lines as written, in the order of the plan.
    pub described: Vec<Described>,
    /// What was solved.
    pub plan: Plan,
    /// What came of it.
    pub solved: Solved,
    /// Heights along each, as far as they are known.
    pub heights: Vec<Vertical>,
    /// What was wrong before anything could be solved.
    pub(crate) unclear: Vec<Unclear>,
    /// What the tape says of those whose length the alignment replaced.
    pub(crate) taped: Vec<Option<Spanned<Actual>>>,
    /// Switches by tape, where an element says otherwise: center line, its element, name, tape.
    pub(crate) switch_tapes: Vec<(usize, usize, String, Spanned<Actual>)>,
}

/// What could not be compiled.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Unclear {
    /// A name that is no center line's.
    NoSuch(Spanned<String>),
    /// A name that is no turnout of that center line.
    NoTurnout(Spanned<String>, usize),
    /// A name that is no switch or crossing of the station.
    NotOfStation(Spanned<String>, usize),
    /// It begins nowhere.
    NoBeginning(usize),
    /// The same track twice: this one and the first.
    Twice(usize, usize),
}

impl Located {
    /// The course of a center line, if it could be laid.
    pub fn path(&self, line: usize) -> Option<&Path> {
        self.solved.lines.get(line)?.as_ref().map(|laid| &laid.path)
    }

    /// The center line of a track.
    pub fn find(&self, of: Of) -> Option<usize> {
        self.described.iter().position(|line| line.of == Some(of))
    }

    /// Those that could be laid, with their courses.
    pub fn laid(&self) -> impl Iterator<Item = (usize, &Path)> {
        (0..self.described.len()).filter_map(|line| Some((line, self.path(line)?)))
    }

    /// The element at a distance along a center line.
    pub fn element_at(&self, line: usize, s: f64) -> Option<usize> {
        let laid = self.solved.lines.get(line)?.as_ref()?;
        laid.reach
            .iter()
            .position(|[from, to]| *from <= s && s < *to)
    }

    /// Where to point for a distance along a center line: its element there, else its name.
    pub fn span_at(&self, line: usize, s: f64) -> Span {
        let described = &self.described[line];
        self.element_at(line, s)
            .map_or(described.name.span, |element| {
                described.elements[element].span
            })
    }
}
