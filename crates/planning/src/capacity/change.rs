//! Changes to a compiled day.

use dispatching::{Problem, Time};
use engineering::ids::{OpenRef, StationId};

use crate::day::{Parts, Resource};

/// Counts every second that a train takes longer than it would alone: the thresholds of its terms become
/// the earliest times at which it can come there with the line to itself.
pub(super) fn press(problem: &mut Problem) {
    let alone: Vec<Vec<Time>> = problem
        .trains
        .iter()
        .map(|train| {
            let mut earliest = vec![Time::MAX; train.operations.len()];
            let mut reached = vec![false; train.operations.len()];
            for at in order(&train.operations) {
                let operation = &train.operations[at];
                let here = if reached[at] {
                    earliest[at].max(operation.start_lb)
                } else {
                    operation.start_lb
                };
                earliest[at] = here;
                for &next in &operation.successors {
                    let there = here + operation.min_duration;
                    earliest[next] = if reached[next] {
                        earliest[next].min(there)
                    } else {
                        there
                    };
                    reached[next] = true;
                }
            }
            earliest
        })
        .collect();
    for term in &mut problem.objective {
        if term.coeff > 0 {
            term.threshold = term.threshold.min(alone[term.train][term.operation]);
        }
    }
}

/// Operations in an order in which each stands before its successors.
fn order(operations: &[dispatching::Operation]) -> Vec<usize> {
    let mut waits = vec![0; operations.len()];
    for operation in operations {
        for &next in &operation.successors {
            waits[next] += 1;
        }
    }
    let mut ready: Vec<usize> = (0..operations.len()).filter(|&at| waits[at] == 0).collect();
    let mut done = Vec::with_capacity(operations.len());
    while let Some(at) = ready.pop() {
        done.push(at);
        for &next in &operations[at].successors {
            waits[next] -= 1;
            if waits[next] == 0 {
                ready.push(next);
            }
        }
    }
    done
}

/// Gives each direction a track of its own on a district of open line.
pub(super) fn second_track(problem: &mut Problem, parts: &Parts, open: OpenRef) {
    let mut other: Vec<Option<usize>> = vec![None; problem.resources.len()];
    let mut owed: Vec<bool> = vec![false; problem.resources.len()];
    for (at, resource) in parts.resources.iter().enumerate() {
        match resource {
            Resource::Open { open: one, .. } if *one == open => {
                other[at] = Some(problem.resources.len());
                problem
                    .resources
                    .push(format!("{}, second track", problem.resources[at]));
            }
            Resource::Clearance { open: one, .. } if *one == open => owed[at] = true,
            _ => {}
        }
    }
    for (train, all) in problem.trains.iter_mut().zip(&parts.operations) {
        for (operation, part) in train.operations.iter_mut().zip(all) {
            operation
                .resources
                .retain(|used| !owed.get(used.resource).copied().unwrap_or(false));
            if !parts.goes_up(part.train, open) {
                continue;
            }
            for used in &mut operation.resources {
                if let Some(second) = other.get(used.resource).copied().flatten() {
                    used.resource = second;
                }
            }
        }
    }
}

/// Gives a station one more track to stand on, reached as its others are: every operation that stands on
/// one of them may stand on the new one instead.
pub(super) fn another_stand(problem: &mut Problem, parts: &Parts, station: StationId) {
    let stand = |resource: usize| matches!(parts.resources.get(resource), Some(Resource::Stand { station: one, .. }) if *one == station);
    let new = problem.resources.len();
    problem.resources.push("one more track".to_owned());
    let mut terms = Vec::new();
    for (number, train) in problem.trains.iter_mut().enumerate() {
        let count = train.operations.len();
        // The twin of each operation that stands on one of the tracks.
        let mut twin: Vec<Option<usize>> = vec![None; count];
        for (at, twin) in twin.iter_mut().enumerate() {
            let holds = |used: &dispatching::ResourceUse| stand(used.resource);
            if train.operations[at].resources.iter().any(holds) {
                let mut copy = train.operations[at].clone();
                for used in &mut copy.resources {
                    if stand(used.resource) {
                        used.resource = new;
                    }
                }
                *twin = Some(train.operations.len());
                train.operations.push(copy);
            }
        }
        for at in 0..count {
            let next: Vec<usize> = train.operations[at].successors.clone();
            let twins = next.iter().filter_map(|&next| twin[next]);
            match twin[at] {
                // Once on the new track it stays there until it is off all of them.
                Some(mine) => {
                    train.operations[mine].successors = next
                        .iter()
                        .map(|&next| twin[next].unwrap_or(next))
                        .collect();
                }
                None => {
                    let twins: Vec<usize> = twins.collect();
                    train.operations[at].successors.extend(twins);
                }
            }
        }
        terms.extend(
            problem
                .objective
                .iter()
                .filter(|term| term.train == number)
                .filter_map(|term| {
                    let operation = twin.get(term.operation).copied().flatten()?;
                    Some(dispatching::DelayTerm { operation, ..*term })
                }),
        );
    }
    problem.objective.extend(terms);
}
