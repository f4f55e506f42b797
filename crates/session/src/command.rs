//! What may be said to a session, and who may say it.

use model::time::RailTime;
use serde::{Deserialize, Serialize};

use crate::{
    opening::{CallSheet, CarPlace},
    order::OrderText,
    who::Role,
    wire,
};

/// A command as a device sends it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Request {
    /// A name the device gives this command once and for all (at most 64 characters, such as a UUID). Sent
    /// again, the command is not carried out again: the first answer is given.
    pub key: String,
    /// The revision the device saw when the command was given, if it knows.
    #[serde(default)]
    pub seen: Option<u64>,
    /// What is to be done.
    #[serde(flatten)]
    pub command: Command,
}

/// Everything that may be done in a session. As JSON it is an object with `do`, the variant in snake case,
/// beside its fields: `{"do": "departed", "train": "12", "station": "Wendry"}`.
///
/// Trains go by symbol, stations and tracks by name, cars by marks and number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub enum Command {
    /// The fast clock is started.
    StartClock,
    /// The fast clock is stopped.
    StopClock {
        /// Why, for everyone's screen.
        why: String,
    },
    /// The fast clock runs at another ratio.
    SetRatio {
        /// Railroad seconds, 1 to 1000.
        railroad: u32,
        /// In so many real seconds, 1 to 1000.
        real: u32,
    },
    /// The fast clock jumps forward.
    JumpClock {
        /// To this time.
        #[serde(with = "wire::time")]
        to: RailTime,
    },
    /// A person marks up on the call board, or goes on duty on a job.
    OnDuty {
        /// The person.
        person: String,
        /// The job; nothing for the extra board.
        job: Option<String>,
    },
    /// A person goes off duty.
    OffDuty {
        /// The person.
        person: String,
    },
    /// A train's crew is called.
    CallTrain {
        /// The train.
        train: String,
    },
    /// A train has arrived, whole, at a station.
    Arrived {
        /// The train.
        train: String,
        /// The station.
        station: String,
        /// On which track, if not that of the plan.
        #[serde(default)]
        track: Option<String>,
    },
    /// A train has left a station.
    Departed {
        /// The train.
        train: String,
        /// The station.
        station: String,
    },
    /// A train has passed a station without stopping.
    Passed {
        /// The train.
        train: String,
        /// The station.
        station: String,
    },
    /// A train is clear of the main track.
    ClearOfMain {
        /// The train.
        train: String,
        /// The station.
        station: String,
    },
    /// A train has ended its run; what it still carries is left on the track.
    TieUp {
        /// The train.
        train: String,
        /// The track; that on which it arrived if left out.
        #[serde(default)]
        track: Option<String>,
    },
    /// A train's work with one car is done, or is not.
    Work {
        /// The train.
        train: String,
        /// The car.
        car: String,
        /// What was done.
        done: Done,
    },
    /// A yard moves a car within its station.
    Shift {
        /// The car.
        car: String,
        /// To which track.
        track: String,
        /// At which spot, from 0.
        #[serde(default)]
        spot: Option<usize>,
    },
    /// A car is bad ordered where it stands.
    BadOrder {
        /// The car.
        car: String,
        /// What is wrong with it.
        why: String,
    },
    /// A bad-ordered car is fit again.
    Repaired {
        /// The car.
        car: String,
    },
    /// Late work: a train is to take or leave one car more.
    AddWork {
        /// The train.
        train: String,
        /// Where.
        station: String,
        /// The car.
        car: String,
        /// Whether it is picked up; else set out.
        pick_up: bool,
        /// From or to which track.
        #[serde(default)]
        track: Option<String>,
        /// At which spot, from 0.
        #[serde(default)]
        spot: Option<usize>,
    },
    /// A train is not to take or leave a car after all.
    DropWork {
        /// The train.
        train: String,
        /// Where.
        station: String,
        /// The car.
        car: String,
        /// Why.
        why: String,
    },
    /// An order or authority is given.
    IssueOrder {
        /// What it says.
        text: OrderText,
        /// The trains whose crews get a copy; those it speaks of, if empty.
        #[serde(default)]
        to: Vec<String>,
    },
    /// A crew repeats an order back.
    RepeatOrder {
        /// Its number.
        number: u32,
        /// The crew's train.
        train: String,
    },
    /// The dispatcher has heard it right: it is complete for that train.
    CompleteOrder {
        /// Its number.
        number: u32,
        /// The train.
        train: String,
    },
    /// An authority not yet used is given back.
    GiveBack {
        /// Its number.
        number: u32,
    },
    /// A train that nobody planned is created.
    CreateExtra {
        /// What it is called: the engine's number.
        symbol: String,
        /// Its engines.
        engines: Vec<String>,
        /// The stations of its way, next to each other on the line, in running order.
        way: Vec<String>,
        /// When it is to leave.
        #[serde(with = "wire::time")]
        leave: RailTime,
        /// The job that works it.
        #[serde(default)]
        job: Option<String>,
    },
    /// A train that has not left yet does not run.
    AnnulTrain {
        /// The train.
        train: String,
        /// Why.
        why: String,
    },
    /// A train is taken into another that stands at the same station, and goes on with it.
    Combine {
        /// The train that ends.
        train: String,
        /// The train that goes on.
        into: String,
    },
    /// A train gets other engines.
    ChangeEngines {
        /// The train.
        train: String,
        /// Its engines from now on.
        engines: Vec<String>,
        /// Why.
        why: String,
    },
    /// Track is taken out of service.
    TakeTrackOut {
        /// Which.
        place: TrackPlace,
        /// Why.
        why: String,
    },
    /// Track is back in service.
    PutTrackBack {
        /// Which.
        place: TrackPlace,
    },
    /// A drawbridge or lift-out is opened or closed.
    Drawbridge {
        /// Its name.
        name: String,
        /// Whether it is opened: no train may go there.
        open: bool,
    },
    /// Everything stops, on every screen at once. Anyone may say so.
    StopEverything {
        /// Why.
        why: String,
    },
    /// It goes on.
    GoAhead,
    /// A note for the record.
    Note {
        /// The train it is about.
        #[serde(default)]
        train: Option<String>,
        /// What it says.
        text: String,
    },
    /// A train is delayed, and why.
    Delay {
        /// The train.
        train: String,
        /// The cause.
        cause: Cause,
        /// By how many railroad minutes, by estimate.
        minutes: u32,
        /// More in words.
        #[serde(default)]
        text: String,
    },
    /// The dispatcher puts a new plan in force.
    TakePlan {
        /// The plan.
        plan: NewPlan,
    },
    /// A report is taken back by an event that sets right what it changed.
    Undo {
        /// The revision of the event.
        revision: u64,
    },
    /// A car was found where the books do not have it.
    Found {
        /// The car.
        car: String,
        /// Where it is.
        place: CarPlace,
    },
    /// A track was walked at close-out: the cars on it, from its beginning.
    WalkTrack {
        /// The station.
        station: String,
        /// The track.
        track: String,
        /// The cars that stand there.
        cars: Vec<String>,
    },
    /// A device has joined.
    Join {
        /// The device, by a name that is no secret.
        device: String,
        /// Who holds it.
        name: String,
    },
    /// A device is granted a role.
    Grant {
        /// The device.
        device: String,
        /// The role.
        role: Role,
    },
    /// A device leaves, or is sent away.
    Leave {
        /// The device.
        device: String,
    },
    /// The session ends.
    CloseOut,
}

/// What was done with a car of a train's work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "done", rename_all = "snake_case")]
pub enum Done {
    /// It was taken from where it stood.
    PickedUp,
    /// It was left on a track.
    SetOut {
        /// The track.
        track: String,
        /// At which spot, from 0.
        #[serde(default)]
        spot: Option<usize>,
    },
    /// It was left where it is: not taken, or carried by.
    Left {
        /// Why.
        why: String,
    },
    /// It was found unfit to run and stays where it stands, or is set out at once.
    BadOrdered {
        /// What is wrong with it.
        why: String,
    },
}

/// A piece of track.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(tag = "track_of", rename_all = "snake_case")]
pub enum TrackPlace {
    /// A track of a station.
    Station {
        /// The station.
        station: String,
        /// The track.
        track: String,
    },
    /// The line between two neighboring stations, all its tracks.
    Line {
        /// One end.
        from: String,
        /// The other.
        to: String,
    },
}

impl std::fmt::Display for TrackPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Station { station, track } => write!(f, "{station} / {track}"),
            Self::Line { from, to } => write!(f, "the line between {from} and {to}"),
        }
    }
}

/// Why a train is delayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// It waits for another train.
    Meet,
    /// Its work took longer.
    Work,
    /// A car or engine came off.
    Derailment,
    /// A coupler, wheel or motor failed.
    Equipment,
    /// A switch, rail or wire failed.
    Track,
    /// It waited for an order or authority.
    Orders,
    /// Its crew was late, or busy elsewhere.
    Crew,
    /// Anything else.
    Other,
}

impl Cause {
    /// All, for a list of choices.
    pub const ALL: [Self; 8] = [
        Self::Meet,
        Self::Work,
        Self::Derailment,
        Self::Equipment,
        Self::Track,
        Self::Orders,
        Self::Crew,
        Self::Other,
    ];

    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Meet => "meeting another train",
            Self::Work => "work",
            Self::Derailment => "derailment",
            Self::Equipment => "equipment",
            Self::Track => "track",
            Self::Orders => "orders",
            Self::Crew => "crew",
            Self::Other => "other",
        }
    }
}

/// A plan for the rest of the session, as the dispatcher puts it in force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NewPlan {
    /// The revision of the state it was made for.
    pub made_at: u64,
    /// The trains whose calls change: symbol, and all calls of its way with new times and tracks. What a
    /// train has already done is not looked at.
    pub trains: Vec<(String, Vec<CallSheet>)>,
    /// What changes, a sentence each.
    pub changes: Vec<String>,
}

impl Command {
    /// The least role that may give it. Crews are held to the trains of their own job besides.
    pub fn needs(&self) -> Role {
        match self {
            Self::StopEverything { .. } | Self::Join { .. } => Role::Visitor,
            Self::OnDuty { .. }
            | Self::OffDuty { .. }
            | Self::Arrived { .. }
            | Self::Departed { .. }
            | Self::Passed { .. }
            | Self::ClearOfMain { .. }
            | Self::TieUp { .. }
            | Self::Work { .. }
            | Self::RepeatOrder { .. }
            | Self::Note { .. }
            | Self::Delay { .. }
            | Self::Undo { .. } => Role::Crew,
            Self::CallTrain { .. }
            | Self::Shift { .. }
            | Self::BadOrder { .. }
            | Self::Repaired { .. }
            | Self::AddWork { .. }
            | Self::DropWork { .. }
            | Self::ChangeEngines { .. }
            | Self::Found { .. }
            | Self::WalkTrack { .. } => Role::Yard,
            Self::IssueOrder { .. }
            | Self::CompleteOrder { .. }
            | Self::GiveBack { .. }
            | Self::CreateExtra { .. }
            | Self::AnnulTrain { .. }
            | Self::Combine { .. }
            | Self::TakeTrackOut { .. }
            | Self::PutTrackBack { .. }
            | Self::Drawbridge { .. }
            | Self::GoAhead
            | Self::StartClock
            | Self::StopClock { .. }
            | Self::TakePlan { .. } => Role::Dispatcher,
            Self::SetRatio { .. }
            | Self::JumpClock { .. }
            | Self::Grant { .. }
            | Self::Leave { .. }
            | Self::CloseOut => Role::Superintendent,
        }
    }

    /// The train a crew must hold to give it, if it is about one.
    pub fn train(&self) -> Option<&str> {
        match self {
            Self::Arrived { train, .. }
            | Self::Departed { train, .. }
            | Self::Passed { train, .. }
            | Self::ClearOfMain { train, .. }
            | Self::TieUp { train, .. }
            | Self::Work { train, .. }
            | Self::RepeatOrder { train, .. }
            | Self::Delay { train, .. } => Some(train),
            _ => None,
        }
    }
}
