//! Building a first plan and improving it, by taking trains out and running them again.

use std::collections::VecDeque;
use std::sync::Arc;

use super::dice::Dice;
use super::fine::NEVER;
use super::network::Network;
use super::router::{Router, Wanted};
use super::state::State;
use super::table::Step;
use crate::engine::{Engine, Found, Known};
use crate::{Cost, Problem};

/// Labels that one train's run may take before it counts as not found.
const LABELS: usize = 200_000;

/// The engine that builds and improves.
pub(crate) struct Improver {
    problem: Arc<Problem>,
    state: State,
    router: Router,
    dice: Dice,
    /// Trains still to be run, while building.
    queue: VecDeque<usize>,
    /// What taking out each train costs, while building: it rises each time that a train is taken out.
    prices: Vec<i64>,
    /// Trains taken out since the building began.
    taken_out: usize,
    built: bool,
    /// The least cost of the runs seen.
    best: i64,
    best_cost: Option<Cost>,
    /// The best runs.
    best_runs: Vec<Vec<Step>>,
    /// Least cost of each train alone.
    least: Vec<i64>,
    rounds: u64,
}

impl Improver {
    /// A new engine for a problem.
    pub(crate) fn new(problem: Arc<Problem>, network: Arc<Network>, seed: u64) -> Self {
        let n = network.trains.len();
        let least = (0..n).map(|t| network.least_cost(t)).collect();
        let mut improver = Self {
            problem,
            state: State::new(network),
            router: Router::default(),
            dice: Dice::new(seed),
            queue: VecDeque::new(),
            prices: vec![1; n],
            taken_out: 0,
            built: false,
            best: i64::MAX,
            best_cost: None,
            best_runs: Vec::new(),
            least,
            rounds: 0,
        };
        improver.line_up(false);
        improver
    }

    /// Puts all trains in the queue, those that appear first first.
    fn line_up(&mut self, mixed: bool) {
        let network = self.state.network.clone();
        let mut order: Vec<(i64, usize)> = (0..network.trains.len())
            .filter(|&t| !network.trains[t].is_empty())
            .map(|t| {
                let ops = network.trains[t].clone();
                let held = ops.clone().find(|&o| !network.uses(o).is_empty()).unwrap_or(ops.start);
                (network.ops[held].earliest, t)
            })
            .collect();
        order.sort_unstable();
        if mixed {
            for i in 0..order.len() {
                let j = (i + self.dice.below(6)).min(order.len() - 1);
                order.swap(i, j);
            }
        }
        self.queue = order.into_iter().map(|(_, t)| t).collect();
        self.taken_out = 0;
    }

    /// One step of building; false if the train in front cannot be run at all.
    fn build_step(&mut self) -> bool {
        let Some(train) = self.queue.pop_front() else {
            self.built = true;
            return true;
        };
        let wanted = Wanted { below: i64::MAX, push: None, labels: LABELS };
        if self.state.insert(&mut self.router, train, wanted) {
            return true;
        }
        match self.state.force(&mut self.router, train, &self.prices, LABELS) {
            None => {
                // Only trains' fixed places are in the way, or the search was cut short.
                self.prices[train] += 1;
                self.queue.push_back(train);
                self.taken_out += 1;
                false
            }
            Some(out) => {
                self.prices[train] += 1;
                for t in out {
                    self.taken_out += 1;
                    if self.dice.chance(1, 2) {
                        self.queue.push_front(t);
                    } else {
                        let at = self.dice.below(self.queue.len() + 1);
                        self.queue.insert(at, t);
                    }
                }
                true
            }
        }
    }

    fn start_again(&mut self) {
        for t in 0..self.state.runs.len() {
            self.state.remove(t);
        }
        self.line_up(true);
    }

    /// Trains whose holds made this one wait, nearest first.
    fn in_front_of(&self, train: usize, found: &mut Vec<usize>) {
        let network = &self.state.network;
        let steps = &self.state.runs[train];
        for (i, step) in steps.iter().enumerate() {
            let op = &network.ops[step.op as usize];
            let ready = if i == 0 {
                op.earliest
            } else {
                let before = &network.ops[steps[i - 1].op as usize];
                super::fine::after(steps[i - 1].start, before.duration).max(op.earliest)
            };
            if step.start > ready {
                for u in network.uses(step.op as usize) {
                    let at = self.state.table.first_after(u.resource, step.start);
                    if at > 0 {
                        let hold = self.state.table.on(u.resource)[at - 1];
                        if hold.open > ready && hold.train as usize != train {
                            found.push(hold.train as usize);
                        }
                    }
                }
            }
        }
    }

    /// A set of trains that have to do with each other.
    fn neighbourhood(&mut self, size: usize) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        let n = self.state.runs.len();
        if self.dice.chance(2, 3) {
            // A late train, who is in front of it, and who is in front of those.
            let late: i64 = (0..n).map(|t| self.state.costs[t] - self.least[t]).sum();
            let mut mark = (self.dice.share() * late as f64) as i64;
            let mut first = self.dice.below(n);
            for t in 0..n {
                let l = self.state.costs[t] - self.least[t];
                if mark < l {
                    first = t;
                    break;
                }
                mark -= l;
            }
            chosen.push(first);
            let mut i = 0;
            let mut front = Vec::new();
            while i < chosen.len() && chosen.len() < size {
                front.clear();
                self.in_front_of(chosen[i], &mut front);
                self.dice.shuffle(&mut front);
                for &t in &front {
                    if chosen.len() < size && !chosen.contains(&t) {
                        chosen.push(t);
                    }
                }
                i += 1;
            }
        }
        let mut tries = 0;
        while chosen.len() < size && tries < 20 {
            tries += 1;
            // Trains that meet on some resource, near in time.
            let anchor = if chosen.is_empty() { self.dice.below(n) } else { chosen[self.dice.below(chosen.len())] };
            let steps = &self.state.runs[anchor];
            if steps.is_empty() {
                continue;
            }
            let step = steps[self.dice.below(steps.len())];
            let uses = self.state.network.uses(step.op as usize);
            if uses.is_empty() {
                continue;
            }
            let u = uses[self.dice.below(uses.len())];
            let holds = self.state.table.on(u.resource);
            let at = self.state.table.first_after(u.resource, step.start);
            let reach = 1 + self.dice.below(3);
            let mut near: Vec<usize> =
                holds[at.saturating_sub(reach)..(at + reach + 1).min(holds.len())].iter().map(|h| h.train as usize).collect();
            self.dice.shuffle(&mut near);
            for t in near {
                if chosen.len() < size && !chosen.contains(&t) {
                    chosen.push(t);
                }
            }
        }
        chosen
    }

    /// Takes some trains out and runs them again; keeps the outcome if it is below the limit.
    fn improve_step(&mut self, limit: i64) {
        let n = self.state.runs.len();
        let size = (2 + self.dice.below(5).min(self.dice.below(9))).min(n);
        let mut set = self.neighbourhood(size);
        set.retain(|&t| !self.state.runs[t].is_empty());
        let old: Vec<(usize, Vec<Step>)> = set.iter().map(|&t| (t, self.state.remove(t))).collect();
        self.dice.shuffle(&mut set);
        if self.dice.chance(1, 3) {
            set.sort_by_key(|&t| self.state.network.ops[self.state.network.trains[t].start].earliest);
        }
        let mut rest: i64 = set.iter().map(|&t| self.least[t]).sum();
        let mut done = true;
        for &t in &set {
            rest -= self.least[t];
            let below = limit.saturating_sub(self.state.total).saturating_sub(rest);
            let wanted = Wanted { below, push: None, labels: LABELS };
            if !self.state.insert(&mut self.router, t, wanted) {
                done = false;
                break;
            }
        }
        if !done {
            for &t in &set {
                self.state.remove(t);
            }
            for (t, steps) in old {
                self.state.put(t, steps);
            }
        }
    }
}

impl Engine for Improver {
    fn round(&mut self, quota: u64, _known: &Known, stop: &dyn Fn() -> bool) -> Found {
        let mut found = Found::default();
        let until = self.router.work + quota;
        self.rounds += 1;
        while self.router.work < until && !stop() {
            if !self.built {
                self.router.work += 1;
                if !self.build_step() || self.taken_out > 20 * self.state.runs.len() + 200 {
                    self.start_again();
                }
                if !self.built {
                    continue;
                }
            } else {
                self.router.work += 1;
                let slack = 0;
                self.improve_step(self.state.total.saturating_add(slack + 1));
            }
            if self.state.total < self.best {
                self.best = self.state.total;
                self.best_runs.clone_from(&self.state.runs);
                if let Some(plan) = self.state.plan(&self.problem) {
                    let cost = super::true_cost(&self.problem, &plan.events);
                    if self.best_cost.as_ref().is_none_or(|b| cost < *b) {
                        self.best_cost = Some(cost);
                        found.plan = Some(plan);
                    }
                }
                if found.plan.is_some() && !self.improving() {
                    break;
                }
            }
        }
        debug_assert!(self.best <= NEVER || !self.built);
        found
    }
}

impl Improver {
    fn improving(&self) -> bool {
        self.rounds > 1
    }
}
