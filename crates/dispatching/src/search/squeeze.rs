//! A good run for one train when the others may be moved to the right.
//!
//! As in the plain search for a run, but a train may be put in front of another one on a resource even if
//! that one then has to start later. What the delay costs the other is estimated from its own run alone;
//! what it costs in truth is known when the run is put in (see [`super::retime`]). The outcome is a list of
//! operations with the moments that say where among the holds of each resource the train stands.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::fine::{Fine, NEVER, after, at_most, end_before, first, instant, open_after};
use super::labels::{Reach, Taken};
use super::state::State;
use super::table::{Hold, Step};

#[derive(Debug, Clone, Copy)]
struct Label {
    op: u32,
    before: u32,
    start: Fine,
    late: Fine,
    /// End of the stretch that is free without moving anyone: tells apart the places among the holds.
    end: Fine,
    cost: i64,
    /// Index of the first hold not yet open at the start, on the first resource that the operation holds.
    at: u32,
}

impl Label {
    /// The holds on a resource that the operation of the label holds, from the first one not yet open at its
    /// start on; `k` counts the operation's resources.
    fn ahead<'a>(&self, state: &'a State, k: usize, resource: u32) -> &'a [Hold] {
        let at = match k {
            0 => self.at as usize,
            _ => state.table.first_after(resource, self.start),
        };
        &state.table.on(resource)[at..]
    }
}

const ROOT: u32 = u32::MAX;

/// How moving others is priced.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pricing {
    /// Only runs whose estimate is below this.
    pub(crate) below: i64,
    /// Part (in 256ths) of the estimated cost of others that counts.
    pub(crate) share: i64,
    /// Price of each moved train.
    pub(crate) each: i64,
    /// Price (in 256ths) of each unit of time by which a train is moved.
    pub(crate) delay: i64,
    /// A place that the train must take.
    pub(crate) turn: Option<Turn>,
    /// Give up after this number of labels.
    pub(crate) labels: usize,
}

/// Where a train must stand on a resource, if it goes there: before another one or after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Turn {
    /// The resource.
    pub(crate) resource: u32,
    /// The other train.
    pub(crate) other: u32,
    /// Behind the other one.
    pub(crate) after: bool,
}

impl Turn {
    /// The first moment from `start` on with which an operation keeps to the turn.
    fn kept(self, state: &State, op: usize, start: Fine) -> Option<Fine> {
        if !state
            .network
            .uses(op)
            .iter()
            .any(|u| u.resource == self.resource)
        {
            return Some(start);
        }
        let mut holds = state.table.on(self.resource).iter();
        match holds.find(|h| h.train == self.other) {
            Some(h) if self.after => Some(start.max(h.open)).filter(|s| *s < NEVER),
            Some(h) if h.open <= start => None,
            _ => Some(start),
        }
    }
}

/// The search; kept for its buffers.
#[derive(Debug, Default)]
pub(crate) struct Squeezer {
    labels: Vec<Label>,
    heap: BinaryHeap<Reverse<(i64, Fine, Reverse<u32>)>>,
    taken: Taken,
    /// The run that was found, with the moments that give its places.
    pub(crate) steps: Vec<Step>,
    /// Labels taken up since the beginning: the measure of work.
    pub(crate) work: u64,
}

impl Squeezer {
    /// Finds a run for a train that has none. True if there is one, in `self.steps`.
    pub(crate) fn run(&mut self, state: &State, train: usize, pricing: Pricing) -> bool {
        let network = &*state.network;
        let ops = network.trains[train].clone();
        if ops.is_empty() {
            return false;
        }
        self.labels.clear();
        self.heap.clear();
        self.taken.clear(ops.len());
        let base = ops.start;
        let entry = &network.ops[base];
        self.add(state, base, ROOT, entry.earliest, entry.latest, 0, pricing);
        while let Some(Reverse((_, _, Reverse(index)))) = self.heap.pop() {
            let label = self.labels[index as usize];
            self.work += 1;
            self.later(state, &label, pricing);
            let op = &network.ops[label.op as usize];
            let place = op.twin;
            let reach = Reach {
                end: label.end,
                start: label.start,
                late: label.late,
                cost: label.cost,
            };
            if !self.taken.take(place as usize - base, op.may_wait(), reach) {
                continue;
            }
            if network.next(label.op as usize).is_empty() {
                self.trace(index);
                return true;
            }
            if self.labels.len() > pricing.labels {
                return false;
            }
            let from = after(label.start, op.duration);
            let until = at_most(label.late, op.longest);
            for &next in network.next(label.op as usize) {
                let from = from.max(network.ops[next as usize].earliest);
                if from <= until {
                    self.enter(state, &label, next as usize, index, from, until, pricing);
                }
            }
        }
        false
    }

    /// The next later place for the same operation, entered from the same one.
    fn later(&mut self, state: &State, label: &Label, pricing: Pricing) {
        let network = &*state.network;
        let mut start = NEVER;
        for (k, u) in network.uses(label.op as usize).iter().enumerate() {
            if let Some(h) = label.ahead(state, k, u.resource).first() {
                start = start.min(h.open);
            }
        }
        if start >= NEVER {
            return;
        }
        if label.before == ROOT {
            let latest = network.ops[label.op as usize].latest;
            if start <= latest {
                self.add(state, label.op as usize, ROOT, start, latest, 0, pricing);
            }
        } else {
            let before = self.labels[label.before as usize];
            let until = at_most(before.late, network.ops[before.op as usize].longest);
            self.enter(
                state,
                &before,
                label.op as usize,
                label.before,
                start,
                until,
                pricing,
            );
        }
    }

    /// Adds the label for leaving one operation and entering the next at a moment.
    #[expect(clippy::too_many_arguments, reason = "one inner step of one loop")]
    fn enter(
        &mut self,
        state: &State,
        before: &Label,
        op: usize,
        index: u32,
        start: Fine,
        until: Fine,
        pricing: Pricing,
    ) {
        let network = &*state.network;
        let Some(start) = pricing
            .turn
            .map_or(Some(start), |t| t.kept(state, op, start))
        else {
            return;
        };
        if start > until || start > network.ops[op].latest {
            return;
        }
        let mut cost = before.cost + network.cost(before.op as usize, before.start);
        if start > before.end {
            let Some(price) = price_of_leaving(state, before, op, start, pricing) else {
                return;
            };
            cost += price;
        }
        self.add(state, op, index, start, until, cost, pricing);
    }

    #[expect(clippy::too_many_arguments, reason = "one inner step of one loop")]
    fn add(
        &mut self,
        state: &State,
        op: usize,
        before: u32,
        start: Fine,
        until: Fine,
        cost: i64,
        pricing: Pricing,
    ) {
        let network = &*state.network;
        let o = &network.ops[op];
        let estimate = cost + network.cost_ahead(op, start);
        if estimate >= pricing.below {
            return;
        }
        let exit = network.next(op).is_empty();
        let (mut end, mut at) = (NEVER, 0);
        for (k, u) in network.uses(op).iter().enumerate() {
            let first = state.table.first_after(u.resource, start);
            if k == 0 {
                at = narrow(first);
            }
            if let Some(h) = state.table.on(u.resource).get(first) {
                if exit {
                    // The exit never ends: nobody may stand behind it.
                    return;
                }
                end = end.min(end_before(h.start, u.release));
            }
        }
        let late = if o.may_wait() {
            start
        } else {
            until.min(o.latest).max(start)
        };
        let finish = start.saturating_add(first(o.tail));
        let index = narrow(self.labels.len());
        self.labels.push(Label {
            op: narrow(op),
            before,
            start,
            late,
            end,
            cost,
            at,
        });
        // Of equals the newest first: straight on to the exit.
        self.heap.push(Reverse((estimate, finish, Reverse(index))));
    }

    fn trace(&mut self, exit: u32) {
        self.steps.clear();
        let mut index = exit;
        while index != ROOT {
            let label = &self.labels[index as usize];
            self.steps.push(Step {
                op: label.op,
                start: label.start,
            });
            index = label.before;
        }
        self.steps.reverse();
    }
}

/// What it costs others, by estimate, that the train leaves an operation only at `leaving`; `None` if they
/// cannot be moved so far, or would have to move away before they are let in.
fn price_of_leaving(
    state: &State,
    label: &Label,
    next: usize,
    leaving: Fine,
    pricing: Pricing,
) -> Option<i64> {
    let network = &*state.network;
    let mut price = 0;
    for (k, u) in network.uses(label.op as usize).iter().enumerate() {
        let Some(h) = label.ahead(state, k, u.resource).first() else {
            continue;
        };
        let need = open_after(leaving, u.release);
        if need <= h.start {
            continue;
        }
        let run = &state.runs[h.train as usize];
        let step = run.get(h.from_step as usize)?;
        if need > network.ops[step.op as usize].latest {
            return None;
        }
        for v in network.uses(next) {
            let on = state.table.on(v.resource);
            let i = state.table.first_after(v.resource, leaving);
            if i > 0 && waits_behind(&on[i - 1], h) {
                return None;
            }
        }
        let now = state.cost_from(h.train as usize, h.from_step);
        let then = network.cost_ahead(step.op as usize, need);
        let dearer = (then - now).max(0).saturating_mul(pricing.share) >> 8;
        let later = (instant(need) - instant(h.start)).saturating_mul(pricing.delay) >> 8;
        price += pricing.each + dearer + later;
    }
    Some(price)
}

/// Whether the train of `h` would still hold `other` when it is kept out of `h`.
fn waits_behind(other: &Hold, h: &Hold) -> bool {
    other.train == h.train && other.start < h.start && other.open > h.start
}

fn narrow(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}
