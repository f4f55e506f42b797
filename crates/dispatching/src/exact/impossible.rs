//! Which trains and resources make a problem impossible: a set from which nothing can be left out.

use super::model::Model;
use super::search::{Outcome, Search};
use crate::Problem;
use crate::engine::Impossible;

/// Work allowed to one proof that a part is impossible on its own; beyond it the part counts as
/// possible, and what was to be left out stays in.
const PROOF: u64 = 4_000_000;

/// Leaves out trains, then resources, as long as the rest is still proven impossible: first in large
/// lots, then one by one. `problem` itself must be impossible. Cut short by `stop`, it returns what
/// it has come down to.
pub(super) fn minimal(problem: &Problem, stop: &dyn Fn() -> bool) -> Impossible {
    let all: Vec<usize> = (0..problem.resources.len()).collect();
    let trains = shrink((0..problem.trains.len()).collect(), &mut |trains| {
        proven(problem, trains, &all, stop)
    });
    let mut used: Vec<usize> = trains
        .iter()
        .flat_map(|t| &problem.trains[*t].operations)
        .flat_map(|o| o.resources.iter().map(|u| u.resource))
        .collect();
    used.sort_unstable();
    used.dedup();
    let resources = shrink(used, &mut |resources| {
        proven(problem, &trains, resources, stop)
    });
    Impossible { trains, resources }
}

/// Leaves out what can be left out, `holds` being true of what is given.
fn shrink(mut set: Vec<usize>, holds: &mut dyn FnMut(&[usize]) -> bool) -> Vec<usize> {
    let mut lot = set.len().div_ceil(2).max(1);
    loop {
        let mut i = 0;
        while i < set.len() {
            let rest: Vec<usize> = set[..i]
                .iter()
                .chain(&set[(i + lot).min(set.len())..])
                .copied()
                .collect();
            if holds(&rest) {
                set = rest;
            } else {
                i += lot;
            }
        }
        if lot == 1 {
            return set;
        }
        lot = lot.div_ceil(2);
    }
}

/// Whether these trains alone, competing for these resources alone, are proven impossible.
fn proven(
    problem: &Problem,
    trains: &[usize],
    resources: &[usize],
    stop: &dyn Fn() -> bool,
) -> bool {
    if trains.is_empty() {
        return false;
    }
    let mut part = Problem {
        trains: trains.iter().map(|t| problem.trains[*t].clone()).collect(),
        resources: problem.resources.clone(),
        objective: Vec::new(),
    };
    for o in part.trains.iter_mut().flat_map(|t| &mut t.operations) {
        o.resources
            .retain(|u| resources.binary_search(&u.resource).is_ok());
    }
    let Ok(m) = Model::new(&part) else {
        return false;
    };
    Search::new(m).solve(&[], PROOF, stop) == Outcome::Impossible
}
