//! The judge of a plan. It shares no code with any search: what it uses are the nouns alone.
//!
//! The rules are those published with DISPLIB 2025 (Kloster, Luteberget, Mannino and Sartor, 2025):
//!
//! 1. Events stand in order of time.
//! 2. Each train's events follow a path of its graph from the entry to the exit.
//! 3. An operation starts within its window. It ends when the train's next one starts, at least its
//!    minimum (and, an extension of ours, at most its maximum) duration after its own start. The exit
//!    never ends.
//! 4. A resource is held from an operation's start to its end and stays closed to other trains for the
//!    release time after. Another train may start to hold it only once the holder's end event *stands
//!    before* its own start event and the release time has run out. A train is never in its own way.
//! 5. The value claimed is the value of the objective.

use std::fmt;

use crate::problem::{Cost, Plan, Problem, Time};
use crate::validate::write_train;

/// A train as named to people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedTrain {
    /// Its index.
    pub index: usize,
    /// Its name; empty if it has none.
    pub name: String,
}

impl fmt::Display for NamedTrain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_train(f, self.index, &self.name)
    }
}

/// One train's hold on a resource.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    /// Who holds it.
    pub train: NamedTrain,
    /// By which operation.
    pub operation: usize,
    /// From when.
    pub from: Time,
    /// Until when, the release time included; `None` if it is never given up.
    pub until: Option<Time>,
}

impl fmt::Display for Hold {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}, operation {}, from {}",
            self.train, self.operation, self.from
        )?;
        match self.until {
            Some(until) => write!(f, " to {until}"),
            None => f.write_str(" for good"),
        }
    }
}

/// One way in which a plan breaks the rules.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Violation {
    /// An event of a train that does not exist.
    #[error("event {position} is of train {found}, but there are only {count} trains")]
    NoSuchTrain {
        /// The event's position in the plan.
        position: usize,
        /// The train's index.
        found: usize,
        /// How many trains there are.
        count: usize,
    },
    /// An event of an operation that does not exist.
    #[error("event {position}: {train} has no operation {found}, only {count} operations")]
    NoSuchOperation {
        /// The event's position in the plan.
        position: usize,
        /// Whose.
        train: NamedTrain,
        /// The operation's index.
        found: usize,
        /// How many operations the train has.
        count: usize,
    },
    /// An event that stands after one of a later time.
    #[error(
        "event {position} ({train}, operation {operation}) is at {time}, after an event at {earlier}"
    )]
    OutOfOrder {
        /// The event's position in the plan.
        position: usize,
        /// Whose.
        train: NamedTrain,
        /// Which.
        operation: usize,
        /// Its time.
        time: Time,
        /// The time of the event that stands before it.
        earlier: Time,
    },
    /// A train that is not run at all.
    #[error("{train} is not run: the plan has no event of it")]
    NotRun {
        /// Which.
        train: NamedTrain,
    },
    /// A train that does not begin with its entry.
    #[error(
        "{train} begins with operation {found} at {time}, expected its entry, operation {entry}"
    )]
    NotEntry {
        /// Which.
        train: NamedTrain,
        /// The operation it begins with.
        found: usize,
        /// When.
        time: Time,
        /// The entry.
        entry: usize,
    },
    /// A step that the train's graph does not have.
    #[error("{train}: operation {to} at {time} does not follow operation {from}")]
    NotSuccessor {
        /// Which train.
        train: NamedTrain,
        /// The operation before.
        from: usize,
        /// The operation that does not follow it.
        to: usize,
        /// When.
        time: Time,
    },
    /// A train that stops short of its exit.
    #[error("{train} ends with operation {found} at {time}, expected its exit, operation {exit}")]
    NotExit {
        /// Which.
        train: NamedTrain,
        /// The operation it ends with.
        found: usize,
        /// When.
        time: Time,
        /// The exit.
        exit: usize,
    },
    /// A start before the earliest.
    #[error(
        "{train}, operation {operation} starts at {time}, before its earliest start {start_lb}"
    )]
    TooEarly {
        /// Which train.
        train: NamedTrain,
        /// Which operation.
        operation: usize,
        /// When it starts.
        time: Time,
        /// When it may.
        start_lb: Time,
    },
    /// A start after the latest.
    #[error("{train}, operation {operation} starts at {time}, after its latest start {start_ub}")]
    TooLate {
        /// Which train.
        train: NamedTrain,
        /// Which operation.
        operation: usize,
        /// When it starts.
        time: Time,
        /// When it must.
        start_ub: Time,
    },
    /// An operation that ends too soon.
    #[error(
        "{train}, operation {operation} takes {found} from {from} to {to}, expected at least {min_duration}"
    )]
    TooShort {
        /// Which train.
        train: NamedTrain,
        /// Which operation.
        operation: usize,
        /// Its start.
        from: Time,
        /// Its end.
        to: Time,
        /// How long it takes.
        found: Time,
        /// How long it must.
        min_duration: Time,
    },
    /// An operation that lasts too long.
    #[error(
        "{train}, operation {operation} takes {found} from {from} to {to}, expected at most {max_duration}"
    )]
    TooLong {
        /// Which train.
        train: NamedTrain,
        /// Which operation.
        operation: usize,
        /// Its start.
        from: Time,
        /// Its end.
        to: Time,
        /// How long it takes.
        found: Time,
        /// How long it may.
        max_duration: Time,
    },
    /// Two trains on one resource.
    #[error("resource {name} is held by {first}, and taken by {second}")]
    Conflict {
        /// The resource's index.
        resource: usize,
        /// The resource's name in quotes.
        name: String,
        /// Who held it first (in order of the plan).
        first: Hold,
        /// Who took it too soon.
        second: Hold,
    },
    /// A claim that is not so.
    #[error("the plan claims to cost {claimed}, but costs {found}")]
    WrongValue {
        /// What the plan says.
        claimed: i64,
        /// What it costs.
        found: i64,
    },
}

/// One operation as run: where its start and end events stand, and their times.
struct Run {
    train: usize,
    operation: usize,
    start: (usize, Time),
    end: Option<(usize, Time)>,
}

/// Judges a plan.
///
/// # Errors
/// Every rule that the plan breaks, every time it breaks it. Once a plan's events name trains or
/// operations that do not exist, only those are reported, since nothing else can be said of it.
pub fn check(problem: &Problem, plan: &Plan) -> Result<Cost, Vec<Violation>> {
    let mut judge = Judge {
        problem,
        violations: Vec::new(),
    };
    judge.indices(plan);
    if !judge.violations.is_empty() {
        return Err(judge.violations);
    }
    judge.order(plan);
    let runs = judge.paths(plan);
    judge.times(&runs);
    judge.resources(&runs);
    let cost = judge.cost(&runs, plan.objective_value);
    if judge.violations.is_empty() {
        Ok(cost)
    } else {
        Err(judge.violations)
    }
}

struct Judge<'p> {
    problem: &'p Problem,
    violations: Vec<Violation>,
}

impl Judge<'_> {
    fn named(&self, index: usize) -> NamedTrain {
        NamedTrain {
            index,
            name: self.problem.trains[index].name.clone(),
        }
    }

    fn indices(&mut self, plan: &Plan) {
        for (position, event) in plan.events.iter().enumerate() {
            match self.problem.trains.get(event.train) {
                None => self.violations.push(Violation::NoSuchTrain {
                    position,
                    found: event.train,
                    count: self.problem.trains.len(),
                }),
                Some(train) if event.operation >= train.operations.len() => {
                    let found = event.operation;
                    let count = train.operations.len();
                    let train = self.named(event.train);
                    self.violations.push(Violation::NoSuchOperation {
                        position,
                        train,
                        found,
                        count,
                    });
                }
                Some(_) => {}
            }
        }
    }

    fn order(&mut self, plan: &Plan) {
        for (i, pair) in plan.events.windows(2).enumerate() {
            if pair[1].time < pair[0].time {
                let train = self.named(pair[1].train);
                self.violations.push(Violation::OutOfOrder {
                    position: i + 1,
                    train,
                    operation: pair[1].operation,
                    time: pair[1].time,
                    earlier: pair[0].time,
                });
            }
        }
    }

    /// Follows each train along its graph; the operations as run, train by train.
    fn paths(&mut self, plan: &Plan) -> Vec<Run> {
        let mut by_train: Vec<Vec<usize>> = vec![Vec::new(); self.problem.trains.len()];
        for (position, event) in plan.events.iter().enumerate() {
            by_train[event.train].push(position);
        }
        let mut runs = Vec::with_capacity(plan.events.len());
        for (t, positions) in by_train.iter().enumerate() {
            let operations = &self.problem.trains[t].operations;
            let (Some(&first), Some(&last)) = (positions.first(), positions.last()) else {
                let train = self.named(t);
                self.violations.push(Violation::NotRun { train });
                continue;
            };
            let mut follows = vec![false; operations.len()];
            operations
                .iter()
                .flat_map(|o| &o.successors)
                .for_each(|&next| follows[next] = true);
            let entry = follows.iter().position(|&f| !f);
            let first = plan.events[first];
            if let Some(entry) = entry.filter(|&e| e != first.operation) {
                let (train, found, time) = (self.named(t), first.operation, first.time);
                self.violations.push(Violation::NotEntry {
                    train,
                    found,
                    time,
                    entry,
                });
            }
            let exit = operations.iter().position(|o| o.successors.is_empty());
            let last = plan.events[last];
            if let Some(exit) = exit.filter(|&e| e != last.operation) {
                let (train, found, time) = (self.named(t), last.operation, last.time);
                self.violations.push(Violation::NotExit {
                    train,
                    found,
                    time,
                    exit,
                });
            }
            for (i, &position) in positions.iter().enumerate() {
                let event = plan.events[position];
                let next = positions.get(i + 1).map(|&p| (p, plan.events[p]));
                if let Some((_, to)) = next
                    && !operations[event.operation]
                        .successors
                        .contains(&to.operation)
                {
                    let train = self.named(t);
                    self.violations.push(Violation::NotSuccessor {
                        train,
                        from: event.operation,
                        to: to.operation,
                        time: to.time,
                    });
                }
                runs.push(Run {
                    train: t,
                    operation: event.operation,
                    start: (position, event.time),
                    end: next.map(|(p, e)| (p, e.time)),
                });
            }
        }
        runs
    }

    fn times(&mut self, runs: &[Run]) {
        for run in runs {
            let operation = &self.problem.trains[run.train].operations[run.operation];
            let time = run.start.1;
            if time < operation.start_lb {
                let train = self.named(run.train);
                self.violations.push(Violation::TooEarly {
                    train,
                    operation: run.operation,
                    time,
                    start_lb: operation.start_lb,
                });
            }
            if let Some(start_ub) = operation.start_ub.filter(|&ub| time > ub) {
                let train = self.named(run.train);
                self.violations.push(Violation::TooLate {
                    train,
                    operation: run.operation,
                    time,
                    start_ub,
                });
            }
            let Some((_, end)) = run.end else { continue };
            // Saturating: a plan read from a file may hold any 64-bit number.
            let found = end.saturating_sub(time);
            if found < operation.min_duration {
                let train = self.named(run.train);
                self.violations.push(Violation::TooShort {
                    train,
                    operation: run.operation,
                    from: time,
                    to: end,
                    found,
                    min_duration: operation.min_duration,
                });
            }
            if let Some(max_duration) = operation.max_duration.filter(|&most| found > most) {
                let train = self.named(run.train);
                self.violations.push(Violation::TooLong {
                    train,
                    operation: run.operation,
                    from: time,
                    to: end,
                    found,
                    max_duration,
                });
            }
        }
    }

    fn resources(&mut self, runs: &[Run]) {
        // (run, release time) by resource; an operation that lists a resource twice holds it once, for
        // the longer release time.
        let mut holds: Vec<Vec<(usize, Time)>> = vec![Vec::new(); self.problem.resources.len()];
        for (r, run) in runs.iter().enumerate() {
            let operation = &self.problem.trains[run.train].operations[run.operation];
            for held in &operation.resources {
                let list = &mut holds[held.resource];
                match list.last_mut().filter(|(last, _)| *last == r) {
                    Some((_, release)) => *release = held.release_time.max(*release),
                    None => list.push((r, held.release_time)),
                }
            }
        }
        for (resource, mut list) in holds.into_iter().enumerate() {
            list.sort_by_key(|&(r, _)| runs[r].start.0);
            // Those that took the resource earlier in the plan and may still be in the way.
            let mut before: Vec<(usize, Time)> = Vec::new();
            let mut latest = Time::MIN;
            for (r, release) in list {
                let (position, time) = runs[r].start;
                for &(b, its_release) in &before {
                    if runs[b].train != runs[r].train
                        && !free(&runs[b], its_release, position, time)
                    {
                        let violation =
                            self.conflict(resource, (&runs[b], its_release), (&runs[r], release));
                        self.violations.push(violation);
                    }
                }
                // In a plan in order of time, what is out of the way stays out of the way.
                if time >= latest {
                    latest = time;
                    before.retain(|&(b, its_release)| !free(&runs[b], its_release, position, time));
                }
                before.push((r, release));
            }
        }
    }

    fn conflict(&self, resource: usize, first: (&Run, Time), second: (&Run, Time)) -> Violation {
        let hold = |(run, release): (&Run, Time)| Hold {
            train: self.named(run.train),
            operation: run.operation,
            from: run.start.1,
            until: run.end.map(|(_, time)| time.saturating_add(release)),
        };
        Violation::Conflict {
            resource,
            name: format!("`{}`", self.problem.resources[resource]),
            first: hold(first),
            second: hold(second),
        }
    }

    fn cost(&mut self, runs: &[Run], claimed: i64) -> Cost {
        let mut starts: Vec<Vec<Option<Time>>> = self
            .problem
            .trains
            .iter()
            .map(|t| vec![None; t.operations.len()])
            .collect();
        for run in runs {
            starts[run.train][run.operation] = Some(run.start.1);
        }
        let ranks = self
            .problem
            .objective
            .iter()
            .map(|t| usize::from(t.rank))
            .max()
            .unwrap_or(0);
        let mut sums = vec![0_i128; ranks + 1];
        for term in &self.problem.objective {
            let Some(start) = starts[term.train][term.operation] else {
                continue;
            };
            let late = i128::from(start) - i128::from(term.threshold);
            if late >= 0 {
                sums[usize::from(term.rank)] +=
                    i128::from(term.coeff) * late + i128::from(term.increment);
            }
        }
        let narrow = |sum: i128| i64::try_from(sum).unwrap_or(i64::MAX);
        let found = narrow(sums.iter().sum());
        if found != claimed {
            self.violations
                .push(Violation::WrongValue { claimed, found });
        }
        Cost(sums.into_iter().map(narrow).collect())
    }
}

/// Whether `run` no longer closes its resource to an event at this position and time.
fn free(run: &Run, release: Time, position: usize, time: Time) -> bool {
    run.end
        .is_some_and(|(end, end_time)| end < position && end_time.saturating_add(release) <= time)
}
