//! A second judge, deliberately naive: it walks through the events as a clerk with a slate would, in the
//! words of the published verification rules (DISPLIB 2025: Kloster, Luteberget, Mannino and Sartor,
//! 2025), with the maximum duration as the one addition.

use dispatching::{Plan, Problem, Time};

/// The plan's cost, or the first rule seen to be broken.
pub(crate) fn judge(problem: &Problem, plan: &Plan) -> Result<i64, &'static str> {
    let trains = problem.trains.len();
    let mut current: Vec<Option<(usize, Time)>> = vec![None; trains];
    // For each resource and train: whether it holds it now, and until when it closes it after that.
    let mut held = vec![vec![false; trains]; problem.resources.len()];
    let mut closed_until = vec![vec![Time::MIN; trains]; problem.resources.len()];
    let mut clock = Time::MIN;
    let mut cost = 0;
    for event in &plan.events {
        if event.time < clock {
            return Err("events not in order of time");
        }
        clock = event.time;
        let train = problem.trains.get(event.train).ok_or("no such train")?;
        let operation = train
            .operations
            .get(event.operation)
            .ok_or("no such operation")?;
        if let Some((previous, since)) = current[event.train] {
            let before = &train.operations[previous];
            if !before.successors.contains(&event.operation) {
                return Err("not a successor");
            }
            if event.time - since < before.min_duration {
                return Err("too short");
            }
            if before
                .max_duration
                .is_some_and(|most| event.time - since > most)
            {
                return Err("too long");
            }
            for r in &before.resources {
                held[r.resource][event.train] = false;
                let closed = &mut closed_until[r.resource][event.train];
                *closed = (event.time + r.release_time).max(*closed);
            }
        } else if train
            .operations
            .iter()
            .any(|o| o.successors.contains(&event.operation))
        {
            return Err("not the entry");
        }
        if event.time < operation.start_lb {
            return Err("too early");
        }
        if operation.start_ub.is_some_and(|ub| event.time > ub) {
            return Err("too late");
        }
        for r in &operation.resources {
            for other in (0..trains).filter(|&t| t != event.train) {
                if held[r.resource][other] {
                    return Err("held by another train");
                }
                if closed_until[r.resource][other] > event.time {
                    return Err("not yet released");
                }
            }
            held[r.resource][event.train] = true;
        }
        for term in &problem.objective {
            if term.train == event.train && term.operation == event.operation {
                cost += term.coeff * (event.time - term.threshold).max(0);
                cost += if event.time >= term.threshold {
                    term.increment
                } else {
                    0
                };
            }
        }
        current[event.train] = Some((event.operation, event.time));
    }
    for (train, at) in problem.trains.iter().zip(&current) {
        match at {
            None => return Err("not run"),
            Some((operation, _)) if !train.operations[*operation].successors.is_empty() => {
                return Err("not at the exit");
            }
            Some(_) => {}
        }
    }
    if cost == plan.objective_value {
        Ok(cost)
    } else {
        Err("wrong value")
    }
}
