//! What has happened: the lines of the journal.

use model::time::RailTime;
use serde::{Deserialize, Serialize};

use crate::{
    clock::RealMillis,
    command::{Cause, NewPlan, TrackPlace},
    opening::{CarPlace, Opening, TrainSheet, WorkSheet},
    order::OrderText,
    who::{Role, Who},
    wire,
};

/// A line of the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// Its number, from 1 without gaps: the state's revision after it.
    pub revision: u64,
    /// Real time.
    pub real: RealMillis,
    /// Railroad time. Never before that of the event ahead of it.
    #[serde(with = "wire::time")]
    pub rail: RailTime,
    /// Who said so.
    pub who: Who,
    /// What happened.
    #[serde(flatten)]
    pub what: What,
}

/// What happened. As JSON an object with `what`, the variant in snake case, beside its fields.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
#[allow(missing_docs, reason = "the fields are those of the commands")]
pub enum What {
    /// The clock was started.
    ClockStarted,
    /// The clock was stopped.
    ClockStopped { why: String },
    /// Its ratio was set: railroad seconds in so many real ones. (`real` is the event's own time.)
    RatioSet { railroad: u32, in_real: u32 },
    /// It jumped to the event's own railroad time.
    ClockJumped { from: i64 },
    /// A person is on duty.
    OnDuty { person: String, job: Option<String> },
    /// A person is off duty.
    OffDuty { person: String },
    /// A train's crew was called.
    Called { train: String, crew: Vec<String> },
    /// A train arrived.
    Arrived {
        train: String,
        station: String,
        call: usize,
        track: Option<String>,
    },
    /// A train left.
    Departed {
        train: String,
        station: String,
        call: usize,
    },
    /// A train passed.
    Passed {
        train: String,
        station: String,
        call: usize,
    },
    /// A train is clear of the main.
    InClear {
        train: String,
        station: String,
        call: usize,
    },
    /// A train ended its run.
    TiedUp {
        train: String,
        station: String,
        track: Option<String>,
    },
    /// A car was picked up.
    PickedUp {
        train: String,
        car: String,
        station: String,
    },
    /// A car was set out.
    SetOut {
        train: String,
        car: String,
        station: String,
        track: String,
        spot: Option<usize>,
        place: usize,
    },
    /// A car was moved within its station.
    Shifted {
        car: String,
        station: String,
        track: String,
        spot: Option<usize>,
        place: usize,
    },
    /// A car of a train's work was left where it is.
    Left {
        train: String,
        car: String,
        station: String,
        why: String,
    },
    /// A car was bad ordered.
    BadOrdered { car: String, why: String },
    /// It is fit again.
    Repaired { car: String },
    /// A train's work grew.
    WorkAdded {
        train: String,
        station: String,
        work: WorkSheet,
    },
    /// A train's work shrank.
    WorkDropped {
        train: String,
        station: String,
        car: String,
        why: String,
    },
    /// An order or authority was given.
    OrderIssued {
        number: u32,
        text: OrderText,
        to: Vec<String>,
    },
    /// It was repeated.
    OrderRepeated { number: u32, train: String },
    /// It is complete.
    OrderCompleted { number: u32, train: String },
    /// An authority was given back.
    GivenBack { number: u32 },
    /// An extra was created.
    ExtraCreated { train: TrainSheet },
    /// A train was annulled.
    Annulled { train: String, why: String },
    /// A train was taken into another.
    Combined {
        train: String,
        into: String,
        station: String,
    },
    /// A train has other engines.
    EnginesChanged {
        train: String,
        engines: Vec<String>,
        why: String,
    },
    /// Track is out of service.
    TrackOut { place: TrackPlace, why: String },
    /// Track is back.
    TrackBack { place: TrackPlace },
    /// A bridge was opened or closed.
    Bridge { name: String, open: bool },
    /// Everything was stopped.
    AllStopped { why: String },
    /// It goes on.
    WentAhead,
    /// A note.
    Noted { train: Option<String>, text: String },
    /// A delay.
    Delayed {
        train: String,
        station: Option<String>,
        cause: Cause,
        minutes: u32,
        text: String,
    },
    /// A new plan is in force.
    PlanTaken { plan: NewPlan },
    /// An event was taken back.
    Undone { of: u64, sentence: String },
    /// A car was found elsewhere.
    Found { car: String, place: CarPlace },
    /// A track was walked.
    Walked {
        station: String,
        track: String,
        cars: usize,
    },
    /// A device joined.
    Joined { device: String, name: String },
    /// A device was granted a role.
    Granted { device: String, role: Role },
    /// A device left.
    LeftRoom { device: String },
    /// The session was closed.
    Closed,
}

/// What an event is about: for conflicts, for taking back, for pages that show one thing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(tag = "of", content = "name", rename_all = "snake_case")]
pub enum Subject {
    /// The fast clock.
    Clock,
    /// A train.
    Train(String),
    /// A car.
    Car(String),
    /// An order or authority.
    Order(u32),
    /// A person.
    Person(String),
    /// A device.
    Device(String),
    /// A piece of track.
    Track(TrackPlace),
    /// A drawbridge or lift-out.
    Bridge(String),
    /// Whether everything is stopped.
    Stop,
    /// The plan in force.
    Plan,
}

impl What {
    /// What it is about.
    pub fn subjects(&self) -> Vec<Subject> {
        let train = |name: &String| Subject::Train(name.clone());
        let car = |name: &String| Subject::Car(name.clone());
        match self {
            Self::ClockStarted
            | Self::ClockStopped { .. }
            | Self::RatioSet { .. }
            | Self::ClockJumped { .. } => vec![Subject::Clock],
            Self::OnDuty { person, .. } | Self::OffDuty { person } => {
                vec![Subject::Person(person.clone())]
            }
            Self::Called { train: one, .. }
            | Self::Arrived { train: one, .. }
            | Self::Departed { train: one, .. }
            | Self::Passed { train: one, .. }
            | Self::InClear { train: one, .. }
            | Self::TiedUp { train: one, .. }
            | Self::Annulled { train: one, .. }
            | Self::EnginesChanged { train: one, .. }
            | Self::Delayed { train: one, .. } => vec![train(one)],
            Self::PickedUp {
                train: one, car: c, ..
            }
            | Self::SetOut {
                train: one, car: c, ..
            }
            | Self::Left {
                train: one, car: c, ..
            }
            | Self::WorkDropped {
                train: one, car: c, ..
            } => vec![car(c), train(one)],
            Self::WorkAdded {
                train: one, work, ..
            } => vec![car(&work.car), train(one)],
            Self::Shifted { car: c, .. }
            | Self::BadOrdered { car: c, .. }
            | Self::Repaired { car: c }
            | Self::Found { car: c, .. } => vec![car(c)],
            Self::OrderIssued { number, .. }
            | Self::OrderRepeated { number, .. }
            | Self::OrderCompleted { number, .. }
            | Self::GivenBack { number } => vec![Subject::Order(*number)],
            Self::ExtraCreated { train } => vec![Subject::Train(train.symbol.clone())],
            Self::Combined {
                train: one, into, ..
            } => vec![train(one), train(into)],
            Self::TrackOut { place, .. } | Self::TrackBack { place } => {
                vec![Subject::Track(place.clone())]
            }
            Self::Bridge { name, .. } => vec![Subject::Bridge(name.clone())],
            Self::AllStopped { .. } | Self::WentAhead | Self::Closed => vec![Subject::Stop],
            Self::Noted { train: one, .. } => one.iter().map(train).collect(),
            Self::PlanTaken { plan } => {
                let mut all: Vec<Subject> =
                    plan.trains.iter().map(|(name, _)| train(name)).collect();
                all.push(Subject::Plan);
                all
            }
            Self::Walked { station, track, .. } => vec![Subject::Track(TrackPlace::Station {
                station: station.clone(),
                track: track.clone(),
            })],
            Self::Joined { device, .. }
            | Self::Granted { device, .. }
            | Self::LeftRoom { device } => vec![Subject::Device(device.clone())],
            Self::Undone { .. } => vec![],
        }
    }

    /// What happened, as a sentence without its stop.
    pub fn sentence(&self, opening: &Opening, title: &dyn Fn(&str) -> String) -> String {
        match self {
            Self::ClockStarted => "the clock was started".into(),
            Self::ClockStopped { why } => with("the clock was stopped", why),
            Self::RatioSet { railroad, in_real } => {
                format!("the clock was set to {railroad}:{in_real}")
            }
            Self::ClockJumped { from } => format!(
                "the clock was put on from {}",
                opening.time(RailTime::from_seconds(*from))
            ),
            Self::OnDuty {
                person,
                job: Some(job),
            } => format!("{person} went on duty on {job}"),
            Self::OnDuty { person, job: None } => format!("{person} marked up on the extra board"),
            Self::OffDuty { person } => format!("{person} went off duty"),
            Self::Called { train, crew } if crew.is_empty() => {
                format!("{} was called", title(train))
            }
            Self::Called { train, crew } => {
                format!("{} was called: {}", title(train), crew.join(", "))
            }
            Self::Arrived {
                train,
                station,
                track: Some(track),
                ..
            } => format!("{} arrived at {station} on {track}", title(train)),
            Self::Arrived { train, station, .. } => {
                format!("{} arrived at {station}", title(train))
            }
            Self::Departed { train, station, .. } => format!("{} left {station}", title(train)),
            Self::Passed { train, station, .. } => format!("{} passed {station}", title(train)),
            Self::InClear { train, station, .. } => {
                format!("{} is clear of the main at {station}", title(train))
            }
            Self::TiedUp { train, station, .. } => format!("{} tied up at {station}", title(train)),
            Self::PickedUp {
                train,
                car,
                station,
            } => format!("{} picked up {car} at {station}", title(train)),
            Self::SetOut {
                train,
                car,
                station,
                track,
                ..
            } => format!("{} set out {car} at {station} on {track}", title(train)),
            Self::Shifted {
                car,
                station,
                track,
                ..
            } => format!("{car} was moved to {track} at {station}"),
            Self::Left {
                train,
                car,
                station,
                why,
            } => with(&format!("{} left {car} at {station}", title(train)), why),
            Self::BadOrdered { car, why } => with(&format!("{car} was bad ordered"), why),
            Self::Repaired { car } => format!("{car} is fit to run again"),
            Self::WorkAdded {
                train,
                station,
                work,
            } => format!(
                "{} is to {} {} at {station}",
                title(train),
                if work.pick_up { "pick up" } else { "set out" },
                work.car
            ),
            Self::WorkDropped {
                train,
                station,
                car,
                why,
            } => with(
                &format!(
                    "{} has no work with {car} at {station} any more",
                    title(train)
                ),
                why,
            ),
            Self::OrderIssued { number, text, .. } => {
                let kind = if text.letter().is_some() {
                    "order"
                } else {
                    "authority"
                };
                let says = text.sentence(title, &|time| opening.time(time));
                format!("{kind} {number} was issued: {says}")
            }
            Self::OrderRepeated { number, train } => {
                format!("{} repeated {number}", title(train))
            }
            Self::OrderCompleted { number, train } => {
                format!("{number} was made complete to {}", title(train))
            }
            Self::GivenBack { number } => format!("authority {number} was given back"),
            Self::ExtraCreated { train } => format!("{} was created", train.title()),
            Self::Annulled { train, why } => with(&format!("{} was annulled", title(train)), why),
            Self::Combined {
                train,
                into,
                station,
            } => format!(
                "{} was combined with {} at {station}",
                title(train),
                title(into)
            ),
            Self::EnginesChanged {
                train,
                engines,
                why,
            } => with(
                &format!("{} now has {}", title(train), engines.join(", ")),
                why,
            ),
            Self::TrackOut { place, why } => {
                with(&format!("{place} was taken out of service"), why)
            }
            Self::TrackBack { place } => format!("{place} is back in service"),
            Self::Bridge { name, open } => {
                format!("{name} was {}", if *open { "opened" } else { "closed" })
            }
            Self::AllStopped { why } => with("everything was stopped", why),
            Self::WentAhead => "it goes on".into(),
            Self::Noted {
                train: Some(train),
                text,
            } => format!("note on {}: {text}", title(train)),
            Self::Noted { train: None, text } => format!("note: {text}"),
            Self::Delayed {
                train,
                cause,
                minutes,
                text,
                ..
            } => with(
                &format!(
                    "{} is {minutes} min delayed by {}",
                    title(train),
                    cause.word()
                ),
                text,
            ),
            Self::PlanTaken { plan } => format!(
                "a new plan was put in force, with {} changes",
                plan.changes.len()
            ),
            Self::Undone { of, sentence } => format!("taken back: {sentence} (line {of})"),
            Self::Found { car, place } => match place {
                CarPlace::Track { station, track, .. } => {
                    format!("{car} was found at {station} on {track}")
                }
                CarPlace::Train { train, .. } => format!("{car} was found in {}", title(train)),
                CarPlace::Off { .. } | CarPlace::Aside => {
                    format!("{car} was found off the railroad")
                }
            },
            Self::Walked {
                station,
                track,
                cars,
            } => format!("{track} at {station} was walked: {cars} cars"),
            Self::Joined { name, .. } => format!("{name} joined"),
            Self::Granted { device, role } => format!("{device} was made {role}"),
            Self::LeftRoom { device } => format!("{device} left"),
            Self::Closed => "the session was closed".into(),
        }
    }
}

fn with(text: &str, why: &str) -> String {
    if why.trim().is_empty() {
        text.to_owned()
    } else {
        format!("{text}: {}", why.trim())
    }
}
