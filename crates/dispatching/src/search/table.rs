//! Who holds each resource when.

use std::cell::Cell;
use std::ops::Range;

use super::fine::{Fine, NEVER, open_after};
use super::network::{Network, Use};

/// A stretch of time in which a train holds a resource.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Hold {
    /// Its start.
    pub(crate) start: Fine,
    /// When others may start.
    pub(crate) open: Fine,
    /// Whose it is.
    pub(crate) train: u32,
    /// First step of the train's run that holds it here.
    pub(crate) from_step: u32,
    /// Last step of the train's run that holds it here.
    pub(crate) to_step: u32,
}

/// One step of a train's run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Step {
    /// The operation.
    pub(crate) op: u32,
    /// Its start.
    pub(crate) start: Fine,
}

/// The holds on every resource, in order of time; those on one resource do not overlap.
#[derive(Debug, Clone)]
pub(crate) struct Table {
    holds: Vec<Vec<Hold>>,
    /// Where the hold of each use stood when it was looked for last: it is seldom far from there.
    stood: Vec<Cell<u32>>,
}

impl Table {
    /// A table with no holds.
    pub(crate) fn new(resources: usize, uses: usize) -> Self {
        Self {
            holds: vec![Vec::new(); resources],
            stood: vec![Cell::new(0); uses],
        }
    }

    /// The holds on a resource.
    #[inline]
    pub(crate) fn on(&self, resource: u32) -> &[Hold] {
        &self.holds[resource as usize]
    }

    /// Index of the first hold on a resource that is not yet open at a moment.
    pub(crate) fn first_after(&self, resource: u32, moment: Fine) -> usize {
        self.holds[resource as usize].partition_point(|h| h.open <= moment)
    }

    /// Enters a hold. One of the same train that it touches becomes one with it.
    pub(crate) fn add(&mut self, resource: u32, hold: Hold) {
        let list = &mut self.holds[resource as usize];
        let at = list.partition_point(|h| h.start <= hold.start);
        if at > 0 && list[at - 1].train == hold.train && list[at - 1].open >= hold.start {
            list[at - 1].open = list[at - 1].open.max(hold.open);
            list[at - 1].to_step = hold.to_step;
        } else {
            list.insert(at, hold);
        }
    }

    /// Enters all holds of a run, whose steps stand in order.
    pub(crate) fn add_run(&mut self, network: &Network, train: u32, steps: &[Step]) {
        for_holds(network, steps, |resource, step, start, open| {
            self.add(
                resource,
                Hold {
                    start,
                    open,
                    train,
                    from_step: step,
                    to_step: step,
                },
            );
        });
    }

    /// Index of the hold that a step of a train's run is part of. A hold is told by its train and steps: the
    /// places kept for trains that must appear at one moment may begin together.
    pub(crate) fn index_of(&self, u: &Use, train: u32, step: u32, start: Fine) -> Option<usize> {
        let list = &self.holds[u.resource as usize];
        let own = |h: &Hold| h.train == train && h.from_step <= step && step <= h.to_step;
        let stood = &self.stood[u.index as usize];
        let there = stood.get() as usize;
        for at in [there, there + 1, there.wrapping_sub(1)] {
            if list.get(at).is_some_and(own) {
                stood.set(narrow(at));
                return Some(at);
            }
        }
        let behind = list.partition_point(|h| h.start <= start);
        let at = list[..behind].iter().rposition(own)?;
        stood.set(narrow(at));
        Some(at)
    }

    /// Takes out all holds of a run.
    pub(crate) fn remove_run(&mut self, network: &Network, train: u32, steps: &[Step]) {
        for (step, s) in (0u32..).zip(steps) {
            for u in network.uses(s.op as usize) {
                // A hold of several steps goes with the first of them.
                if let Some(at) = self.index_of(u, train, step, s.start) {
                    self.holds[u.resource as usize].remove(at);
                }
            }
        }
    }

    /// Finds the holds that some steps of a train's run stand for: resource, index of the hold, step. Returns
    /// those steps, with the others that share a hold with them.
    pub(crate) fn find_run(
        &self,
        network: &Network,
        train: u32,
        steps: &[Step],
        mut span: Range<usize>,
        found: &mut Vec<(u32, u32, u32)>,
    ) -> Range<usize> {
        let before = found.len();
        loop {
            let mut whole = span.clone();
            for i in span.clone() {
                let step = narrow(i);
                for u in network.uses(steps[i].op as usize) {
                    let at = self.index_of(u, train, step, steps[i].start);
                    debug_assert!(at.is_some(), "a run without its hold");
                    let Some(at) = at else {
                        found.push((u.resource, u32::MAX, step));
                        continue;
                    };
                    let hold = &self.holds[u.resource as usize][at];
                    whole.start = whole.start.min(hold.from_step as usize);
                    whole.end = whole.end.max(hold.to_step as usize + 1);
                    found.push((u.resource, narrow(at), step));
                }
            }
            if whole == span {
                return span;
            }
            span = whole;
            found.truncate(before);
        }
    }

    /// Gives holds found before the times of some steps of a run with the same operations; the number of holds.
    pub(crate) fn retime_run(
        &mut self,
        network: &Network,
        steps: &[Step],
        span: Range<usize>,
        found: &[(u32, u32, u32)],
    ) -> usize {
        let mut at = 0;
        for i in span {
            let end = steps.get(i + 1).map_or(NEVER, |s| s.start);
            for u in network.uses(steps[i].op as usize) {
                let (resource, index, _) = found[at];
                at += 1;
                let Some(hold) = self.holds[resource as usize].get_mut(index as usize) else {
                    continue;
                };
                let open = open_after(end, u.release);
                if hold.from_step as usize == i {
                    hold.start = steps[i].start;
                    hold.open = open;
                } else {
                    hold.open = hold.open.max(open);
                }
            }
        }
        at
    }

    /// Takes out the holds of a train on a resource.
    pub(crate) fn remove_train(&mut self, resource: u32, train: u32) {
        self.holds[resource as usize].retain(|h| h.train != train);
    }
}

/// Calls back with every resource, step, start of hold and moment when it is open again, step by step.
pub(crate) fn for_holds(
    network: &Network,
    steps: &[Step],
    mut with: impl FnMut(u32, u32, Fine, Fine),
) {
    for (i, step) in (0u32..).zip(steps) {
        let end = steps.get(i as usize + 1).map_or(NEVER, |s| s.start);
        for u in network.uses(step.op as usize) {
            with(u.resource, i, step.start, open_after(end, u.release));
        }
    }
}

fn narrow(step: usize) -> u32 {
    u32::try_from(step).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    const USE: Use = Use {
        resource: 0,
        release: 0,
        index: 0,
    };

    fn hold(train: u32, step: u32, start: Fine, open: Fine) -> Hold {
        Hold {
            start,
            open,
            train,
            from_step: step,
            to_step: step,
        }
    }

    #[test]
    fn holds_that_begin_together_are_told_apart() {
        let mut table = Table::new(1, 1);
        table.add(0, hold(1, 4, 10, 20));
        table.add(0, hold(2, 0, 20, 21));
        table.add(0, hold(3, 0, 20, 21));
        table.add(0, hold(1, 7, 20, 30)); // Touches the train's own, but does not stand behind it.
        let starts = |train, step, start| table.index_of(&USE, train, step, start);
        let found = [
            starts(1, 4, 10),
            starts(2, 0, 20),
            starts(3, 0, 20),
            starts(1, 7, 20),
        ];
        assert_eq!(found, [Some(0), Some(1), Some(2), Some(3)]);
        assert_eq!(starts(1, 5, 10), None);
        assert_eq!(starts(4, 0, 20), None);
    }

    #[test]
    fn a_hold_of_several_steps_is_found_by_each() {
        let mut table = Table::new(1, 1);
        table.add(0, hold(1, 4, 10, 20));
        table.add(0, hold(1, 5, 20, 30));
        assert_eq!(table.on(0).len(), 1);
        assert_eq!(table.index_of(&USE, 1, 5, 20), Some(0));
    }
}
