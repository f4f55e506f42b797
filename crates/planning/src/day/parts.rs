//! What the parts of a compiled day are, for those who change it or run it over and over.

use engineering::ids::{OpenRef, StationId, TrackId};

use super::{
    compile::{self, Compiled},
    legs::Leg,
};

/// What a resource of the problem is, as far as it is track.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Resource {
    /// A piece of open line.
    Open {
        /// The district.
        open: OpenRef,
        /// Which of its tracks.
        track: u8,
    },
    /// A place on a track of a station.
    Stand {
        /// The station.
        station: StationId,
        /// The track.
        track: TrackId,
    },
    /// What an inferior train owes a superior one on a district.
    Clearance {
        /// The district.
        open: OpenRef,
    },
    /// Switches, engines, crews and the like.
    Other,
}

/// What an operation of the problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Before the train begins.
    Before,
    /// In a station.
    Station,
    /// Over open line.
    Open,
    /// After its end.
    After,
}

/// Where an operation of the problem belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// Index of the train in the plan.
    pub train: usize,
    /// Index of the station in its way; on open line that of the station left.
    pub call: usize,
    /// What it is.
    pub kind: Kind,
}

/// What the parts of a compiled day are.
#[derive(Debug, Clone, PartialEq)]
pub struct Parts {
    /// Beside the operations of the problem's trains; those of closures have none.
    pub operations: Vec<Vec<Part>>,
    /// Beside the problem's resources.
    pub resources: Vec<Resource>,
    /// Classes by rank of the objective.
    pub classes: Vec<i64>,
    /// Railroad seconds at the problem's time zero.
    pub base: i64,
    /// By train of the plan: the districts of its way, and whether it runs toward higher miles there.
    pub ways: Vec<Vec<(OpenRef, bool)>>,
}

impl Parts {
    /// Whether a train of the plan runs toward higher miles on a district of its way.
    pub fn goes_up(&self, train: usize, open: OpenRef) -> bool {
        self.ways[train].iter().any(|(one, up)| *one == open && *up)
    }

    pub(super) fn of(compiled: &Compiled, legs: &[Leg]) -> Self {
        let part = |tag: &compile::Tag| Part {
            train: tag.leg,
            call: tag.call,
            kind: match tag.kind {
                compile::Kind::Before => Kind::Before,
                compile::Kind::Stand
                | compile::Kind::Sawn
                | compile::Kind::In
                | compile::Kind::Out => Kind::Station,
                compile::Kind::Open(_) => Kind::Open,
                compile::Kind::After => Kind::After,
            },
        };
        Self {
            operations: compiled
                .tags
                .iter()
                .map(|tags| tags.iter().map(part).collect())
                .collect(),
            resources: compiled
                .resources
                .iter()
                .map(|resource| match *resource {
                    compile::Resource::Open { open, track, .. } => Resource::Open { open, track },
                    compile::Resource::Stand { station, track, .. } => {
                        Resource::Stand { station, track }
                    }
                    compile::Resource::Clearance { open, .. } => Resource::Clearance { open },
                    _ => Resource::Other,
                })
                .collect(),
            classes: compiled.classes.clone(),
            base: compiled.base,
            ways: legs
                .iter()
                .map(|leg| {
                    let steps = leg.way.opens.iter();
                    steps.map(|step| (step.open, step.up)).collect()
                })
                .collect(),
        }
    }
}
