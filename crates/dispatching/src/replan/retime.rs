//! The old plan with its order kept and its times moved.

use std::collections::{HashMap, VecDeque};

use super::{Revised, Who};
use crate::check::check;
use crate::problem::{Event, Plan, Time, Train};

/// Times may have to be moved more than once, where trains may not stand or resources are closed. Plans
/// that do not come to rest are given up.
const PASSES: usize = 200;

/// A step of a train in the order of the old plan.
#[derive(Clone, Copy)]
struct Step {
    train: usize,
    operation: usize,
    before: Option<usize>,
    after: Option<usize>,
}

/// The old plan made to fit the revised problem: same routes where they can still be kept, same order of
/// trains, everything as early as that allows. `None` if the old order is no longer possible.
pub(super) fn retime(revised: &Revised, old: &Plan) -> Option<Plan> {
    let steps = sequence(revised, old);
    let mut earliest: Vec<Time> = steps.iter().map(|s| op(revised, s).start_lb).collect();
    for _ in 0..PASSES {
        let time = pass(revised, &steps, &earliest)?;
        if push_on(revised, &steps, &time, &mut earliest) {
            continue;
        }
        let plan = finish(revised, &steps, &time);
        return match check(&revised.problem, &plan) {
            Ok(_) => Some(plan),
            // Only the value claimed, which is not known before it is asked for.
            Err(violations) => match violations.as_slice() {
                [crate::check::Violation::WrongValue { found, .. }] => Some(Plan {
                    objective_value: *found,
                    ..plan
                }),
                _ => None,
            },
        };
    }
    None
}

fn op<'r>(revised: &'r Revised, step: &Step) -> &'r crate::problem::Operation {
    &revised.problem.trains[step.train].operations[step.operation]
}

/// Everything to be run, except closures, in the order of the old plan: first what has happened, then
/// what was planned, then what was not.
fn sequence(revised: &Revised, old: &Plan) -> Vec<Step> {
    let fixed = &revised.fixed;
    let mut position: HashMap<(usize, usize), usize> = HashMap::new();
    for (p, event) in old.events.iter().enumerate() {
        position.insert((event.train, event.operation), p);
    }
    let mut keyed = Vec::new();
    for (t, train) in revised.problem.trains.iter().enumerate() {
        let planned = |o: usize| match revised.who[t] {
            Who::Train(old) => position.get(&(old, revised.origin[t][o])).copied(),
            Who::Extra(_) | Who::Closure(_) => None,
        };
        let last = match revised.who[t] {
            Who::Closure(_) => continue,
            Who::Train(_) => 0,
            Who::Extra(e) => old.events.len() + e,
        };
        let path = path(train, fixed[t], &planned);
        let mut key = (last, 0);
        for (i, &o) in path.iter().enumerate() {
            // What has happened stands before everything that has not.
            key = if i < fixed[t] {
                (0, train.operations[o].start_lb)
            } else {
                (1.max(planned(o).map_or(key.0, |p| p + 1)).max(key.0), 0)
            };
            keyed.push((key, t, i, o));
        }
    }
    keyed.sort_unstable();
    let mut latest: Vec<Option<usize>> = vec![None; revised.problem.trains.len()];
    let mut steps: Vec<Step> = Vec::with_capacity(keyed.len());
    for (s, (_, train, _, operation)) in keyed.into_iter().enumerate() {
        let before = latest[train].replace(s);
        if let Some(before) = before {
            steps[before].after = Some(s);
        }
        steps.push(Step {
            train,
            operation,
            before,
            after: None,
        });
    }
    steps
}

/// A path for the train: what has happened (`fixed` operations), then the old route, taken up again as
/// soon as possible where the train has left it.
fn path(train: &Train, fixed: usize, planned: &dyn Fn(usize) -> Option<usize>) -> Vec<usize> {
    let mut path = vec![crate::restrict::entry(train)];
    loop {
        let at = path[path.len() - 1];
        let successors = &train.operations[at].successors;
        if successors.is_empty() {
            return path;
        }
        if path.len() < fixed {
            path.push(successors[0]);
            continue;
        }
        // Breadth first to the nearest operation of the old route, or the exit.
        let mut came_from: HashMap<usize, usize> = HashMap::new();
        let mut open = VecDeque::from([at]);
        while let Some(o) = open.pop_front() {
            if o != at && (planned(o).is_some() || train.operations[o].successors.is_empty()) {
                let mut back = vec![o];
                while let Some(&from) = came_from.get(&back[back.len() - 1]).filter(|&&f| f != at) {
                    back.push(from);
                }
                path.extend(back.into_iter().rev());
                break;
            }
            for &next in &train.operations[o].successors {
                if next != at && !came_from.contains_key(&next) {
                    came_from.insert(next, o);
                    open.push_back(next);
                }
            }
        }
    }
}

/// Earliest times in this order; `None` if somebody would have to hold what another has not given up.
fn pass(revised: &Revised, steps: &[Step], earliest: &[Time]) -> Option<Vec<Time>> {
    let resources = revised.problem.resources.len();
    let mut holder: Vec<Option<usize>> = vec![None; resources];
    // Until when it is closed, by whom, and until when by anybody else than that.
    let mut closed = vec![(Time::MIN, usize::MAX, Time::MIN); resources];
    let mut time = vec![0; steps.len()];
    for (s, step) in steps.iter().enumerate() {
        let mut start = earliest[s];
        if let Some(before) = step.before {
            let operation = op(revised, &steps[before]);
            start = start.max(time[before] + operation.min_duration);
        }
        for held in &op(revised, step).resources {
            if holder[held.resource].is_some_and(|train| train != step.train) {
                return None;
            }
            let (until, by, others) = closed[held.resource];
            start = start.max(if by == step.train { others } else { until });
        }
        time[s] = start;
        if let Some(before) = step.before {
            for held in &op(revised, &steps[before]).resources {
                holder[held.resource] = None;
                let until = start + held.release_time;
                let (most, by, others) = closed[held.resource];
                closed[held.resource] = match () {
                    () if by == step.train => (most.max(until), by, others),
                    () if until > most => (until, step.train, most),
                    () => (most, by, others.max(until)),
                };
            }
        }
        for held in &op(revised, step).resources {
            holder[held.resource] = Some(step.train);
        }
    }
    Some(time)
}

/// Moves on what stands where it may not, or where it is closed. Whether anything moved.
fn push_on(revised: &Revised, steps: &[Step], time: &[Time], earliest: &mut [Time]) -> bool {
    let mut moved = false;
    for (s, step) in steps.iter().enumerate() {
        let operation = op(revised, step);
        let mut to = earliest[s];
        let end = step.after.map(|a| time[a]);
        if let (Some(end), Some(most)) = (end, operation.max_duration) {
            to = to.max(end - most);
        }
        for held in &operation.resources {
            for closure in revised
                .closures
                .iter()
                .filter(|c| c.resource == held.resource)
            {
                let ends_before = end.is_some_and(|end| end + held.release_time <= closure.from);
                if time[s] < closure.until && !ends_before {
                    to = to.max(closure.until);
                }
            }
        }
        if to > time[s] {
            earliest[s] = to;
            moved = true;
        }
    }
    moved
}

fn finish(revised: &Revised, steps: &[Step], time: &[Time]) -> Plan {
    // A closure begins after everything else at its moment, and ends before it.
    let mut keyed: Vec<(Time, usize, usize, Event)> = steps
        .iter()
        .zip(time)
        .enumerate()
        .map(|(s, (step, &time))| {
            (
                time,
                1,
                s,
                Event {
                    time,
                    train: step.train,
                    operation: step.operation,
                },
            )
        })
        .collect();
    for (train, who) in revised.who.iter().enumerate() {
        if let Who::Closure(c) = *who {
            let closure = revised.closures[c];
            let event = |time, operation| Event {
                time,
                train,
                operation,
            };
            keyed.push((closure.from, 2, c, event(closure.from, 0)));
            keyed.push((closure.until, 0, c, event(closure.until, 1)));
        }
    }
    keyed.sort_unstable_by_key(|&(time, turn, s, _)| (time, turn, s));
    Plan {
        objective_value: 0,
        events: keyed.into_iter().map(|(.., event)| event).collect(),
    }
}
