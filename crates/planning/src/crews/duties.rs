//! A railroad's jobs and people as duties and hands.

use model::time::{RailSpan, RailTime};
use railroad::Railroad;
use transportation::{
    DayPlan, Role,
    crew_call::{Duty, Hand, Seat},
};

use super::{
    Goal,
    jobs::{self, Jobs, Trip, Turn},
};

/// The part of the railroad's day that is run, if it is written and the clock is known.
pub fn window(railroad: &Railroad) -> Option<[RailTime; 2]> {
    let session = railroad.identity.session?;
    let seconds = session.real_time.seconds() as f64 * railroad.identity.clock;
    let begins = session.begins;
    Some([
        begins,
        begins + RailSpan::from_seconds(seconds.round() as i64),
    ])
}

/// The trains of a plan as trips, in the order of the plan.
pub fn trips(railroad: &Railroad, plan: &DayPlan) -> Vec<Trip> {
    let name = |station| railroad.way.station(station).name.value.clone();
    plan.trains
        .iter()
        .filter_map(|train| {
            let (leaves, arrives) = train.hours()?;
            // Nobody is called by the second.
            let minute = |time: RailTime, up: i64| {
                RailTime::from_seconds((time.seconds() + up).div_euclid(60) * 60)
            };
            Some(Trip {
                train: train.symbol.clone(),
                from: name(train.calls.first()?.station),
                to: name(train.calls.last()?.station),
                leaves: minute(leaves, 0),
                arrives: minute(arrives, 59),
            })
        })
        .collect()
}

/// Jobs made of trips as duties; each takes an engineer and a conductor, and goes on duty some time
/// before its first train.
pub fn built(
    trips: &[Trip],
    turn: &Turn,
    goal: Goal,
    call: RailSpan,
    steps: u64,
) -> (Jobs, Vec<Duty>) {
    let jobs = jobs::build(trips, turn, goal, steps);
    let duties = jobs
        .jobs
        .iter()
        .enumerate()
        .map(|(at, job)| Duty {
            name: format!("Job {}", at + 1),
            trains: job.iter().map(|&trip| trips[trip].train.clone()).collect(),
            begins: trips[job[0]].leaves - call,
            ends: job
                .iter()
                .map(|&trip| trips[trip].arrives)
                .max()
                .unwrap_or_default(),
            at: trips[job[0]].from.clone(),
            seats: [Role::Engineer, Role::Conductor]
                .map(|role| Seat { roles: vec![role] })
                .to_vec(),
        })
        .collect();
    (jobs, duties)
}

/// The jobs of the railroad's own page with the plan's times. What cannot be timed is told in sentences:
/// a job whose trains do not run today, a desk where the session has no end.
pub fn written(railroad: &Railroad, plan: &DayPlan, call: RailSpan) -> (Vec<Duty>, Vec<String>) {
    let trips = trips(railroad, plan);
    let window = window(railroad);
    let mut told = Vec::new();
    let mut duties = Vec::new();
    for job in &railroad.service.jobs {
        let mine: Vec<&Trip> = job
            .trains
            .iter()
            .filter_map(|train| trips.iter().find(|trip| trip.train == train.value))
            .collect();
        let on_duty = job.on_duty.map(|time| time.value);
        let first = mine.iter().map(|trip| trip.leaves - call).min();
        let last = mine.iter().map(|trip| trip.arrives).max();
        let ends = if job.stands() {
            last.into_iter().chain(window.map(|[_, ends]| ends)).max()
        } else {
            last
        };
        let begins = match (on_duty, first) {
            // A crew called too late for its train is called in time.
            (Some(on_duty), Some(first)) => Some(on_duty.min(first + call)),
            (on_duty, first) => on_duty.or(first),
        };
        let (Some(begins), Some(ends)) = (begins, ends) else {
            told.push(if job.trains.is_empty() {
                format!(
                    "{} has no trains and no hours: give it `on_duty`, and the railroad a `session`",
                    job.name.value
                )
            } else {
                format!("none of the trains of {} run today", job.name.value)
            });
            continue;
        };
        duties.push(Duty {
            name: job.name.value.clone(),
            trains: mine.iter().map(|trip| trip.train.clone()).collect(),
            begins,
            ends: ends.max(begins),
            at: job
                .at
                .as_ref()
                .map(|at| at.value.clone())
                .or_else(|| mine.first().map(|trip| trip.from.clone()))
                .unwrap_or_default(),
            seats: seats(job),
        });
    }
    (duties, told)
}

/// The seats of a job: one a role; those beyond the roles for anyone; with fewer people than roles the
/// last of them has what is left.
fn seats(job: &transportation::Job) -> Vec<Seat> {
    let people = usize::try_from(job.people.value).unwrap_or(0);
    let mut seats: Vec<Seat> = vec![Seat { roles: Vec::new() }; people];
    for (at, role) in job.roles.iter().enumerate() {
        if let Some(seat) = seats.get_mut(at.min(people.saturating_sub(1))) {
            seat.roles.push(role.value);
        }
    }
    seats
}

/// The people of the railroad.
pub fn hands(railroad: &Railroad) -> Vec<Hand> {
    railroad
        .service
        .people
        .iter()
        .map(|person| Hand {
            name: person.name.value.clone(),
            qualified: person.qualified.clone(),
            comes: person.comes.map(|time| time.value),
            leaves: person.leaves.map(|time| time.value),
        })
        .collect()
}

/// Duties within the part of the day that is run: those outside are dropped, the others cut to it. The
/// names of those dropped come with them.
pub fn within(duties: Vec<Duty>, [begins, ends]: [RailTime; 2]) -> (Vec<Duty>, Vec<String>) {
    let mut dropped = Vec::new();
    let kept = duties
        .into_iter()
        .filter_map(|mut duty| {
            if duty.ends <= begins || duty.begins >= ends {
                dropped.push(duty.name);
                return None;
            }
            duty.begins = duty.begins.max(begins);
            duty.ends = duty.ends.min(ends);
            Some(duty)
        })
        .collect();
    (kept, dropped)
}
