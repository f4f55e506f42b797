//! The plan of the day as pages use it: ready, under way, or not to be had.

use std::{sync::Arc, time::Duration};

use maud::{Markup, html};
use model::time::RailSpan;
use railroad::Railroad;
use transportation::day::{DayPlan, TrainPlan, Wait};

use super::{station_link, train_link};
use crate::{
    frame::Ask,
    services::{DayAnswer, Sorry},
    show,
    works::Work,
};

/// How long a page waits for a plan before it is shown without.
const PATIENCE: Duration = Duration::from_millis(300);

/// The plan of the day.
#[derive(Debug)]
pub enum Planned {
    /// Nobody plans here.
    Nobody,
    /// It is being planned.
    Waiting(Arc<Work<DayAnswer>>),
    /// There it is, and what it took.
    Ready(Arc<DayAnswer>, Duration),
    /// There is none.
    Sorry(Sorry),
}

impl Planned {
    /// The plan of the railroad as it is.
    pub fn of(ask: &Ask) -> Self {
        let Some((work, _)) = ask.office.day() else {
            return Self::Nobody;
        };
        match work.wait(PATIENCE) {
            None => Self::Waiting(work),
            Some(Ok(answer)) => Self::Ready(answer, work.took()),
            Some(Err(sorry)) => Self::Sorry(sorry),
        }
    }

    /// The plan, if it is ready.
    pub fn plan(&self) -> Option<&DayPlan> {
        match self {
            Self::Ready(answer, _) => Some(&answer.plan),
            _ => None,
        }
    }

    /// What stands in for the plan where it is not ready, or a word on what it is worth.
    pub fn word(&self) -> Markup {
        html! {
            @match self {
                Self::Nobody => {
                    p.quiet { "Times are those of the trains' own pages." }
                }
                Self::Waiting(work) => {
                    p.waiting role="status" data-waiting="/day/state" {
                        "The day is being planned "
                        progress max="1" value=(work.progress.part()) aria-label="How much of the day is planned" {}
                        " Meanwhile times are those of the trains' own pages. "
                        a href="" { "Look again" }
                    }
                }
                Self::Sorry(sorry) => {
                    p { (super::attention::sign(model::Severity::Error)) " There is no plan of the day: " (sorry.what) "."
                        @if let Some(help) = &sorry.help { " " (help) } }
                }
                Self::Ready(answer, took) => {
                    p.quiet {
                        "By the plan of the day, made in " (format!("{:.1} s", took.as_secs_f64())) ": "
                        @let losses: Vec<_> = answer.plan.losses.iter().filter(|loss| loss.lost > RailSpan::ZERO).collect();
                        @if losses.is_empty() { "no train is late. " }
                        @for (at, loss) in losses.iter().enumerate() {
                            @if at > 0 { "; " }
                            (super::today::ordinal(loss.class)) " class loses " (show::span(loss.lost))
                            @if loss.is_proven() { " (no plan loses less)" }
                        }
                        @if !losses.is_empty() { "." }
                        @for remark in &answer.remarks { " " (remark) }
                    }
                }
            }
        }
    }
}

/// Whom a train meets at a call.
pub fn meets(plan: &DayPlan, call: &transportation::day::Call) -> Markup {
    html! {
        @for (at, meet) in call.meets.iter().enumerate() {
            @if at > 0 { "; " }
            (meet.kind.word()) " " (train_link(&plan.trains[meet.other.0].symbol))
            " (" (meet.holds.word()) ")"
        }
    }
}

/// A wait with its reasons.
pub fn wait(railroad: &Railroad, wait: &Wait) -> Markup {
    html! {
        "waits " (show::span(wait.length()))
        @if wait.outside { " outside " } @else { " at " }
        (station_link(&railroad.way.station(wait.station).name.value))
        ", " (show::minute(railroad, wait.from)) " to " (show::minute(railroad, wait.until)) ": "
        @for (at, link) in wait.chain.iter().enumerate() {
            @if at > 0 { "; " } (link)
        }
    }
}

/// What has changed from one plan to another, train by train, in sentences.
pub fn differences(railroad: &Railroad, before: &DayPlan, after: &DayPlan) -> Vec<String> {
    let mut words = Vec::new();
    for train in &after.trains {
        let Some(old) = before.trains.iter().find(|old| old.symbol == train.symbol) else {
            words.push(format!("{} runs now.", train.symbol));
            continue;
        };
        let mut said = Vec::new();
        if let (Some((leave, arrive)), Some((old_leave, old_arrive))) = (train.hours(), old.hours())
        {
            for (what, new, old) in [
                ("leaves", leave, old_leave),
                ("arrives", arrive, old_arrive),
            ] {
                let by = new - old;
                if by.abs() >= RailSpan::from_minutes(1) {
                    let way = if by > RailSpan::ZERO {
                        "later"
                    } else {
                        "sooner"
                    };
                    said.push(format!(
                        "{what} {} {way}, at {}",
                        show::span(by.abs()),
                        show::minute(railroad, new)
                    ));
                }
            }
        }
        for (other, place) in met(after, train) {
            match met(before, old)
                .into_iter()
                .find(|(name, _)| *name == other)
            {
                None => said.push(format!("meets {other} at {}", name(railroad, place))),
                Some((_, old)) if old != place => said.push(format!(
                    "meets {other} at {} instead of {}",
                    name(railroad, place),
                    name(railroad, old)
                )),
                Some(_) => {}
            }
        }
        if !said.is_empty() {
            words.push(format!("{} {}.", train.symbol, said.join("; ")));
        }
    }
    for old in &before.trains {
        if after.trains.iter().all(|train| train.symbol != old.symbol) {
            words.push(format!("{} no longer runs.", old.symbol));
        }
    }
    words
}

fn name(railroad: &Railroad, station: engineering::ids::StationId) -> &str {
    &railroad.way.station(station).name.value
}

/// Trains it meets or passes, and where.
fn met(plan: &DayPlan, train: &TrainPlan) -> Vec<(String, engineering::ids::StationId)> {
    train
        .calls
        .iter()
        .flat_map(|call| {
            call.meets
                .iter()
                .map(|meet| (plan.trains[meet.other.0].symbol.clone(), call.station))
        })
        .collect()
}
