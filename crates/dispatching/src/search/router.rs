//! The best run of one train through what the others leave open.
//!
//! A label stands for "the train is in this operation, has been since `start`, and must leave it by
//! `end`": the stretch in which everything that the operation holds is open. Of two labels for the same
//! operation and stretch the one that is earlier and not dearer is enough, since a train may wait; where
//! it may not (`max_duration`) a label keeps the range of starts that it stands for, and the moments are
//! settled backwards from the exit. Labels are taken up in order of cost so far plus the least cost of
//! the rest, then of the earliest finish, so the first one at the exit is best.
//!
//! Where there is no run at all, the search may also *push through*: pass over holds of other trains at a
//! price per train, so that the trains found in the way can be taken out and run again.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::fine::{
    FOREVER, Fine, NEVER, after, at_most, end_before, first, instant, last, open_after,
};
use super::labels::{Reach, Taken};
use super::network::Network;
use super::table::{Step, Table};

#[derive(Debug, Clone, Copy)]
struct Label {
    op: u32,
    /// The label of the operation before, `ROOT` at the entry.
    before: u32,
    start: Fine,
    /// Latest start that the label stands for.
    late: Fine,
    end: Fine,
    /// Cost of all operations before this one.
    cost: i64,
    pushed: bool,
}

const ROOT: u32 = u32::MAX;

/// The search for one train's run; kept for its buffers.
#[derive(Debug, Default)]
pub(crate) struct Router {
    labels: Vec<Label>,
    heap: BinaryHeap<Reverse<(i64, Fine, Reverse<u32>)>>,
    taken: Taken,
    /// The run that was found.
    pub(crate) steps: Vec<Step>,
    /// Labels taken up since the beginning: the measure of work.
    pub(crate) work: u64,
}

/// What to look for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wanted<'a> {
    /// Only runs that cost less than this.
    pub(crate) below: i64,
    /// Price of pushing through each train, if that is allowed at all.
    pub(crate) push: Option<&'a [i64]>,
    /// Give up after this number of labels.
    pub(crate) labels: usize,
}

impl Router {
    /// Finds the best run of `train`; its cost if there is one, and its steps in `self.steps`. The table
    /// must hold nothing of the train itself. When pushing, the cost is the price of the trains in the way.
    pub(crate) fn run(
        &mut self,
        network: &Network,
        table: &Table,
        train: usize,
        wanted: Wanted<'_>,
    ) -> Option<i64> {
        let ops = network.trains[train].clone();
        if ops.is_empty() {
            return None;
        }
        self.labels.clear();
        self.heap.clear();
        self.taken.clear(ops.len());
        let base = ops.start;
        let entry = Label {
            op: 0,
            before: ROOT,
            start: network.ops[base].earliest,
            late: network.ops[base].latest,
            end: NEVER,
            cost: 0,
            pushed: false,
        };
        self.open(
            network,
            table,
            base,
            ROOT,
            entry.start,
            entry.late,
            0,
            wanted,
        );
        if wanted.push.is_some() {
            self.push_through(network, table, base, ROOT, entry.start, 0, wanted);
        }
        while let Some(Reverse((estimate, _, Reverse(index)))) = self.heap.pop() {
            let label = self.labels[index as usize];
            let op = &network.ops[label.op as usize];
            self.work += 1;
            if !label.pushed && label.end < NEVER {
                // The same operation, entered from the same one, in the next open stretch.
                let (until, cost) = match label.before {
                    ROOT => (op.latest, 0),
                    b => (leave_by(network, &self.labels[b as usize]), label.cost),
                };
                self.open(
                    network,
                    table,
                    label.op as usize,
                    label.before,
                    label.end + 1,
                    until,
                    cost,
                    wanted,
                );
            }
            if wanted.push.is_some() && label.end < NEVER {
                self.stay_on(network, table, &label, wanted);
            }
            // Trains pushed away make a difference between twins.
            let place = match wanted.push {
                Some(_) => label.op,
                None => op.twin,
            };
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
                self.trace(network, index);
                return Some(estimate);
            }
            if self.labels.len() > wanted.labels {
                return None;
            }
            let from = after(label.start, op.duration);
            let until = leave_by(network, &label);
            let cost = match wanted.push {
                Some(_) => label.cost,
                None => label.cost + network.cost(label.op as usize, label.start),
            };
            for &next in network.next(label.op as usize) {
                let from = from.max(network.ops[next as usize].earliest);
                self.open(
                    network,
                    table,
                    next as usize,
                    index,
                    from,
                    until,
                    cost,
                    wanted,
                );
                if wanted.push.is_some() && from <= until {
                    self.push_through(network, table, next as usize, index, from, cost, wanted);
                }
            }
        }
        None
    }

    /// Adds the label for the first open stretch of an operation from a moment on.
    #[expect(clippy::too_many_arguments, reason = "one inner step of one loop")]
    fn open(
        &mut self,
        network: &Network,
        table: &Table,
        op: usize,
        before: u32,
        from: Fine,
        until: Fine,
        cost: i64,
        wanted: Wanted<'_>,
    ) {
        let Some((start, end)) = open_stretch(network, table, op, from, until) else {
            return;
        };
        let o = &network.ops[op];
        let late = if o.may_wait() {
            start
        } else {
            let by_end = match end {
                NEVER => NEVER,
                end if o.duration == 0 => end,
                end => last(instant(end) - o.duration),
            };
            until.min(o.latest).min(by_end).max(start)
        };
        let estimate = match wanted.push {
            Some(_) => cost,
            None => cost + network.cost_ahead(op, start),
        };
        if estimate >= wanted.below {
            return;
        }
        self.add(
            network,
            Label {
                op: narrow(op),
                before,
                start,
                late,
                end,
                cost,
                pushed: false,
            },
            estimate,
        );
    }

    /// Adds the label for entering an operation at once, over whatever holds it.
    #[expect(clippy::too_many_arguments, reason = "one inner step of one loop")]
    fn push_through(
        &mut self,
        network: &Network,
        table: &Table,
        op: usize,
        before: u32,
        start: Fine,
        cost: i64,
        wanted: Wanted<'_>,
    ) {
        let Some(prices) = wanted.push else { return };
        let o = &network.ops[op];
        if start > o.latest {
            return;
        }
        let exit = network.next(op).is_empty();
        let need = if exit {
            NEVER
        } else {
            after(start, o.duration)
        };
        let (mut end, mut price) = (NEVER, 0);
        for u in network.uses(op) {
            if network.taken(u.resource, o.train, start, open_after(need, u.release)) {
                return;
            }
            for hold in &table.on(u.resource)[table.first_after(u.resource, start)..] {
                let free_until = end_before(hold.start, u.release);
                if free_until >= need {
                    end = end.min(free_until);
                    break;
                }
                price += prices[hold.train as usize];
            }
        }
        if price == 0 || cost + price >= wanted.below {
            return;
        }
        let label = Label {
            op: narrow(op),
            before,
            start,
            late: start,
            end,
            cost: cost + price,
            pushed: true,
        };
        self.add(network, label, cost + price);
    }

    /// Adds the label for staying in an operation over the holds that would have ended the stay.
    fn stay_on(&mut self, network: &Network, table: &Table, label: &Label, wanted: Wanted<'_>) {
        let Some(prices) = wanted.push else { return };
        let op = label.op as usize;
        let (mut end, mut price) = (NEVER, 0);
        for u in network.uses(op) {
            for hold in &table.on(u.resource)[table.first_after(u.resource, label.start)..] {
                let free_until = end_before(hold.start, u.release);
                if free_until > label.end {
                    end = end.min(free_until);
                    break;
                }
                if free_until == label.end {
                    price += prices[hold.train as usize];
                }
            }
            if network.taken(
                u.resource,
                network.ops[op].train,
                label.start,
                open_after(label.end + 1, u.release),
            ) {
                return;
            }
        }
        let cost = label.cost + price;
        if cost < wanted.below {
            let late = if network.ops[op].may_wait() {
                label.late
            } else {
                label.late.min(end)
            };
            self.add(
                network,
                Label {
                    end,
                    late,
                    cost,
                    pushed: true,
                    ..*label
                },
                cost,
            );
        }
    }

    fn add(&mut self, network: &Network, label: Label, estimate: i64) {
        let finish = label
            .start
            .saturating_add(first(network.ops[label.op as usize].tail));
        let index = narrow(self.labels.len());
        self.labels.push(label);
        // Of equals the newest first: straight on to the exit.
        self.heap.push(Reverse((estimate, finish, Reverse(index))));
    }

    /// Settles the moments backwards from the exit.
    fn trace(&mut self, network: &Network, exit: u32) {
        self.steps.clear();
        let mut index = exit;
        let mut leaving = NEVER;
        while index != ROOT {
            let label = &self.labels[index as usize];
            let longest = network.ops[label.op as usize].longest;
            let start = if longest >= FOREVER || leaving >= NEVER {
                label.start
            } else {
                label.start.max(first(instant(leaving) - longest))
            };
            self.steps.push(Step {
                op: label.op,
                start,
            });
            leaving = start;
            index = label.before;
        }
        self.steps.reverse();
    }
}

/// The latest moment at which a train in this label's operation must leave it.
fn leave_by(network: &Network, label: &Label) -> Fine {
    label
        .end
        .min(at_most(label.late, network.ops[label.op as usize].longest))
}

fn narrow(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

/// The first stretch, begun at `from` or later but not after `until`, in which the operation can start and
/// last its least duration: its start, and the moment by which it must have ended.
pub(crate) fn open_stretch(
    network: &Network,
    table: &Table,
    op: usize,
    from: Fine,
    until: Fine,
) -> Option<(Fine, Fine)> {
    let o = &network.ops[op];
    let until = until.min(o.latest);
    let exit = network.next(op).is_empty();
    let mut start = from;
    'again: loop {
        if start > until || start >= NEVER {
            return None;
        }
        let need = if exit {
            NEVER
        } else {
            after(start, o.duration)
        };
        let mut end = NEVER;
        for u in network.uses(op) {
            let holds = table.on(u.resource);
            if let Some(hold) = holds.get(table.first_after(u.resource, start)) {
                let free_until = end_before(hold.start, u.release);
                if free_until < need {
                    start = hold.open;
                    continue 'again;
                }
                end = end.min(free_until);
            }
        }
        return Some((start, end));
    }
}
