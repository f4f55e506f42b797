//! What a session begins with: the whole of it in plain words and numbers, so that its journal can be read
//! and replayed without the folder, however that has changed since.

use engineering::station::{StationKind, TrackUse};
use model::time::{RailTime, TimeStyle};
use serde::{Deserialize, Serialize};
use transportation::Method;

use crate::{order::OrderText, wire};

/// The first page of a session. Stations, tracks, cars and trains are numbered as they stand here.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    /// The railroad's name.
    pub railroad: String,
    /// What the session is called.
    pub name: String,
    /// The date it plays on, as written in the folder.
    pub date: Option<String>,
    /// Which session of the railroad's calendar it is, from 0.
    pub day: u32,
    /// How trains are authorised.
    #[serde(with = "wire::method")]
    pub method: Method,
    /// What the fast clock shows when it is first started.
    #[serde(with = "wire::time")]
    pub begins: RailTime,
    /// Railroad seconds in real seconds.
    pub ratio: [u32; 2],
    /// Whether times are shown by the 24-hour clock.
    pub twenty_four: bool,
    /// Whether direction decides between two extras.
    pub extras_by_direction: bool,
    /// How long a crew may be on duty, in railroad seconds.
    pub hours_of_service: i64,
    /// The stations, as the folder numbers them.
    pub stations: Vec<StationSheet>,
    /// The track between them.
    pub districts: Vec<DistrictSheet>,
    /// The trains, as the plan of the day numbers them.
    pub trains: Vec<TrainSheet>,
    /// Regular trains of the timetable that do not run today.
    pub not_today: Vec<TrainSheet>,
    /// The cars, as the car record numbers them.
    pub cars: Vec<CarSheet>,
    /// The waybills at work.
    pub bills: Vec<BillSheet>,
    /// The orders that the day was planned with, for the dispatcher to give.
    pub orders: Vec<PlannedOrder>,
    /// The jobs.
    pub jobs: Vec<JobSheet>,
    /// The people.
    pub people: Vec<PersonSheet>,
}

/// A station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StationSheet {
    /// Its name.
    pub name: String,
    /// What it is.
    #[serde(with = "wire::station_kind")]
    pub kind: StationKind,
    /// When its train-order office is open, in railroad seconds; nothing without one.
    pub office: Option<[i64; 2]>,
    /// Its tracks.
    pub tracks: Vec<TrackSheet>,
}

/// A track of a station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrackSheet {
    /// Its name.
    pub name: String,
    /// What it is for.
    #[serde(with = "wire::track_use")]
    pub usage: TrackUse,
    /// How much of it holds cars, in metres on the model.
    pub room: f64,
    /// The names of its spots, in order.
    pub spots: Vec<String>,
    /// Whether cars are left on it.
    pub holds_cars: bool,
}

/// The track between two neighboring stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DistrictSheet {
    /// The station toward lower and the one toward higher miles, by number.
    pub ends: [usize; 2],
    /// 1 or 2 tracks.
    pub tracks: u8,
    /// Blocks along it.
    pub blocks: u32,
    /// Whether the direction toward higher miles is superior.
    pub superior_up: bool,
    /// Drawbridges and lift-outs on it.
    pub bridges: Vec<String>,
}

/// A train and what the plan has it do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrainSheet {
    /// Number or symbol.
    pub symbol: String,
    /// Name, if it has one.
    pub name: Option<String>,
    /// Class; nothing for an extra.
    pub class: Option<u8>,
    /// What it is for, in the folder's word; empty if not written.
    pub kind: String,
    /// Timetable direction, in the words of its line.
    pub direction: String,
    /// Its engines, by number.
    pub engines: Vec<String>,
    /// The job that works it.
    pub job: Option<String>,
    /// Every station of its way.
    pub calls: Vec<CallSheet>,
}

impl TrainSheet {
    /// What people call it: `No. 7`, `Extra 2041`.
    pub fn title(&self) -> String {
        title(&self.symbol, self.class)
    }
}

/// What people call a train.
pub(crate) fn title(symbol: &str, class: Option<u8>) -> String {
    match class {
        Some(_) => format!("No. {symbol}"),
        None if symbol.starts_with("Extra") || symbol.starts_with("Work") => symbol.to_owned(),
        None => format!("Extra {symbol}"),
    }
}

/// A train at a station, by the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CallSheet {
    /// The station, by number.
    pub station: usize,
    /// The track, by name.
    pub track: Option<String>,
    /// The district by which it goes on, by number; nothing at the last.
    pub next: Option<usize>,
    /// When the plan has it arrive.
    #[serde(with = "wire::time")]
    pub arrive: RailTime,
    /// When the plan has it leave.
    #[serde(with = "wire::time")]
    pub leave: RailTime,
    /// When the timetable has it arrive.
    #[serde(with = "wire::maybe_time")]
    pub due_arrive: Option<RailTime>,
    /// When the timetable has it leave.
    #[serde(with = "wire::maybe_time")]
    pub due_leave: Option<RailTime>,
    /// Whether it stops.
    pub stops: bool,
    /// Trains it meets or passes here, in words.
    pub meets: Vec<String>,
    /// How long its work is planned to take, in railroad seconds.
    pub work_seconds: Option<i64>,
    /// The cars it takes and leaves.
    pub work: Vec<WorkSheet>,
}

/// One car to be taken or left.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WorkSheet {
    /// The car, by marks and number.
    pub car: String,
    /// Whether it is picked up; else set out.
    pub pick_up: bool,
    /// On which track it stands or is to be put; nothing where the yard decides.
    pub track: Option<String>,
    /// At which spot, by number from 0.
    pub spot: Option<usize>,
    /// In which block.
    pub block: String,
}

/// A car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CarSheet {
    /// Marks and number.
    pub name: String,
    /// What sort of car, in the folder's word; empty if not written.
    pub kind: String,
    /// Over the pulling faces, in metres on the model.
    pub length: f64,
    /// Where it is when the session begins.
    pub at: CarPlace,
    /// What is in it.
    pub load: Option<String>,
    /// Whether it is bad ordered.
    pub bad_order: bool,
}

/// Where a car is, by names.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "at", rename_all = "snake_case")]
pub enum CarPlace {
    /// On a track.
    Track {
        /// The station.
        station: String,
        /// The track.
        track: String,
        /// At which of its spots, from 0.
        spot: Option<usize>,
        /// How many cars stand between it and the beginning of the track.
        place: usize,
    },
    /// In a train.
    Train {
        /// Its symbol.
        train: String,
        /// The station where it was last taken.
        from: String,
    },
    /// With another road.
    Off {
        /// The station by which it left.
        via: String,
        /// Where it is, if known.
        place: Option<String>,
    },
    /// Nowhere on the railroad.
    Aside,
}

/// A waybill at work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BillSheet {
    /// Its number.
    pub no: u32,
    /// The car.
    pub car: String,
    /// From where, as written.
    pub from: String,
    /// To where, as written.
    pub to: String,
    /// To which station, by number.
    pub to_station: usize,
    /// The tracks there on which it may stand, the preferred first; empty if any will do.
    pub to_tracks: Vec<String>,
    /// What it carries; for an ordered empty, what it is to carry.
    pub commodity: Option<String>,
    /// Whether it moves loaded.
    pub loaded: bool,
    /// The trains of this session that carry it, in order.
    pub trains: Vec<String>,
    /// The whole way in words.
    pub route: String,
}

/// An order that the plan of the day needs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlannedOrder {
    /// What it says.
    pub text: OrderText,
    /// The trains that get a copy.
    pub to: Vec<String>,
    /// By when it is to be complete.
    #[serde(with = "wire::time")]
    pub complete: RailTime,
}

/// A job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobSheet {
    /// Its name.
    pub name: String,
    /// The trains it works, in order.
    pub trains: Vec<String>,
    /// How many people it takes.
    pub people: u32,
    /// What they must be qualified for, in the folder's words.
    pub roles: Vec<String>,
    /// When it goes on duty.
    #[serde(with = "wire::maybe_time")]
    pub on_duty: Option<RailTime>,
    /// Where.
    pub at: Option<String>,
}

/// A person of the folder.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonSheet {
    /// Their name.
    pub name: String,
    /// What they are qualified for; anything, if empty.
    pub qualified: Vec<String>,
}

impl Opening {
    /// How times are shown.
    pub fn style(&self) -> TimeStyle {
        if self.twenty_four {
            TimeStyle::TwentyFour
        } else {
            TimeStyle::AmPm
        }
    }

    /// A time as shown on the railroad.
    pub fn time(&self, time: RailTime) -> String {
        time.show(self.style()).to_string()
    }

    /// A station by name.
    pub fn find_station(&self, name: &str) -> Option<usize> {
        self.stations
            .iter()
            .position(|station| station.name == name)
    }

    /// A car by marks and number.
    pub fn find_car(&self, name: &str) -> Option<usize> {
        self.cars.iter().position(|car| car.name == name)
    }

    /// A job by name.
    pub fn find_job(&self, name: &str) -> Option<&JobSheet> {
        self.jobs.iter().find(|job| job.name == name)
    }

    /// The district between two stations, and whether it is run toward higher miles.
    pub fn district_between(&self, from: usize, to: usize) -> Option<(usize, bool)> {
        self.districts.iter().enumerate().find_map(|(at, one)| {
            if one.ends == [from, to] {
                Some((at, true))
            } else if one.ends == [to, from] {
                Some((at, false))
            } else {
                None
            }
        })
    }

    /// What in it cannot be: numbers of things that there are not. Nothing in one that was written from a
    /// railroad; for one read in from elsewhere.
    pub fn fault(&self) -> Option<String> {
        let stations = self.stations.len();
        if let Some(at) = self.districts.iter().position(|district| {
            district.ends.iter().any(|end| *end >= stations) || !(1..=2).contains(&district.tracks)
        }) {
            return Some(format!(
                "district {at} has no two stations, or no one or two tracks"
            ));
        }
        if let Some(bill) = self.bills.iter().find(|bill| bill.to_station >= stations) {
            return Some(format!("waybill {} goes to no station of it", bill.no));
        }
        let mut symbols = std::collections::BTreeSet::new();
        for train in self.trains.iter().chain(&self.not_today) {
            if !symbols.insert(&train.symbol) {
                return Some(format!("there are two trains {}", train.symbol));
            }
            if let Some(fault) = self.faults_of(train) {
                return Some(fault);
            }
        }
        let finite = |number: f64| number.is_finite() && number >= 0.0;
        let tracks = self.stations.iter().flat_map(|station| &station.tracks);
        if tracks.clone().any(|track| !finite(track.room)) {
            return Some("a track has no length".into());
        }
        if self.cars.iter().any(|car| !finite(car.length)) {
            return Some("a car has no length".into());
        }
        model::time::FastClock::new(self.ratio[0], self.ratio[1])
            .is_none()
            .then(|| "the clock has no ratio".into())
    }

    /// What in a train's way cannot be.
    pub(crate) fn faults_of(&self, train: &TrainSheet) -> Option<String> {
        if train.calls.is_empty() {
            return Some(format!("{} has no way", train.title()));
        }
        let known = train.calls.iter().enumerate().all(|(at, call)| {
            let there = train.calls.get(at + 1).map(|next| next.station);
            call.station < self.stations.len()
                && call.next.is_none_or(|next| {
                    self.districts.get(next).is_some_and(|district| {
                        there.is_some_and(|there| {
                            district.ends == [call.station, there]
                                || district.ends == [there, call.station]
                        })
                    })
                })
        });
        (!known).then(|| format!("{} goes where no line is", train.title()))
    }

    /// A district in words: `between Wendry and Kellander`.
    pub fn stretch(&self, district: usize) -> String {
        let [low, high] = self.districts[district].ends;
        format!(
            "between {} and {}",
            self.stations[low].name, self.stations[high].name
        )
    }
}
