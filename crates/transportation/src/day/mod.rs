//! The plan of a day: where every train is, when, on which track; whom it meets, and why it waits.
//!
//! Times are by the railroad's clock. A plan says nothing of how it was found: a dispatcher may have
//! drawn it by hand.

pub mod judge;
mod meets;

pub use judge::judge;
pub use meets::encounters;

use engineering::ids::{StationId, TrackId, TrackRef};
use model::time::{RailSpan, RailTime};

use crate::{TrainId, method::Method};

/// Which train of a [`DayPlan`]: its place in [`DayPlan::trains`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TrainIndex(pub usize);

/// The plan of a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DayPlan {
    /// The trains that run, in the order of their page; then the extras the plan itself calls for,
    /// such as a helper returning light.
    pub trains: Vec<TrainPlan>,
    /// The operating method it is meant for.
    pub method: Method,
    /// The seed it was found with; 0 for a plan drawn by hand.
    pub seed: u64,
    /// What each class loses against its schedule, the highest class first.
    pub losses: Vec<ClassLoss>,
    /// How trains stand at the beginning of the day on tracks that hold several.
    pub staged: Vec<Staged>,
}

/// Trains that stand one behind another before the day begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Staged {
    /// The track.
    pub track: TrackRef,
    /// The trains, from the track's beginning to its end.
    pub order: Vec<TrainIndex>,
}

/// What the trains of one class lose, altogether.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClassLoss {
    /// Class, 1 the highest.
    pub class: i64,
    /// Time lost by the plan: lateness at the timed places, summed over the trains.
    pub lost: RailSpan,
    /// No plan that treats the classes above equally well loses less: proven. Nothing where nothing
    /// is known.
    pub at_least: Option<RailSpan>,
}

impl ClassLoss {
    /// Whether no plan can do better for this class without doing worse for one above.
    pub fn is_proven(&self) -> bool {
        self.at_least.is_some_and(|bound| bound >= self.lost)
    }
}

/// One train's part of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainPlan {
    /// The train as written; nothing for an extra that the plan calls for.
    pub train: Option<TrainId>,
    /// Number or symbol, as crews say it.
    pub symbol: String,
    /// Class in the timetable: 1 is superior to 2. An extra is of the class after the last.
    pub class: i64,
    /// Timetable direction, in the words of its line.
    pub direction: String,
    /// Whether that is the superior direction of its line.
    pub superior_direction: bool,
    /// Whether it runs as an extra, without schedule.
    pub extra: bool,
    /// Every station of its way, passed or stopped at, in running order.
    pub calls: Vec<Call>,
    /// Where it stands longer than it has to, in order of time.
    pub waits: Vec<Wait>,
}

impl TrainPlan {
    /// When it leaves its initial station and when it arrives at its terminal.
    pub fn hours(&self) -> Option<(RailTime, RailTime)> {
        Some((self.calls.first()?.leave, self.calls.last()?.arrive))
    }

    /// Its call at a station. A way may come by a station only once.
    pub fn call(&self, station: StationId) -> Option<&Call> {
        self.calls.iter().find(|call| call.station == station)
    }

    /// How late it is at its terminal; nothing where no time is written.
    pub fn late(&self) -> Option<RailSpan> {
        let last = self.calls.last()?;
        Some((last.arrive - last.due_arrive?).max(RailSpan::ZERO))
    }
}

/// A train at a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Call {
    /// The station.
    pub station: StationId,
    /// The track it stands on or runs through. Nothing if the plan does not say.
    pub track: Option<TrackId>,
    /// Which track of the open line it leaves by, counted from 1; nothing where it ends.
    pub leaves_by: Option<u8>,
    /// When it has come in; at the initial station, when it leaves.
    pub arrive: RailTime,
    /// When it starts to leave; at the terminal, when it arrives.
    pub leave: RailTime,
    /// When the timetable has it arrive.
    pub due_arrive: Option<RailTime>,
    /// When the timetable has it leave.
    pub due_leave: Option<RailTime>,
    /// Whether it stops.
    pub stops: bool,
    /// How long its work takes, if it works here.
    pub work: Option<RailSpan>,
    /// Trains it meets or passes here.
    pub meets: Vec<Encounter>,
}

/// Two trains get by each other at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Encounter {
    /// The other train.
    pub other: TrainIndex,
    /// How they run.
    pub kind: EncounterKind,
    /// Where this train stands or runs.
    pub holds: Holds,
}

model::words! {
    /// How two trains run that get by each other, seen from one of them.
    pub enum EncounterKind {
        Meet = "meets", "they run in opposite directions";
        Passes = "passes", "this one overtakes the other";
        Passed = "is passed by", "the other overtakes this one";
    }
}

model::words! {
    /// Which track a train has while another gets by.
    pub enum Holds {
        Main = "holds main", "it stays on a main track";
        Siding = "takes siding", "it takes a siding";
        Other = "takes another track", "it stands on a yard track or the like";
        Clear = "is in clear", "it is not on the running tracks at all, such as a train not yet made up";
    }
}

/// A train stands longer than it has to.
#[derive(Debug, Clone, PartialEq)]
pub struct Wait {
    /// Where.
    pub station: StationId,
    /// Whether it stands outside, on the open line before the station.
    pub outside: bool,
    /// When it could have gone on.
    pub from: RailTime,
    /// When it goes on.
    pub until: RailTime,
    /// The trains it waits for, the immediate one first.
    pub for_whom: Vec<TrainIndex>,
    /// What it waits for them to clear, in words: `the main track from Wendry to Kellander`.
    pub at_what: String,
    /// The whole reason, a sentence a link; the first says what the train itself waits for.
    pub chain: Vec<String>,
    /// Whether the timetable has it wait: it stands until its leaving time.
    pub by_timetable: bool,
    /// Whether the wait costs it time against its schedule, here or farther on.
    pub costs: bool,
}

impl Wait {
    /// How long.
    pub fn length(&self) -> RailSpan {
        self.until - self.from
    }
}
