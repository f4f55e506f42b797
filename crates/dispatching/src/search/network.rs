//! The problem made ready for search: operations of all trains in one array, in an order in which
//! successors stand later, with what follows from the trains alone.
//!
//! * Times are tightened by each train's own running times; operations that no train can use drop out.
//! * Resources that only one train ever uses drop out: nobody can be in its way there.
//! * Resources that are always held together, for the same release times, are kept once.
//! * Every operation knows what the rest of its run costs at least, as a function of its start.

use std::collections::HashMap;
use std::ops::Range;

use super::curve::Curve;
use super::fine::{FOREVER, Fine, NEVER, after, first, instant, last, open_after};
use crate::{Problem, Time};

/// A resource that an operation holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct Use {
    /// Index of the resource in the search.
    pub(crate) resource: u32,
    /// Time after the end until others may start.
    pub(crate) release: Time,
    /// Its place among all uses.
    pub(crate) index: u32,
}

/// An operation, ready for search.
#[derive(Debug, Clone)]
pub(crate) struct Op {
    /// Its train.
    pub(crate) train: u32,
    /// Its index in the problem's train.
    pub(crate) source: u32,
    /// Earliest start, tightened.
    pub(crate) earliest: Fine,
    /// Latest start, tightened.
    pub(crate) latest: Fine,
    /// Least duration.
    pub(crate) duration: Time,
    /// Most duration; `FOREVER` where waiting is allowed.
    pub(crate) longest: Time,
    /// Least time from here to the start of the exit.
    pub(crate) tail: Time,
    /// The first operation of the train that differs from this one only in the resources it holds.
    pub(crate) twin: u32,
    uses: (u32, u32),
    next: (u32, u32),
    /// What starting it costs; an index into the curves.
    own: u32,
    /// What starting it and all that follows costs at least.
    ahead: u32,
}

impl Op {
    /// Whether the train may stand here for as long as it likes.
    #[inline]
    pub(crate) fn may_wait(&self) -> bool {
        self.longest >= FOREVER
    }
}

/// The whole problem, ready for search.
#[derive(Debug)]
pub(crate) struct Network {
    /// All operations; a train's stand together, predecessors first.
    pub(crate) ops: Vec<Op>,
    /// Each train's range of operations. Empty where the train has no way through.
    pub(crate) trains: Vec<Range<usize>>,
    /// Number of resources in the search.
    pub(crate) resources: usize,
    uses: Vec<Use>,
    next: Vec<u32>,
    curves: Vec<Curve>,
    /// The first train that cannot be run even alone, if there is one.
    pub(crate) stuck: Option<usize>,
    /// Positions of operations by train and index in the problem.
    place: Vec<Vec<u32>>,
    /// For each resource, the stretches in which a train must appear on it at a fixed time.
    appearances: Vec<Vec<Appearance>>,
}

/// A stretch of time that belongs to a train, whatever run it is given: it appears there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Appearance {
    /// The train.
    pub(crate) train: u32,
    /// From.
    pub(crate) start: Fine,
    /// Until.
    pub(crate) open: Fine,
}

/// Mark of an operation that dropped out.
pub(crate) const GONE: u32 = u32::MAX;

impl Network {
    /// Makes a (valid) problem ready.
    pub(crate) fn new(problem: &Problem) -> Self {
        let weight = Weights::of(problem);
        let (names, resources) = shared_resources(problem);
        let mut terms: HashMap<(usize, usize), Curve> = HashMap::new();
        for term in &problem.objective {
            let w = weight.of_rank(term.rank);
            let curve = Curve::delay(
                term.threshold,
                term.coeff.saturating_mul(w),
                term.increment.saturating_mul(w),
            );
            let sum = terms.entry((term.train, term.operation)).or_default();
            *sum = sum.plus(&curve);
        }
        let mut network = Self {
            ops: Vec::new(),
            trains: Vec::new(),
            resources,
            uses: Vec::new(),
            next: Vec::new(),
            curves: vec![Curve::default()],
            stuck: None,
            place: Vec::new(),
            appearances: vec![Vec::new(); resources],
        };
        for t in 0..problem.trains.len() {
            network.add_train(problem, t, &names, &terms);
        }
        for t in 0..network.trains.len() {
            let Some(entry) = network.trains[t].clone().next() else {
                continue;
            };
            let op = &network.ops[entry];
            if instant(op.earliest) == instant(op.latest) {
                let start = last(instant(op.latest));
                for u in network.uses[op.uses.0 as usize..op.uses.1 as usize]
                    .iter()
                    .copied()
                {
                    let open = open_after(after(start, op.duration), u.release);
                    network.appearances[u.resource as usize].push(Appearance {
                        train: op.train,
                        start,
                        open,
                    });
                }
            }
        }
        network
    }

    fn add_train(
        &mut self,
        problem: &Problem,
        t: usize,
        names: &[u32],
        terms: &HashMap<(usize, usize), Curve>,
    ) {
        let train = &problem.trains[t];
        let n = train.operations.len();
        let order = topological(
            &train
                .operations
                .iter()
                .map(|o| o.successors.as_slice())
                .collect::<Vec<_>>(),
        );
        // Forward: the earliest start by running times alone; NEVER where it cannot be reached in time.
        let mut earliest = vec![NEVER; n];
        let mut entered = vec![true; n];
        for o in &train.operations {
            for &s in &o.successors {
                entered[s] = false;
            }
        }
        for &o in &order {
            let op = &train.operations[o];
            let start = if entered[o] {
                first(op.start_lb)
            } else {
                earliest[o].max(first(op.start_lb))
            };
            let start = if start > op.start_ub.map_or(NEVER, last) {
                NEVER
            } else {
                start
            };
            earliest[o] = start;
            if start < NEVER {
                for &s in &op.successors {
                    earliest[s] = earliest[s].min(after(start, op.min_duration));
                }
            }
        }
        // Backward: the latest start, the least time to the exit; -1 where the exit cannot be reached.
        let mut latest = vec![-1; n];
        let mut tail = vec![0; n];
        for &o in order.iter().rev() {
            let op = &train.operations[o];
            if earliest[o] >= NEVER {
                continue;
            }
            let bound = op.start_ub.map_or(NEVER, last);
            if op.successors.is_empty() {
                latest[o] = bound;
                continue;
            }
            let mut reach = -1;
            let mut least = FOREVER;
            for &s in &op.successors {
                if latest[s] >= 0 {
                    let l = if latest[s] >= NEVER {
                        NEVER
                    } else {
                        last(instant(latest[s]) - op.min_duration)
                    };
                    reach = reach.max(l);
                    least = least.min(op.min_duration + tail[s]);
                }
            }
            latest[o] = reach.min(bound);
            tail[o] = least;
            if latest[o] < earliest[o] {
                latest[o] = -1;
            }
        }
        let base = self.ops.len();
        let mut place = vec![GONE; n];
        let kept: Vec<usize> = order.into_iter().filter(|&o| latest[o] >= 0).collect();
        for (i, &o) in kept.iter().enumerate() {
            place[o] = u32::try_from(base + i).unwrap_or(GONE);
        }
        if !kept.iter().any(|&o| entered[o]) {
            self.stuck.get_or_insert(t);
            place.fill(GONE);
            self.trains.push(base..base);
            self.place.push(place);
            return;
        }
        let mut ahead: Vec<Curve> = vec![Curve::default(); n];
        let mut ops: Vec<Op> = Vec::with_capacity(kept.len());
        for &o in kept.iter().rev() {
            let op = &train.operations[o];
            let uses_from = u32::try_from(self.uses.len()).unwrap_or(GONE);
            let mut uses: Vec<Use> = op
                .resources
                .iter()
                .filter(|u| names[u.resource] != GONE)
                .map(|u| Use {
                    resource: names[u.resource],
                    release: u.release_time,
                    index: 0,
                })
                .collect();
            uses.sort_unstable_by_key(|u| (u.resource, std::cmp::Reverse(u.release)));
            uses.dedup_by_key(|u| u.resource);
            for (u, index) in uses.iter_mut().zip(uses_from..) {
                u.index = index;
            }
            self.uses.extend(uses);
            let next_from = u32::try_from(self.next.len()).unwrap_or(GONE);
            let mut least: Option<Curve> = None;
            for &s in &op.successors {
                if place[s] != GONE {
                    self.next.push(place[s]);
                    let rest = ahead[s].before(op.min_duration, instant(earliest[s]));
                    least = Some(least.map_or_else(|| rest.clone(), |l| l.min(&rest)));
                }
            }
            let own = terms.get(&(t, o)).cloned().unwrap_or_default();
            ahead[o] = least.unwrap_or_default().plus(&own);
            let own = self.curve(own);
            let curve = self.curve(ahead[o].clone());
            ops.push(Op {
                train: u32::try_from(t).unwrap_or(GONE),
                source: u32::try_from(o).unwrap_or(GONE),
                earliest: earliest[o],
                latest: latest[o],
                duration: op.min_duration,
                longest: op.max_duration.unwrap_or(FOREVER).min(FOREVER),
                tail: tail[o],
                twin: GONE,
                uses: (uses_from, u32::try_from(self.uses.len()).unwrap_or(GONE)),
                next: (next_from, u32::try_from(self.next.len()).unwrap_or(GONE)),
                own,
                ahead: curve,
            });
        }
        ops.reverse();
        self.ops.extend(ops);
        self.trains.push(base..self.ops.len());
        self.pair_twins(base..self.ops.len());
        self.place.push(place);
    }

    /// Finds the operations of one train between which only other trains make a difference.
    fn pair_twins(&mut self, ops: Range<usize>) {
        let mut before: Vec<Vec<u32>> = vec![Vec::new(); ops.len()];
        for o in ops.clone() {
            let index = u32::try_from(o).unwrap_or(GONE);
            for &next in self.next(o) {
                before[next as usize - ops.start].push(index);
            }
        }
        let mut first_of = HashMap::new();
        for o in ops.clone() {
            let op = &self.ops[o];
            let times = (op.earliest, op.latest, op.duration, op.longest, op.tail);
            let mut releases: Vec<Time> = self.uses(o).iter().map(|u| u.release).collect();
            releases.sort_unstable();
            let key = (
                (times, op.own, op.ahead, releases),
                self.next(o).to_vec(),
                std::mem::take(&mut before[o - ops.start]),
            );
            let index = u32::try_from(o).unwrap_or(GONE);
            self.ops[o].twin = *first_of.entry(key).or_insert(index);
        }
    }

    fn curve(&mut self, curve: Curve) -> u32 {
        if curve.is_zero() {
            return 0;
        }
        if self.curves.last() != Some(&curve) {
            self.curves.push(curve);
        }
        u32::try_from(self.curves.len() - 1).unwrap_or(0)
    }

    /// Number of uses, of all operations together.
    pub(crate) fn all_uses(&self) -> usize {
        self.uses.len()
    }

    /// Whether starting an operation may cost anything.
    #[inline]
    pub(crate) fn costs(&self, op: usize) -> bool {
        self.ops[op].own != 0
    }

    /// What an operation holds.
    #[inline]
    pub(crate) fn uses(&self, op: usize) -> &[Use] {
        let (a, b) = self.ops[op].uses;
        &self.uses[a as usize..b as usize]
    }

    /// What may follow an operation.
    #[inline]
    pub(crate) fn next(&self, op: usize) -> &[u32] {
        let (a, b) = self.ops[op].next;
        &self.next[a as usize..b as usize]
    }

    /// What it costs to start an operation at a moment.
    #[inline]
    pub(crate) fn cost(&self, op: usize, start: Fine) -> i64 {
        match self.ops[op].own {
            0 => 0,
            curve => self.curves[curve as usize].at(instant(start)),
        }
    }

    /// What the operation and the rest of the train's run cost at least.
    #[inline]
    pub(crate) fn cost_ahead(&self, op: usize, start: Fine) -> i64 {
        match self.ops[op].ahead {
            0 => 0,
            curve => self.curves[curve as usize].at(instant(start)),
        }
    }

    /// Whether a train other than `train` must appear on a resource during a stretch of time.
    pub(crate) fn taken(&self, resource: u32, train: u32, start: Fine, open: Fine) -> bool {
        self.appearances[resource as usize]
            .iter()
            .any(|a| a.train != train && a.start < open && start < a.open)
    }

    /// The stretches in which a train must appear at a fixed time, with their resources.
    pub(crate) fn appearances(&self, train: usize) -> impl Iterator<Item = (u32, Appearance)> + '_ {
        let entry = self.trains[train].clone().next();
        entry
            .into_iter()
            .flat_map(|entry| self.uses(entry))
            .flat_map(move |u| {
                let own = self.appearances[u.resource as usize]
                    .iter()
                    .filter(move |a| a.train as usize == train);
                own.map(|a| (u.resource, *a))
            })
    }

    /// Where an operation of the problem stands in the search, unless it dropped out.
    pub(crate) fn place(&self, train: usize, operation: usize) -> Option<usize> {
        match *self.place.get(train)?.get(operation)? {
            GONE => None,
            place => Some(place as usize),
        }
    }

    /// What a thousand units of time cost a train that is very late.
    pub(crate) fn lateness_rate(&self, train: usize) -> i64 {
        let range = &self.trains[train];
        if range.is_empty() {
            return 0;
        }
        let late = first(1 << 24);
        self.cost_ahead(range.start, late + first(1000)) - self.cost_ahead(range.start, late)
    }

    /// What the train costs at least, if nobody is in its way.
    pub(crate) fn least_cost(&self, train: usize) -> i64 {
        let range = &self.trains[train];
        if range.is_empty() {
            0
        } else {
            self.cost_ahead(range.start, self.ops[range.start].earliest)
        }
    }
}

/// How much a unit of each rank counts in the single number that guides the search. Comparisons that
/// decide which plan is better use the true cost, rank by rank.
struct Weights(Vec<i64>);

impl Weights {
    fn of(problem: &Problem) -> Self {
        let ranks = problem
            .objective
            .iter()
            .map(|t| usize::from(t.rank) + 1)
            .max()
            .unwrap_or(1);
        let mut used: Vec<bool> = vec![false; ranks];
        for term in &problem.objective {
            used[usize::from(term.rank)] = true;
        }
        let count = used.iter().filter(|u| **u).count().max(1);
        let bits = (45 / count).min(22);
        let mut weights = vec![1; ranks];
        let mut above = count;
        for (rank, used) in used.iter().enumerate() {
            if *used {
                above -= 1;
                weights[rank] = 1 << (bits * above);
            }
        }
        Self(weights)
    }

    fn of_rank(&self, rank: u8) -> i64 {
        self.0[usize::from(rank)]
    }
}

/// Gives each resource that matters a number; `GONE` to the others.
fn shared_resources(problem: &Problem) -> (Vec<u32>, usize) {
    const NOBODY: usize = usize::MAX;
    let mut user = vec![NOBODY; problem.resources.len()];
    let mut shared = vec![false; problem.resources.len()];
    let mut users: Vec<Vec<(u32, Time)>> = vec![Vec::new(); problem.resources.len()];
    let mut op_number = 0;
    for (t, train) in problem.trains.iter().enumerate() {
        for op in &train.operations {
            for u in &op.resources {
                if user[u.resource] == NOBODY {
                    user[u.resource] = t;
                } else if user[u.resource] != t {
                    shared[u.resource] = true;
                }
                users[u.resource].push((op_number, u.release_time));
            }
            op_number += 1;
        }
    }
    let mut names = vec![GONE; problem.resources.len()];
    let mut seen: HashMap<Vec<(u32, Time)>, u32> = HashMap::new();
    let mut count = 0;
    for r in 0..names.len() {
        if shared[r] && !seen.contains_key(&users[r]) {
            seen.insert(std::mem::take(&mut users[r]), count);
            names[r] = count;
            count += 1;
        }
    }
    (names, count as usize)
}

/// An order in which successors stand later. (Operations on a cycle, which a valid train has not, drop out.)
fn topological(next: &[&[usize]]) -> Vec<usize> {
    let mut waiting = vec![0usize; next.len()];
    for list in next {
        for &s in *list {
            waiting[s] += 1;
        }
    }
    let mut order: Vec<usize> = (0..next.len()).filter(|&o| waiting[o] == 0).collect();
    let mut i = 0;
    while i < order.len() {
        for &s in next[order[i]] {
            waiting[s] -= 1;
            if waiting[s] == 0 {
                order.push(s);
            }
        }
        i += 1;
    }
    order
}
