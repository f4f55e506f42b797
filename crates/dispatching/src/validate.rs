//! What makes a [`Problem`] well formed, and what people are told when it is not.

use std::fmt;

use crate::problem::{Problem, Time, Train};

/// No time, duration, coefficient or increment may be larger than this (in an instance's own unit:
/// as seconds, thirty thousand years), so that sums stay far from the limits of 64-bit integers.
pub const LARGEST: i64 = 1_000_000_000_000;

/// Where in a problem or a plan something is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// The file as a whole.
    File,
    /// A train.
    Train {
        /// Its index.
        train: usize,
        /// Its name, empty if it has none.
        name: String,
    },
    /// An operation of a train.
    Operation {
        /// The train's index.
        train: usize,
        /// The train's name, empty if it has none.
        name: String,
        /// The operation's index in the train.
        operation: usize,
    },
    /// A term of the objective.
    Term {
        /// Its index.
        term: usize,
    },
    /// An event of a plan.
    Event {
        /// Its position.
        position: usize,
    },
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::File => f.write_str("the file"),
            Place::Train { train, name } => write_train(f, *train, name),
            Place::Operation {
                train,
                name,
                operation,
            } => {
                write_train(f, *train, name)?;
                write!(f, ", operation {operation}")
            }
            Place::Term { term } => write!(f, "objective term {term}"),
            Place::Event { position } => write!(f, "event {position}"),
        }
    }
}

/// Writes "train 3" or "train 3 (`Night Mail`)".
pub(crate) fn write_train(
    f: &mut fmt::Formatter<'_>,
    train: usize,
    name: &str,
) -> Result<(), fmt::Error> {
    if name.is_empty() {
        write!(f, "train {train}")
    } else {
        write!(f, "train {train} (`{name}`)")
    }
}

/// One thing wrong with a problem or with the file it was read from.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The text is not JSON.
    #[error("line {line}, column {column}: this is not JSON: {what}")]
    Syntax {
        /// Counted from 1.
        line: usize,
        /// Counted from 1.
        column: usize,
        /// What the JSON reader says.
        what: String,
    },
    /// A value of the wrong kind.
    #[error("{place}: `{field}` is {found}, expected {expected}")]
    Kind {
        /// Where.
        place: Place,
        /// Which field.
        field: &'static str,
        /// What was expected.
        expected: &'static str,
        /// What is there, shortened.
        found: String,
    },
    /// A field that must be there is not.
    #[error("{place}: `{field}` is missing, expected {expected}")]
    Missing {
        /// Where.
        place: Place,
        /// Which field.
        field: &'static str,
        /// What was expected.
        expected: &'static str,
    },
    /// A field that is nearly the name of a known one.
    #[error("{place}: there is no field `{found}`; did you mean `{meant}`?")]
    Misspelt {
        /// Where.
        place: Place,
        /// The field found.
        found: String,
        /// The known field nearest to it.
        meant: &'static str,
    },
    /// A number below zero or beyond [`LARGEST`].
    #[error("{place}: `{field}` is {found}, expected a whole number from 0 to {LARGEST}")]
    Range {
        /// Where.
        place: Place,
        /// Which field.
        field: &'static str,
        /// The number found.
        found: i64,
    },
    /// A train without operations.
    #[error("{place} has no operations, expected at least one")]
    NoOperations {
        /// Which train.
        place: Place,
    },
    /// Not exactly one entry.
    #[error("{place} has {} operations without a predecessor ({}), expected exactly one entry", found.len(), list(found))]
    Entries {
        /// Which train.
        place: Place,
        /// The operations that nothing leads to.
        found: Vec<usize>,
    },
    /// Not exactly one exit.
    #[error("{place} has {} operations without a successor ({}), expected exactly one exit", found.len(), list(found))]
    Exits {
        /// Which train.
        place: Place,
        /// The operations that lead nowhere.
        found: Vec<usize>,
    },
    /// Operations that lead back to themselves.
    #[error(
        "{place}: operations {} lead round in a circle, expected every path to end at the exit",
        list(operations)
    )]
    Circle {
        /// Which train.
        place: Place,
        /// The operations of one circle, in running order.
        operations: Vec<usize>,
    },
    /// A successor that does not exist.
    #[error("{place}: successor {found} does not exist, the train has operations 0 to {last}")]
    NoSuchSuccessor {
        /// Which operation.
        place: Place,
        /// The index found.
        found: usize,
        /// The last operation's index.
        last: usize,
    },
    /// The same successor twice.
    #[error("{place}: successor {found} is listed twice")]
    SuccessorTwice {
        /// Which operation.
        place: Place,
        /// The index.
        found: usize,
    },
    /// Latest before earliest.
    #[error("{place}: latest start {start_ub} is before the earliest start {start_lb}")]
    EmptyWindow {
        /// Which operation.
        place: Place,
        /// Earliest start.
        start_lb: Time,
        /// Latest start.
        start_ub: Time,
    },
    /// Longest below shortest.
    #[error(
        "{place}: the most time it may take, {max_duration}, is less than the least, {min_duration}"
    )]
    EmptyDuration {
        /// Which operation.
        place: Place,
        /// Least duration.
        min_duration: Time,
        /// Most duration.
        max_duration: Time,
    },
    /// The exit never ends, so it cannot have a longest duration.
    #[error("{place} is the exit, which never ends: it cannot have a longest duration")]
    ExitEnds {
        /// Which operation.
        place: Place,
    },
    /// A resource index beyond the list.
    #[error("{place}: resource {found} does not exist, there are {count} resources")]
    NoSuchResource {
        /// Which operation.
        place: Place,
        /// The index found.
        found: usize,
        /// How many resources there are.
        count: usize,
    },
    /// A term of a train that does not exist.
    #[error("{place}: train {found} does not exist, there are {count} trains")]
    NoSuchTrain {
        /// Which term or event.
        place: Place,
        /// The index found.
        found: usize,
        /// How many trains there are.
        count: usize,
    },
    /// A term of an operation that does not exist.
    #[error(
        "{place}: operation {found} of train {train} does not exist, it has {count} operations"
    )]
    NoSuchOperation {
        /// Which term or event.
        place: Place,
        /// The train.
        train: usize,
        /// The index found.
        found: usize,
        /// How many operations the train has.
        count: usize,
    },
    /// Costs that could leave the range of 64-bit integers.
    #[error("the objective's coefficients are too large: a plan could cost more than {limit}")]
    TooCostly {
        /// The most a plan may cost.
        limit: i64,
    },
}

fn list(items: &[usize]) -> String {
    if items.is_empty() {
        return "none".to_owned();
    }
    items
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(", ")
}

impl Problem {
    /// A train as a [`Place`].
    pub(crate) fn train_place(&self, train: usize) -> Place {
        let name = self
            .trains
            .get(train)
            .map_or_else(String::new, |t| t.name.clone());
        Place::Train { train, name }
    }

    /// An operation as a [`Place`].
    pub(crate) fn operation_place(&self, train: usize, operation: usize) -> Place {
        let name = self
            .trains
            .get(train)
            .map_or_else(String::new, |t| t.name.clone());
        Place::Operation {
            train,
            name,
            operation,
        }
    }

    /// Checks that the problem is well formed: that every train is an acyclic graph with one entry and
    /// one exit, indices exist, numbers are in range and windows are not empty.
    ///
    /// # Errors
    /// Everything that is wrong, in the order of the trains and then of the objective.
    pub fn validate(&self) -> Result<(), Vec<Fault>> {
        let mut faults = Vec::new();
        for train in 0..self.trains.len() {
            self.validate_train(train, &mut faults);
        }
        self.validate_objective(&mut faults);
        if faults.is_empty() {
            Ok(())
        } else {
            Err(faults)
        }
    }

    fn validate_train(&self, index: usize, faults: &mut Vec<Fault>) {
        let train = &self.trains[index];
        let count = train.operations.len();
        if count == 0 {
            faults.push(Fault::NoOperations {
                place: self.train_place(index),
            });
            return;
        }
        let mut indices_exist = true;
        for (o, operation) in train.operations.iter().enumerate() {
            let place = || self.operation_place(index, o);
            let mut range = |field, found| {
                if !(0..=LARGEST).contains(&found) {
                    faults.push(Fault::Range {
                        place: place(),
                        field,
                        found,
                    });
                }
            };
            range("start_lb", operation.start_lb);
            range("min_duration", operation.min_duration);
            operation
                .start_ub
                .into_iter()
                .for_each(|v| range("start_ub", v));
            operation
                .max_duration
                .into_iter()
                .for_each(|v| range("max_duration", v));
            for held in &operation.resources {
                range("release_time", held.release_time);
            }
            if let Some(start_ub) = operation.start_ub
                && start_ub < operation.start_lb
            {
                let start_lb = operation.start_lb;
                faults.push(Fault::EmptyWindow {
                    place: place(),
                    start_lb,
                    start_ub,
                });
            }
            if let Some(max_duration) = operation.max_duration {
                let min_duration = operation.min_duration;
                if max_duration < min_duration {
                    faults.push(Fault::EmptyDuration {
                        place: place(),
                        min_duration,
                        max_duration,
                    });
                }
                if operation.successors.is_empty() {
                    faults.push(Fault::ExitEnds { place: place() });
                }
            }
            for held in &operation.resources {
                if held.resource >= self.resources.len() {
                    let (found, count) = (held.resource, self.resources.len());
                    faults.push(Fault::NoSuchResource {
                        place: place(),
                        found,
                        count,
                    });
                }
            }
            for (i, &next) in operation.successors.iter().enumerate() {
                if next >= count {
                    indices_exist = false;
                    faults.push(Fault::NoSuchSuccessor {
                        place: place(),
                        found: next,
                        last: count - 1,
                    });
                } else if operation.successors[..i].contains(&next) {
                    faults.push(Fault::SuccessorTwice {
                        place: place(),
                        found: next,
                    });
                }
            }
        }
        if !indices_exist {
            return;
        }
        if let Some(operations) = circle(train) {
            faults.push(Fault::Circle {
                place: self.train_place(index),
                operations,
            });
            return;
        }
        let mut has_predecessor = vec![false; count];
        for &next in train.operations.iter().flat_map(|o| &o.successors) {
            has_predecessor[next] = true;
        }
        let entries: Vec<usize> = (0..count).filter(|&o| !has_predecessor[o]).collect();
        let exits: Vec<usize> = (0..count)
            .filter(|&o| train.operations[o].successors.is_empty())
            .collect();
        if entries.len() != 1 {
            faults.push(Fault::Entries {
                place: self.train_place(index),
                found: entries,
            });
        }
        if exits.len() != 1 {
            faults.push(Fault::Exits {
                place: self.train_place(index),
                found: exits,
            });
        }
    }

    fn validate_objective(&self, faults: &mut Vec<Fault>) {
        for (t, term) in self.objective.iter().enumerate() {
            let place = || Place::Term { term: t };
            let numbers = [
                ("threshold", term.threshold),
                ("coeff", term.coeff),
                ("increment", term.increment),
            ];
            for (field, found) in numbers {
                if !(0..=LARGEST).contains(&found) {
                    faults.push(Fault::Range {
                        place: place(),
                        field,
                        found,
                    });
                }
            }
            match self.trains.get(term.train) {
                None => faults.push(Fault::NoSuchTrain {
                    place: place(),
                    found: term.train,
                    count: self.trains.len(),
                }),
                Some(train) if term.operation >= train.operations.len() => {
                    faults.push(Fault::NoSuchOperation {
                        place: place(),
                        train: term.train,
                        found: term.operation,
                        count: train.operations.len(),
                    });
                }
                Some(_) => {}
            }
        }
        // With trains run one after another nothing need start later than this.
        let mut latest = 0_i128;
        for operation in self.trains.iter().flat_map(|t| &t.operations) {
            let release = operation
                .resources
                .iter()
                .map(|r| r.release_time)
                .max()
                .unwrap_or(0);
            latest += i128::from(operation.min_duration) + i128::from(release);
            latest = latest.max(i128::from(operation.start_lb));
        }
        let start = self
            .trains
            .iter()
            .flat_map(|t| &t.operations)
            .map(|o| o.start_lb)
            .max();
        latest += i128::from(start.unwrap_or(0));
        let worst: i128 = self
            .objective
            .iter()
            .map(|t| i128::from(t.coeff) * latest + i128::from(t.increment))
            .sum();
        let limit = i64::MAX / 16;
        if worst > i128::from(limit) {
            faults.push(Fault::TooCostly { limit });
        }
    }
}

/// The operations of one circle of the train's graph, in running order, if there is one.
fn circle(train: &Train) -> Option<Vec<usize>> {
    let count = train.operations.len();
    let mut seen = vec![false; count];
    let mut on_path = vec![false; count];
    for root in 0..count {
        if seen[root] {
            continue;
        }
        // Depth-first with an explicit stack: (operation, next successor to look at).
        let mut path = vec![(root, 0)];
        seen[root] = true;
        on_path[root] = true;
        while let Some((at, next)) = path.last_mut() {
            if let Some(&to) = train.operations[*at].successors.get(*next) {
                *next += 1;
                if on_path[to] {
                    let from = path.iter().position(|&(o, _)| o == to)?;
                    return Some(path[from..].iter().map(|&(o, _)| o).collect());
                }
                if !seen[to] {
                    seen[to] = true;
                    on_path[to] = true;
                    path.push((to, 0));
                }
            } else {
                on_path[*at] = false;
                path.pop();
            }
        }
    }
    None
}
