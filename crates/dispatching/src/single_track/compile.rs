//! From a line to the general problem, and from its plan to the line's own form of solution.

use std::collections::HashMap;

use super::{Line, LineTrain, Stop, Track};
use crate::problem::{DelayTerm, Operation, Problem, ResourceUse, Time, Train};

/// What an operation of the general problem is on the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Role {
    /// Not on the line yet; the choice of the first track lies ahead.
    Entry,
    /// On a station track.
    Station {
        /// Which of the train's stops.
        stop: usize,
        /// Index of the track in the station.
        track: usize,
    },
    /// On the line, in a block counted in running order.
    Block {
        /// The stop before.
        stop: usize,
        /// 0 for the block after the station.
        block: usize,
    },
    /// Off the line.
    Exit,
}

/// A line as a general problem, with what is needed to read a plan back.
#[derive(Debug, Clone)]
pub struct Compiled {
    /// The general problem. Train i is the line's train i.
    pub problem: Problem,
    pub(super) name: String,
    pub(super) roles: Vec<Vec<Role>>,
}

impl LineTrain {
    /// Whether the train may be on this track at this stop: `None` if not, else whether it may stand.
    pub(super) fn may_use(&self, stop: &Stop, track: &Track) -> Option<bool> {
        if self.length <= track.length {
            Some(true)
        } else {
            (track.main && stop.dwell == 0).then_some(false)
        }
    }
}

#[derive(Default)]
struct Resources {
    names: Vec<String>,
    indices: HashMap<String, usize>,
}

impl Resources {
    fn held(&mut self, name: String, release_time: Time) -> ResourceUse {
        let next = self.names.len();
        let resource = *self.indices.entry(name.clone()).or_insert(next);
        if resource == next {
            self.names.push(name);
        }
        ResourceUse {
            resource,
            release_time,
        }
    }
}

/// One train under construction: operations, their roles, and those that wait for a successor.
#[derive(Default)]
struct Building {
    operations: Vec<Operation>,
    roles: Vec<Role>,
    open: Vec<usize>,
}

impl Building {
    /// Adds alternatives, each of which may follow each of the last.
    fn follow(&mut self, alternatives: impl IntoIterator<Item = (Role, Operation)>) -> Vec<usize> {
        let first = self.operations.len();
        for (role, operation) in alternatives {
            self.roles.push(role);
            self.operations.push(operation);
        }
        let new: Vec<usize> = (first..self.operations.len()).collect();
        for &before in &self.open {
            self.operations[before].successors.extend_from_slice(&new);
        }
        self.open.clone_from(&new);
        new
    }
}

impl Line {
    /// The line as a general problem.
    pub fn compile(&self) -> Compiled {
        let mut resources = Resources::default();
        let mut problem = Problem::default();
        let mut roles = Vec::with_capacity(self.trains.len());
        for (t, train) in self.trains.iter().enumerate() {
            let building = self.train(t, train, &mut resources, &mut problem.objective);
            problem.trains.push(Train {
                name: train.id.clone(),
                operations: building.operations,
            });
            roles.push(building.roles);
        }
        problem.resources = resources.names;
        Compiled {
            problem,
            name: self.name.clone(),
            roles,
        }
    }

    fn train(
        &self,
        t: usize,
        train: &LineTrain,
        resources: &mut Resources,
        objective: &mut Vec<DelayTerm>,
    ) -> Building {
        let mut building = Building::default();
        let mut depart = 0;
        for (k, stop) in train.stops.iter().enumerate() {
            let station = &self.stations[stop.station];
            let mut tracks = Vec::new();
            for (j, track) in station.tracks.iter().enumerate() {
                let Some(may_stand) = train.may_use(stop, track) else {
                    continue;
                };
                let name = format!("{} {}", station.name, track.name);
                let stand = Operation {
                    start_lb: if k == 0 { train.release } else { 0 },
                    min_duration: stop.dwell,
                    max_duration: if may_stand { None } else { Some(0) },
                    resources: vec![resources.held(name, station.clear)],
                    ..Operation::default()
                };
                tracks.push((Role::Station { stop: k, track: j }, stand));
            }
            if k == 0 && tracks.len() > 1 {
                building.follow([(Role::Entry, Operation::default())]);
            }
            for operation in building.follow(tracks) {
                if let Some(threshold) = stop.due.filter(|_| stop.weight > 0) {
                    objective.push(DelayTerm {
                        train: t,
                        operation,
                        threshold,
                        coeff: stop.weight,
                        increment: 0,
                        rank: 0,
                    });
                }
            }
            depart = stop.earliest_dep.unwrap_or(0);
            let Some(next) = train.stops.get(k + 1) else {
                continue;
            };
            let g = Self::segment(stop.station, next.station);
            let segment = &self.segments[g];
            let between = format!("{}-{}", self.stations[g].name, self.stations[g + 1].name);
            for (b, &run) in stop.run.iter().flatten().enumerate() {
                // Blocks are counted from the lower station.
                let block = if train.dir > 0 {
                    b
                } else {
                    segment.blocks - 1 - b
                };
                let mut name = between.clone();
                if segment.blocks > 1 {
                    name += &format!(" block {}", block + 1);
                }
                if segment.tracks > 1 {
                    name += if train.dir > 0 { " up" } else { " down" };
                }
                let operation = Operation {
                    start_lb: if b == 0 { depart } else { 0 },
                    min_duration: run,
                    resources: vec![resources.held(name, segment.clear)],
                    ..Operation::default()
                };
                building.follow([(Role::Block { stop: k, block: b }, operation)]);
            }
        }
        let exit = Operation {
            start_lb: depart,
            start_ub: Some(self.horizon),
            ..Operation::default()
        };
        building.follow([(Role::Exit, exit)]);
        building
    }
}
