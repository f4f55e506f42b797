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

    /// Takes out all holds of a run.
    pub(crate) fn remove_run(&mut self, network: &Network, train: u32, steps: &[Step]) {
        for_holds(network, steps, |resource, _, start, _| {
            let list = &mut self.holds[resource as usize];
            let at = list.partition_point(|h| h.start < start);
            for i in [at, at.wrapping_sub(1)] {
                if list.get(i).is_some_and(|h| h.train == train) {
                    list.remove(i);
                    break;
                }
            }
        });
    }

    /// Finds the holds that the steps of a train's run stand for: resource, index of the hold, step.
    /// False if one of them cannot be told by where it begins.
    pub(crate) fn find_run(
        &self,
        network: &Network,
        train: u32,
        steps: &[Step],
        found: &mut Vec<(u32, u32, u32)>,
    ) -> bool {
        let mut all = true;
        for_holds(network, steps, |resource, step, start, _| {
            let list = &self.holds[resource as usize];
            let behind = list.partition_point(|h| h.start <= start);
            match behind.checked_sub(1).filter(|&at| list[at].train == train) {
                Some(at) => found.push((resource, at as u32, step)),
                None => all = false,
            }
        });
        all
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
            let hold = &mut self.holds[resource as usize][index as usize];
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
