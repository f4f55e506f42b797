//! The driver: engines in rounds, until the caller says stop or the budget is spent.

use std::sync::Arc;

use crate::check::check;
use crate::engine::{Engine, Found, Impossible, Known};
use crate::exact::Exact;
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

/// Labels, moves and propagations that an engine may spend in a round.
const QUOTA: u64 = 50_000;

/// One engine and what it said in the present round.
struct Seat {
    engine: Box<dyn Engine>,
    found: Found,
    exhausted: bool,
    /// Takes part in every so many rounds.
    every: u64,
}

impl Seat {
    fn new(engine: Box<dyn Engine>) -> Self {
        Self {
            engine,
            found: Found::default(),
            exhausted: false,
            every: 1,
        }
    }

    fn round(&mut self, number: u64, known: &Known, stop: &dyn Fn() -> bool) {
        self.found = Found::default();
        if !self.exhausted && number.is_multiple_of(self.every) {
            self.found = self.engine.round(QUOTA, known, stop);
            self.exhausted = self.found.exhausted;
        }
    }
}

/// Solves a problem, which must be valid (see [`crate::validate`]).
///
/// Plans and bounds are reported to `progress` as they are found; `stop` is asked often and ends the work
/// with the best plan so far. With the same problem, seed, rounds and warm start the answer is the same on
/// any number of threads, unless `stop` cut it short.
pub fn solve(
    problem: &Problem,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(Progress<'_>),
) -> Outcome {
    let problem = Arc::new(problem.clone());
    let network = Arc::new(Network::new(&problem));
    let mut known = Known::default();
    if let Some(train) = network.stuck {
        let impossible = Impossible {
            trains: vec![train],
            resources: Vec::new(),
        };
        return Outcome {
            plan: None,
            cost: None,
            bound: known.bound,
            status: Status::Infeasible(impossible),
        };
    }
    if let Some(plan) = &options.warm_start
        && let Ok(cost) = check(&problem, plan)
    {
        known.incumbent = Some((Arc::new(plan.clone()), cost));
    }
    let improver = |seed: u64| {
        Improver::new(
            problem.clone(),
            network.clone(),
            seed,
            options.warm_start.as_ref(),
        )
    };
    let mut seats = [
        Seat::new(Box::new(improver(options.seed))),
        Seat::new(Box::new(Exact::new(&problem))),
        Seat::new(Box::new(improver(options.seed ^ 0x9e37_79b9_7f4a_7c15))),
    ];
    let mut infeasible = None;
    let mut rounds = 0;
    while options.rounds.is_none_or(|r| rounds < r) && !stop() {
        let [first, exact, second] = &mut seats;
        // A proof that is not near its end must not take the time of the search for better plans for ever.
        exact.every = turn_of_proof(rounds, &known);
        let known_now = &known;
        if options.threads > 1 && rounds > 0 {
            std::thread::scope(|scope| {
                scope.spawn(move || {
                    exact.round(rounds, known_now, stop);
                    second.round(rounds, known_now, stop);
                });
                first.round(rounds, known_now, stop);
            });
        } else {
            first.round(rounds, known_now, stop);
            if rounds > 0 {
                exact.round(rounds, known_now, stop);
                second.round(rounds, known_now, stop);
            }
        }
        rounds += 1;
        for seat in &mut seats {
            infeasible =
                infeasible.or(merge(&problem, &mut known, std::mem::take(&mut seat.found)));
        }
        progress(Progress {
            incumbent: known.incumbent.as_ref().map(|(p, c)| (&**p, c)),
            bound: &known.bound,
            rounds,
        });
        let proven = known
            .incumbent
            .as_ref()
            .is_some_and(|(_, cost)| *cost <= known.bound);
        if proven || infeasible.is_some() {
            break;
        }
    }
    let status = match (&known.incumbent, infeasible) {
        (Some((_, cost)), _) if *cost <= known.bound => Status::Optimal,
        (Some(_), _) => Status::Feasible,
        (None, Some(impossible)) => Status::Infeasible(impossible),
        (None, None) => Status::Unknown,
    };
    let (plan, cost) = known
        .incumbent
        .map_or((None, None), |(p, c)| (Some((*p).clone()), Some(c)));
    Outcome {
        plan,
        cost,
        bound: known.bound,
        status,
    }
}

/// In every how many rounds the proof is worked on: in all while it may soon be done, in few where the bound
/// stays far below the best plan.
fn turn_of_proof(rounds: u64, known: &Known) -> u64 {
    let far = known
        .incumbent
        .as_ref()
        .is_some_and(|(_, cost)| known.bound.total() < cost.total() / 2);
    match (rounds, far) {
        (0..8, _) | (8..240, false) => 1,
        (8..60, true) | (_, false) => 4,
        (_, true) => 12,
    }
}

/// Takes in what an engine found; a plan only if it passes the check.
fn merge(problem: &Problem, known: &mut Known, found: Found) -> Option<Impossible> {
    if let Some(bound) = found.bound
        && bound > known.bound
    {
        known.bound = bound;
    }
    if let Some(plan) = found.plan {
        match check(problem, &plan) {
            Ok(cost) => {
                if known.incumbent.as_ref().is_none_or(|(_, c)| cost < *c) {
                    known.incumbent = Some((Arc::new(plan), cost));
                }
            }
            Err(violations) => debug_assert!(false, "a plan failed the check: {violations:?}"),
        }
    }
    found.infeasible
}
