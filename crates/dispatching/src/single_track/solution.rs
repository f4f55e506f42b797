//! Plans of a compiled line in `stl/1`'s own form of solution.

use std::collections::HashMap;

use serde_json::{Value, json};

use super::compile::{Compiled, Role};
use crate::problem::{Event, Plan, Time};

/// One thing wrong with the form of a solution. Whether it obeys the rules is the judge's question.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SolutionFault {
    /// The text cannot be read as a solution.
    #[error("this is not a solution: {what}")]
    Shape {
        /// What is wrong, from the reader.
        what: String,
    },
    /// A train that the line does not have.
    #[error("the line has no train `{train}`")]
    NoSuchTrain {
        /// Its name.
        train: String,
    },
    /// A train more than once.
    #[error("train `{train}` is there twice")]
    Twice {
        /// Its name.
        train: String,
    },
    /// A train that is not run.
    #[error("train `{train}` is missing")]
    Missing {
        /// Its name.
        train: String,
    },
    /// Not as many stops as the train makes.
    #[error("train `{train}` has {found} stops, expected {expected}")]
    Stops {
        /// Its name.
        train: String,
        /// How many are there.
        found: usize,
        /// How many it makes.
        expected: usize,
    },
    /// A track that the train cannot use at this stop.
    #[error("train `{train}`, stop {stop}: it cannot be on track {track}")]
    Track {
        /// Its name.
        train: String,
        /// Which stop.
        stop: usize,
        /// The track's index.
        track: usize,
    },
    /// Not as many crossings of block boundaries as there are boundaries.
    #[error("train `{train}`, stop {stop}: {found} times at block boundaries, expected {expected}")]
    Cuts {
        /// Its name.
        train: String,
        /// The stop before.
        stop: usize,
        /// How many are there.
        found: usize,
        /// How many there must be.
        expected: usize,
    },
}

#[derive(serde::Deserialize)]
struct Solution {
    objective: Option<i64>,
    trains: Vec<Course>,
}

#[derive(serde::Deserialize)]
struct Course {
    id: String,
    stops: Vec<Call>,
}

#[derive(serde::Deserialize)]
struct Call {
    arr: Time,
    dep: Time,
    track: usize,
    #[serde(default)]
    cuts: Vec<Time>,
}

impl Compiled {
    /// A plan of the compiled problem (which the judge has passed) as a solution of the line, in
    /// `stl/1`'s own JSON. `bound` is a proven lower bound, if there is one.
    pub fn solution(&self, plan: &Plan, bound: Option<i64>) -> String {
        let mut calls: Vec<Vec<Call>> = self.roles.iter().map(|_| Vec::new()).collect();
        for event in &plan.events {
            let train = &mut calls[event.train];
            let time = event.time;
            match (self.roles[event.train][event.operation], train.last_mut()) {
                (Role::Station { track, .. }, _) => {
                    train.push(Call {
                        arr: time,
                        dep: time,
                        track,
                        cuts: Vec::new(),
                    });
                }
                (Role::Block { block: 0, .. } | Role::Exit, Some(call)) => call.dep = time,
                (Role::Block { .. }, Some(call)) => call.cuts.push(time),
                (_, None) | (Role::Entry, _) => {}
            }
        }
        let trains: Vec<Value> = calls
            .iter()
            .zip(&self.problem.trains)
            .map(|(calls, train)| {
                let stops: Vec<Value> = calls
                    .iter()
                    .map(|c| json!({"arr": c.arr, "dep": c.dep, "track": c.track, "cuts": c.cuts}))
                    .collect();
                json!({"id": train.name, "stops": stops})
            })
            .collect();
        json!({
            "instance": self.name,
            "objective": plan.objective_value,
            "bound": bound,
            "trains": trains,
        })
        .to_string()
    }

    /// A solution of the line as a plan of the compiled problem, for the judge to judge. A solution that
    /// claims no cost is given the one that it has.
    ///
    /// # Errors
    /// Everything that is wrong with its form, at once.
    pub fn read_solution(&self, text: &str) -> Result<Plan, Vec<SolutionFault>> {
        let solution: Solution = serde_json::from_str(text).map_err(|e| {
            vec![SolutionFault::Shape {
                what: e.to_string(),
            }]
        })?;
        let mut faults = Vec::new();
        let mut courses: Vec<Option<Vec<Event>>> = vec![None; self.roles.len()];
        for course in &solution.trains {
            let train = self.problem.trains.iter().position(|t| t.name == course.id);
            match train.map(|t| (t, &mut courses[t])) {
                None => faults.push(SolutionFault::NoSuchTrain {
                    train: course.id.clone(),
                }),
                Some((_, Some(_))) => faults.push(SolutionFault::Twice {
                    train: course.id.clone(),
                }),
                Some((t, events)) => *events = Some(self.course(t, course, &mut faults)),
            }
        }
        for (train, events) in self.problem.trains.iter().zip(&courses) {
            if events.is_none() {
                faults.push(SolutionFault::Missing {
                    train: train.name.clone(),
                });
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let events = self.in_order(courses.into_iter().flatten().collect());
        let cost = |e: &Event| -> i64 {
            let terms = self.problem.objective.iter();
            terms
                .filter(|t| (t.train, t.operation) == (e.train, e.operation))
                .map(|t| {
                    t.coeff
                        .saturating_mul(e.time.saturating_sub(t.threshold).max(0))
                })
                .sum()
        };
        let objective_value = solution
            .objective
            .unwrap_or_else(|| events.iter().map(cost).sum());
        Ok(Plan {
            objective_value,
            events,
        })
    }

    /// The events of one train.
    fn course(&self, train: usize, course: &Course, faults: &mut Vec<SolutionFault>) -> Vec<Event> {
        let roles = &self.roles[train];
        let of: HashMap<Role, usize> = roles.iter().enumerate().map(|(o, &r)| (r, o)).collect();
        let name = || course.id.clone();
        let expected = roles
            .iter()
            .filter_map(|r| {
                if let Role::Station { stop, .. } = r {
                    Some(stop + 1)
                } else {
                    None
                }
            })
            .max()
            .unwrap_or(0);
        if course.stops.len() != expected {
            let found = course.stops.len();
            faults.push(SolutionFault::Stops {
                train: name(),
                found,
                expected,
            });
            return Vec::new();
        }
        let mut events = Vec::new();
        let mut add = |time, operation| {
            events.push(Event {
                time,
                train,
                operation,
            });
        };
        if let (Some(&entry), Some(first)) = (of.get(&Role::Entry), course.stops.first()) {
            add(first.arr, entry);
        }
        for (stop, call) in course.stops.iter().enumerate() {
            let track = call.track;
            match of.get(&Role::Station { stop, track }) {
                Some(&operation) => add(call.arr, operation),
                None => faults.push(SolutionFault::Track {
                    train: name(),
                    stop,
                    track,
                }),
            }
            let times: Vec<Time> = std::iter::once(call.dep).chain(call.cuts.clone()).collect();
            let blocks = (0..)
                .take_while(|&block| of.contains_key(&Role::Block { stop, block }))
                .count();
            // After the last stop there are no blocks, only the exit.
            if call.cuts.len() != blocks.saturating_sub(1) {
                let (found, expected) = (call.cuts.len(), blocks.saturating_sub(1));
                faults.push(SolutionFault::Cuts {
                    train: name(),
                    stop,
                    found,
                    expected,
                });
                continue;
            }
            if blocks == 0 {
                of.get(&Role::Exit)
                    .into_iter()
                    .for_each(|&exit| add(call.dep, exit));
            }
            for (block, &time) in times.iter().enumerate().take(blocks) {
                of.get(&Role::Block { stop, block })
                    .into_iter()
                    .for_each(|&o| add(time, o));
            }
        }
        events
    }

    /// One order of all events by time; among equal times, first what takes nothing that is still held.
    fn in_order(&self, courses: Vec<Vec<Event>>) -> Vec<Event> {
        let resources = |e: &Event| {
            let held = &self.problem.trains[e.train].operations[e.operation].resources;
            held.iter().map(|r| r.resource)
        };
        let mut waiting: Vec<std::collections::VecDeque<Event>> =
            courses.into_iter().map(Into::into).collect();
        let mut holder = vec![None; self.problem.resources.len()];
        let mut last: Vec<Option<Event>> = vec![None; waiting.len()];
        let mut ordered = Vec::new();
        loop {
            let heads: Vec<Event> = waiting.iter().filter_map(|w| w.front().copied()).collect();
            let Some(time) = heads.iter().map(|e| e.time).min() else {
                return ordered;
            };
            let free = |e: &Event| resources(e).all(|r| holder[r].is_none_or(|t| t == e.train));
            let now = || heads.iter().filter(|e| e.time == time);
            let Some(&next) = now().find(|e| free(e)).or_else(|| now().next()) else {
                return ordered;
            };
            waiting[next.train].pop_front();
            if let Some(before) = last[next.train].replace(next) {
                resources(&before).for_each(|r| holder[r] = None);
            }
            resources(&next).for_each(|r| holder[r] = Some(next.train));
            ordered.push(next);
        }
    }
}
