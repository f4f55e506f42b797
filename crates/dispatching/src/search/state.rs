//! The runs of all trains, and what they hold.

use std::sync::Arc;

use super::fine::{NEVER, after, at_most, first, instant, last};
use super::network::Network;
use super::router::{Router, Wanted};
use super::table::{Hold, Step, Table, for_holds};
use crate::{Event, Plan, Problem};

/// Runs of some or all trains that do not get in each other's way.
#[derive(Debug, Clone)]
pub(crate) struct State {
    /// The problem.
    pub(crate) network: Arc<Network>,
    /// Who holds what.
    pub(crate) table: Table,
    /// Each train's run; empty if it has none yet.
    pub(crate) runs: Vec<Vec<Step>>,
    /// What each run costs.
    pub(crate) costs: Vec<i64>,
    /// Sum of the costs.
    pub(crate) total: i64,
    /// Steps of each run whose start may cost something.
    costly: Vec<Vec<u32>>,
    /// Runs as they were when the present trial began, of every train that it touched.
    saved: Vec<Option<Vec<Step>>>,
    /// Of those, the ones whose operations and places among the others are the same still.
    moved_only: Vec<bool>,
    changed: Vec<usize>,
    found: Vec<(u32, u32, u32)>,
    spans: Vec<std::ops::Range<usize>>,
    trial: bool,
}

impl State {
    /// No train has a run yet; places where trains must appear are kept.
    pub(crate) fn new(network: Arc<Network>) -> Self {
        let n = network.trains.len();
        let table = Table::new(network.resources, network.all_uses());
        let mut state = Self {
            network,
            table,
            runs: vec![Vec::new(); n],
            costs: vec![0; n],
            total: 0,
            costly: vec![Vec::new(); n],
            saved: vec![None; n],
            moved_only: vec![true; n],
            changed: Vec::new(),
            found: Vec::new(),
            spans: Vec::new(),
            trial: false,
        };
        for train in 0..n {
            state.keep_place(train);
        }
        state
    }

    /// Keeps the place where a train appears at a fixed time.
    pub(crate) fn keep_place(&mut self, train: usize) {
        for (resource, a) in self.network.appearances(train) {
            self.table.add(
                resource,
                Hold {
                    start: a.start,
                    open: a.open,
                    train: a.train,
                    from_step: 0,
                    to_step: 0,
                },
            );
        }
    }

    /// Gives that place up, before the train gets a run.
    pub(crate) fn free_place(&mut self, train: usize) {
        for (resource, a) in self.network.appearances(train) {
            self.table.remove_train(resource, a.train);
        }
    }

    /// Takes a train's run out and returns it.
    pub(crate) fn remove(&mut self, train: usize) -> Vec<Step> {
        self.save(train);
        let steps = std::mem::take(&mut self.runs[train]);
        if !steps.is_empty() {
            self.table.remove_run(&self.network, narrow(train), &steps);
            self.total -= self.costs[train];
            self.costs[train] = 0;
            self.keep_place(train);
        }
        steps
    }

    /// Enters a run that is known to be free.
    pub(crate) fn put(&mut self, train: usize, steps: Vec<Step>) {
        self.save(train);
        self.free_place(train);
        self.table.add_run(&self.network, narrow(train), &steps);
        self.costs[train] = self.cost_of(&steps);
        let costly = &mut self.costly[train];
        costly.clear();
        costly.extend(
            (0u32..)
                .zip(&steps)
                .filter(|(_, s)| self.network.costs(s.op as usize))
                .map(|(i, _)| i),
        );
        self.total += self.costs[train];
        self.runs[train] = steps;
    }

    /// Keeps a run that is to be taken out or put in, so that it can be taken back.
    fn save(&mut self, train: usize) {
        if self.trial {
            if self.saved[train].is_none() {
                self.saved[train] = Some(self.runs[train].clone());
                self.changed.push(train);
            }
            self.moved_only[train] = false;
        }
    }

    /// From here on, everything can be taken back.
    pub(crate) fn begin(&mut self) {
        self.trial = true;
    }

    /// Ends the trial: all that was changed stays.
    pub(crate) fn keep(&mut self) {
        self.trial = false;
        for t in self.changed.drain(..) {
            self.saved[t] = None;
        }
    }

    /// Ends the trial: all is as it was when it began.
    pub(crate) fn take_back(&mut self) {
        self.trial = false;
        let changed = std::mem::take(&mut self.changed);
        let mut moved = Vec::with_capacity(changed.len());
        for &t in &changed {
            if self.moved_only[t] {
                moved.push((t, self.saved[t].take().unwrap_or_default()));
            } else {
                self.remove(t);
            }
        }
        self.move_runs(moved);
        for &t in &changed {
            if let Some(steps) = self.saved[t].take()
                && !steps.is_empty()
            {
                self.put(t, steps);
            }
        }
    }

    /// Gives several trains new runs at once, which are free of each other and of the rest.
    pub(crate) fn replace(&mut self, runs: Vec<(usize, Vec<Step>)>) {
        for (t, _) in &runs {
            self.remove(*t);
        }
        for (t, steps) in runs {
            self.put(t, steps);
        }
    }

    /// Gives several trains new times at once, with which every resource keeps its order of trains. Only the
    /// holds of the steps that change are touched.
    pub(crate) fn move_runs(&mut self, runs: Vec<(usize, Vec<Step>)>) {
        self.found.clear();
        self.spans.clear();
        for (t, new) in &runs {
            let old = &self.runs[*t];
            let differs = |i: &usize| old[*i].start != new[*i].start;
            let span = match (0..old.len()).find(differs) {
                None => 0..0,
                Some(first) => {
                    let last = (first..old.len()).rev().find(differs).unwrap_or(first);
                    // The step before ends at another time now.
                    first.saturating_sub(1)..last + 1
                }
            };
            let (network, train) = (&self.network, narrow(*t));
            let found = &mut self.found;
            self.spans
                .push(self.table.find_run(network, train, old, span, found));
        }
        let mut at = 0;
        for ((t, steps), span) in runs.into_iter().zip(std::mem::take(&mut self.spans)) {
            at += self
                .table
                .retime_run(&self.network, &steps, span.clone(), &self.found[at..]);
            for i in span {
                let (old, new) = (self.runs[t][i], steps[i]);
                let op = old.op as usize;
                let dearer = self.network.cost(op, new.start) - self.network.cost(op, old.start);
                self.costs[t] += dearer;
                self.total += dearer;
            }
            let old = std::mem::replace(&mut self.runs[t], steps);
            if self.trial && self.saved[t].is_none() {
                self.saved[t] = Some(old);
                self.moved_only[t] = true;
                self.changed.push(t);
            }
        }
    }

    /// What a run costs.
    pub(crate) fn cost_of(&self, steps: &[Step]) -> i64 {
        steps
            .iter()
            .map(|s| self.network.cost(s.op as usize, s.start))
            .sum()
    }

    /// What a train's run costs from one of its steps on.
    pub(crate) fn cost_from(&self, train: usize, step: u32) -> i64 {
        let run = &self.runs[train];
        let ahead = self.costly[train].iter().rev();
        ahead
            .take_while(|i| **i >= step)
            .map(|&i| {
                let s = run[i as usize];
                self.network.cost(s.op as usize, s.start)
            })
            .sum()
    }

    /// Finds the best run for a train and enters it; false (and nothing changed) if there is none.
    pub(crate) fn insert(&mut self, router: &mut Router, train: usize, wanted: Wanted<'_>) -> bool {
        self.free_place(train);
        if router
            .run(&self.network, &self.table, train, wanted)
            .is_some()
        {
            let steps = router.steps.clone();
            self.put(train, steps);
            true
        } else {
            self.keep_place(train);
            false
        }
    }

    /// Enters a train's run after taking out every train in its way; those taken out are returned. The
    /// price of taking out each train is given. Nothing is returned if no price is enough.
    pub(crate) fn force(
        &mut self,
        router: &mut Router,
        train: usize,
        prices: &[i64],
        labels: usize,
    ) -> Option<Vec<usize>> {
        self.free_place(train);
        let wanted = Wanted {
            below: i64::MAX,
            push: Some(prices),
            labels,
        };
        if router
            .run(&self.network, &self.table, train, wanted)
            .is_none()
        {
            self.keep_place(train);
            return None;
        }
        let steps = router.steps.clone();
        let mut in_the_way: Vec<usize> = Vec::new();
        let table = &self.table;
        for_holds(&self.network, &steps, |resource, _, start, open| {
            for hold in &table.on(resource)[table.first_after(resource, start)..] {
                if hold.start >= open {
                    break;
                }
                in_the_way.push(hold.train as usize);
            }
        });
        in_the_way.sort_unstable();
        in_the_way.dedup();
        for &t in &in_the_way {
            self.remove(t);
        }
        self.put(train, steps);
        Some(in_the_way)
    }

    /// Enters the runs of a plan as far as they are still possible, for trains that have none.
    pub(crate) fn take_over(&mut self, plan: &Plan) {
        let network = self.network.clone();
        let mut runs: Vec<Option<Vec<Step>>> = vec![Some(Vec::new()); self.runs.len()];
        let (mut time, mut count) = (crate::Time::MIN, 0);
        for event in &plan.events {
            count = if event.time == time { count + 1 } else { 0 };
            time = event.time;
            let Some(run) = runs.get_mut(event.train) else {
                continue;
            };
            let start = (first(time) + count).min(last(time));
            match network.place(event.train, event.operation) {
                None => *run = None,
                Some(op) => run.iter_mut().for_each(|r| {
                    r.push(Step {
                        op: narrow(op),
                        start,
                    });
                }),
            }
        }
        for (train, run) in runs.into_iter().enumerate() {
            if let Some(run) = run
                && self.runs[train].is_empty()
                && self.possible(train, &run)
            {
                self.put(train, run);
            }
        }
    }

    /// Whether a train may be given a run as things stand.
    fn possible(&self, train: usize, run: &[Step]) -> bool {
        let network = &*self.network;
        let entry = network.trains[train].start;
        let whole = run.first().is_some_and(|s| s.op as usize == entry)
            && run
                .last()
                .is_some_and(|s| network.next(s.op as usize).is_empty())
            && run
                .windows(2)
                .all(|w| network.next(w[0].op as usize).contains(&w[1].op));
        let timely = run.iter().all(|s| {
            let op = &network.ops[s.op as usize];
            op.earliest <= s.start && s.start <= op.latest
        }) && run.windows(2).all(|w| {
            let op = &network.ops[w[0].op as usize];
            after(w[0].start, op.duration) <= w[1].start
                && w[1].start <= at_most(w[0].start, op.longest)
        });
        if !whole || !timely {
            return false;
        }
        let mut free = true;
        for_holds(network, run, |resource, _, start, open| {
            let holds = self.table.on(resource);
            let ahead = holds[self.table.first_after(resource, start)..].iter();
            free &= !ahead
                .take_while(|h| h.start < open)
                .any(|h| h.train as usize != train);
        });
        free
    }

    /// The plan of some runs, if every train has one.
    pub(crate) fn plan(&self, problem: &Problem, runs: &[Vec<Step>]) -> Option<Plan> {
        if runs.iter().any(Vec::is_empty) {
            return None;
        }
        let mut starts: Vec<(i64, usize, usize, u32)> = Vec::new();
        for (train, steps) in runs.iter().enumerate() {
            for (i, step) in steps.iter().enumerate() {
                debug_assert!(step.start < NEVER);
                starts.push((step.start, train, i, step.op));
            }
        }
        starts.sort_unstable();
        let events: Vec<Event> = starts
            .into_iter()
            .map(|(start, train, _, op)| Event {
                time: instant(start),
                train,
                operation: self.network.ops[op as usize].source as usize,
            })
            .collect();
        let cost = crate::search::true_cost(problem, &events);
        Some(Plan {
            objective_value: cost.total(),
            events,
        })
    }
}

fn narrow(train: usize) -> u32 {
    u32::try_from(train).unwrap_or(u32::MAX)
}
