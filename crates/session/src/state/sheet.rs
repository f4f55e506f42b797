//! The sheet of a session: everything that its events have changed, but for where the cars are.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use model::time::RailTime;
use serde::{Deserialize, Serialize};

use crate::{
    clock::{Clock, RealMillis},
    command::{Cause, TrackPlace},
    event::Subject,
    opening::{CallSheet, TrainSheet, WorkSheet},
    order::OrderText,
    refused::Brief,
    who::Role,
    wire,
};

/// Everything that the events have changed, but for where the cars are: that is in the books.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// How many events there have been.
    pub revision: u64,
    /// The fast clock.
    pub clock: Clock,
    /// Every train: those of the plan in its order, then the extras as they were created.
    pub trains: Vec<TrainNow>,
    /// Orders and authorities, by number from 1.
    pub orders: Vec<OrderNow>,
    /// People who have marked up or are on duty.
    pub people: BTreeMap<String, PersonNow>,
    /// Devices that have joined.
    pub devices: BTreeMap<String, DeviceNow>,
    /// Track out of service, and why.
    pub tracks_out: Vec<(TrackPlace, String)>,
    /// Drawbridges and lift-outs that are open.
    pub bridges_open: BTreeSet<String>,
    /// Why everything is stopped, if it is.
    pub stopped: Option<String>,
    /// Bad-ordered cars, and why.
    pub bad_orders: BTreeMap<String, String>,
    /// Cars that were left, found elsewhere or otherwise not handled as billed: for waybills and lists.
    pub remarks: Vec<CarRemark>,
    /// Delays reported.
    pub delays: Vec<DelayNow>,
    /// Notes.
    pub notes: Vec<NoteNow>,
    /// Tracks walked at close-out: station and track.
    pub walked: Vec<(String, String)>,
    /// What the plan now in force changed, a sentence each; empty for the plan of the morning.
    pub plan_changes: Vec<String>,
    /// Car movements so far.
    pub moves: u32,
    /// When it was closed, in real time.
    pub closed: Option<RealMillis>,
    /// The latest events in a line each, with what they are about.
    pub recent: VecDeque<(Brief, Vec<Subject>)>,
    /// At which revision each thing was last changed, not counting what was taken back.
    #[serde(with = "pairs")]
    pub(crate) touched: BTreeMap<Subject, u64>,
}

/// Maps with keys that are no texts, as lists of pairs.
mod pairs {
    use std::collections::BTreeMap;

    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use super::Subject;

    type Touched = BTreeMap<Subject, u64>;

    pub(super) fn serialize<S: Serializer>(map: &Touched, out: S) -> Result<S::Ok, S::Error> {
        map.iter().collect::<Vec<_>>().serialize(out)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Touched, D::Error> {
        Ok(Vec::<(Subject, u64)>::deserialize(from)?
            .into_iter()
            .collect())
    }
}

/// A train as it is now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrainNow {
    /// The train; its calls and engines are in the fields below.
    pub sheet: TrainSheet,
    /// Its calls, in running order.
    pub calls: Vec<CallNow>,
    /// Where it is.
    pub at: At,
    /// When its crew was called.
    #[serde(with = "wire::maybe_time")]
    pub called: Option<RailTime>,
    /// Its cars, in the order in which they were taken.
    pub consist: Vec<String>,
    /// Whether it was created in the session.
    pub extra: bool,
}

/// Where a train is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "at", rename_all = "snake_case")]
pub enum At {
    /// At its initial station, not yet gone.
    Waiting,
    /// At a station of its way.
    Station {
        /// Which of its calls.
        call: usize,
        /// Whether it is clear of the main.
        clear: bool,
    },
    /// On the line beyond a station of its way.
    Line {
        /// The call it left last.
        call: usize,
    },
    /// Its run is over.
    Ended,
    /// It does not run.
    Annulled,
    /// It goes on as part of another.
    Combined {
        /// Which.
        into: String,
    },
}

/// A call as it is now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CallNow {
    /// By the plan in force.
    pub plan: CallSheet,
    /// When it arrived.
    #[serde(with = "wire::maybe_time")]
    pub arrived: Option<RailTime>,
    /// When it left.
    #[serde(with = "wire::maybe_time")]
    pub left: Option<RailTime>,
    /// When it was clear of the main.
    #[serde(with = "wire::maybe_time")]
    pub clear: Option<RailTime>,
    /// The track it really had.
    pub track: Option<String>,
    /// Real time of arriving, for switching times.
    pub real_arrived: Option<RealMillis>,
    /// Real time of leaving.
    pub real_left: Option<RealMillis>,
    /// Its work.
    pub work: Vec<WorkNow>,
}

/// A car of a train's work as it is now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WorkNow {
    /// What is to be done.
    pub sheet: WorkSheet,
    /// What became of it; nothing while it is still to be done.
    pub outcome: Option<Outcome>,
}

/// What became of a piece of work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "outcome", rename_all = "snake_case")]
pub enum Outcome {
    /// It was done.
    Done,
    /// The car was left, and why.
    Left {
        /// Why.
        why: String,
    },
    /// It is not to be done any more.
    Dropped {
        /// Why.
        why: String,
    },
}

/// An order or authority as it is now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderNow {
    /// Its number.
    pub number: u32,
    /// What it says.
    pub text: OrderText,
    /// When it was given.
    #[serde(with = "wire::time")]
    pub issued: RailTime,
    /// Its copies.
    pub copies: Vec<CopyNow>,
    /// Whether it is annulled, given back or fulfilled.
    pub over: bool,
}

/// A copy of an order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CopyNow {
    /// The train whose crew gets it.
    pub train: String,
    /// When the crew repeated it.
    #[serde(with = "wire::maybe_time")]
    pub repeated: Option<RailTime>,
    /// When it was made complete.
    #[serde(with = "wire::maybe_time")]
    pub completed: Option<RailTime>,
    /// At which of the train's calls it was then.
    pub at_call: usize,
}

/// A person as they are now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonNow {
    /// Their job; nothing on the extra board.
    pub job: Option<String>,
    /// Since when they are on duty or marked up.
    #[serde(with = "wire::time")]
    pub since: RailTime,
    /// Whether they have gone off duty.
    pub off: bool,
}

/// A device as it is now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviceNow {
    /// Who holds it.
    pub name: String,
    /// What it may do.
    pub role: Role,
    /// Since when, in real time.
    pub since: RealMillis,
}

/// A car that was not handled as billed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CarRemark {
    /// The car.
    pub car: String,
    /// The revision that says so.
    pub revision: u64,
    /// What, as a sentence.
    pub sentence: String,
}

/// A delay reported.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DelayNow {
    /// The train.
    pub train: String,
    /// Where it was then.
    pub station: Option<String>,
    /// The cause.
    pub cause: Cause,
    /// Railroad minutes.
    pub minutes: u32,
    /// More in words.
    pub text: String,
    /// The revision that says so.
    pub revision: u64,
    /// What of the train's way it holds back; not known of sessions written before this was kept.
    #[serde(default)]
    pub holds: Option<Held>,
}

/// What an announced delay holds back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Held {
    /// The call the train was at or had left.
    pub call: usize,
    /// Whether it was on the line beyond: then its arrival at the next call is held back, else its leaving.
    pub on_line: bool,
    /// Not before this railroad time.
    #[serde(with = "wire::time")]
    pub until: RailTime,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoteNow {
    /// The train it is about.
    pub train: Option<String>,
    /// What it says.
    pub text: String,
    /// By whom.
    pub name: String,
    /// When.
    #[serde(with = "wire::time")]
    pub rail: RailTime,
    /// The revision that says so.
    pub revision: u64,
}

impl TrainNow {
    pub(crate) fn new(sheet: &TrainSheet, extra: bool) -> Self {
        let calls = sheet.calls.iter().map(CallNow::new).collect();
        let mut sheet = sheet.clone();
        sheet.calls = Vec::new();
        Self {
            sheet,
            calls,
            at: At::Waiting,
            called: None,
            consist: Vec::new(),
            extra,
        }
    }

    /// Its number or symbol.
    pub fn symbol(&self) -> &str {
        &self.sheet.symbol
    }

    /// What people call it.
    pub fn title(&self) -> String {
        self.sheet.title()
    }

    /// The call at which it stands, or that it left last; the first while it waits.
    pub fn call(&self) -> usize {
        match self.at {
            At::Station { call, .. } | At::Line { call } => call,
            At::Waiting => 0,
            At::Ended | At::Annulled | At::Combined { .. } => self
                .calls
                .iter()
                .rposition(|call| call.arrived.is_some() || call.left.is_some())
                .unwrap_or(0),
        }
    }

    /// Whether it stands at a station of its way (its initial one while it waits): which call.
    pub fn stands_at(&self) -> Option<usize> {
        match self.at {
            At::Waiting => Some(0),
            At::Station { call, .. } => Some(call),
            _ => None,
        }
    }

    /// Whether it still has something to do.
    pub fn active(&self) -> bool {
        matches!(self.at, At::Waiting | At::Station { .. } | At::Line { .. })
    }

    /// How late it is by its latest report, in railroad seconds against the plan; negative if early.
    pub fn late_seconds(&self) -> Option<i64> {
        self.calls.iter().rev().find_map(|call| {
            let left = call.left.map(|left| (left - call.plan.leave).seconds());
            left.or_else(|| call.arrived.map(|at| (at - call.plan.arrive).seconds()))
        })
    }

    /// What a delay of so many minutes, announced now, holds back: from the planned time of what the train
    /// does next, or from now where that is past.
    pub(crate) fn holds(&self, minutes: u32, now: RailTime) -> Option<Held> {
        let call = self.call();
        let here = self.calls.get(call)?;
        let late = model::time::RailSpan::from_minutes(i64::from(minutes));
        let (on_line, planned) = match self.at {
            At::Line { .. } => {
                let next = self.calls.get(call + 1)?;
                let run = next.plan.arrive - here.plan.leave;
                (true, here.left.map_or(next.plan.arrive, |left| left + run))
            }
            At::Waiting | At::Station { .. } => (false, here.plan.leave),
            _ => return None,
        };
        Some(Held {
            call,
            on_line,
            until: planned.max(now) + late,
        })
    }

    /// When it is expected at a call: the plan, moved by how late it is now, and not before now.
    pub fn expected(&self, call: usize, now: RailTime) -> Option<RailTime> {
        let plan = &self.calls.get(call)?.plan;
        if call <= self.call() && self.at != At::Waiting {
            return None;
        }
        let late = self.late_seconds().unwrap_or(0).max(0);
        let late = model::time::RailSpan::from_seconds(late);
        Some((plan.arrive + late).max(now))
    }
}

impl CallNow {
    fn new(plan: &CallSheet) -> Self {
        Self {
            work: plan
                .work
                .iter()
                .map(|sheet| WorkNow {
                    sheet: sheet.clone(),
                    outcome: None,
                })
                .collect(),
            plan: plan.clone(),
            arrived: None,
            left: None,
            clear: None,
            track: None,
            real_arrived: None,
            real_left: None,
        }
    }
}

impl OrderNow {
    /// Whether it is in effect for a train.
    pub fn binds(&self, train: &str) -> bool {
        !self.over
            && self
                .copies
                .iter()
                .any(|copy| copy.train == train && copy.completed.is_some())
    }

    /// Whether it is an authority to occupy track.
    pub fn is_authority(&self) -> bool {
        matches!(self.text, OrderText::Authority { .. })
    }
}
