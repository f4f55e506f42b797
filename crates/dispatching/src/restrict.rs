//! A problem with some operations taken out.

use crate::problem::{Event, Operation, Plan, Problem, Train};

/// A problem with some operations taken out, and what its operations were called before.
#[derive(Debug, Clone)]
pub(crate) struct Restricted {
    /// What is left. Trains and resources keep their indices.
    pub(crate) problem: Problem,
    /// By train and new operation: the operation before.
    pub(crate) origin: Vec<Vec<usize>>,
}

/// The operation that follows no other.
pub(crate) fn entry(train: &Train) -> usize {
    let mut follows = vec![false; train.operations.len()];
    train
        .operations
        .iter()
        .flat_map(|o| &o.successors)
        .for_each(|&next| follows[next] = true);
    follows.iter().position(|&f| !f).unwrap_or(0)
}

/// Takes out every operation that `keep` refuses, and with them all that no path from `start` (by
/// train: its entry, or the operation from which it still has to be run) to the exit touches any more.
///
/// # Errors
/// The trains that have no path left.
pub(crate) fn restrict(
    problem: &Problem,
    start: impl Fn(usize) -> usize,
    keep: impl Fn(usize, usize) -> bool,
) -> Result<Restricted, Vec<usize>> {
    let mut restricted = Problem {
        resources: problem.resources.clone(),
        ..Problem::default()
    };
    let mut origin = Vec::with_capacity(problem.trains.len());
    let mut stuck = Vec::new();
    for (t, train) in problem.trains.iter().enumerate() {
        match restrict_train(train, start(t), |o| keep(t, o)) {
            None => stuck.push(t),
            Some((train, kept)) => {
                restricted.trains.push(train);
                origin.push(kept);
            }
        }
    }
    if !stuck.is_empty() {
        return Err(stuck);
    }
    restricted.objective = problem
        .objective
        .iter()
        .filter_map(|term| {
            let operation = origin[term.train].binary_search(&term.operation).ok()?;
            Some(crate::problem::DelayTerm { operation, ..*term })
        })
        .collect();
    Ok(Restricted {
        problem: restricted,
        origin,
    })
}

/// The same for one train: what is left of it, and the operations that its operations were before.
pub(crate) fn restrict_train(
    train: &Train,
    start: usize,
    keep: impl Fn(usize) -> bool,
) -> Option<(Train, Vec<usize>)> {
    let kept = on_a_path(train, start, keep);
    if kept.is_empty() {
        return None;
    }
    let operations = kept
        .iter()
        .map(|&o| {
            let old = &train.operations[o];
            let successors = old
                .successors
                .iter()
                .filter_map(|s| kept.binary_search(s).ok())
                .collect();
            Operation {
                successors,
                ..old.clone()
            }
        })
        .collect();
    Some((
        Train {
            name: train.name.clone(),
            operations,
        },
        kept,
    ))
}

/// The accepted operations that lie on a path of accepted ones from `start` to the exit, sorted; empty
/// if there is no such path.
fn on_a_path(train: &Train, start: usize, keep: impl Fn(usize) -> bool) -> Vec<usize> {
    let operations = &train.operations;
    let count = operations.len();
    let accepted: Vec<bool> = (0..count).map(keep).collect();
    let Some(exit) = operations.iter().position(|o| o.successors.is_empty()) else {
        return Vec::new();
    };
    let mut predecessors = vec![Vec::new(); count];
    for (o, operation) in operations.iter().enumerate() {
        for &next in &operation.successors {
            predecessors[next].push(o);
        }
    }
    let reach = |from: usize, next: &dyn Fn(usize) -> Vec<usize>| {
        let mut reached = vec![false; count];
        let mut open = if accepted[from] {
            vec![from]
        } else {
            Vec::new()
        };
        while let Some(o) = open.pop() {
            if !std::mem::replace(&mut reached[o], true) {
                open.extend(next(o).into_iter().filter(|&n| accepted[n]));
            }
        }
        reached
    };
    let leads_out = reach(exit, &|o| predecessors[o].clone());
    let led_to = reach(start, &|o| operations[o].successors.clone());
    (0..count).filter(|&o| leads_out[o] && led_to[o]).collect()
}

impl Restricted {
    /// A plan of the original problem in terms of this one, if it uses nothing that was taken out. Its
    /// claimed value is left as it was.
    pub(crate) fn carry_over(&self, plan: &Plan) -> Option<Plan> {
        let events = plan
            .events
            .iter()
            .map(|e| {
                let operation = self.origin[e.train].binary_search(&e.operation).ok()?;
                Some(Event { operation, ..*e })
            })
            .collect::<Option<Vec<_>>>()?;
        Some(Plan {
            objective_value: plan.objective_value,
            events,
        })
    }
}
