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

/// Labels and moves that the search for better plans may spend in a round.
const QUOTA: u64 = 50_000;

/// Propagations that the proof may spend in a round: about as long.
const PROOF_QUOTA: u64 = 110_000;

/// With more trains than this, a proof that is far from its end does not get half of the second engine's time.
const FEW_TRAINS: usize = 40;

/// One engine and what it said in the present round.
struct Seat {
    engine: Box<dyn Engine>,
    found: Found,
    exhausted: bool,
    quota: u64,
}

impl Seat {
    fn new(engine: Box<dyn Engine>, quota: u64) -> Self {
        Self {
            engine,
            found: Found::default(),
            exhausted: false,
            quota,
        }
    }

    fn round(&mut self, known: &Known, stop: &dyn Fn() -> bool) {
        self.found = self.engine.round(self.quota, known, stop);
        self.exhausted = self.found.exhausted;
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
    let second_seed = options.seed ^ 0x9e37_79b9_7f4a_7c15;
    let mut first = Seat::new(Box::new(improver(options.seed)), QUOTA);
    let mut second = Seat::new(Box::new(improver(second_seed)), QUOTA);
    let mut exact = Seat::new(Box::new(Exact::new(&problem)), PROOF_QUOTA);
    let mut infeasible = None;
    let mut rounds = 0;
    while options.rounds.is_none_or(|r| rounds < r) && !stop() {
        // Beside the first search for better plans works a second one or the proof, never both.
        let (part, whole) = turn_of_proof(rounds, &known, problem.trains.len());
        let other = if !exact.exhausted && (rounds + 1) % whole < part {
            &mut exact
        } else {
            &mut second
        };
        let known_now = &known;
        if options.threads > 1 && rounds > 0 {
            std::thread::scope(|scope| {
                scope.spawn(|| other.round(known_now, stop));
                first.round(known_now, stop);
            });
        } else {
            first.round(known_now, stop);
            if rounds > 0 {
                other.round(known_now, stop);
            }
        }
        rounds += 1;
        for seat in [&mut first, &mut exact, &mut second] {
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

/// In how many rounds of how many the proof is worked on: in most while it may soon be done, in few where the
/// bound stays far below the best plan and there are many trains.
fn turn_of_proof(rounds: u64, known: &Known, trains: usize) -> (u64, u64) {
    let far = known
        .incumbent
        .as_ref()
        .is_some_and(|(_, cost)| known.bound.total() < cost.total() / 2);
    match (rounds, far) {
        (_, false) if trains <= FEW_TRAINS => (7, 8),
        (_, false) => (2, 3),
        (0..8, true) => (1, 2),
        _ if trains <= FEW_TRAINS => (1, 2),
        (8..60, true) => (1, 4),
        (_, true) => (1, 12),
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
