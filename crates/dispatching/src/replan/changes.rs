//! How a new plan differs from the old one.

use std::collections::HashMap;

use super::{Revised, Who};
use crate::problem::Plan;

/// How a new plan differs from the old one. Trains are those of the revised problem.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Changes {
    /// Trains that leave the old plan's route, and the operation with which they do.
    pub rerouted: Vec<(usize, usize)>,
    /// Where two trains that follow each other on a resource have changed places.
    pub overtaken: Vec<Overtaken>,
}

/// Two trains that have changed places on a resource.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Overtaken {
    /// Where.
    pub resource: usize,
    /// Who is first now.
    pub first: usize,
    /// Who was first before.
    pub second: usize,
}

impl Changes {
    /// Compares a plan of the revised problem with the old plan.
    pub(super) fn between(revised: &Revised, old: &Plan, new: &Plan) -> Self {
        let mut before: HashMap<(usize, usize), usize> = HashMap::new();
        for (position, event) in old.events.iter().enumerate() {
            before.insert((event.train, event.operation), position);
        }
        let mut changes = Self::default();
        let mut on_route = vec![true; revised.problem.trains.len()];
        // By resource: the train that held it last, and where it stood in the old plan.
        let mut last: Vec<Option<(usize, usize)>> = vec![None; revised.problem.resources.len()];
        for event in &new.events {
            let Who::Train(train) = revised.who[event.train] else {
                continue;
            };
            let operation = revised.origin[event.train][event.operation];
            let position = before.get(&(train, operation)).copied();
            match position {
                None if on_route[event.train] => {
                    on_route[event.train] = false;
                    changes.rerouted.push((event.train, event.operation));
                }
                None => {}
                Some(_) => on_route[event.train] = true,
            }
            let Some(position) = position else { continue };
            for held in &revised.problem.trains[event.train].operations[event.operation].resources {
                if let Some((other, its_position)) =
                    last[held.resource].replace((event.train, position))
                    && other != event.train
                    && its_position > position
                {
                    changes.overtaken.push(Overtaken {
                        resource: held.resource,
                        first: other,
                        second: event.train,
                    });
                }
            }
        }
        changes
    }
}
