//! A plan as a chain of cause and effect: who goes when whom has gone.
//!
//! The plan's events are already in an order in which every cause stands before its effects, so a day is
//! one pass over them.

use dispatching::{Plan, Problem, Time};

/// What sort of operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// Before the train begins: its first start is when it comes out.
    Before,
    /// Running over open line.
    Open,
    /// Standing or working at a station, or running through it.
    Station,
    /// After its end.
    After,
}

/// What chance does to an operation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Luck {
    /// Its duration is multiplied by this.
    pub factor: f64,
    /// And this added, in seconds.
    pub delay: Time,
    /// It starts no earlier than this much after its earliest start.
    pub late: Time,
}

impl Luck {
    pub const PLAIN: Self = Self {
        factor: 1.0,
        delay: 0,
        late: 0,
    };

    /// What becomes of a duration.
    pub fn on(self, duration: Time) -> Time {
        #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
        let longer = (duration as f64 * self.factor).round() as Time;
        longer + self.delay
    }
}

/// One thing that has to have happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cause {
    /// Which event.
    pub event: usize,
    /// How long after it.
    pub after: Time,
    /// On which resource the one waits for the other.
    pub resource: usize,
}

/// The chain.
#[derive(Debug, Clone)]
pub(super) struct Chain {
    /// By event: train and operation.
    pub events: Vec<(usize, usize)>,
    /// By event: the same train's event before, with the duration of its operation.
    pub before: Vec<Option<(usize, Time)>>,
    /// By event: the earliest start written.
    pub earliest: Vec<Time>,
    /// By event, where its causes begin in `causes`.
    first: Vec<usize>,
    causes: Vec<Cause>,
}

/// A day run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Run {
    /// When each event happened.
    pub times: Vec<Time>,
    /// How long each waited for other trains, and on which resource for which event.
    pub waits: Vec<(Time, Option<Cause>)>,
}

impl Chain {
    pub fn new(problem: &Problem, plan: &Plan) -> Self {
        let mut last_of: Vec<Option<usize>> = vec![None; problem.trains.len()];
        let mut next_of: Vec<Option<usize>> = vec![None; plan.events.len()];
        let mut holder: Vec<Option<(usize, Time)>> = vec![None; problem.resources.len()];
        let mut chain = Self {
            events: Vec::new(),
            before: Vec::new(),
            earliest: Vec::new(),
            first: vec![0],
            causes: Vec::new(),
        };
        for (at, event) in plan.events.iter().enumerate() {
            let operation = &problem.trains[event.train].operations[event.operation];
            let before = last_of[event.train].replace(at);
            if let Some(before) = before {
                next_of[before] = Some(at);
            }
            chain.events.push((event.train, event.operation));
            chain.earliest.push(operation.start_lb);
            chain.before.push(before.map(|before| {
                let (train, operation) = chain.events[before];
                (
                    before,
                    problem.trains[train].operations[operation].min_duration,
                )
            }));
            for used in &operation.resources {
                let new = (at, used.release_time);
                let Some((held, release)) = holder[used.resource].replace(new) else {
                    continue;
                };
                if plan.events[held].train != event.train
                    && let Some(left) = next_of[held]
                {
                    chain.causes.push(Cause {
                        event: left,
                        after: release,
                        resource: used.resource,
                    });
                }
            }
            chain.first.push(chain.causes.len());
        }
        chain
    }

    pub fn causes(&self, event: usize) -> &[Cause] {
        &self.causes[self.first[event]..self.first[event + 1]]
    }

    /// A day: every train goes as soon as it may, in the plan's order.
    pub fn run(&self, luck: &dyn Fn(usize, usize) -> Luck) -> Run {
        let mut times: Vec<Time> = Vec::with_capacity(self.events.len());
        let mut waits = Vec::with_capacity(self.events.len());
        for at in 0..self.events.len() {
            let (train, operation) = self.events[at];
            let mut ready = self.earliest[at];
            if let Some((before, duration)) = self.before[at] {
                let (_, done) = self.events[before];
                ready = ready.max(times[before] + luck(train, done).on(duration));
            } else {
                ready += luck(train, operation).late;
            }
            let mut time = ready;
            let mut cause = None;
            for one in self.causes(at) {
                let free = times[one.event] + one.after;
                if free > time {
                    time = free;
                    cause = Some(*one);
                }
            }
            times.push(time);
            waits.push((time - ready, cause));
        }
        Run { times, waits }
    }

    /// The first moment at which a train has waited so much longer than on a calm day for trains that the
    /// plan puts before it.
    pub fn patience_lost(&self, ran: &Run, calm: &Run, patience: Time) -> Option<Time> {
        let usual = |at: usize| calm.waits.get(at).map_or(0, |(wait, _)| *wait);
        (0..self.events.len())
            .filter(|&at| ran.waits[at].0 - usual(at) > patience)
            .map(|at| ran.times[at] - ran.waits[at].0 + usual(at) + patience)
            .min()
    }

    /// How much each event weighs in the lateness of the ends: what a minute less there is worth. `ends`
    /// lists the events whose lateness counts; they must be late.
    pub fn weights(&self, ran: &Run, ends: &[usize]) -> Vec<f64> {
        let mut weights = vec![0.0; self.events.len()];
        for &end in ends {
            weights[end] += 1.0;
        }
        for at in (0..self.events.len()).rev() {
            if weights[at] == 0.0 {
                continue;
            }
            let weight = weights[at];
            match (ran.waits[at], self.before[at]) {
                ((0, _), Some((before, _))) if ran.times[at] > self.earliest[at] => {
                    weights[before] += weight;
                }
                ((wait, Some(cause)), _) if wait > 0 => weights[cause.event] += weight,
                _ => {}
            }
        }
        weights
    }
}
