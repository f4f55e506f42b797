//! Moving runs in time while every resource keeps its order of trains.
//!
//! With the order of trains on each resource fixed, the earliest times follow from a longest path. When a
//! train is put in, the trains behind it move to the right as far as they must; when one is taken out, the
//! others move to the left as far as they can. Only what is touched is worked on.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::fine::{FOREVER, Fine, NEVER, after, first, instant, open_after};
use super::network::Network;
use super::state::State;
use super::table::{Hold, Step};

/// Buffers for moving runs in time.
#[derive(Debug, Default)]
pub(crate) struct Retimer {
    /// New starts of the trains that were touched; empty for the others.
    new: Vec<Vec<Fine>>,
    /// For each of those steps that moved, the latest step of the train being put in that caused it.
    cause: Vec<Vec<u32>>,
    touched: Vec<usize>,
    heap: BinaryHeap<Reverse<(Fine, u32, u32)>>,
    /// Where the train being put in stands on each resource: resource, index of the hold behind it, step.
    places: Vec<(u32, u32, u32)>,
    /// After a run could not be put in: the train that stood in the way last, if it was another one.
    pub(crate) in_the_way: Option<usize>,
    /// Steps moved since the beginning: the measure of work.
    pub(crate) work: u64,
}

/// More moves of steps than this in one go are not worth it.
const MOST_MOVES: u64 = 20_000;

impl Retimer {
    fn reset(&mut self, state: &State) {
        self.new.resize(state.runs.len(), Vec::new());
        self.cause.resize(state.runs.len(), Vec::new());
        for t in self.touched.drain(..) {
            self.new[t].clear();
            self.cause[t].clear();
        }
        self.heap.clear();
        self.places.clear();
    }

    fn touch(&mut self, state: &State, train: usize) {
        if self.new[train].is_empty() {
            self.new[train].extend(state.runs[train].iter().map(|s| s.start));
            self.cause[train].resize(state.runs[train].len(), 0);
            self.touched.push(train);
        }
    }

    fn start(&self, state: &State, train: usize, step: usize) -> Fine {
        match self.new[train].get(step) {
            Some(&start) => start,
            None => state.runs[train].get(step).map_or(NEVER, |s| s.start),
        }
    }

    /// When the resource of a hold is open again, with the new times.
    fn open(&self, state: &State, resource: u32, hold: &Hold) -> Fine {
        let train = hold.train as usize;
        if state.runs[train].is_empty() {
            return hold.open;
        }
        let mut open = 0;
        for step in hold.from_step as usize..=hold.to_step as usize {
            let op = state.runs[train][step].op as usize;
            for u in state.network.uses(op) {
                if u.resource == resource {
                    open = open.max(open_after(self.start(state, train, step + 1), u.release));
                }
            }
        }
        open
    }

    /// Puts a run in, on each resource in front of the first hold that is not yet open at its step's start,
    /// and moves everything behind it to the right. False (and nothing changed) if the cost would rise to
    /// `below` or more, or if there is no such timing.
    pub(crate) fn put(
        &mut self,
        state: &mut State,
        train: usize,
        steps: &[Step],
        below: i64,
    ) -> bool {
        self.reset(state);
        self.in_the_way = None;
        let network = state.network.clone();
        for (i, step) in (0u32..).zip(steps) {
            for u in network.uses(step.op as usize) {
                let at = state.table.first_after(u.resource, step.start);
                self.places.push((u.resource, narrow(at), i));
            }
        }
        self.places.sort_unstable();
        let mut run: Vec<Step> = steps.to_vec();
        self.new[train] = steps.iter().map(|s| s.start).collect();
        self.cause[train] = (0..narrow(steps.len())).collect();
        self.touched.push(train);
        let mut total = state.total + state.cost_of(steps);
        if total >= below {
            return false;
        }
        for (i, step) in (0u32..).zip(steps) {
            self.heap.push(Reverse((step.start, narrow(train), i)));
        }
        // While the run is not in the state, its operations are looked up here.
        std::mem::swap(&mut state.runs[train], &mut run);
        let moved = self.push_right(state, &network, train, &mut total, below);
        std::mem::swap(&mut state.runs[train], &mut run);
        if !moved {
            return false;
        }
        let mut runs = Vec::with_capacity(self.touched.len());
        for &t in &self.touched[1..] {
            runs.push((t, self.retimed(&state.runs[t], t)));
        }
        state.move_runs(runs);
        state.put(train, self.retimed(steps, train));
        true
    }

    fn retimed(&self, steps: &[Step], train: usize) -> Vec<Step> {
        steps
            .iter()
            .zip(&self.new[train])
            .map(|(s, &start)| Step { op: s.op, start })
            .collect()
    }

    fn push_right(
        &mut self,
        state: &State,
        network: &Network,
        put_in: usize,
        total: &mut i64,
        below: i64,
    ) -> bool {
        let mut moves = 0;
        while let Some(Reverse((start, train, step))) = self.heap.pop() {
            let (t, k) = (train as usize, step as usize);
            if self.new[t][k] > start {
                continue;
            }
            moves += 1;
            self.work += 1;
            if moves > MOST_MOVES {
                return false;
            }
            let op = state.runs[t][k].op as usize;
            if k + 1 < state.runs[t].len()
                && !self.raise(
                    state,
                    network,
                    (t, k),
                    (t, k + 1),
                    after(start, network.ops[op].duration),
                    total,
                    below,
                )
            {
                return false;
            }
            if k == 0 {
                continue;
            }
            let before = state.runs[t][k - 1];
            let longest = network.ops[before.op as usize].longest;
            if longest < FOREVER
                && !self.raise(
                    state,
                    network,
                    (t, k),
                    (t, k - 1),
                    first(instant(start) - longest),
                    total,
                    below,
                )
            {
                return false;
            }
            for u in network.uses(before.op as usize) {
                let holds = state.table.on(u.resource);
                let open = open_after(start, u.release);
                // Index of the hold behind this one.
                let behind = if t == put_in {
                    state.table.first_after(u.resource, before.start)
                } else {
                    let own = state.table.index_of(u, train, step - 1, before.start);
                    let behind = own.map_or(holds.len(), |own| own + 1);
                    let key = (u.resource, narrow(behind), 0);
                    let i = self.places.partition_point(|p| *p < key);
                    if let Some(&(r, b, s)) = self.places.get(i)
                        && (r, b) == (u.resource, narrow(behind))
                        && (self.cause[t][k] >= s
                            || !self.raise(
                                state,
                                network,
                                (t, k),
                                (put_in, s as usize),
                                open,
                                total,
                                below,
                            ))
                    {
                        // Either no such timing, or the train would wait for its own passing: a ring.
                        self.in_the_way = Some(t);
                        return false;
                    }
                    behind
                };
                if let Some(h) = holds.get(behind)
                    && !self.raise(
                        state,
                        network,
                        (t, k),
                        (h.train as usize, h.from_step as usize),
                        open,
                        total,
                        below,
                    )
                {
                    return false;
                }
            }
        }
        true
    }

    #[expect(clippy::too_many_arguments, reason = "one inner step of one loop")]
    fn raise(
        &mut self,
        state: &State,
        network: &Network,
        by: (usize, usize),
        (train, step): (usize, usize),
        to: Fine,
        total: &mut i64,
        below: i64,
    ) -> bool {
        let now = self.start(state, train, step);
        if to <= now {
            return true;
        }
        let Some(s) = state.runs[train].get(step) else {
            return false;
        };
        let op = s.op as usize;
        *total += network.cost(op, to) - network.cost(op, now);
        if to > network.ops[op].latest || to >= NEVER || *total >= below {
            if self.touched.first() != Some(&train) {
                self.in_the_way = Some(train);
            }
            return false;
        }
        self.touch(state, train);
        self.new[train][step] = to;
        if train != self.touched[0] {
            self.cause[train][step] = self.cause[by.0][by.1];
        }
        self.heap.push(Reverse((to, narrow(train), narrow(step))));
        true
    }

    /// Moves to the left whatever can move, beginning with the given steps.
    pub(crate) fn pull_left(&mut self, state: &mut State, seeds: &[(usize, usize)]) {
        self.reset(state);
        let network = state.network.clone();
        for &(t, k) in seeds {
            if let Some(s) = state.runs[t].get(k) {
                self.heap.push(Reverse((s.start, narrow(t), narrow(k))));
            }
        }
        let mut last = None;
        while let Some(Reverse(item)) = self.heap.pop() {
            if last.replace(item) == Some(item) {
                continue;
            }
            let (t, k) = (item.1 as usize, item.2 as usize);
            self.work += 1;
            if state.runs[t].is_empty() {
                // Only the place where a train without a run must appear.
                continue;
            }
            let now = self.start(state, t, k);
            let earliest = self.earliest(state, &network, t, k);
            if earliest >= now {
                continue;
            }
            self.touch(state, t);
            self.new[t][k] = earliest;
            if k + 1 < state.runs[t].len() {
                self.heap
                    .push(Reverse((state.runs[t][k + 1].start, item.1, item.2 + 1)));
            }
            if k > 0 {
                let before = state.runs[t][k - 1];
                for u in network.uses(before.op as usize) {
                    let own = state.table.index_of(u, item.1, item.2 - 1, before.start);
                    let behind = own.and_then(|own| state.table.on(u.resource).get(own + 1));
                    if let Some(h) = behind {
                        self.heap.push(Reverse((h.start, h.train, h.from_step)));
                    }
                }
            }
        }
        if self.touched.is_empty() {
            return;
        }
        // Where a train may not wait, what came before must not be too early for what comes after: to the right
        // again until all is well. All times are too early or right, so this ends at the earliest timing.
        let mut total = 0;
        for i in 0..self.touched.len() {
            let t = self.touched[i];
            for k in 0..state.runs[t].len().saturating_sub(1) {
                let longest = network.ops[state.runs[t][k].op as usize].longest;
                if longest < FOREVER {
                    let least = first(instant(self.new[t][k + 1]) - longest);
                    self.raise(
                        state,
                        &network,
                        (t, k + 1),
                        (t, k),
                        least,
                        &mut total,
                        i64::MAX,
                    );
                }
            }
        }
        if !self.push_right(state, &network, usize::MAX, &mut total, i64::MAX) {
            return;
        }
        let runs = self
            .touched
            .iter()
            .map(|&t| (t, self.retimed(&state.runs[t], t)))
            .collect();
        state.move_runs(runs);
    }

    fn earliest(&self, state: &State, network: &Network, t: usize, k: usize) -> Fine {
        let step = state.runs[t][k];
        let op = &network.ops[step.op as usize];
        let mut earliest = op.earliest;
        if k > 0 {
            let before = state.runs[t][k - 1].op as usize;
            earliest = earliest.max(after(
                self.start(state, t, k - 1),
                network.ops[before].duration,
            ));
        }
        for u in network.uses(step.op as usize) {
            let holds = state.table.on(u.resource);
            let own = state.table.index_of(u, narrow(t), narrow(k), step.start);
            // Not even behind an earlier hold of its own before that one's release: holds never overlap, so that
            // the moments at which they open rise along the list.
            if let Some(own) = own.filter(|&own| own > 0 && holds[own].from_step as usize == k) {
                earliest = earliest.max(self.open(state, u.resource, &holds[own - 1]));
            }
        }
        earliest
    }
}

fn narrow(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}
