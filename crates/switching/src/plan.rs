//! A plan as data: what a crew does, move by move, complete enough to be replayed car by car.

use crate::rates::Effort;
use crate::town::{Length, NodeId, PlaceId, TrackId};
use crate::work::CarId;

/// An end of the train. The *front* is the end that looked ahead when the work began, and keeps
/// that name whatever the train does later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// The end that looked ahead at the start.
    Front,
    /// The other end.
    Rear,
}

/// Where a train stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stand {
    /// The tracks under it, from its front face to its rear face.
    pub tracks: Vec<TrackId>,
    /// Distance from its front face to the end of the first of those tracks that lies ahead of it.
    pub front_at: Length,
}

/// One run of the train in one direction, up to the next stop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leg {
    /// Which end leads.
    pub leading: Side,
    /// All tracks run over or stood on, from the frontmost to the rearmost.
    pub line: Vec<TrackId>,
    /// How far.
    pub distance: Length,
    /// Where it stops.
    pub stop: Stand,
}

/// What is done at the end of the run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Handling {
    /// Couple to cars that stand at a place and take them along.
    Couple {
        /// The place.
        place: PlaceId,
        /// The end of the place at which the train is.
        end: u8,
        /// The end of the train that couples.
        side: Side,
        /// The cars taken, from the train outward.
        cars: Vec<CarId>,
    },
    /// Set cars out and cut off.
    SetOut {
        /// The place.
        place: PlaceId,
        /// The end of the place at which the train is.
        end: u8,
        /// The end of the train at which the cars were.
        side: Side,
        /// The cars left, from the train outward.
        cars: Vec<CarId>,
        /// For each, the distance from end 0 of the place to its near face, if it was put on a
        /// mark; `None` if the position does not matter.
        at: Vec<Option<Length>>,
        /// How many get a hand brake (all of them where the place is on a grade).
        brakes: usize,
    },
    /// Leave the engine with all its cars on a place in the clear, walk over and take the other
    /// engine, which stands outermost at an end of its place. From then on the train is that
    /// engine alone; its *front* is the end away from the place's other cars if it stands at
    /// end 0, towards them if at end 1.
    ChangeEngine {
        /// Where the train is left.
        place: PlaceId,
        /// The end of that place at which it was entered.
        end: u8,
        /// The end of the train that was deepest in the place.
        side: Side,
        /// Hand brakes set on the cars left.
        brakes: usize,
        /// Where the other engine stands.
        to_place: PlaceId,
        /// The end of that place at which it is outermost.
        to_end: u8,
    },
    /// Wait in the clear of all main tracks until a train has passed.
    Wait {
        /// Which of [`crate::Work::trains_due`].
        due: usize,
        /// When the work goes on, in seconds from the start.
        until_s: u32,
    },
}

/// One move: run there, and handle cars.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// The runs, in order; empty if the train is already there.
    pub legs: Vec<Leg>,
    /// What is done there.
    pub handling: Handling,
    /// What it costs, in things that can be counted.
    pub effort: Effort,
}

/// How the train leaves once all is done.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaving {
    /// The runs to the boundary.
    pub legs: Vec<Leg>,
    /// Through which boundary.
    pub boundary: NodeId,
    /// What it costs.
    pub effort: Effort,
}

/// A complete plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The moves, each one a coupling or a set-out.
    pub moves: Vec<Move>,
    /// The departure, if the train is to leave.
    pub leaving: Option<Leaving>,
}

impl Plan {
    /// Number of moves as they are counted everywhere in this crate: couplings, set-outs and
    /// changes of engine. Waiting is not a move, nor is leaving.
    pub fn count(&self) -> usize {
        self.moves
            .iter()
            .filter(|m| !matches!(m.handling, Handling::Wait { .. }))
            .count()
    }

    /// All effort together.
    pub fn effort(&self) -> Effort {
        let all = self
            .moves
            .iter()
            .map(|m| m.effort)
            .chain(self.leaving.iter().map(|l| l.effort));
        all.fold(Effort::default(), |a, b| a + b)
    }
}
