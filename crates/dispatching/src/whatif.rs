//! What each resource is worth: how the cost changes if trains no longer exclude each other from it, or
//! if no train may use it.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::problem::{Cost, Plan, Problem};
use crate::restrict::{entry, restrict};
use crate::solver::{self, Status, solve};

/// A change to a railroad.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Change {
    /// There is room on the resource for any number of trains.
    Freed(usize),
    /// No train may use the resource.
    Forbidden(usize),
}

impl Change {
    /// The resource changed.
    pub fn resource(self) -> usize {
        match self {
            Self::Freed(r) | Self::Forbidden(r) => r,
        }
    }
}

/// What a change does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect {
    /// There is a plan of this cost; `proven` if none is cheaper.
    Cost {
        /// What the best plan found costs.
        cost: Cost,
        /// Whether it is proven best.
        proven: bool,
    },
    /// These trains have no path left.
    NoPath {
        /// Their indices.
        trains: Vec<usize>,
    },
    /// There is no plan any more: proven.
    Impossible,
    /// No plan was found with the work allowed.
    Unknown,
}

/// One case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    /// What was changed.
    pub change: Change,
    /// What that did.
    pub effect: Effect,
}

/// What each resource is worth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sensitivity {
    /// The cost without any change.
    pub base: Cost,
    /// Every freed resource, the most helpful first.
    pub freed: Vec<Case>,
    /// Every forbidden resource, the most harmful first.
    pub forbidden: Vec<Case>,
}

/// How much work to spend.
#[derive(Debug, Clone)]
pub struct Options {
    /// Seed of all chance.
    pub seed: u64,
    /// Rounds of the solver for each case.
    pub rounds: u64,
    /// Cases worked on at the same time; the answer does not depend on it.
    pub threads: usize,
}

/// Works out what each resource is worth, starting from a plan of the problem.
///
/// Resources that at most one train can use are not freed, for that changes nothing. All cases, the
/// unchanged one too, are given the same work; costs compare as far as the plans found are best.
/// `None` if `stop` said so before the end, or no plan of the unchanged problem was found.
pub fn sensitivity(
    problem: &Problem,
    plan: Option<&Plan>,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Sensitivity> {
    let work = |problem: &Problem, warm_start: Option<Plan>| {
        let options = solver::Options {
            seed: options.seed,
            rounds: Some(options.rounds),
            threads: 1,
            warm_start,
        };
        solve(problem, &options, stop, &mut |_| {})
    };
    let unchanged = work(problem, plan.cloned());
    let (base_plan, base) = (unchanged.plan?, unchanged.cost?);
    let mut changes = Vec::new();
    for (resource, trains) in trains_by_resource(problem).into_iter().enumerate() {
        if trains > 1 {
            changes.push(Change::Freed(resource));
        }
        if trains > 0 {
            changes.push(Change::Forbidden(resource));
        }
    }
    let effect = |change: Change| {
        let outcome = match change {
            Change::Freed(resource) => {
                let mut freed = problem.clone();
                for operation in freed.trains.iter_mut().flat_map(|t| &mut t.operations) {
                    operation.resources.retain(|held| held.resource != resource);
                }
                work(&freed, Some(base_plan.clone()))
            }
            Change::Forbidden(resource) => {
                let allowed = |t: usize, o: usize| {
                    let held = &problem.trains[t].operations[o].resources;
                    held.iter().all(|held| held.resource != resource)
                };
                match restrict(problem, |t| entry(&problem.trains[t]), allowed) {
                    Err(trains) => return Effect::NoPath { trains },
                    Ok(left) => work(&left.problem, left.carry_over(&base_plan)),
                }
            }
        };
        match (outcome.status, outcome.cost) {
            (Status::Infeasible(_), _) => Effect::Impossible,
            (status, Some(cost)) => Effect::Cost {
                cost,
                proven: status == Status::Optimal,
            },
            (_, None) => Effect::Unknown,
        }
    };
    let mut cases = each_in_parallel(&changes, options.threads, effect);
    if stop() {
        return None;
    }
    // The best first: no plan counts as dearer than any cost. Ties stay in order of the resources.
    cases.sort_by_key(|case| match &case.effect {
        Effect::Cost { cost, .. } => (0, Some(cost.clone())),
        Effect::Unknown => (1, None),
        Effect::Impossible | Effect::NoPath { .. } => (2, None),
    });
    let (freed, mut forbidden): (Vec<Case>, Vec<Case>) = cases
        .into_iter()
        .partition(|c| matches!(c.change, Change::Freed(_)));
    forbidden.reverse();
    Some(Sensitivity {
        base,
        freed,
        forbidden,
    })
}

/// How many trains can use each resource.
fn trains_by_resource(problem: &Problem) -> Vec<usize> {
    let mut count = vec![0; problem.resources.len()];
    let mut last = vec![usize::MAX; problem.resources.len()];
    for (t, train) in problem.trains.iter().enumerate() {
        for held in train.operations.iter().flat_map(|o| &o.resources) {
            if last[held.resource] != t {
                last[held.resource] = t;
                count[held.resource] += 1;
            }
        }
    }
    count
}

/// The cases in the order of the changes, whichever thread worked on them.
fn each_in_parallel(
    changes: &[Change],
    threads: usize,
    effect: impl Fn(Change) -> Effect + Sync,
) -> Vec<Case> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, Case)>> = Mutex::new(Vec::with_capacity(changes.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, changes.len().max(1)) {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(&change) = changes.get(index) else {
                        return;
                    };
                    let case = Case {
                        change,
                        effect: effect(change),
                    };
                    if let Ok(mut done) = done.lock() {
                        done.push((index, case));
                    }
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_default();
    done.sort_by_key(|&(index, _)| index);
    done.into_iter().map(|(_, case)| case).collect()
}
