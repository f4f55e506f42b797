//! Asking for a plan, and what comes back.

use crate::plan::Plan;
use crate::rates::{Estimate, Rates};
use crate::search::bound::{Bounds, WEIGHTS};
use crate::search::build::build;
use crate::search::goals::goals;
use crate::search::map::Maps;
use crate::search::problem::Problem;
use crate::search::seek::{Origin, astar, beam, both_ends};
use crate::search::state::{Measure, Stepper};
use crate::search::why;
use crate::town::{Town, TownError};
use crate::work::{Work, WorkError};

/// What to minimise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Objective {
    /// Fewest couplings and set-outs; among the ways to run each move, the quickest.
    #[default]
    Moves,
    /// Least expected time, at the rates given.
    Time,
}

/// How to search.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// What to minimise. With trains due it is always time.
    pub objective: Objective,
    /// Most states to generate, all phases together. The same budget gives the same answer.
    pub node_budget: u64,
    /// How long things take.
    pub rates: Rates,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            objective: Objective::Moves,
            node_budget: 600_000,
            rates: Rates::default(),
        }
    }
}

/// A plan and what is known about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Solved {
    /// The plan.
    pub plan: Plan,
    /// Its number of moves.
    pub moves: usize,
    /// How long it takes, with a spread.
    pub time: Estimate,
    /// What was minimised, in moves or in hundredths of a second.
    pub cost: u32,
    /// Proven: no plan costs less than this.
    pub bound: u32,
    /// Whether the plan is proven best (`cost == bound`).
    pub proven: bool,
    /// States generated.
    pub nodes: u64,
}

/// Why there is no plan at all. Every one of these is proven.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// More cars are to end on a track than it holds.
    #[error(
        "{place} is {capacity} long, and the cars that are to end there need {needed}; take {over} less there"
    )]
    TooFull {
        /// The place.
        place: String,
        /// Its length.
        capacity: u32,
        /// Length of the cars bound for it.
        needed: u32,
        /// The difference.
        over: u32,
    },
    /// One car alone, in an otherwise empty town with an engine alone, cannot get there, however
    /// long the tracks were made: the engine is at the wrong end of it and nothing lets it get
    /// round.
    #[error(
        "{car} cannot be brought {goal}: the engine is always at the wrong end of it, and no track lets the engine run round"
    )]
    WrongEnd {
        /// The car.
        car: String,
        /// Where it should go, in words.
        goal: String,
    },
    /// One car alone cannot get there, but could if the tracks were longer.
    #[error(
        "{car} cannot be brought {goal}: some track on the way (a run-around or the track beyond a switch) is too short for the engine and that one car"
    )]
    TooShort {
        /// The car.
        car: String,
        /// Where it should go, in words.
        goal: String,
    },
    /// The engine alone cannot leave as it should.
    #[error("the engine cannot get to {boundary} the right way round, even with no cars")]
    CannotLeave {
        /// The boundary.
        boundary: String,
    },
    /// The search looked at everything that can be reached.
    #[error(
        "every arrangement that can be reached was looked at ({states} moves), and none does all of the work"
    )]
    AllTried {
        /// States generated.
        states: u64,
    },
}

/// What comes back.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// A plan.
    Solved(Box<Solved>),
    /// Proven: no plan exists.
    Impossible(Vec<Reason>),
    /// The budget ran out, or the search was stopped, before a plan was found.
    GaveUp {
        /// Proven: no plan costs less than this.
        bound: u32,
        /// States generated.
        nodes: u64,
    },
}

impl Answer {
    /// The plan, if there is one.
    pub fn solved(&self) -> Option<&Solved> {
        match self {
            Self::Solved(s) => Some(s),
            _ => None,
        }
    }
}

/// Why the question makes no sense.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unusable {
    /// The town.
    #[error("{0}")]
    Town(#[from] TownError),
    /// The work.
    #[error("{0}")]
    Work(#[from] WorkError),
}

/// Finds a plan that does all of the work.
///
/// `stop` is asked now and then; when it says `true` the best answer so far comes back. Apart from
/// that the answer depends on nothing but the arguments.
///
/// # Errors
/// If the town or the work contradicts itself; all problems at once.
pub fn solve(
    town: &Town,
    work: &Work,
    options: &Options,
    stop: &dyn Fn() -> bool,
) -> Result<Answer, Vec<Unusable>> {
    let mut wrong: Vec<Unusable> = town.check().into_iter().map(Unusable::Town).collect();
    if wrong.is_empty() {
        wrong.extend(work.check(town).into_iter().map(Unusable::Work));
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let maps = Maps::default();
    let reasons = why::impossible(town, work, &maps);
    if !reasons.is_empty() {
        return Ok(Answer::Impossible(reasons));
    }
    let timed = options.objective == Objective::Time || !work.trains_due.is_empty();
    let measure = if timed {
        Measure::Time(Box::new(options.rates.clone()))
    } else {
        Measure::Moves
    };
    let gave_up = Answer::GaveUp { bound: 0, nodes: 0 };
    let problem = || Problem::new(town, work, false);
    let Some(mut s) = Stepper::new(problem(), work, measure, &maps) else {
        return Ok(gave_up);
    };
    let bounds = Bounds::new(&s, town, work, &maps);
    let mut nodes = 0;
    let mut best: Option<(u32, Vec<Vec<u8>>)> = None;
    let mut proven = 0;
    // Small work first: from both ends, where the goals can be listed.
    if !timed && let Some(goals) = goals(&mut s, 20_000) {
        let found = both_ends(
            &mut s,
            &bounds,
            &goals,
            options.node_budget / 4,
            &mut nodes,
            stop,
        );
        proven = found.bound;
        best = found.best;
        if best.is_none() && proven == u32::MAX {
            return Ok(Answer::Impossible(vec![Reason::AllTried { states: nodes }]));
        }
    }
    let start = s.start_state();
    let root = bounds.left(&mut s, &start).bound.max(proven);
    let budget = options.node_budget * 5 / 8;
    if best.is_none() {
        best = improve(
            &mut s, &bounds, &start, root, budget, &mut nodes, stop, !timed,
        );
    }
    s.glued = None;
    let upper = best.as_ref().map(|b| b.0);
    let found = astar(
        &mut s,
        &bounds,
        upper,
        proven,
        options.node_budget,
        &mut nodes,
        stop,
    );
    if let Some(f) = found.best {
        best = Some(f);
    }
    let Some((cost, states)) = best else {
        return Ok(if found.bound == u32::MAX {
            Answer::Impossible(vec![Reason::AllTried { states: nodes }])
        } else {
            Answer::GaveUp {
                bound: found.bound,
                nodes,
            }
        });
    };
    let Some(mut timer) = Stepper::new(
        problem(),
        work,
        Measure::Time(Box::new(options.rates.clone())),
        &maps,
    ) else {
        return Ok(gave_up);
    };
    let Some(plan) = build(&mut s, &mut timer, &options.rates, &states) else {
        // Would be a fault of ours; never show a plan that cannot be described.
        debug_assert!(false, "a plan was found that cannot be built");
        return Ok(Answer::GaveUp {
            bound: found.bound,
            nodes,
        });
    };
    let moves = plan.count();
    let mut time = options.rates.estimate(&plan.effort(), plan.moves.len());
    time.seconds += waited(&plan, options, work);
    Ok(Answer::Solved(Box::new(Solved {
        moves,
        time,
        cost,
        bound: found.bound.min(cost),
        proven: found.bound >= cost,
        nodes,
        plan,
    })))
}

/// Beams: narrow ones for a plan, then from points along the best plan so far, then wider ones, until
/// five eighths of the budget are spent or the plan cannot be better.
#[allow(clippy::too_many_arguments)] // one caller; all of the search's state
fn improve(
    s: &mut Stepper,
    bounds: &Bounds,
    start: &[u8],
    root: u32,
    budget: u64,
    nodes: &mut u64,
    stop: &dyn Fn() -> bool,
    moves: bool,
) -> Option<(u32, Vec<Vec<u8>>)> {
    let mut best: Option<(u32, Vec<Vec<u8>>)> = None;
    let whole = Origin {
        state: start,
        cost: 0,
    };
    for (width, glued) in [(30, true), (200, true), (200, false), (2000, true)] {
        for weights in WEIGHTS {
            let limit = best.as_ref().map_or(u32::MAX, |b| b.0);
            if root >= limit || *nodes >= budget || stop() {
                return best;
            }
            s.glued = glued.then(|| bounds.glue());
            bounds.weigh(weights);
            if let Some(f) = beam(s, bounds, &whole, width, limit, budget, nodes, stop) {
                best = Some(f);
            }
        }
        // Once more from points along the plan, later ones first: the shorter way home from there
        // is found with far fewer states.
        let Some((_, states)) = best.clone().filter(|_| moves) else {
            continue;
        };
        let mut states = states;
        let mut at = states.len().saturating_sub(3);
        let mut turn = 0;
        while at > 0 {
            let limit = states.len() as u32 - 1;
            if root >= limit || *nodes >= budget || stop() {
                break;
            }
            s.glued = (turn % 2 == 0).then(|| bounds.glue());
            bounds.weigh(WEIGHTS[turn % WEIGHTS.len()]);
            let from = Origin {
                state: &states[at].clone(),
                cost: at as u32,
            };
            if let Some((_, rest)) = beam(s, bounds, &from, width, limit, budget, nodes, stop) {
                states.truncate(at);
                states.extend(rest);
                at = states.len().saturating_sub(3);
            } else {
                at = at.saturating_sub(2);
            }
            turn += 1;
        }
        best = Some((states.len() as u32 - 1, states));
    }
    best
}

/// Seconds spent waiting for due trains.
fn waited(plan: &Plan, options: &Options, work: &Work) -> f64 {
    let mut clock = 0.0;
    let mut total = 0.0;
    for m in &plan.moves {
        clock += options.rates.estimate(&m.effort, 1).seconds;
        if let crate::plan::Handling::Wait { due, .. } = m.handling {
            let until = f64::from(work.trains_due[due].to_s);
            if until > clock {
                total += until - clock;
                clock = until;
            }
        }
    }
    total
}
