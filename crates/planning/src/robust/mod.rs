//! How a plan stands up to a day on which not everything goes as planned.
//!
//! A day is drawn by its own seed: crews of varying pace, cars on the ground, trains late out of staging.
//! It is run by the plan's own order of trains on every piece of track, each train going as soon as it
//! may ([`chain`]); where a train has waited beyond the dispatcher's patience, a new plan is made from
//! what had happened by then, and the day goes on by that. Of what is still to come the dispatcher knows
//! only how late trains are that have yet to come out of staging.
//!
//! All days together say how often each class is on time, where trains wait for each other, and where a
//! minute to spare would save most.

mod chain;
mod dice;
pub mod of_day;
mod tally;

use dispatching::{
    Plan, Problem, Time,
    replan::{self, Report, Situation, Who},
};

pub use chain::Sort;
use chain::{Chain, Run};
pub use tally::{Choke, ClassReport, Outcome, Slack, TrainReport};

/// What an operation of a train of the problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meaning {
    /// Index of the train in the plan; a train of the problem may be several of them in turn.
    pub train: usize,
    /// Index of the station in its way; on open line that of the station left.
    pub call: usize,
    /// What it is.
    pub sort: Sort,
}

/// A train of the plan, as far as its punctuality is concerned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Booked {
    /// Its number.
    pub name: String,
    /// Its class.
    pub class: i64,
    /// Names of its stations in order.
    pub places: Vec<String>,
    /// When it is due at the end, if it is.
    pub due: Option<Time>,
    /// Whether it comes out of staging.
    pub from_staging: bool,
}

/// A solved day, ready to be run many times.
#[derive(Debug, Clone)]
pub struct Worked<'a> {
    /// The problem.
    pub problem: &'a Problem,
    /// Its plan.
    pub plan: &'a Plan,
    /// What its operations are, beside those of the problem; `None` for what belongs to no train.
    pub meanings: Vec<Vec<Option<Meaning>>>,
    /// What its resources are called.
    pub resources: Vec<String>,
    /// The trains of the plan.
    pub booked: Vec<Booked>,
}

/// What may happen, and how often. Common practice, no source: an owner who keeps train sheets puts in
/// their own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// How much crews differ in running: 0.1 means that two thirds are within ten percent.
    pub pace: f64,
    /// How much they differ at work in stations.
    pub work_pace: f64,
    /// Chance that a train has something on the ground on one stretch of open line.
    pub derailment: f64,
    /// How long it takes to put right, on the average, by the railroad's clock in seconds; between half
    /// and twice that.
    pub rerailing: Time,
    /// Chance that a train out of staging is late.
    pub late_out: f64,
    /// How late it then is on the average, in seconds.
    pub late_by: Time,
}

impl Chances {
    /// Chances of a club's session with a clock of that ratio: five real minutes to put a car back on,
    /// four late out of staging.
    pub fn at_clock(ratio: f64) -> Self {
        Self {
            pace: 0.10,
            work_pace: 0.25,
            derailment: 0.004,
            rerailing: (300.0 * ratio) as Time,
            late_out: 0.2,
            late_by: (240.0 * ratio) as Time,
        }
    }

    /// Nothing ever goes wrong.
    pub const NONE: Self = Self {
        pace: 0.0,
        work_pace: 0.0,
        derailment: 0.0,
        rerailing: 0,
        late_out: 0.0,
        late_by: 0,
    };
}

/// How many days, and how they are worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Days.
    pub days: u32,
    /// Seed of all chance.
    pub seed: u64,
    /// Threads; the answer does not depend on them.
    pub threads: usize,
    /// How late is still on time, in seconds.
    pub tolerance: Time,
    /// How much longer than planned a train waits for others before the dispatcher makes a new plan.
    pub patience: Time,
    /// How often on one day at most.
    pub replans: u32,
    /// Rounds of the solver for a new plan.
    pub rounds: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            days: 1000,
            seed: 1,
            threads: 1,
            tolerance: 300,
            patience: 1800,
            replans: 1,
            rounds: 1,
        }
    }
}

/// Runs the days.
pub fn run(
    worked: &Worked<'_>,
    chances: &Chances,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Outcome {
    let chain = Chain::new(worked.problem, worked.plan);
    let calm = chain.run(&|_, _| chain::Luck::PLAIN);
    let threads = options.threads.max(1);
    let day = |number: u32| one_day(worked, chances, options, &chain, &calm, number, stop);
    let mut days: Vec<tally::Day> = if threads == 1 {
        (0..options.days).take_while(|_| !stop()).map(day).collect()
    } else {
        let day = &day;
        std::thread::scope(|scope| {
            let workers: Vec<_> = (0..threads as u32)
                .map(|worker| {
                    scope.spawn(move || {
                        (worker..options.days)
                            .step_by(threads)
                            .take_while(|_| !stop())
                            .map(day)
                            .collect::<Vec<_>>()
                    })
                })
                .collect();
            workers
                .into_iter()
                .flat_map(|worker| worker.join().unwrap_or_default())
                .collect()
        })
    };
    days.sort_by_key(|day| day.number);
    tally::tally(worked, options, &days)
}

fn one_day(
    worked: &Worked<'_>,
    chances: &Chances,
    options: &Options,
    chain: &Chain,
    calm: &Run,
    number: u32,
    stop: &(dyn Fn() -> bool + Sync),
) -> tally::Day {
    let luck = dice::Luckbook::draw(worked, chances, options.seed, number);
    let of = |train: usize, operation: usize| luck.of(worked, train, operation);
    let mut ran = chain.run(&of);
    let mut replans = 0;
    let mut now_by: Option<(Plan, Chain)> = None;
    while replans < options.replans && !stop() {
        let (plan, links) = match &now_by {
            Some((plan, links)) => (plan, links),
            None => (worked.plan, chain),
        };
        // Before a later new plan than the last nobody has lost patience again with what was decided then.
        let Some(now) = links.patience_lost(&ran, calm, options.patience) else {
            break;
        };
        let Some(new) = new_plan(worked, plan, links, &ran, now, options, &of, stop) else {
            break;
        };
        let links = Chain::new(worked.problem, &new);
        ran = links.run(&of);
        now_by = Some((new, links));
        replans += 1;
    }
    let links = now_by.as_ref().map_or(chain, |(_, links)| links);
    tally::day(worked, links, &ran, calm, chain, number, replans)
}

/// The plan the dispatcher makes at a moment, knowing what has happened and how long what is under way
/// still takes.
#[allow(clippy::too_many_arguments)]
fn new_plan(
    worked: &Worked<'_>,
    plan: &Plan,
    links: &Chain,
    ran: &Run,
    now: Time,
    options: &Options,
    luck: &dyn Fn(usize, usize) -> chain::Luck,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Plan> {
    let mut reports: Vec<Report> = Vec::new();
    let mut history = Vec::new();
    let mut started = std::collections::HashSet::new();
    for (at, event) in plan.events.iter().enumerate() {
        let time = ran.times[at];
        if time > now {
            continue;
        }
        history.push((time, at));
        started.insert((event.train, event.operation));
        let operation = &worked.problem.trains[event.train].operations[event.operation];
        let ends = time + luck(event.train, event.operation).on(operation.min_duration);
        match reports
            .iter_mut()
            .find(|report| report.train == event.train)
        {
            Some(report) => {
                report.started.push((event.operation, time));
                report.ends = Some(ends);
            }
            None => reports.push(Report {
                train: event.train,
                started: vec![(event.operation, time)],
                ends: Some(ends),
            }),
        }
    }
    history.sort_unstable();
    // Offices beyond have wired how late the trains are that are still to come out.
    let mut problem = worked.problem.clone();
    let began: Vec<usize> = started.iter().map(|(train, _)| *train).collect();
    for (at, &(train, operation)) in links.events.iter().enumerate() {
        if links.before[at].is_none() && !began.contains(&train) {
            let first = &mut problem.trains[train].operations[operation];
            first.start_lb += luck(train, operation).late;
        }
    }
    let situation = Situation {
        now,
        reports,
        ..Situation::default()
    };
    // The order in which things happened is that of the old plan, with the times of the day.
    let happened = Plan {
        objective_value: plan.objective_value,
        events: plan
            .events
            .iter()
            .zip(&ran.times)
            .map(|(event, &time)| dispatching::Event { time, ..*event })
            .collect(),
    };
    let how = replan::Options {
        seed: options.seed,
        rounds: Some(options.rounds),
        threads: 1,
        change_cost: None,
    };
    let found = replan::replan(&problem, &happened, &situation, &how, stop, &mut |_| {}).ok()?;
    let new = found.outcome.plan?;
    let mut events: Vec<dispatching::Event> = history
        .into_iter()
        .map(|(time, at)| dispatching::Event {
            time,
            ..plan.events[at]
        })
        .collect();
    for event in &new.events {
        let Who::Train(train) = found.revised.who[event.train] else {
            continue;
        };
        let operation = found.revised.origin[event.train][event.operation];
        if !started.contains(&(train, operation)) {
            events.push(dispatching::Event {
                time: event.time,
                train,
                operation,
            });
        }
    }
    Some(Plan {
        objective_value: new.objective_value,
        events,
    })
}

#[cfg(test)]
mod tests;
