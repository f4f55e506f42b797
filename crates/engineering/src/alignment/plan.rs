//! What is to be solved: center lines as a surveyor describes them, in plain numbers.
//!
//! Lengths are metres on the model, angles radians, *left* positive. Nothing here knows files; a page
//! is compiled into a [`Plan`], and so may a drawing be whose control points someone drags.

use crate::curve::Place;

/// Center lines that may begin, end and run by one another.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// The center lines.
    pub lines: Vec<CenterLine>,
    /// Gauge of the track: the lead of a turnout follows from it.
    pub gauge: f64,
}

/// A center line: where it begins, its elements one after another, where it is to end.
#[derive(Debug, Clone, PartialEq)]
pub struct CenterLine {
    /// Its name.
    pub name: String,
    /// Where it begins.
    pub begin: Begin,
    /// Its elements.
    pub elements: Vec<Element>,
    /// Where it is to end.
    pub end: End,
}

/// Where a center line begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Begin {
    /// At a place.
    At(Place),
    /// Where another ends, going on the same way.
    After(usize),
    /// Where another begins, going the other way.
    Back(usize),
    /// At the points of a turnout in another.
    Switch(Diverging),
}

/// Where a center line is to end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// Wherever its elements lead.
    Free,
    /// At a place, arriving in its direction.
    At(Place),
    /// Where another begins.
    Before(usize),
    /// At the points of a turnout in another, trailing through it.
    Switch(Diverging),
    /// Where it began itself: a closed loop.
    Start,
}

/// The diverging side of a turnout in another center line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diverging {
    /// The center line it lies on.
    pub line: usize,
    /// Where its points are.
    pub at: Spot,
    /// Whether a train along that line meets the points first.
    pub facing: bool,
    /// To which hand it leaves, seen from the points: 1 left, −1 right.
    pub hand: f64,
    /// Frog number.
    pub number: f64,
}

/// A spot on a center line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spot {
    /// So far from its beginning.
    Distance(f64),
    /// Where one of its elements begins.
    Element(usize),
}

/// A piece of a description.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Element {
    /// Straight.
    Tangent {
        /// How long.
        length: f64,
        /// Whether it may be made longer or shorter to close.
        adjust: bool,
    },
    /// A curve, with its easements.
    Curve {
        /// 1 left, −1 right.
        turn: f64,
        /// Radius of the arc.
        radius: f64,
        /// How far it goes, easements included.
        by: Measure,
        /// Length of the easement at its beginning and at its end.
        easements: [f64; 2],
        /// What may be changed to close.
        adjust: Option<Adjust>,
    },
    /// To a place, or to the end of the center line: tangent, curve, tangent; or two curves with a
    /// tangent between.
    Connect {
        /// Radius of the curves.
        radius: f64,
        /// Length of their easements.
        easement: f64,
        /// Shortest tangent between reverse curves.
        between: f64,
        /// The place; the end of the center line if there is none.
        to: Option<Place>,
    },
    /// Beside another center line.
    Parallel {
        /// Which.
        line: usize,
        /// How far to the left of it, as it runs; to the right if negative.
        left: f64,
        /// Radius of the curve by which it becomes parallel.
        radius: f64,
        /// How far; if nothing is said, as far as the end of this center line or of the other.
        length: Option<f64>,
    },
    /// The points of a turnout that others begin or end at; this line goes straight on.
    Mark,
    /// From the points of a turnout along its diverging side.
    Diverge {
        /// 1 left, −1 right.
        turn: f64,
        /// Frog number.
        number: f64,
    },
}

/// How far a curve goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// Until it has turned by an angle.
    Angle(f64),
    /// For a length.
    Length(f64),
    /// Until it has this heading.
    Heading(f64),
}

/// What of a curve may be changed to close.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adjust {
    /// How far it goes.
    Length,
    /// Its radius.
    Radius,
}
