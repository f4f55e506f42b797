//! The operating day: trains, tracks and running times compiled for `dispatching`, and its answer read
//! back as a [`DayPlan`] with every wait explained.

mod compile;
mod depth;
mod facts;
mod ground;
mod legs;
mod parts;
mod read;
mod turns;
mod window;
mod words;
mod work;

use std::collections::BTreeSet;

use dispatching::{
    Cost, Plan, Problem,
    solver::{self, Status},
};
use engineering::ids::StationId;
use model::time::{RailSpan, RailTime};
use railroad::{Railroad, TrainWay, ways};
use transportation::{
    TrainId,
    day::{ClassLoss, DayPlan, judge},
};

use crate::running::{Assumed, Profiles, TrainTimes};
use compile::{Compiled, Rules, compile};
use ground::Ground;
use legs::Leg;

pub use legs::{Made, running, usual_minutes};
pub use parts::{Kind, Part, Parts, Resource};
pub use turns::{HandOver, Handed, Light, Moment, Turns, turns};
pub use window::{Whereabouts, Window, whereabouts, window};
pub use words::{minutes, time, track_at};
pub use work::{Worked, clocks, made, worked};

/// How a day is planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Seed of all chance.
    pub seed: u64,
    /// Rounds of the solver.
    pub rounds: u64,
    /// Threads; the answer does not depend on them.
    pub threads: usize,
    /// Whether no train leaves before its written time anywhere, or only its initial station.
    pub keeps_leaving: bool,
    /// Most that a train may lose on one stretch of open line, rather than wait before it.
    pub slack: Option<RailSpan>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            seed: 1,
            // Enough that a day of two hundred and forty trains settles; a day that is proven stops before.
            rounds: 60,
            threads: 2,
            keeps_leaving: true,
            slack: None,
        }
    }
}

/// A planned day.
#[derive(Debug, Clone)]
pub struct Day {
    /// The plan.
    pub plan: DayPlan,
    /// Whether it is proven that no plan is better, class by class.
    pub proven: bool,
    /// Running times of the plan's trains, in its order.
    pub times: Vec<TrainTimes>,
    /// Engines, crews and helpers that go from train to train.
    pub turns: Turns,
    /// The problem that was solved, for other solvers.
    pub problem: Problem,
    /// What its operations and resources are.
    pub parts: Parts,
    /// The engine's own plan of it.
    pub solution: Plan,
    /// Its cost, and what no plan costs less than.
    pub cost: (Cost, Cost),
    /// Trains that fit on no track of a station of their way, but must run: symbol and station.
    pub too_long: Vec<(String, StationId)>,
    /// Trains left out, with the reason.
    pub left_out: Vec<(TrainId, String)>,
    /// What the plan was judged by.
    pub facts: judge::Facts,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoDay {
    /// No train runs.
    #[error("no train runs on this day")]
    NoTrains,
    /// Trains whose way could not be compiled.
    #[error("{0}")]
    NoWay(String),
    /// It is proven that there is none.
    #[error("there is no plan for these trains: {0}")]
    Impossible(String),
    /// The judge refused the plan that was found: a mistake of the program. It is not shown.
    #[error("the plan was refused by the judge, and is not shown: {}", .0.join("; "))]
    Refused(Vec<String>),
    /// None was found with the work allowed.
    #[error("no plan was found in {0} rounds; allow more")]
    NotFound(u64),
}

/// A report on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Rounds done.
    pub rounds: u64,
    /// Cost of the best plan so far.
    pub cost: Option<Cost>,
    /// No plan costs less.
    pub bound: Cost,
}

/// Plans the railroad's day. `made` says of each train of the service how it is made up; what it leaves
/// out is taken from the page.
///
/// # Errors
/// If no train runs, if the trains exclude each other (with the trains and tracks that do), or if no plan
/// was found.
pub fn day(
    railroad: &Railroad,
    options: &Options,
    made: &[Option<Made>],
    stop: &(dyn Fn() -> bool + Sync),
    on_progress: &mut dyn FnMut(Progress),
) -> Result<Day, NoDay> {
    let draft = Draft::new(railroad, options, made)?;
    draft.solve(options, stop, on_progress)
}

/// A day ready to be solved.
pub struct Draft<'a> {
    railroad: &'a Railroad,
    legs: Vec<Leg>,
    turns: Turns,
    chains: Vec<Vec<usize>>,
    rules: Rules,
    compiled: Compiled,
    left_out: Vec<(TrainId, String)>,
}

impl<'a> Draft<'a> {
    /// Compiles the day.
    ///
    /// # Errors
    /// If no train runs.
    pub fn new(
        railroad: &'a Railroad,
        options: &Options,
        made: &[Option<Made>],
    ) -> Result<Self, NoDay> {
        let operating = &railroad.service.operating;
        let profiles = Profiles::new(railroad);
        let assumed = Assumed::of(railroad);
        let ways: Vec<Option<TrainWay>> = ways(railroad);
        let mut legs: Vec<Leg> = Vec::new();
        let mut left_out = Vec::new();
        for id in running(railroad) {
            let made = made.get(id.index()).and_then(Option::as_ref);
            let found = ways[id.index()]
                .as_ref()
                .filter(|way| way.stations.len() > 1)
                .and_then(|way| legs::leg(railroad, &profiles, &assumed, id, way, made));
            match found {
                Some(leg) => legs.push(leg),
                None => left_out.push((id, "it has no way or no time to leave".to_owned())),
            }
        }
        if legs.is_empty() {
            return Err(NoDay::NoTrains);
        }
        hours_of_service(railroad, &mut legs);
        let trains: Vec<TrainId> = legs.iter().filter_map(|leg| leg.train).collect();
        let mut turns = turns(railroad, &ways, &trains);
        // Work at the end of a run comes before the run back.
        for chain in &turns.chains {
            for pair in chain.windows(2) {
                let turn = made
                    .get(pair[0].index())
                    .and_then(Option::as_ref)
                    .and_then(|made| made.turn);
                if let Some(turn) = turn {
                    let least = turns.between.entry(pair[1]).or_insert(RailSpan::ZERO);
                    *least = (*least).max(turn);
                }
            }
        }
        let extras = legs.iter().map(|leg| leg.class).max().unwrap_or(0) + 1;
        for light in &turns.lights {
            legs.extend(legs::light(
                railroad, &profiles, &assumed, light, extras, &legs,
            ));
        }
        let visits: BTreeSet<_> = legs
            .iter()
            .flat_map(|leg| leg.visits.iter().cloned())
            .collect();
        let ground = Ground::new(railroad, &visits);
        let chains: Vec<Vec<usize>> = turns
            .chains
            .iter()
            .map(|chain| {
                chain
                    .iter()
                    .filter_map(|train| legs.iter().position(|leg| leg.id == *train))
                    .collect()
            })
            .collect();
        let rules = Rules {
            clear: if operating.method.has_timetable_rights() {
                operating.clear.seconds()
            } else {
                0
            },
            made_up: operating.made_up.seconds(),
            broken_up: operating.broken_up.seconds(),
            keeps_leaving: options.keeps_leaving,
            slack: options.slack.map_or(i64::MAX, |slack| slack.seconds()),
        };
        let compiled = compile(railroad, &assumed, &legs, &chains, &ground, &turns, rules);
        for (at, train) in compiled.problem.trains.iter().enumerate() {
            let reaches = train.operations.len() > 1
                && train
                    .operations
                    .iter()
                    .take(train.operations.len() - 1)
                    .all(|operation| !operation.successors.is_empty());
            if !reaches {
                let symbols: Vec<&str> = chains
                    .get(at)
                    .into_iter()
                    .flatten()
                    .map(|leg| legs[*leg].symbol.as_str())
                    .collect();
                let places: Vec<String> = compiled
                    .homeless
                    .iter()
                    .filter(|(leg, _)| symbols.contains(&legs[*leg].symbol.as_str()))
                    .map(|(leg, call)| {
                        let station = legs[*leg].way.stations[*call];
                        railroad.way.station(station).name.value.clone()
                    })
                    .collect();
                return Err(NoDay::NoWay(format!(
                    "train {} finds no track it can use{}",
                    symbols.join(" and "),
                    if places.is_empty() {
                        String::new()
                    } else {
                        format!(" at {}", places.join(", "))
                    }
                )));
            }
        }
        Ok(Self {
            railroad,
            legs,
            turns,
            chains,
            rules,
            compiled,
            left_out,
        })
    }

    /// The problem, for other solvers.
    pub fn problem(&self) -> &Problem {
        &self.compiled.problem
    }

    /// What the problem's operations and resources are.
    pub fn parts(&self) -> Parts {
        Parts::of(&self.compiled, &self.legs)
    }

    /// Solves it.
    ///
    /// # Errors
    /// If there is no plan, or none was found.
    pub fn solve(
        self,
        options: &Options,
        stop: &(dyn Fn() -> bool + Sync),
        on_progress: &mut dyn FnMut(Progress),
    ) -> Result<Day, NoDay> {
        let solver_options = solver::Options {
            seed: options.seed,
            rounds: Some(options.rounds),
            threads: options.threads,
            warm_start: None,
        };
        let outcome = solver::solve(
            &self.compiled.problem,
            &solver_options,
            stop,
            &mut |progress| {
                on_progress(Progress {
                    rounds: progress.rounds,
                    cost: progress.incumbent.map(|(_, cost)| cost.clone()),
                    bound: progress.bound.clone(),
                });
            },
        );
        let (Some(solution), Some(cost)) = (outcome.plan, outcome.cost) else {
            return Err(match outcome.status {
                Status::Infeasible(impossible) => {
                    let trains: Vec<&str> = impossible
                        .trains
                        .iter()
                        .map(|train| self.compiled.problem.trains[*train].name.as_str())
                        .collect();
                    let resources: Vec<&str> = impossible
                        .resources
                        .iter()
                        .map(|resource| self.compiled.problem.resources[*resource].as_str())
                        .collect();
                    NoDay::Impossible(format!(
                        "{} cannot all use {}",
                        trains.join(", "),
                        resources.join(", ")
                    ))
                }
                _ => NoDay::NotFound(options.rounds),
            });
        };
        let tomorrow = self.compiled.tomorrow(&solution);
        if !tomorrow.is_empty() {
            return Err(NoDay::Impossible(format!(
                "{} would wait until tomorrow for tracks that others keep for the rest of the day",
                tomorrow.join(", ")
            )));
        }
        let mut plan = read::read(self.railroad, &self.compiled, &self.legs, &solution);
        plan.method = self.railroad.service.operating.method;
        plan.seed = options.seed;
        plan.losses = losses(&self.compiled, &cost, &outcome.bound);
        let courses = read::courses(&self.compiled, &solution);
        let facts = facts::facts(
            self.railroad,
            &self.compiled,
            &self.legs,
            &self.chains,
            &self.turns,
            self.rules,
            &courses,
            &plan,
        );
        judge::judge(&self.railroad.way, &self.railroad.network, &facts, &plan)
            .map_err(|faults| NoDay::Refused(faults.iter().map(ToString::to_string).collect()))?;
        Ok(Day {
            plan,
            proven: matches!(outcome.status, Status::Optimal),
            times: self.legs.iter().map(|leg| leg.times.clone()).collect(),
            turns: self.turns,
            too_long: self
                .compiled
                .homeless
                .iter()
                .map(|(leg, call)| {
                    let leg = &self.legs[*leg];
                    (leg.symbol.clone(), leg.way.stations[*call])
                })
                .collect(),
            parts: Parts::of(&self.compiled, &self.legs),
            problem: self.compiled.problem,
            solution,
            cost: (cost, outcome.bound),
            left_out: self.left_out,
            facts,
        })
    }
}

/// What each class loses, and what is proven of it: a bound on one class holds as long as the classes above
/// are proven.
fn losses(compiled: &Compiled, cost: &Cost, bound: &Cost) -> Vec<ClassLoss> {
    let mut proven_above = true;
    let timed = |rank: usize| {
        let mut terms = compiled.problem.objective.iter();
        terms.any(|term| usize::from(term.rank) == rank)
    };
    // A class of helpers running light alone has no times to lose.
    compiled
        .classes
        .iter()
        .enumerate()
        .filter(|(at, _)| *at == 0 || timed(*at))
        .map(|(at, class)| {
            let rank = at.min(200) as u8;
            let (lost, least) = (cost.rank(rank), bound.rank(rank));
            let at_least = proven_above.then_some(RailSpan::from_seconds(least.min(lost)));
            proven_above &= least >= lost;
            ClassLoss {
                class: *class,
                lost: RailSpan::from_seconds(lost),
                at_least,
            }
        })
        .collect()
}

/// By when each crew's last train must be in.
fn hours_of_service(railroad: &Railroad, legs: &mut [Leg]) {
    let service = &railroad.service;
    for job in &service.jobs {
        let Some(on_duty) = job.on_duty.filter(|_| !job.stands()) else {
            continue;
        };
        let off: RailTime = on_duty.value + service.operating.hours_of_service;
        for name in &job.trains {
            let id = service.find_train(&name.value);
            if let Some(leg) = legs
                .iter_mut()
                .find(|leg| leg.train.is_some() && leg.train == id)
            {
                leg.off_duty = Some(off);
            }
        }
    }
}
