//! The driver: engines in rounds, until the caller says stop or the budget is spent.

use std::sync::Arc;

use crate::check::check;
use crate::engine::{Engine, Impossible, Known};
use crate::search::{Improver, Network};
use crate::{Cost, Plan, Problem};

/// What a solve is to do.
#[derive(Debug, Clone)]
pub struct Options {
    /// Seed of all chance.
    pub seed: u64,
    /// Rounds to run; `None` to run until stopped.
    pub rounds: Option<u64>,
    /// Number of engines that may work at the same time; the answer does not depend on it.
    pub threads: usize,
    /// A plan to start from, as far as it can still be kept.
    pub warm_start: Option<Plan>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            seed: 1,
            rounds: None,
            threads: 1,
            warm_start: None,
        }
    }
}

/// How a solve ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Status {
    /// No plan is cheaper than the one returned: proven.
    Optimal,
    /// A plan, not proven best.
    Feasible,
    /// There is no plan: proven.
    Infeasible(Impossible),
    /// Stopped before a plan was found.
    Unknown,
}

/// What a solve found.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The best plan; it has passed the checker.
    pub plan: Option<Plan>,
    /// Its cost.
    pub cost: Option<Cost>,
    /// No plan can cost less: proven.
    pub bound: Cost,
    /// What is known of it.
    pub status: Status,
}

/// A report on the way.
#[derive(Debug)]
pub struct Progress<'a> {
    /// The best plan so far and its cost.
    pub incumbent: Option<(&'a Plan, &'a Cost)>,
    /// No plan can cost less.
    pub bound: &'a Cost,
    /// Rounds done.
    pub rounds: u64,
}

/// Solves a problem.
pub fn solve(
    problem: &Problem,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(Progress<'_>),
) -> Outcome {
    let problem = Arc::new(problem.clone());
    let network = Arc::new(Network::new(&problem));
    let mut known = Known::default();
    let mut engine = Improver::new(problem.clone(), network, options.seed);
    let mut rounds = 0;
    while options.rounds.is_none_or(|r| rounds < r) && !stop() {
        let found = engine.round(50_000, &known, stop);
        rounds += 1;
        if let Some(plan) = found.plan {
            match check(&problem, &plan) {
                Ok(cost) => {
                    if known.incumbent.as_ref().is_none_or(|(_, c)| cost < *c) {
                        known.incumbent = Some((Arc::new(plan), cost));
                    }
                }
                Err(violations) => debug_assert!(false, "a plan failed the check: {violations:?}"),
            }
        }
        progress(Progress {
            incumbent: known.incumbent.as_ref().map(|(p, c)| (&**p, c)),
            bound: &known.bound,
            rounds,
        });
    }
    let (plan, cost) = known
        .incumbent
        .map_or((None, None), |(p, c)| (Some((*p).clone()), Some(c)));
    let status = if plan.is_some() {
        Status::Feasible
    } else {
        Status::Unknown
    };
    Outcome {
        plan,
        cost,
        bound: known.bound,
        status,
    }
}
