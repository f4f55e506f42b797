//! Why a train waits: for every operation that starts later than it could have, the chain of trains and
//! resources that held it.
//!
//! An operation *could* start at its earliest start, or when the operation before it has lasted its
//! least time, whichever is later. Where it starts later, something closed a resource it needs until
//! then (or the train may not stand in the operation itself, and waits here for what comes after). The
//! holder may have been held in turn; the chain follows the constraints that fix the times, back to the
//! train that waited for nothing.

use std::fmt;

use crate::check::{NamedTrain, Violation, check};
use crate::problem::{Plan, Problem, Time};

/// On a busy line everything hangs together, and chains get long; nobody reads on beyond this many links.
pub const LONGEST_CHAIN: usize = 20;

/// One wait, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wait {
    /// Who waits.
    pub train: NamedTrain,
    /// The operation that starts late.
    pub operation: usize,
    /// The operation in which the train waits; `None` if it waits before its entry.
    pub waits_in: Option<usize>,
    /// What the train holds while it waits: names of resources.
    pub holding: Vec<String>,
    /// When the operation could have started.
    pub from: Time,
    /// When it starts.
    pub until: Time,
    /// What held it, what held that, and so on.
    pub chain: Vec<Link>,
    /// Whether the chain goes on beyond what is listed ([`LONGEST_CHAIN`]).
    pub cut_short: bool,
    /// How much of the wait, at its end, nothing accounts for: 0 in plans in which everything happens
    /// as early as the order of the trains lets it.
    pub idle: Time,
}

/// One link of the chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Link {
    /// A resource had to be cleared.
    Cleared {
        /// Who waited.
        train: NamedTrain,
        /// The names of the resources, all cleared by the same operation's end.
        resources: Vec<String>,
        /// Who held them.
        holder: NamedTrain,
        /// By which operation.
        holder_operation: usize,
        /// When the holder left.
        left: Time,
        /// How long after that they stayed closed.
        release_time: Time,
    },
    /// The train may not stand beyond a given time in the operation that follows, and so waited before
    /// it for what comes after.
    MayNotStand {
        /// Who waited.
        train: NamedTrain,
        /// The operation in which it may not stand.
        operation: usize,
        /// What it holds there: names of resources.
        holding: Vec<String>,
        /// How long it may stand.
        max_duration: Time,
    },
}

impl Wait {
    /// How long the train waits.
    pub fn length(&self) -> Time {
        self.until - self.from
    }
}

impl fmt::Display for Wait {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} waits {}", self.train, self.length())?;
        match self.waits_in {
            None => f.write_str(" before it enters")?,
            Some(_) if !self.holding.is_empty() => write!(f, " at {}", quoted(&self.holding))?,
            Some(operation) => write!(f, " in operation {operation}")?,
        }
        write!(f, " (from {} to {})", self.from, self.until)?;
        for (i, link) in self.chain.iter().enumerate() {
            match link {
                Link::Cleared {
                    train,
                    resources,
                    holder,
                    left,
                    release_time,
                    ..
                } => {
                    if i == 0 {
                        f.write_str(" for ")?;
                    } else {
                        write!(f, "; {train} waited for ")?;
                    }
                    write!(f, "{holder} to clear {} (at {left}", quoted(resources))?;
                    if *release_time > 0 {
                        write!(f, " and {release_time} more")?;
                    }
                    f.write_str(")")?;
                }
                Link::MayNotStand {
                    train,
                    operation,
                    holding,
                    ..
                } => {
                    if i == 0 {
                        f.write_str(" because it may not stand")?;
                    } else {
                        write!(f, "; {train} may not stand")?;
                    }
                    if holding.is_empty() {
                        write!(f, " in operation {operation}")?;
                    } else {
                        write!(f, " at {}", quoted(holding))?;
                    }
                }
            }
        }
        if self.cut_short {
            f.write_str("; and so on")?;
        }
        match (self.idle, self.chain.is_empty()) {
            (0, _) => Ok(()),
            (_, true) => f.write_str(", held by nothing"),
            (idle, false) => write!(f, "; the last {idle} of it held by nothing"),
        }
    }
}

fn quoted(names: &[String]) -> String {
    names
        .iter()
        .map(|n| format!("`{n}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// One operation as run.
#[derive(Clone, Copy)]
struct Step {
    train: usize,
    operation: usize,
    time: Time,
    before: Option<usize>,
    after: Option<usize>,
}

struct Course<'p> {
    problem: &'p Problem,
    steps: Vec<Step>,
    /// By resource: (step that holds it, release time), in order of the plan.
    holds: Vec<Vec<(usize, Time)>>,
    /// By resource: the longest release time of its holds.
    release: Vec<Time>,
}

/// What closes an operation's resources latest: the steps that held them, and until when they are closed.
struct Closed {
    until: Time,
    /// (step, resource, release time), the first train first.
    by: Vec<(usize, usize, Time)>,
}

/// Explains every wait of a plan, in the order in which the waits end.
///
/// # Errors
/// What the judge finds, if the plan is not a plan for this problem.
pub fn explain(problem: &Problem, plan: &Plan) -> Result<Vec<Wait>, Vec<Violation>> {
    check(problem, plan)?;
    let course = Course::new(problem, plan);
    Ok((0..course.steps.len())
        .filter_map(|s| course.wait(s))
        .collect())
}

impl<'p> Course<'p> {
    fn new(problem: &'p Problem, plan: &Plan) -> Self {
        let mut last: Vec<Option<usize>> = vec![None; problem.trains.len()];
        let mut steps: Vec<Step> = Vec::with_capacity(plan.events.len());
        let mut holds = vec![Vec::new(); problem.resources.len()];
        let mut release: Vec<Time> = vec![0; problem.resources.len()];
        for (s, event) in plan.events.iter().enumerate() {
            let before = last[event.train].replace(s);
            if let Some(before) = before {
                steps[before].after = Some(s);
            }
            let (train, operation, time) = (event.train, event.operation, event.time);
            steps.push(Step {
                train,
                operation,
                time,
                before,
                after: None,
            });
            for held in &problem.trains[train].operations[operation].resources {
                holds[held.resource].push((s, held.release_time));
                release[held.resource] = release[held.resource].max(held.release_time);
            }
        }
        Self {
            problem,
            steps,
            holds,
            release,
        }
    }

    fn operation(&self, step: usize) -> &'p crate::problem::Operation {
        &self.problem.trains[self.steps[step].train].operations[self.steps[step].operation]
    }

    fn named(&self, step: usize) -> NamedTrain {
        let index = self.steps[step].train;
        NamedTrain {
            index,
            name: self.problem.trains[index].name.clone(),
        }
    }

    fn holding(&self, step: usize) -> Vec<String> {
        let mut held: Vec<usize> = self
            .operation(step)
            .resources
            .iter()
            .map(|r| r.resource)
            .collect();
        held.sort_unstable();
        held.dedup();
        held.into_iter()
            .map(|r| self.problem.resources[r].clone())
            .collect()
    }

    /// When the step could have started.
    fn could(&self, step: usize) -> Time {
        let earliest = self.operation(step).start_lb;
        self.steps[step].before.map_or(earliest, |b| {
            earliest.max(self.steps[b].time + self.operation(b).min_duration)
        })
    }

    /// What closed the step's resources until latest, if anything closed them after `from`.
    fn closed(&self, step: usize, from: Time) -> Option<Closed> {
        let mut closed = Closed {
            until: from,
            by: Vec::new(),
        };
        for held in &self.operation(step).resources {
            let holds = &self.holds[held.resource];
            let earlier = holds.partition_point(|&(holder, _)| holder < step);
            let longest = self.release[held.resource];
            for &(holder, release) in holds[..earlier].iter().rev() {
                if self.steps[holder].train == self.steps[step].train {
                    continue;
                }
                let Some(end) = self.steps[holder].after.filter(|&e| e < step) else {
                    continue;
                };
                if self.steps[end].time + longest < closed.until {
                    // Trains exclude each other, so that those before were gone even earlier.
                    break;
                }
                let until = self.steps[end].time + release;
                if until > closed.until {
                    closed = Closed {
                        until,
                        by: Vec::new(),
                    };
                }
                if until == closed.until && until > from {
                    closed.by.push((holder, held.resource, release));
                }
            }
        }
        closed
            .by
            .sort_by_key(|&(holder, resource, _)| (self.steps[holder].train, resource));
        closed.by.dedup();
        (!closed.by.is_empty()).then_some(closed)
    }

    /// The step after, if only the longest duration in between keeps this one from being earlier.
    fn pulled_by(&self, step: usize) -> Option<(usize, Time)> {
        let after = self.steps[step].after?;
        let max_duration = self.operation(step).max_duration?;
        (self.steps[after].time - max_duration == self.steps[step].time)
            .then_some((after, max_duration))
    }

    fn wait(&self, step: usize) -> Option<Wait> {
        let (from, until) = (self.could(step), self.steps[step].time);
        if until <= from {
            return None;
        }
        let waits_in = self.steps[step].before;
        let mut chain = Vec::new();
        let mut seen = vec![step];
        let mut idle = 0;
        let mut cut_short = false;
        let mut at = Some(step);
        // What a step could have done had nothing pulled on the one before it.
        let mut unpulled = None;
        while let Some(now) = at {
            if chain.len() == LONGEST_CHAIN {
                cut_short = true;
                break;
            }
            let could = unpulled.take().unwrap_or_else(|| self.could(now));
            let time = self.steps[now].time;
            let closed = self.closed(now, could);
            at = match (closed, self.pulled_by(now)) {
                (Some(closed), pulled) if closed.until == time || pulled.is_none() => {
                    if now == step {
                        idle = time - closed.until;
                    }
                    Some(self.cleared(now, &closed, &mut chain))
                }
                (_, Some((after, max_duration))) if time > could => {
                    chain.push(Link::MayNotStand {
                        train: self.named(now),
                        operation: self.steps[now].operation,
                        holding: self.holding(now),
                        max_duration,
                    });
                    let soonest = could + self.operation(now).min_duration;
                    unpulled = Some(soonest.max(self.operation(after).start_lb));
                    Some(after)
                }
                _ => {
                    if now == step {
                        idle = time - could;
                    }
                    // It started when it could: who made it no earlier than that is its own run up
                    // to here, unless the timetable did.
                    let running = time == could && time > self.operation(now).start_lb;
                    self.steps[now].before.filter(|_| running)
                }
            };
            // A longest duration can lead back to where we came from.
            if at.is_some_and(|next| seen.contains(&next)) {
                break;
            }
            seen.extend(at);
        }
        Some(Wait {
            train: self.named(step),
            operation: self.steps[step].operation,
            waits_in: waits_in.map(|b| self.steps[b].operation),
            holding: waits_in.map_or_else(Vec::new, |b| self.holding(b)),
            from,
            until,
            chain,
            cut_short,
            idle,
        })
    }

    /// Adds the link for a closed resource; the step that opened it.
    fn cleared(&self, step: usize, closed: &Closed, chain: &mut Vec<Link>) -> usize {
        let (holder, _, release_time) = closed.by[0];
        let end = self.steps[holder].after.unwrap_or(holder);
        let same = closed
            .by
            .iter()
            .filter(|(h, _, r)| (*h, *r) == (holder, release_time));
        chain.push(Link::Cleared {
            train: self.named(step),
            resources: same
                .map(|&(_, r, _)| self.problem.resources[r].clone())
                .collect(),
            holder: self.named(holder),
            holder_operation: self.steps[holder].operation,
            left: self.steps[end].time,
            release_time,
        });
        end
    }
}
