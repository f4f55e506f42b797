//! Stations: places with tracks and switches.

mod build;
mod page;
pub mod rules;

use model::{
    Span, Spanned,
    time::RailTime,
    units::{Actual, Speed},
};

pub(crate) use build::{Draft, build, ends};
pub use page::PAGE;

use crate::{
    ids::{CrossingId, EndId, JointId, LineId, OpenRef, SwitchId, TrackId, TurntableId},
    line::Curve,
};

model::words! {
    /// What sort of place.
    pub enum StationKind {
        Station = "station", "a town or siding on the line";
        Yard = "yard", "where trains are made up";
        Staging = "staging", "hidden tracks that stand for the rest of the world";
        Junction = "junction", "where lines part";
    }
}

model::words! {
    /// What stands at a station.
    pub enum Facility {
        Water = "water", "water for engines";
        Coal = "coal", "coal for engines";
        Oil = "oil", "fuel oil for engines";
        Sand = "sand", "sand for engines";
        Ice = "ice", "ice for refrigerator cars";
        Scale = "scale", "a track scale";
        Turntable = "turntable", "a turntable";
        Wye = "wye", "a triangle of tracks for turning";
        Roundhouse = "roundhouse", "an engine house around a turntable";
        Enginehouse = "enginehouse", "an engine house";
        CarShop = "car shop", "where cars are repaired";
        StockPens = "stock pens", "where cattle are fed, watered and rested";
        Depot = "depot", "a passenger station";
        FreightHouse = "freight house", "where less-than-carload freight is handled";
    }
}

model::words! {
    /// What a track is for.
    pub enum TrackUse {
        Spur = "spur", "a one-ended track where cars are loaded";
        Main = "main", "the main track";
        Siding = "siding", "a track for meeting or passing trains";
        ArrivalDeparture = "arrival-departure", "where trains come into and leave a yard";
        Classification = "classification", "where cars are sorted";
        Lead = "lead", "from which a yard is switched";
        Runaround = "runaround", "by which an engine changes ends";
        House = "house", "the freight house track";
        Team = "team", "where anyone may load from wagons and trucks";
        Staging = "staging", "where trains wait out of sight";
        Interchange = "interchange", "where cars are handed to another road";
        Engine = "engine", "for engines";
        Caboose = "caboose", "for cabooses";
        Repair = "repair", "where bad-order cars are mended";
        Ice = "ice", "where refrigerator cars are iced";
        Wye = "wye", "a leg of a wye";
        Tail = "tail", "the tail of a wye or of a switchback";
        Crossover = "crossover", "joins two tracks side by side";
        Connection = "connection", "joins tracks or lines, not for standing on";
        Storage = "storage", "for cars not in use";
        Scale = "scale", "the track scale";
    }
}

impl TrackUse {
    /// Whether cars are left standing on such a track between trains.
    pub fn holds_cars(self) -> bool {
        !matches!(
            self,
            Self::Main | Self::Lead | Self::Tail | Self::Wye | Self::Crossover | Self::Connection
        )
    }

    /// Whether a track of this use is one at which goods are loaded or unloaded.
    pub fn may_have_spots(self) -> bool {
        matches!(
            self,
            Self::Spur
                | Self::House
                | Self::Team
                | Self::Ice
                | Self::Siding
                | Self::Runaround
                | Self::Interchange
                | Self::Engine
                | Self::Caboose
                | Self::Repair
                | Self::Scale
                | Self::Storage
        )
    }
}

model::words! {
    /// To which hand a switch diverges, seen from its points.
    pub enum Hand {
        Left = "left", "the other track leaves to the left";
        Right = "right", "the other track leaves to the right";
        Equilateral = "equilateral", "both tracks turn, one to each side";
        ThreeWay = "three-way", "two other tracks leave, one to each side";
    }
}

model::words! {
    /// How a switch is thrown.
    pub enum Control {
        Hand = "hand", "by a stand beside it";
        Power = "power", "from a distance";
    }
}

model::words! {
    /// How a switch is made.
    pub enum SwitchKind {
        Turnout = "turnout", "a split switch";
        Stub = "stub", "blunt rails that move";
        Curved = "curved", "both tracks curve the same way";
        Spring = "spring", "trailing trains push the points over, which then close by themselves";
    }
}

model::words! {
    /// Whether trains can change tracks at a crossing.
    pub enum Slip {
        None = "none", "they cannot";
        Single = "single", "from the low-mile side of the one track to the high-mile side of the other, and back";
        Double = "double", "from either track to the other";
    }
}

/// Toward lower or higher miles of the station's own line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// Toward lower miles.
    Low,
    /// Toward higher miles.
    High,
}

impl Side {
    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Low => Self::High,
            Self::High => Self::Low,
        }
    }

    /// -1 for low, 1 for high.
    pub(crate) fn sign(self) -> i8 {
        match self {
            Self::Low => -1,
            Self::High => 1,
        }
    }

    pub(crate) fn of_sign(sign: i8) -> Self {
        if sign < 0 { Self::Low } else { Self::High }
    }
}

/// One of the two ends of a track.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TrackEnd {
    /// Where it begins.
    From,
    /// Where it ends.
    To,
}

impl TrackEnd {
    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::From => Self::To,
            Self::To => Self::From,
        }
    }

    /// 0 or 1.
    pub fn index(self) -> usize {
        self as usize
    }
}

/// A station.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Its name; the name of its file if none could be read.
    pub name: Spanned<String>,
    /// The lines it lies on, its own first.
    pub lines: Vec<OnLine>,
    /// What sort of place.
    pub kind: StationKind,
    /// Its ends: those written, or those of its line and whatever open line joins.
    pub ends: Vec<End>,
    /// Whether the owner wrote the ends.
    pub ends_written: bool,
    /// Telegraph call.
    pub call: Option<Spanned<String>>,
    /// Train-order office.
    pub office: Option<Office>,
    /// What stands here.
    pub facilities: Vec<Facility>,
    /// Whether within yard limits.
    pub yard_limits: bool,
    /// Whether trains may saw by each other, if the page says.
    pub saw_by: Option<bool>,
    /// Railhead where no track says otherwise.
    pub elevation: Option<Spanned<Actual>>,
    /// Railhead at named places.
    pub elevations: Vec<(Spanned<String>, Spanned<Actual>)>,
    /// Tracks, in the order written.
    pub tracks: Vec<Track>,
    /// Switches.
    pub switches: Vec<Switch>,
    /// Crossings.
    pub crossings: Vec<Crossing>,
    /// Turntables.
    pub turntables: Vec<Turntable>,
    /// Joints.
    pub joints: Vec<Joint>,
    /// The owner's note.
    pub note: Option<String>,
    /// The whole page.
    pub span: Span,
}

impl Station {
    /// Scheduled mile on a line.
    pub fn mile(&self, line: LineId) -> Option<f64> {
        self.lines
            .iter()
            .find(|on| on.line == Some(line))
            .and_then(|on| on.mile)
            .map(|m| m.value)
    }

    /// The line it lies on in the first place.
    pub fn line(&self) -> Option<LineId> {
        self.lines.first().and_then(|on| on.line)
    }

    /// A track.
    pub fn track(&self, id: TrackId) -> &Track {
        &self.tracks[id.index()]
    }

    /// The track of a name.
    pub fn find_track(&self, name: &str) -> Option<TrackId> {
        self.tracks
            .iter()
            .position(|track| track.name.value == name)
            .map(TrackId::at)
    }

    /// The switch of a name.
    pub fn find_switch(&self, name: &str) -> Option<SwitchId> {
        self.switches
            .iter()
            .position(|switch| switch.name.value == name)
            .map(SwitchId::at)
    }

    /// The end of a name.
    pub fn find_end(&self, name: &str) -> Option<EndId> {
        self.ends
            .iter()
            .position(|end| end.name == name)
            .map(EndId::at)
    }

    /// The places that have a name of their own besides the tracks.
    pub fn places(&self) -> Vec<(Named, &str)> {
        fn numbered<'a, T: 'a>(
            list: &'a [T],
            name: impl Fn(&'a T) -> &'a str + 'a,
            place: impl Fn(u32) -> Named + 'a,
        ) -> impl Iterator<Item = (Named, &'a str)> + 'a {
            list.iter()
                .enumerate()
                .map(move |(at, one)| (place(at as u32), name(one)))
        }
        let ends = numbered(&self.ends, |end| &end.name, |at| Named::End(EndId(at)));
        let switches = numbered(
            &self.switches,
            |one| &one.name.value,
            |at| Named::Switch(SwitchId(at)),
        );
        let crossings = numbered(
            &self.crossings,
            |one| &one.name.value,
            |at| Named::Crossing(CrossingId(at)),
        );
        let tables = numbered(
            &self.turntables,
            |one| &one.name.value,
            |at| Named::Turntable(TurntableId(at)),
        );
        let joints = numbered(
            &self.joints,
            |one| &one.name.value,
            |at| Named::Joint(JointId(at)),
        );
        ends.chain(switches)
            .chain(crossings)
            .chain(tables)
            .chain(joints)
            .collect()
    }

    /// Tracks with their ids.
    pub fn tracks(&self) -> impl Iterator<Item = (TrackId, &Track)> {
        self.tracks
            .iter()
            .enumerate()
            .map(|(at, track)| (TrackId::at(at), track))
    }
}

/// At which mile of which line a station lies.
#[derive(Debug, Clone, PartialEq)]
pub struct OnLine {
    /// The line as written.
    pub name: Option<Spanned<String>>,
    /// The line, if there is one of that name.
    pub line: Option<LineId>,
    /// Scheduled mile.
    pub mile: Option<Spanned<f64>>,
}

/// Where the railroad goes on beyond a station.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// Its name: `W`, `E`, `E1`.
    pub name: String,
    /// Where the owner wrote it in the station's page.
    pub span: Option<Span>,
    /// Toward which miles of the station's own line it leads, where the name or the open line says
    /// so. That of a branch follows from the tracks: see [`crate::network`].
    pub side: Option<Side>,
    /// What joins it: more than one thing is a mistake.
    pub joins: Vec<EndJoin>,
}

/// A track of a district of open line that joins a station end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EndJoin {
    /// The district.
    pub open: OpenRef,
    /// Which end of it: 0 for `from`, 1 for `to`.
    pub which: u8,
    /// Which of its tracks, from 1.
    pub track: u8,
}

/// A train-order office.
#[derive(Debug, Clone, PartialEq)]
pub struct Office {
    /// When it opens and closes; day and night if nothing is said.
    pub hours: Option<[RailTime; 2]>,
    /// Whether trains register here.
    pub register: bool,
}

/// What a track begins or ends at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Meets {
    /// A station end.
    End(EndId),
    /// A switch.
    Switch(SwitchId),
    /// A joint with another track.
    Joint(JointId),
    /// A turntable.
    Turntable(TurntableId),
    /// A bumper: the track ends there.
    Bumper,
    /// Something that does not exist, or nothing was written.
    Nowhere,
}

/// A track.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Its name within the station.
    pub name: Spanned<String>,
    /// Where it begins and ends, as written.
    pub at: [Option<Spanned<String>>; 2],
    /// What that is.
    pub meets: [Meets; 2],
    /// Length along the center line, at switches from the points.
    pub length: Option<Spanned<Actual>>,
    /// Whether the owner wrote a length, rightly or wrongly.
    pub measured: bool,
    /// How much of it holds cars, by tape.
    pub usable: Option<Spanned<Actual>>,
    /// How far from its beginning and its end it is clear of the track it leaves there, where that
    /// follows from the alignment of both.
    pub clear: [Option<Actual>; 2],
    /// What it is for.
    pub usage: TrackUse,
    /// Its sharpest curve.
    pub radius: Option<Spanned<Actual>>,
    /// Its curves.
    pub curves: Vec<Curve>,
    /// Railhead at its ends, as written.
    pub elevation: Option<[Spanned<Actual>; 2]>,
    /// Speed allowed.
    pub speed: Option<Speed>,
    /// Spots, from its beginning.
    pub spots: Vec<Spanned<String>>,
    /// Length of one spot.
    pub spot_length: Option<Spanned<Actual>>,
    /// Whether trains may stand on it one behind another.
    pub several_trains: bool,
    /// The owner's note.
    pub note: Option<String>,
    /// Where it stands.
    pub span: Span,
}

impl Track {
    /// Length along the center line; zero where none could be read.
    pub fn run(&self) -> Actual {
        self.length.map_or(Actual::ZERO, |length| length.value)
    }

    /// Its sharpest curve, from `radius` and from the curves one by one.
    pub fn sharpest(&self) -> Option<Spanned<Actual>> {
        self.radius
            .into_iter()
            .chain(self.curves.iter().filter_map(|curve| curve.radius))
            .min_by(|a, b| a.value.total_cmp(&b.value))
    }
}

/// Which way the points of a switch face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Points {
    /// A station end.
    End(EndId),
    /// An end of the track the switch lies on.
    Track(TrackEnd),
    /// Nothing that exists.
    Unknown,
}

/// A switch.
#[derive(Debug, Clone, PartialEq)]
pub struct Switch {
    /// Its name within the station.
    pub name: Spanned<String>,
    /// The track it lies on, as written.
    pub on: Option<Spanned<String>>,
    /// That track.
    pub track: Option<TrackId>,
    /// Where its points are, from the beginning of that track.
    pub at: Option<Spanned<Actual>>,
    /// Whether the owner wrote where, rightly or wrongly.
    pub measured: bool,
    /// What its points face, as written.
    pub points_written: Option<Spanned<String>>,
    /// What its points face.
    pub points: Points,
    /// To which hand it diverges.
    pub hand: Hand,
    /// Frog number.
    pub number: Option<Spanned<f64>>,
    /// The track of its normal position, as written.
    pub normal: Option<Spanned<String>>,
    /// How it is thrown.
    pub control: Control,
    /// How it is made.
    pub kind: SwitchKind,
    /// The tracks that begin or end at it, in the order written.
    pub diverging: Vec<(TrackId, TrackEnd)>,
    /// Where it stands.
    pub span: Span,
}

/// A crossing.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossing {
    /// Its name within the station.
    pub name: Spanned<String>,
    /// The two tracks as written.
    pub on: Option<[Spanned<String>; 2]>,
    /// Those tracks.
    pub tracks: [Option<TrackId>; 2],
    /// How far along each it lies.
    pub at: Option<[Spanned<Actual>; 2]>,
    /// Angle in degrees.
    pub angle: f64,
    /// Whether trains can change tracks.
    pub slip: Slip,
    /// Where it stands.
    pub span: Span,
}

/// A turntable.
#[derive(Debug, Clone, PartialEq)]
pub struct Turntable {
    /// Its name within the station.
    pub name: Spanned<String>,
    /// Length of its rails.
    pub length: Option<Spanned<Actual>>,
    /// The tracks that begin or end at it.
    pub tracks: Vec<(TrackId, TrackEnd)>,
}

/// Where two tracks meet end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Its name within the station.
    pub name: Spanned<String>,
    /// The tracks that begin or end there: two, if all is well.
    pub tracks: Vec<(TrackId, TrackEnd)>,
}

/// A place of a station that has a name of its own besides its tracks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Named {
    /// An end.
    End(EndId),
    /// A switch.
    Switch(SwitchId),
    /// A crossing.
    Crossing(CrossingId),
    /// A turntable.
    Turntable(TurntableId),
    /// A joint.
    Joint(JointId),
}
