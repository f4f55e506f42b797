//! How several engines work on one problem with the same answer on any number of threads.
//!
//! The driver runs *rounds*. In a round every engine works for a quota of its own deterministic work
//! units (never of time), reading only what was known when the round began; at its end the driver
//! merges what each found, in the engines' order. Whether the engines of a round ran one after the
//! other or side by side cannot change the result; a time limit only decides how many rounds run.

use std::sync::Arc;

use crate::{Plan, problem::Cost};

/// What is known when a round begins.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// The best plan so far, checked.
    pub incumbent: Option<(Arc<Plan>, Cost)>,
    /// No plan can cost less than this; proven.
    pub bound: Cost,
}

/// What an engine found in a round.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// A better plan. The driver checks it before it believes it.
    pub plan: Option<Plan>,
    /// A proven lower bound.
    pub bound: Option<Cost>,
    /// Proof that there is no plan at all: a minimal set of trains and resources at fault.
    pub infeasible: Option<Impossible>,
    /// This engine has nothing more to find: do not call it again.
    pub exhausted: bool,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Impossible {
    /// Trains that cannot all be run.
    pub trains: Vec<usize>,
    /// Resources over which they cannot agree.
    pub resources: Vec<usize>,
}

/// One way of working on the problem.
pub trait Engine: Send {
    /// Works for about `quota` units. A deterministic function of the engine's state, the quota and
    /// what is known. `stop` may cut it short (then the result of the whole run is "stopped early",
    /// and only what was merged before counts).
    fn round(&mut self, quota: u64, known: &Known, stop: &dyn Fn() -> bool) -> Found;
}
