//! Who holds each resource when.

use super::fine::Fine;
use super::network::Network;

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
}

impl Table {
    /// A table with no holds.
    pub(crate) fn new(resources: usize) -> Self {
        Self {
            holds: vec![Vec::new(); resources],
        }
    }

    /// The holds on a resource.
    #[inline]
    pub(crate) fn on(&self, resource: u32) -> &[Hold] {
        &self.holds[resource as usize]
    }

    /// Index of the first hold on a resource that is not yet open at a moment.
    #[inline]
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
    #[inline]
    pub(crate) fn index_of(
        &self,
        resource: u32,
        train: u32,
        step: u32,
        start: Fine,
    ) -> Option<usize> {
        let list = &self.holds[resource as usize];
        let behind = list.partition_point(|h| h.start <= start);
        let own = |h: &Hold| h.train == train && h.from_step <= step && step <= h.to_step;
        list[..behind].iter().rposition(own)
    }

    /// Takes out all holds of a run.
    pub(crate) fn remove_run(&mut self, network: &Network, train: u32, steps: &[Step]) {
        for_holds(network, steps, |resource, step, start, _| {
            // A hold of several steps goes with the first of them.
            if let Some(at) = self.index_of(resource, train, step, start) {
                self.holds[resource as usize].remove(at);
            }
        });
    }

    /// Finds the holds that the steps of a train's run stand for: resource, index of the hold, step.
    pub(crate) fn find_run(
        &self,
        network: &Network,
        train: u32,
        steps: &[Step],
        found: &mut Vec<(u32, u32, u32)>,
    ) {
        for_holds(network, steps, |resource, step, start, _| {
            let at = self.index_of(resource, train, step, start);
            debug_assert!(at.is_some(), "a run without its hold");
            let at = at.and_then(|at| u32::try_from(at).ok());
            found.push((resource, at.unwrap_or(u32::MAX), step));
        });
    }

    /// Gives holds found before the times of a run with the same operations.
    pub(crate) fn retime_run(
        &mut self,
        network: &Network,
        steps: &[Step],
        found: &[(u32, u32, u32)],
    ) {
        let mut found = found.iter();
        for_holds(network, steps, |_, step, start, open| {
            let Some(&(resource, index, _)) = found.next() else {
                return;
            };
            let Some(hold) = self.holds[resource as usize].get_mut(index as usize) else {
                return;
            };
            if hold.from_step == step {
                hold.start = start;
                hold.open = open;
            } else {
                hold.open = hold.open.max(open);
            }
        });
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
        let end = steps
            .get(i as usize + 1)
            .map_or(super::fine::NEVER, |s| s.start);
        for u in network.uses(step.op as usize) {
            with(
                u.resource,
                i,
                step.start,
                super::fine::open_after(end, u.release),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
        let mut table = Table::new(1);
        table.add(0, hold(1, 4, 10, 20));
        table.add(0, hold(2, 0, 20, 21));
        table.add(0, hold(3, 0, 20, 21));
        table.add(0, hold(1, 7, 20, 30)); // Touches the train's own, but does not stand behind it.
        let starts = |train, step, start| table.index_of(0, train, step, start);
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
        let mut table = Table::new(1);
        table.add(0, hold(1, 4, 10, 20));
        table.add(0, hold(1, 5, 20, 30));
        assert_eq!(table.on(0).len(), 1);
        assert_eq!(table.index_of(0, 1, 5, 20), Some(0));
    }
}
