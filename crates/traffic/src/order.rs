//! Car orders: what a shipper wants to load, and what came of it.

use mechanical::{CarId, CarKind};

use crate::FlowId;

/// A shipper's order for empty cars.
#[derive(Debug, Clone, PartialEq)]
pub struct CarOrder {
    /// The flow of the shipper who wants them.
    pub flow: FlowId,
    /// The kind of car.
    pub kind: CarKind,
    /// How many.
    pub count: u32,
    /// For which session.
    pub wanted: u32,
    /// The cars that were chosen, whether or not they are there yet.
    pub filled: Vec<CarId>,
    /// If there are too few: why, and what would mend it.
    pub short: Option<Short>,
}

impl CarOrder {
    /// An order nobody has looked at yet.
    pub const fn new(flow: FlowId, kind: CarKind, count: u32, wanted: u32) -> Self {
        Self {
            flow,
            kind,
            count,
            wanted,
            filled: vec![],
            short: None,
        }
    }

    /// Cars still to be found.
    pub fn open(&self) -> u32 {
        self.count
            .saturating_sub(u32::try_from(self.filled.len()).unwrap_or(u32::MAX))
    }
}

/// Why an order is not filled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Short {
    /// How many cars are lacking.
    pub lacking: u32,
    /// What became of the cars of the kind that there are.
    pub why: Lacking,
    /// Why, in words.
    pub words: String,
    /// What would mend it, in words.
    pub mend: String,
}

/// What became of all cars of a kind when an order for one could not be filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Lacking {
    /// Cars of the kind that can be used.
    pub of_kind: u32,
    /// Loaded, or being loaded or unloaded.
    pub busy: u32,
    /// Off the railroad.
    pub away: u32,
    /// Bad order, or otherwise not fit.
    pub unfit: u32,
    /// Empty and going to other orders, which are served before.
    pub others: u32,
    /// Empty, but assigned to a pool of others, or not clean enough.
    pub barred: u32,
    /// Empty, but no train brings them in time.
    pub too_far: u32,
}
