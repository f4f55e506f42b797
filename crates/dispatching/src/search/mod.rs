//! Searching for plans: runs of one train at a time through what the others leave open, and large
//! neighbourhoods of such runs taken out and put back.

mod curve;
mod dice;
mod fine;
mod improve;
mod labels;
mod network;
mod retime;
mod router;
mod squeeze;
mod state;
mod table;

pub(crate) use improve::Improver;
pub(crate) use network::Network;

use crate::{Cost, Event, Problem};

/// The cost of a plan's events, rank by rank.
pub(crate) fn true_cost(problem: &Problem, events: &[Event]) -> Cost {
    let ranks = problem
        .objective
        .iter()
        .map(|t| usize::from(t.rank) + 1)
        .max()
        .unwrap_or(1);
    let mut start: Vec<Vec<Option<i64>>> = problem
        .trains
        .iter()
        .map(|t| vec![None; t.operations.len()])
        .collect();
    for e in events {
        start[e.train][e.operation] = Some(e.time);
    }
    let mut cost = vec![0; ranks];
    for term in &problem.objective {
        if let Some(t) = start[term.train][term.operation]
            && t >= term.threshold
        {
            cost[usize::from(term.rank)] += term.coeff * (t - term.threshold) + term.increment;
        }
    }
    Cost(cost)
}
