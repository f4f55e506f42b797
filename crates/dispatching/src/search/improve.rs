//! Building a first plan and improving it, by taking trains out and running them again.

use std::collections::VecDeque;
use std::sync::Arc;

use super::dice::Dice;
use super::fine::NEVER;
use super::network::Network;
use super::retime::Retimer;
use super::router::{Router, Wanted};
use super::squeeze::{Pricing, Squeezer, Turn};
use super::state::State;
use super::table::Step;
use crate::engine::{Engine, Found, Known};
use crate::{Cost, Plan, Problem};

/// Labels that one train's run may take before it counts as not found.
const LABELS: usize = 200_000;

/// Plans built before the best of them is improved.
const FIRST_PLANS: usize = 3;

/// Episodes with all trains are worth it up to this number of trains.
const WHOLE: usize = 40;

/// The greatest and the least heat at the beginning of an episode, in parts of the average train's lateness.
const WHOLE_HEAT: (f64, f64) = (8.0, 2.0);
const PART_HEAT: (f64, f64) = (3.0, 0.2);

/// What is left of the heat at the end.
const COOL: f64 = 0.02;

/// The engine that builds and improves.
pub(crate) struct Improver {
    problem: Arc<Problem>,
    state: State,
    router: Router,
    squeezer: Squeezer,
    retimer: Retimer,
    episode: Episode,
    /// Episodes begun.
    episodes: u64,
    /// What recent episodes gained, on average.
    gain: i64,
    episode_runs: Vec<Vec<Step>>,

    dice: Dice,
    /// Trains still to be run, while building.
    queue: VecDeque<usize>,
    /// What taking out each train costs, while building: it rises each time that a train is taken out.
    prices: Vec<i64>,
    /// Trains taken out since the building began.
    taken_out: usize,
    built: bool,
    /// First plans tried so far.
    builds: usize,
    begun: bool,
    /// The least cost of the runs seen.
    best: i64,
    best_cost: Option<Cost>,
    /// The best runs.
    best_runs: Vec<Vec<Step>>,
    /// They have been copied; there has been a better plan in this round.
    copied: bool,
    better: bool,
    /// Least cost of each train alone.
    least: Vec<i64>,
    /// What a unit of time costs a late train, on average, in 256ths.
    rate: i64,
    rounds: u64,
}

/// A stretch of work on a few trains, warm at first and then cooling: dearer plans are taken on the way, the
/// best one is kept at the end.
#[derive(Debug, Default)]
struct Episode {
    pool: Vec<usize>,
    heat: f64,
    steps: u64,
    done: u64,
    from_total: i64,
    best_total: i64,
    best_runs: Option<Vec<Vec<Step>>>,
}

impl Improver {
    /// A new engine for a problem.
    pub(crate) fn new(
        problem: Arc<Problem>,
        network: Arc<Network>,
        seed: u64,
        warm_start: Option<&Plan>,
    ) -> Self {
        let n = network.trains.len();
        let least = (0..n).map(|t| network.least_cost(t)).collect();
        let rates: i64 = (0..n).map(|t| network.lateness_rate(t) / n as i64).sum();
        let rate = (rates / 1000).clamp(1, 1 << 40) << 8;
        let mut improver = Self {
            problem,
            state: State::new(network),
            router: Router::default(),
            squeezer: Squeezer::default(),
            retimer: Retimer::default(),
            episode: Episode::default(),
            episodes: 0,
            gain: 0,
            episode_runs: Vec::new(),

            dice: Dice::new(seed),
            queue: VecDeque::new(),
            prices: vec![1; n],
            taken_out: 0,
            built: false,
            builds: 0,
            begun: false,
            best: i64::MAX,
            best_cost: None,
            best_runs: Vec::new(),
            copied: true,
            better: false,
            least,
            rate,
            rounds: 0,
        };
        if let Some(plan) = warm_start {
            improver.state.take_over(plan);
        }
        improver.line_up();
        if improver.queue.is_empty() {
            // A whole plan to start from needs no others beside it.
            improver.builds = FIRST_PLANS;
        }
        improver
    }

    /// Puts all trains in the queue: those that appear first first, or those whose lateness costs most.
    fn line_up(&mut self) {
        let network = self.state.network.clone();
        let mut order: Vec<(i64, i64, usize)> = (0..network.trains.len())
            .filter(|&t| self.state.runs[t].is_empty())
            .map(|t| {
                let ops = network.trains[t].clone();
                let held = ops
                    .clone()
                    .find(|&o| !network.uses(o).is_empty())
                    .unwrap_or(ops.start);
                let rate = if self.builds % 2 == 1 || self.builds == 2 {
                    network.lateness_rate(t)
                } else {
                    0
                };
                (-rate, network.ops[held].earliest, t)
            })
            .collect();
        order.sort_unstable();
        if self.builds > 2 {
            let reach = 2 + self.dice.below(order.len() / 4 + 1);
            for i in 0..order.len() {
                let j = (i + self.dice.below(reach)).min(order.len() - 1);
                order.swap(i, j);
            }
        }
        self.queue = order.into_iter().map(|(_, _, t)| t).collect();
        self.taken_out = 0;
        self.builds += 1;
    }

    /// One step of building; false if the train in front cannot be run at all.
    fn build_step(&mut self) -> bool {
        let Some(train) = self.queue.pop_front() else {
            self.built = true;
            return true;
        };
        // The second plan and every third one are built with trains already in the table moving to the right
        // where that is cheaper.
        if (self.builds == 2 || self.builds.is_multiple_of(3))
            && self.squeeze_in(train, i64::MAX, None)
        {
            return true;
        }
        let wanted = Wanted {
            below: i64::MAX,
            push: None,
            labels: LABELS,
        };
        if self.state.insert(&mut self.router, train, wanted) {
            return true;
        }
        match self
            .state
            .force(&mut self.router, train, &self.prices, LABELS)
        {
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
        self.line_up();
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

    /// One of some trains: most likely one that is late.
    fn pick(&mut self, pool: &[usize]) -> usize {
        let anyone = pool[self.dice.below(pool.len())];
        if self.dice.chance(1, 3) {
            return anyone;
        }
        let late: i64 = pool
            .iter()
            .map(|&t| self.state.costs[t] - self.least[t])
            .sum();
        let mut mark = (self.dice.share() * late as f64) as i64;
        for &t in pool {
            let l = self.state.costs[t] - self.least[t];
            if mark < l {
                return t;
            }
            mark -= l;
        }
        anyone
    }

    /// A set of trains that have to do with each other, begun with one of some trains.
    fn neighbourhood(&mut self, pool: &[usize], size: usize) -> Vec<usize> {
        if pool.is_empty() {
            return Vec::new();
        }
        let mut chosen: Vec<usize> = vec![self.pick(pool)];
        if self.dice.chance(2, 3) {
            // Who is in front of it, and who is in front of those.
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
        while chosen.len() < size && tries < 10 + 2 * size {
            tries += 1;
            // Trains that meet on some resource, near in time.
            let anchor = chosen[self.dice.below(chosen.len())];
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
            let mut near: Vec<usize> = holds
                [at.saturating_sub(reach)..(at + reach + 1).min(holds.len())]
                .iter()
                .map(|h| h.train as usize)
                .collect();
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
        // Moving others costs more the more of them there are.
        let moving = self.dice.chance(if n <= WHOLE { 200 } else { 120 }, 256);
        let size = if moving {
            (1 + self.dice.below(4).min(self.dice.below(6))).min(n)
        } else {
            (2 + self.dice.below(5).min(self.dice.below(9))).min(n)
        };
        let pool = std::mem::take(&mut self.episode.pool);
        let turned = if moving && self.dice.chance(5, 8) {
            self.turned(&pool)
        } else {
            None
        };
        let turn = turned.map(|t| t.1);
        let mut set = match turned {
            Some((train, _)) if size > 1 => {
                let mut set = self.neighbourhood(&[train], size);
                set.retain(|&t| Some(t as u32) != turn.map(|t| t.other));
                set
            }
            Some((train, _)) => vec![train],
            None => self.neighbourhood(&pool, size),
        };
        self.episode.pool = pool;
        set.retain(|&t| !self.state.runs[t].is_empty());
        self.state.begin();
        let mut seeds = Vec::new();
        if moving {
            for &t in &set {
                self.followers(t, &mut seeds);
            }
        }
        for &t in &set {
            self.state.remove(t);
        }
        if moving {
            self.retimer.pull_left(&mut self.state, &seeds);
        }
        let at_first = usize::from(turned.is_some());
        self.dice.shuffle(&mut set[at_first..]);
        if turned.is_none() && self.dice.chance(1, 3) {
            set.sort_by_key(|&t| {
                self.state.network.ops[self.state.network.trains[t].start].earliest
            });
        }
        let mut rest: i64 = set.iter().map(|&t| self.least[t]).sum();
        let mut done = true;
        let mut i = 0;
        let mut spare = if moving { self.dice.below(8) } else { 0 };
        while i < set.len() {
            let t = set[i];
            rest -= self.least[t];
            let below = limit.saturating_sub(rest);
            let ok = if moving {
                self.squeeze_in(t, below, turn.filter(|_| i == 0))
            } else {
                self.run_again(t, below)
            };
            if ok {
                i += 1;
                continue;
            }
            rest += self.least[t];
            match self.retimer.in_the_way.take() {
                // The train that stood in the way is taken out too, and run again after this one.
                Some(other) if moving && spare > 0 && !set.contains(&other) => {
                    spare -= 1;
                    self.state.remove(other);
                    rest += self.least[other];
                    set.push(other);
                }
                _ => {
                    done = false;
                    break;
                }
            }
        }
        if done {
            self.state.keep();
        } else {
            self.state.take_back();
        }
    }

    /// A train, and another place for it on a resource where the order of trains makes one of some late.
    fn turned(&mut self, pool: &[usize]) -> Option<(usize, Turn)> {
        let late = self.pick(pool);
        let mut arcs = Vec::new();
        self.late_because(late, &mut arcs);
        let &(resource, first, second) = arcs.get(self.dice.below(arcs.len()))?;
        Some(if self.dice.chance(1, 2) {
            let turn = Turn {
                resource,
                other: first,
                after: false,
            };
            (second as usize, turn)
        } else {
            let turn = Turn {
                resource,
                other: second,
                after: true,
            };
            (first as usize, turn)
        })
    }

    /// The chain of orders that makes a train late: resource, who is first there, who second.
    fn late_because(&mut self, train: usize, arcs: &mut Vec<(u32, u32, u32)>) {
        let network = self.state.network.clone();
        let steps = &self.state.runs[train];
        let mut late = Vec::new();
        for (i, s) in steps.iter().enumerate() {
            if network.cost(s.op as usize, s.start) > 0 {
                late.push(i);
            }
        }
        let mut step = match late.get(self.dice.below(late.len())) {
            Some(&step) => step,
            None => steps.len().saturating_sub(1),
        };
        let mut train = train;
        for _ in 0..400 {
            let steps = &self.state.runs[train];
            if step == 0 || step >= steps.len() {
                break;
            }
            let op = &network.ops[steps[step].op as usize];
            let before = &network.ops[steps[step - 1].op as usize];
            let ready = super::fine::after(steps[step - 1].start, before.duration).max(op.earliest);
            let start = steps[step].start;
            let mut because = None;
            if start > ready {
                for u in network.uses(steps[step].op as usize) {
                    let at = self.state.table.first_after(u.resource, start);
                    if at > 0 {
                        let hold = self.state.table.on(u.resource)[at - 1];
                        if hold.open == start && hold.train as usize != train {
                            because = Some((u.resource, hold));
                        }
                    }
                }
            }
            match because {
                Some((resource, hold)) => {
                    arcs.push((resource, hold.train, train as u32));
                    train = hold.train as usize;
                    step = hold.to_step as usize + 1;
                }
                None => step -= 1,
            }
        }
    }

    fn run_again(&mut self, train: usize, below: i64) -> bool {
        let wanted = Wanted {
            below: below.saturating_sub(self.state.total),
            push: None,
            labels: LABELS,
        };
        self.state.insert(&mut self.router, train, wanted)
    }

    fn squeeze_in(&mut self, train: usize, below: i64, turn: Option<Turn>) -> bool {
        let shares = [64, 128, 256, 256, 512];
        let share = shares[self.dice.below(shares.len())];
        // In parts of what a unit of lateness costs: trains that wait cost something even while it makes none late.
        let delay = (self.rate * [0, 4, 16, 32, 64, 128][self.dice.below(6)]) >> 8;
        let each = (self.rate * [0, 0, 64, 512, 6400][self.dice.below(5)]) >> 16;
        let pricing = Pricing {
            below: below.saturating_sub(self.state.total),
            share,
            each,
            delay,
            turn,
            labels: 5000,
        };
        self.state.free_place(train);
        self.retimer.in_the_way = None;
        if self.squeezer.run(&self.state, train, pricing) {
            let steps = std::mem::take(&mut self.squeezer.steps);
            let put = self.retimer.put(&mut self.state, train, &steps, below);
            self.squeezer.steps = steps;
            if put {
                return true;
            }
        }
        self.state.keep_place(train);
        false
    }

    /// The steps of other trains that stand right behind a train's holds.
    fn followers(&self, train: usize, seeds: &mut Vec<(usize, usize)>) {
        let table = &self.state.table;
        for (i, step) in (0u32..).zip(&self.state.runs[train]) {
            for u in self.state.network.uses(step.op as usize) {
                let own = table.index_of(u, train as u32, i, step.start);
                if let Some(h) = own.and_then(|own| table.on(u.resource).get(own + 1)) {
                    seeds.push((h.train as usize, h.from_step as usize));
                }
            }
        }
    }
}

impl Engine for Improver {
    fn round(&mut self, quota: u64, known: &Known, stop: &dyn Fn() -> bool) -> Found {
        let mut found = Found::default();
        self.learn(known);
        let until = self.work() + quota;
        self.rounds += 1;
        while self.work() < until && !stop() {
            if !self.built {
                self.router.work += 1;
                if !self.build_step() || self.taken_out > 20 * self.state.runs.len() + 200 {
                    self.start_again();
                }
                if !self.built {
                    continue;
                }
            } else if self.builds < FIRST_PLANS && self.best < i64::MAX {
                self.start_again();
                self.built = false;
                continue;
            } else if !self.begun {
                self.begun = true;
                let best = self.best_runs.clone();
                self.restore(best);
                self.gain = (self.state.total - self.least.iter().sum::<i64>()) / 20;
                self.begin_episode();
            } else {
                self.router.work += 1;
                self.episode_step();
            }
            if self.built && self.state.total < self.best {
                self.best = self.state.total;
                self.better = true;
                self.copied = false;
                // A cold episode never makes a plan dearer: the copy can wait until its end.
                if !self.begun || self.episode.heat > 0.0 {
                    self.copy_best();
                }
                if !self.improving() {
                    break;
                }
            }
        }
        self.copy_best();
        if std::mem::take(&mut self.better)
            && let Some(plan) = self.state.plan(&self.problem, &self.best_runs)
        {
            let cost = super::true_cost(&self.problem, &plan.events);
            if self.best_cost.as_ref().is_none_or(|b| cost < *b) {
                self.best_cost = Some(cost);
                found.plan = Some(plan);
            }
        }
        debug_assert!(self.best <= NEVER || !self.built);
        found
    }
}

impl Improver {
    /// Begins an episode: some trains that have to do with each other, and how warm they get.
    fn begin_episode(&mut self) {
        let n = self.state.runs.len();
        let all: Vec<usize> = (0..n).filter(|&t| !self.state.runs[t].is_empty()).collect();
        let size = if all.len() <= WHOLE && self.dice.chance(15, 16) {
            all.len()
        } else {
            (3 + (self.dice.share().powi(2) * 20.0) as usize).min(all.len())
        };
        let whole = size == all.len();
        let pool = if whole {
            all
        } else {
            self.neighbourhood(&all, size)
        };
        let late: i64 = pool
            .iter()
            .map(|&t| self.state.costs[t] - self.least[t])
            .sum();
        // While there is much to gain by going straight down, nothing is warmed up.
        let gap = self.state.total - self.least.iter().sum::<i64>();
        let brisk = if whole {
            self.episodes == 0
        } else {
            self.gain > gap / 1000
        };
        let (hot, cold) = if whole { WHOLE_HEAT } else { PART_HEAT };
        let heat = if brisk {
            0.0
        } else {
            hot * (cold / hot).powf(self.dice.share())
        };
        let patience = match (brisk, whole) {
            (true, _) => 10.0,
            (_, true) => 40.0,
            _ => 30.0,
        };
        // Short ones at first: a plan may be wanted soon.
        let length = self.dice.share() * (self.episodes as f64 / 8.0).min(1.0);
        let steps = pool.len() as f64 * patience * 10f64.powf(length);
        self.episodes += 1;
        self.episode = Episode {
            pool,
            heat: heat * late.max(1) as f64 / size as f64,
            steps: steps as u64,
            done: 0,
            from_total: self.state.total,
            best_total: self.state.total,
            best_runs: None,
        };
        self.episode_runs.clone_from(&self.state.runs);
    }

    fn episode_step(&mut self) {
        if self.episode.done >= self.episode.steps {
            self.copy_best();
            let e = &mut self.episode;
            let runs = if e.best_total <= e.from_total {
                e.best_runs.take()
            } else {
                None
            };
            if self.state.total != e.best_total || runs.is_none() && self.state.total > e.from_total
            {
                let back = runs.unwrap_or_else(|| self.episode_runs.clone());
                self.restore(back);
            }
            let gained = self.episode.from_total - self.state.total;
            self.gain = (self.gain / 5 * 4).saturating_add(gained / 5);
            self.begin_episode();
        }
        let e = &self.episode;
        let warmth = e.heat * COOL.powf(e.done as f64 / e.steps as f64);
        let slack = (-(1.0 - self.dice.share()).ln() * warmth) as i64;
        self.episode.done += 1;
        self.improve_step(self.state.total.saturating_add(slack + 1));
        let e = &mut self.episode;
        if self.state.total < e.best_total {
            e.best_total = self.state.total;
            if e.heat > 0.0 {
                e.best_runs = Some(self.state.runs.clone());
            }
        }
    }

    /// Copies the runs if they are the best and not copied yet.
    fn copy_best(&mut self) {
        if !self.copied {
            self.best_runs.clone_from(&self.state.runs);
            self.copied = true;
        }
    }

    fn restore(&mut self, runs: Vec<Vec<Step>>) {
        let changed: Vec<(usize, Vec<Step>)> = runs
            .into_iter()
            .enumerate()
            .filter(|(t, r)| self.state.runs[*t] != *r)
            .collect();
        self.state.replace(changed);
    }

    /// Takes over a plan that another engine found, if it is better than the best one here.
    fn learn(&mut self, known: &Known) {
        let Some((plan, cost)) = &known.incumbent else {
            return;
        };
        if self.best_cost.as_ref().is_some_and(|b| b <= cost) {
            return;
        }
        for t in 0..self.state.runs.len() {
            self.state.remove(t);
        }
        self.state.take_over(plan);
        self.line_up();
        self.built = self.queue.is_empty();
        self.best_cost = Some(cost.clone());
        if self.built {
            self.best = self.state.total;
            self.best_runs.clone_from(&self.state.runs);
            self.begin_episode();
        }
    }

    fn work(&self) -> u64 {
        self.router.work + self.squeezer.work + self.retimer.work
    }

    fn improving(&self) -> bool {
        self.rounds > 1
    }
}
