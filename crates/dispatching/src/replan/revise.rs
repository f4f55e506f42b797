//! From a situation to the problem that is left.

use std::collections::HashSet;

use super::retime::retime;
use super::{Closure, Report, Situation, SituationFault};
use crate::check::NamedTrain;
use crate::problem::{Cost, DelayTerm, Operation, Plan, Problem, ResourceUse, Time, Train};
use crate::restrict::{entry, restrict_train};

/// Who a train of the revised problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who {
    /// A train of the original problem.
    Train(usize),
    /// An extra train of the situation.
    Extra(usize),
    /// Not a train, but a closure ([`Revised::closures`]): it holds the resource for as long.
    Closure(usize),
}

/// A limit that what happened has made impossible, and that was lifted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lifted {
    /// A latest start.
    Latest {
        /// Which train of the original problem.
        train: usize,
        /// Which of its operations.
        operation: usize,
        /// The latest start.
        start_ub: Time,
        /// When it can start at the earliest now (or does in the new plan, if the limits of all trains
        /// together left none).
        earliest: Time,
    },
    /// A longest duration.
    Longest {
        /// Which train of the original problem.
        train: usize,
        /// Which of its operations.
        operation: usize,
        /// The longest duration.
        max_duration: Time,
    },
}

/// The problem that is left.
#[derive(Debug, Clone)]
pub struct Revised {
    /// The problem. Its trains are those that still have something to do or to clear, then the extra
    /// ones, then the closures; resources keep their indices.
    pub problem: Problem,
    /// Who its trains are.
    pub who: Vec<Who>,
    /// By train of this problem and operation: the operation in the original train.
    pub origin: Vec<Vec<usize>>,
    /// The closures still to come, put together where they overlap.
    pub closures: Vec<Closure>,
    /// The old plan with its order kept and its times moved, if that is still possible.
    pub warm_start: Option<Plan>,
    /// By train: how many of its operations have started.
    pub(super) fixed: Vec<usize>,
    /// What has happened has cost this already; not part of the revised problem's costs.
    pub past: Cost,
    /// Limits without which a train could not go on, but that are impossible now, and were lifted.
    /// Operations whose limits are impossible now were left out where the train has another way.
    pub lifted: Vec<Lifted>,
}

/// A hold that has begun.
struct Hold {
    train: usize,
    resource: usize,
    from: Time,
    /// When the train left; `None` if it is still there.
    left: Option<Time>,
}

/// Works out the problem that is left. `change_cost` is explained at [`super::Options`].
///
/// # Errors
/// Everything in the situation that contradicts the problem or itself.
pub fn revise(
    problem: &Problem,
    plan: &Plan,
    situation: &Situation,
    change_cost: Option<i64>,
) -> Result<Revised, Vec<SituationFault>> {
    let faults = look_over(problem, situation);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut revision = Revision::new(problem, situation);
    revision.trains();
    revision.extra();
    let trains = revision.revised.who.len();
    revision.closures();
    revision.keep_to(plan, change_cost, trains);
    let mut revised = revision.revised;
    revised.warm_start = retime(&revised, plan);
    Ok(revised)
}

impl Revised {
    /// The same without latest starts, except of what has happened and of closures; `None` if there are
    /// none to lift.
    pub(super) fn without_latest_starts(&self, plan: &Plan) -> Option<Self> {
        let mut revised = self.clone();
        let mut any = false;
        for (t, train) in revised.problem.trains.iter_mut().enumerate() {
            if !matches!(self.who[t], Who::Closure(_)) {
                let started = started(train, self.fixed[t]);
                for (o, operation) in train.operations.iter_mut().enumerate() {
                    any |= !started.contains(&o) && operation.start_ub.is_some();
                    if !started.contains(&o) {
                        operation.start_ub = None;
                    }
                }
            }
        }
        revised.warm_start = retime(&revised, plan);
        any.then_some(revised)
    }

    /// The latest starts of `limits` (the same problem with them) that a plan of this one does not keep.
    pub(super) fn missed(&self, limits: &Self, plan: &Plan) -> Vec<Lifted> {
        plan.events
            .iter()
            .filter_map(|event| {
                let operation = &limits.problem.trains[event.train].operations[event.operation];
                let start_ub = operation.start_ub.filter(|&ub| event.time > ub)?;
                let Who::Train(train) = self.who[event.train] else {
                    return None;
                };
                let operation = self.origin[event.train][event.operation];
                Some(Lifted::Latest {
                    train,
                    operation,
                    start_ub,
                    earliest: event.time,
                })
            })
            .collect()
    }
}

/// The operations of a train that have started, `fixed` in number: they follow each other from its entry.
fn started(train: &Train, fixed: usize) -> Vec<usize> {
    std::iter::successors(Some(entry(train)), |&o| {
        train.operations[o].successors.first().copied()
    })
    .take(fixed)
    .collect()
}

fn named(problem: &Problem, index: usize) -> NamedTrain {
    NamedTrain {
        index,
        name: problem.trains[index].name.clone(),
    }
}

/// Everything that contradicts the problem or itself.
fn look_over(problem: &Problem, situation: &Situation) -> Vec<SituationFault> {
    let mut faults = Vec::new();
    let count = problem.trains.len();
    let named = |index| named(problem, index);
    let mut reported = HashSet::new();
    for report in &situation.reports {
        if report.train >= count {
            faults.push(SituationFault::NoSuchTrain {
                found: report.train,
                count,
            });
            continue;
        }
        if !reported.insert(report.train) {
            faults.push(SituationFault::ReportedTwice {
                train: named(report.train),
            });
        }
        look_over_report(problem, situation.now, report, &mut faults);
    }
    for &train in &situation.cancelled {
        if train >= count {
            faults.push(SituationFault::NoSuchTrain {
                found: train,
                count,
            });
        } else if let Some(&(operation, _)) = situation
            .reports
            .iter()
            .find(|r| r.train == train)
            .and_then(|report| {
                let operations = &problem.trains[train].operations;
                let holds = |o: usize| operations.get(o).is_some_and(|o| !o.resources.is_empty());
                report.started.iter().find(|&&(o, _)| holds(o))
            })
        {
            let train = named(train);
            faults.push(SituationFault::CancelledUnderWay { train, operation });
        }
    }
    for closure in &situation.closures {
        match problem.resources.get(closure.resource) {
            None => faults.push(SituationFault::NoSuchResource {
                found: closure.resource,
                count: problem.resources.len(),
            }),
            Some(name) if closure.until <= closure.from => {
                faults.push(SituationFault::EmptyClosure {
                    resource: name.clone(),
                    from: closure.from,
                    until: closure.until,
                });
            }
            Some(_) => {}
        }
    }
    for (extra, train) in situation.extra.iter().enumerate() {
        let alone = Problem {
            trains: vec![train.train.clone()],
            resources: problem.resources.clone(),
            objective: train
                .terms
                .iter()
                .map(|t| DelayTerm { train: 0, ..*t })
                .collect(),
        };
        for fault in alone.validate().err().into_iter().flatten() {
            faults.push(SituationFault::Extra { extra, fault });
        }
    }
    if faults.is_empty() {
        look_over_places(problem, situation, &mut faults);
    }
    faults
}

fn look_over_report(
    problem: &Problem,
    now: Time,
    report: &Report,
    faults: &mut Vec<SituationFault>,
) {
    let operations = &problem.trains[report.train].operations;
    let train = || named(problem, report.train);
    let mut before: Option<(usize, Time)> = None;
    for &(operation, time) in &report.started {
        if operation >= operations.len() {
            let count = operations.len();
            faults.push(SituationFault::NoSuchOperation {
                train: train(),
                found: operation,
                count,
            });
            return;
        }
        match before {
            None => {
                let entry = entry(&problem.trains[report.train]);
                if operation != entry {
                    let train = train();
                    faults.push(SituationFault::NotEntry {
                        train,
                        found: operation,
                        entry,
                    });
                }
            }
            Some((from, since)) => {
                if !operations[from].successors.contains(&operation) {
                    let train = train();
                    faults.push(SituationFault::NotSuccessor {
                        train,
                        from,
                        to: operation,
                    });
                }
                if time < since {
                    faults.push(SituationFault::Backwards {
                        train: train(),
                        operation,
                        time,
                        before: since,
                    });
                }
            }
        }
        if time > now {
            faults.push(SituationFault::InTheFuture {
                train: train(),
                operation,
                time,
                now,
            });
        }
        before = Some((operation, time));
    }
}

/// When the last reported operation can end at the earliest.
fn end_of_last(problem: &Problem, now: Time, report: &Report) -> Time {
    let Some(&(operation, time)) = report.started.last() else {
        return now;
    };
    let least = problem.trains[report.train].operations[operation].min_duration;
    now.max(time + least).max(report.ends.unwrap_or(now))
}

fn look_over_places(problem: &Problem, situation: &Situation, faults: &mut Vec<SituationFault>) {
    let mut on: Vec<Option<usize>> = vec![None; problem.resources.len()];
    for report in &situation.reports {
        let Some(&(operation, _)) = report.started.last() else {
            continue;
        };
        let operation = &problem.trains[report.train].operations[operation];
        let mut said = HashSet::new();
        for held in &operation.resources {
            if let Some(other) = on[held.resource].replace(report.train)
                && other != report.train
            {
                faults.push(SituationFault::BothThere {
                    first: named(problem, other),
                    second: named(problem, report.train),
                    resource: problem.resources[held.resource].clone(),
                });
            }
            let ends = !operation.successors.is_empty();
            let until = end_of_last(problem, situation.now, report) + held.release_time;
            for closure in &situation.closures {
                if closure.resource == held.resource
                    && closure.until > situation.now
                    && (until > closure.from.max(situation.now) || !ends)
                    && said.insert((closure.resource, closure.from))
                {
                    faults.push(SituationFault::ClosedUnderTrain {
                        resource: problem.resources[held.resource].clone(),
                        from: closure.from,
                        train: named(problem, report.train),
                        until,
                    });
                }
            }
        }
    }
}

/// When each operation of a train alone on the line can start at the earliest.
fn earliest_starts(train: &Train) -> Vec<Time> {
    let count = train.operations.len();
    let mut waiting = vec![0; count];
    for &next in train.operations.iter().flat_map(|o| &o.successors) {
        waiting[next] += 1;
    }
    let first = entry(train);
    let mut earliest: Vec<Time> = vec![Time::MAX; count];
    earliest[first] = 0;
    let mut open = vec![first];
    while let Some(o) = open.pop() {
        let operation = &train.operations[o];
        earliest[o] = earliest[o].max(operation.start_lb);
        for &next in &operation.successors {
            earliest[next] = earliest[next].min(earliest[o] + operation.min_duration);
            waiting[next] -= 1;
            if waiting[next] == 0 {
                open.push(next);
            }
        }
    }
    earliest
}

/// A revised problem under construction.
struct Revision<'a> {
    original: &'a Problem,
    situation: &'a Situation,
    revised: Revised,
}

impl<'a> Revision<'a> {
    fn new(original: &'a Problem, situation: &'a Situation) -> Self {
        let problem = Problem {
            resources: original.resources.clone(),
            ..Problem::default()
        };
        let ranks = original
            .objective
            .iter()
            .map(|t| usize::from(t.rank))
            .max()
            .unwrap_or(0);
        let revised = Revised {
            problem,
            who: Vec::new(),
            origin: Vec::new(),
            closures: Vec::new(),
            warm_start: None,
            fixed: Vec::new(),
            past: Cost(vec![0; ranks + 1]),
            lifted: Vec::new(),
        };
        Self {
            original,
            situation,
            revised,
        }
    }

    fn report(&self, train: usize) -> Option<&'a Report> {
        self.situation
            .reports
            .iter()
            .find(|r| r.train == train && !r.started.is_empty())
    }

    /// Every hold that has begun.
    fn holds(&self) -> Vec<Hold> {
        let mut holds = Vec::new();
        for report in &self.situation.reports {
            for (i, &(operation, from)) in report.started.iter().enumerate() {
                let left = report.started.get(i + 1).map(|&(_, time)| time);
                for held in &self.original.trains[report.train].operations[operation].resources {
                    let (train, resource) = (report.train, held.resource);
                    holds.push(Hold {
                        train,
                        resource,
                        from,
                        left,
                    });
                }
            }
        }
        holds
    }

    fn trains(&mut self) {
        let holds = self.holds();
        for t in 0..self.original.trains.len() {
            if self.situation.cancelled.contains(&t) {
                continue;
            }
            match self.report(t) {
                None => {
                    let operations = (0..self.original.trains[t].operations.len()).collect();
                    let train = self.original.trains[t].clone();
                    self.add(Who::Train(t), train, operations, 0);
                }
                Some(report) => self.under_way(t, report, &holds),
            }
        }
        let now = self.situation.now;
        for (train, &fixed) in self
            .revised
            .problem
            .trains
            .iter_mut()
            .zip(&self.revised.fixed)
        {
            let started = started(train, fixed);
            for (o, operation) in train.operations.iter_mut().enumerate() {
                if !started.contains(&o) {
                    operation.start_lb = operation.start_lb.max(now);
                }
            }
        }
        self.drop_or_lift();
        self.terms();
    }

    fn add(&mut self, who: Who, train: Train, origin: Vec<usize>, fixed: usize) {
        self.revised.problem.trains.push(train);
        self.revised.who.push(who);
        self.revised.origin.push(origin);
        self.revised.fixed.push(fixed);
    }

    /// What is left of a train that has entered.
    fn under_way(&mut self, t: usize, report: &Report, holds: &[Hold]) {
        let now = self.situation.now;
        let original = &self.original.trains[t];
        let started = &report.started;
        let current = started.len() - 1;
        // How long resources that it has left stay closed yet, unless another train has got in since.
        let left_closed: Vec<Vec<ResourceUse>> = started
            .windows(2)
            .map(|pair| {
                let (operation, from) = pair[0];
                let left = pair[1].1;
                original.operations[operation]
                    .resources
                    .iter()
                    .filter(|held| left + held.release_time > now)
                    .filter_map(|held| {
                        let next = holds
                            .iter()
                            .filter(|h| h.train != t && h.resource == held.resource)
                            .filter(|h| h.from >= from && h.left.is_none_or(|l| l >= left))
                            .map(|h| h.from - left)
                            .min();
                        let release_time = held.release_time.min(next.unwrap_or(Time::MAX));
                        (release_time >= 0).then_some(ResourceUse {
                            release_time,
                            ..*held
                        })
                    })
                    .collect()
            })
            .collect();
        let first = left_closed
            .iter()
            .position(|held| !held.is_empty())
            .unwrap_or(current);
        let last = &original.operations[started[current].0];
        if first == current && last.successors.is_empty() && last.resources.is_empty() {
            return; // Gone, and nothing of it left.
        }
        let mut ahead = vec![false; original.operations.len()];
        let mut open = last.successors.clone();
        while let Some(o) = open.pop() {
            if !std::mem::replace(&mut ahead[o], true) {
                open.extend(&original.operations[o].successors);
            }
        }
        let kept_past = &started[first..];
        let keep = |o: usize| ahead[o] || kept_past.iter().any(|&(p, _)| p == o);
        // Every operation leads to the exit, so there is a path.
        let Some((mut train, origin)) = restrict_train(original, kept_past[0].0, keep) else {
            return;
        };
        let index = |o: usize| origin.binary_search(&o).unwrap_or(0);
        for (i, &(operation, time)) in kept_past.iter().enumerate() {
            let kept = &mut train.operations[index(operation)];
            kept.start_lb = time;
            kept.start_ub = Some(time);
            if let Some(&(next, end)) = kept_past.get(i + 1) {
                kept.min_duration = 0;
                kept.max_duration = None;
                kept.resources.clone_from(&left_closed[first + i]);
                kept.successors = vec![index(next)];
                debug_assert!(end >= time);
            } else {
                let end = end_of_last(self.original, now, report);
                kept.min_duration = end - time;
                if let Some(max_duration) = kept.max_duration.filter(|&most| time + most < end) {
                    kept.max_duration = None;
                    self.revised.lifted.push(Lifted::Longest {
                        train: t,
                        operation,
                        max_duration,
                    });
                }
            }
        }
        let fixed = kept_past.len();
        self.add(Who::Train(t), train, origin, fixed);
    }

    /// The objective: terms of what is ahead; what has happened is added up.
    fn terms(&mut self) {
        let by_train: Vec<Option<usize>> = (0..self.original.trains.len())
            .map(|t| self.revised.who.iter().position(|&w| w == Who::Train(t)))
            .collect();
        for term in &self.original.objective {
            let started = self.report(term.train).and_then(|report| {
                report
                    .started
                    .iter()
                    .find(|&&(o, _)| o == term.operation)
                    .map(|&(_, time)| time)
            });
            if let Some(start) = started {
                let late = start - term.threshold;
                if late >= 0 {
                    self.revised.past.0[usize::from(term.rank)] +=
                        term.coeff * late + term.increment;
                }
                continue;
            }
            if let Some(train) = by_train[term.train]
                && let Ok(operation) = self.revised.origin[train].binary_search(&term.operation)
            {
                self.revised.problem.objective.push(DelayTerm {
                    train,
                    operation,
                    ..*term
                });
            }
        }
    }

    fn extra(&mut self) {
        for (e, extra) in self.situation.extra.iter().enumerate() {
            let train = self.revised.who.len();
            let mut body = extra.train.clone();
            for operation in &mut body.operations {
                operation.start_lb = operation.start_lb.max(self.situation.now);
            }
            let origin = (0..body.operations.len()).collect();
            self.add(Who::Extra(e), body, origin, 0);
            let terms = extra.terms.iter().map(|term| DelayTerm { train, ..*term });
            self.revised.problem.objective.extend(terms);
        }
    }

    fn closures(&mut self) {
        let now = self.situation.now;
        let mut closures: Vec<Closure> = self.situation.closures.clone();
        closures.retain(|c| c.until > now);
        closures.sort_by_key(|c| (c.resource, c.from));
        for closure in closures {
            let from = closure.from.max(now);
            match self.revised.closures.last_mut() {
                Some(last) if last.resource == closure.resource && last.until >= from => {
                    last.until = last.until.max(closure.until);
                }
                _ => self.revised.closures.push(Closure { from, ..closure }),
            }
        }
        // A resource left a moment ago stays closed anyway: the closure begins after that.
        for closure in &mut self.revised.closures {
            for (train, &fixed) in self.revised.problem.trains.iter().zip(&self.revised.fixed) {
                let mut at = entry(train);
                for _ in 1..fixed {
                    let next = train.operations[at].successors[0];
                    for held in &train.operations[at].resources {
                        if held.resource == closure.resource {
                            let until = train.operations[next].start_lb + held.release_time;
                            closure.from = closure.from.max(until.min(closure.until));
                        }
                    }
                    at = next;
                }
            }
        }
        self.revised.closures.retain(|c| c.from < c.until);
        for (c, closure) in self.revised.closures.clone().into_iter().enumerate() {
            let closed = Operation {
                start_lb: closure.from,
                start_ub: Some(closure.from),
                min_duration: closure.until - closure.from,
                resources: vec![ResourceUse {
                    resource: closure.resource,
                    release_time: 0,
                }],
                successors: vec![1],
                ..Operation::default()
            };
            let open = Operation {
                start_lb: closure.until,
                start_ub: Some(closure.until),
                ..Operation::default()
            };
            let name = format!("closure of {}", self.original.resources[closure.resource]);
            let train = Train {
                name,
                operations: vec![closed, open],
            };
            self.add(Who::Closure(c), train, vec![0, 1], 2);
        }
    }

    /// Takes out the operations whose latest start has become impossible to meet even by a train alone
    /// on the line. Where that would leave the train no way to its exit, lifts those limits instead.
    fn drop_or_lift(&mut self) {
        let trains = self
            .revised
            .problem
            .trains
            .iter_mut()
            .zip(&mut self.revised.origin);
        for ((train, origin), who) in trains.zip(&self.revised.who) {
            loop {
                let earliest = earliest_starts(train);
                let missed = |o: usize| {
                    train.operations[o]
                        .start_ub
                        .filter(|&start_ub| start_ub < earliest[o])
                };
                let count = train.operations.len();
                if !(0..count).any(|o| missed(o).is_some()) {
                    break;
                }
                if let Some((rest, kept)) =
                    restrict_train(train, entry(train), |o| missed(o).is_none())
                {
                    *origin = kept.into_iter().map(|o| origin[o]).collect();
                    *train = rest;
                    continue;
                }
                let late: Vec<(usize, Time)> =
                    (0..count).filter_map(|o| Some((o, missed(o)?))).collect();
                for (o, start_ub) in late {
                    train.operations[o].start_ub = None;
                    if let Who::Train(train) = *who {
                        let (operation, earliest) = (origin[o], earliest[o]);
                        let lifted = Lifted::Latest {
                            train,
                            operation,
                            start_ub,
                            earliest,
                        };
                        self.revised.lifted.push(lifted);
                    }
                }
            }
        }
    }

    /// Makes needless change cost something: each time a train leaves its old route, and (if nothing
    /// else is at stake) each unit of time by which it leaves the line later than planned.
    fn keep_to(&mut self, plan: &Plan, change_cost: Option<i64>, trains: usize) {
        let planned: HashSet<(usize, usize)> =
            plan.events.iter().map(|e| (e.train, e.operation)).collect();
        // After every rank of the original too, so that ranks mean the same in both.
        let terms = self
            .revised
            .problem
            .objective
            .iter()
            .chain(&self.original.objective);
        let after_all = terms
            .map(|t| t.rank)
            .max()
            .map_or(0, |rank| rank.saturating_add(1));
        let (rank, increment) = change_cost.map_or((after_all, 1), |cost| (0, cost));
        let mut terms = Vec::new();
        for train in 0..trains {
            let Who::Train(old) = self.revised.who[train] else {
                continue;
            };
            let origin = &self.revised.origin[train];
            let on_route = |o: usize| planned.contains(&(old, origin[o]));
            let operations = &self.revised.problem.trains[train].operations;
            let mut leaves = vec![false; operations.len()];
            for (o, operation) in operations.iter().enumerate() {
                for &next in &operation.successors {
                    leaves[next] |= on_route(o) && !on_route(next);
                }
            }
            let term = DelayTerm {
                train,
                operation: 0,
                threshold: 0,
                coeff: 0,
                increment: 0,
                rank,
            };
            for operation in (0..operations.len()).filter(|&o| leaves[o]) {
                terms.push(DelayTerm {
                    operation,
                    increment,
                    ..term
                });
            }
            let exit = operations
                .iter()
                .position(|o| o.successors.is_empty())
                .unwrap_or(0);
            let said = plan
                .events
                .iter()
                .find(|e| (e.train, e.operation) == (old, origin[exit]));
            if let Some(said) = said {
                let (threshold, rank) = (said.time, after_all);
                terms.push(DelayTerm {
                    operation: exit,
                    threshold,
                    coeff: 1,
                    rank,
                    ..term
                });
            }
        }
        self.revised.problem.objective.extend(terms);
    }
}
