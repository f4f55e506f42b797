//! Putting a day back together: from a plan, what really happened and what is known to come, a new plan
//! that begins now.
//!
//! What has happened is fixed. What is left of every train becomes a problem of its own ([`revise`]), in
//! which leaving the route of the old plan, and arriving later than it said, costs something below
//! everything else: so nothing changes without need. The old plan, with its order of trains kept and
//! its times moved, is where the search begins.

mod changes;
mod retime;
mod revise;

pub use changes::{Changes, Overtaken};
pub use revise::{Lifted, Revised, Who, revise};

use std::collections::HashMap;

use crate::check::NamedTrain;
use crate::problem::{Cost, DelayTerm, Event, Plan, Problem, Time, Train};
use crate::solver::{self, Outcome, Progress, Status, solve};
use crate::validate::Fault;

/// What is known at a moment.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Situation {
    /// The moment. Everything that starts from now on is still to be decided.
    pub now: Time,
    /// What has happened, one report for each train that has started anything. A train without one has
    /// not entered yet.
    pub reports: Vec<Report>,
    /// Resources that no train may hold for a time.
    pub closures: Vec<Closure>,
    /// Trains that will not run. They must not have held any resource yet.
    pub cancelled: Vec<usize>,
    /// Trains that were not planned.
    pub extra: Vec<Extra>,
}

/// How far a train has come.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    /// Which train.
    pub train: usize,
    /// Every operation that it has started, from its entry on, and when.
    pub started: Vec<(usize, Time)>,
    /// When its last started operation is expected to end; not before, at any rate. `None`: as soon as
    /// it may.
    pub ends: Option<Time>,
}

/// A resource that no train may hold for a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closure {
    /// Which.
    pub resource: usize,
    /// From when.
    pub from: Time,
    /// Until when.
    pub until: Time,
}

/// A train that was not planned.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Extra {
    /// Its operations, holding resources of the problem.
    pub train: Train,
    /// What its delay costs. The terms' `train` is not looked at.
    pub terms: Vec<DelayTerm>,
}

/// How to search for the new plan.
#[derive(Debug, Clone)]
pub struct Options {
    /// Seed of all chance.
    pub seed: u64,
    /// Rounds of the solver; `None` to run until stopped.
    pub rounds: Option<u64>,
    /// Engines that may work at the same time; the answer does not depend on it.
    pub threads: usize,
    /// What leaving the old plan's route costs, in the unit of the objective's rank 0. `None`: less than
    /// anything else, so that it decides only between plans that are otherwise alike.
    pub change_cost: Option<i64>,
}

/// A new plan.
#[derive(Debug, Clone)]
pub struct Replanned {
    /// The problem from now on.
    pub revised: Revised,
    /// What the solver found for it.
    pub outcome: Outcome,
    /// How its plan differs from the old one; nothing if there is none.
    pub changes: Changes,
}

/// What is wrong with a situation.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SituationFault {
    /// A train that does not exist.
    #[error("train {found} does not exist, there are {count} trains")]
    NoSuchTrain {
        /// The index found.
        found: usize,
        /// How many trains there are.
        count: usize,
    },
    /// An operation that does not exist.
    #[error("{train} has no operation {found}, only {count} operations")]
    NoSuchOperation {
        /// Whose.
        train: NamedTrain,
        /// The index found.
        found: usize,
        /// How many operations it has.
        count: usize,
    },
    /// A resource that does not exist.
    #[error("a closure is of resource {found}, but there are only {count} resources")]
    NoSuchResource {
        /// The index found.
        found: usize,
        /// How many resources there are.
        count: usize,
    },
    /// Two reports of one train.
    #[error("{train} is reported twice")]
    ReportedTwice {
        /// Which.
        train: NamedTrain,
    },
    /// A train that is said to have begun elsewhere than at its entry.
    #[error(
        "{train} is reported to have begun with operation {found}, expected its entry, operation {entry}"
    )]
    NotEntry {
        /// Which.
        train: NamedTrain,
        /// The operation reported.
        found: usize,
        /// Its entry.
        entry: usize,
    },
    /// A step that the train's graph does not have.
    #[error(
        "{train} is reported to have gone from operation {from} to {to}, which does not follow it"
    )]
    NotSuccessor {
        /// Which.
        train: NamedTrain,
        /// From where.
        from: usize,
        /// To where.
        to: usize,
    },
    /// Something reported before it happened.
    #[error(
        "{train}, operation {operation} is reported to have started at {time}, but it is only {now}"
    )]
    InTheFuture {
        /// Which.
        train: NamedTrain,
        /// Which operation.
        operation: usize,
        /// When it is said to have started.
        time: Time,
        /// The moment of the situation.
        now: Time,
    },
    /// Time running backwards.
    #[error(
        "{train}, operation {operation} is reported to have started at {time}, before the one ahead of it at {before}"
    )]
    Backwards {
        /// Which.
        train: NamedTrain,
        /// Which operation.
        operation: usize,
        /// When it is said to have started.
        time: Time,
        /// When the one before did.
        before: Time,
    },
    /// Two trains in one place.
    #[error("{first} and {second} are both reported to be on `{resource}` now")]
    BothThere {
        /// One.
        first: NamedTrain,
        /// The other.
        second: NamedTrain,
        /// The resource's name.
        resource: String,
    },
    /// A closure of what a train stands on.
    #[error(
        "`{resource}` cannot be closed from {from}: {train} is on it until {until} at least; report what delays the train, or close it from then"
    )]
    ClosedUnderTrain {
        /// The resource's name.
        resource: String,
        /// From when it was to be closed.
        from: Time,
        /// Who is on it.
        train: NamedTrain,
        /// Until when, at least.
        until: Time,
    },
    /// A closure that ends before it begins.
    #[error(
        "`{resource}` is closed from {from} until {until}, expected an end after the beginning"
    )]
    EmptyClosure {
        /// The resource's name.
        resource: String,
        /// Its beginning.
        from: Time,
        /// Its end.
        until: Time,
    },
    /// A train that runs and does not.
    #[error(
        "{train} is cancelled, but reported to have started operation {operation}: only a train that has not taken any track yet can be cancelled"
    )]
    CancelledUnderWay {
        /// Which.
        train: NamedTrain,
        /// The first operation in which it held something.
        operation: usize,
    },
    /// An extra train that is not well formed.
    #[error("extra train {extra}: {fault}")]
    Extra {
        /// Its position among the extra trains.
        extra: usize,
        /// What is wrong with it.
        fault: Fault,
    },
}

impl Situation {
    /// The situation at a moment if everything until then went as planned.
    pub fn as_planned(plan: &Plan, now: Time) -> Self {
        let mut reports: Vec<Report> = Vec::new();
        let mut which: HashMap<usize, usize> = HashMap::new();
        for &Event {
            time,
            train,
            operation,
        } in plan.events.iter().filter(|e| e.time <= now)
        {
            let report = *which.entry(train).or_insert_with(|| {
                reports.push(Report {
                    train,
                    ..Report::default()
                });
                reports.len() - 1
            });
            reports[report].started.push((operation, time));
        }
        Self {
            now,
            reports,
            ..Self::default()
        }
    }
}

/// Makes a new plan from now on. If none is found that keeps the latest starts, they are lifted, and those
/// that the plan found then misses are listed in [`Revised::lifted`].
///
/// # Errors
/// Everything in the situation that contradicts the problem or itself.
pub fn replan(
    problem: &Problem,
    plan: &Plan,
    situation: &Situation,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(Progress<'_>),
) -> Result<Replanned, Vec<SituationFault>> {
    let mut revised = revise(problem, plan, situation, options.change_cost)?;
    let mut outcome = solve_revised(&revised, options, stop, progress);
    if outcome.plan.is_none()
        && !stop()
        && let Some(mut unlimited) = revised.without_latest_starts(plan)
    {
        outcome = solve_revised(&unlimited, options, stop, progress);
        if let Some(new) = &outcome.plan {
            let missed = unlimited.missed(&revised, new);
            unlimited.lifted.extend(missed);
            revised = unlimited;
        }
    }
    let changes = outcome.plan.as_ref().map_or_else(Changes::default, |new| {
        Changes::between(&revised, plan, new)
    });
    Ok(Replanned {
        revised,
        outcome,
        changes,
    })
}

fn solve_revised(
    revised: &Revised,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(Progress<'_>),
) -> Outcome {
    if revised.problem.trains.is_empty() {
        // Everything has left the line: the plan is to do nothing.
        let cost = Cost(vec![0]);
        let (plan, bound) = (Some(Plan::default()), cost.clone());
        return Outcome {
            plan,
            cost: Some(cost),
            bound,
            status: Status::Optimal,
        };
    }
    let options = solver::Options {
        seed: options.seed,
        rounds: options.rounds,
        threads: options.threads,
        warm_start: revised.warm_start.clone(),
    };
    solve(&revised.problem, &options, stop, progress)
}
