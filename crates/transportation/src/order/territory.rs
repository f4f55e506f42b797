//! What an order is about: the places, the track between them, and the trains with their schedules.

use model::time::RailTime;

use crate::rights::{Rank, ScheduleTime};

macro_rules! number {
    ($(#[$meta:meta])* $name:ident) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl $name {
            /// Its place in the list.
            pub const fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

number! {
    /// Which place of a [`Territory`].
    PlaceNo
}
number! {
    /// Which district of a [`Territory`].
    DistrictNo
}
number! {
    /// Which train of a [`Territory`].
    RunNo
}

/// A stretch of railroad worked under one dispatcher, and a day's trains on it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Territory {
    /// The stations.
    pub places: Vec<Place>,
    /// The track between neighbouring stations.
    pub districts: Vec<District>,
    /// The trains.
    pub runs: Vec<Run>,
}

/// A station, as far as orders are concerned.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its name.
    pub name: String,
    /// When its train-order office is open; `None` without one. An office that closes before it opens
    /// is open over midnight.
    pub office: Option<[RailTime; 2]>,
    /// Whether a train that begins here gets its orders with its clearance although there is no
    /// office: a hidden yard, where the dispatcher hands them out.
    pub hands_out: bool,
}

impl Place {
    /// Whether its office is open.
    pub fn open_at(&self, time: RailTime) -> bool {
        let Some([opens, closes]) = self.office else {
            return false;
        };
        let time = time.of_day();
        if opens <= closes {
            (opens..=closes).contains(&time)
        } else {
            time >= opens || time <= closes
        }
    }
}

/// The track between two neighbouring stations.
#[derive(Debug, Clone, PartialEq)]
pub struct District {
    /// The station toward lower and the one toward higher miles.
    pub ends: [PlaceNo; 2],
    /// One track, or two with trains in the current of traffic.
    pub tracks: u8,
    /// Blocks along it: with more than one, trains may follow each other into it.
    pub blocks: u32,
    /// Whether the direction toward higher miles is the superior one.
    pub superior_up: bool,
}

/// A train on its way over the territory.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Its number, or what an extra is called by.
    pub name: String,
    /// Its class; `None` for an extra.
    pub class: Option<u8>,
    /// Its stations in running order.
    pub visits: Vec<Visit>,
    /// Whether it runs today. A schedule that does not must be annulled.
    pub runs: bool,
    /// The hours between which a work extra works, if it is one.
    pub works: Option<[RailTime; 2]>,
}

/// A train at a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visit {
    /// The station.
    pub place: PlaceNo,
    /// The times the timetable shows, if it shows any and the train is a regular one.
    pub due: Option<ScheduleTime>,
    /// When the plan has it arrive.
    pub arrive: RailTime,
    /// When the plan has it leave.
    pub leave: RailTime,
    /// The district it takes to the next station; `None` at the last, or where it goes on by track
    /// that is no district of this territory.
    pub next: Option<DistrictNo>,
    /// Whether it stops here.
    pub stops: bool,
}

impl Territory {
    /// A place.
    pub fn place(&self, no: PlaceNo) -> &Place {
        &self.places[no.index()]
    }

    /// A district.
    pub fn district(&self, no: DistrictNo) -> &District {
        &self.districts[no.index()]
    }

    /// A train.
    pub fn run(&self, no: RunNo) -> &Run {
        &self.runs[no.index()]
    }

    /// The trains with their numbers.
    pub fn numbered(&self) -> impl Iterator<Item = (RunNo, &Run)> {
        self.runs
            .iter()
            .enumerate()
            .map(|(at, run)| (RunNo(at as u32), run))
    }

    /// The place of a name.
    pub fn find_place(&self, name: &str) -> Option<PlaceNo> {
        let at = self.places.iter().position(|place| place.name == name)?;
        Some(PlaceNo(at as u32))
    }

    /// The train of a name.
    pub fn find_run(&self, name: &str) -> Option<RunNo> {
        let at = self.runs.iter().position(|run| run.name == name)?;
        Some(RunNo(at as u32))
    }

    /// Whether a train goes toward higher miles when it leaves its `visit`-th station.
    pub fn goes_up(&self, run: RunNo, visit: usize) -> Option<bool> {
        let visit = &self.run(run).visits[visit];
        Some(self.district(visit.next?).ends[0] == visit.place)
    }

    /// A train's rank in the district that it takes from its `visit`-th station.
    pub fn rank(&self, run: RunNo, visit: usize) -> Option<Rank> {
        let up = self.goes_up(run, visit)?;
        let district = self.district(self.run(run).visits[visit].next?);
        Some(Rank {
            class: self.run(run).class,
            superior_direction: up == district.superior_up,
        })
    }
}

impl Run {
    /// What people call it in an order.
    pub fn title(&self) -> String {
        match self.class {
            Some(_) => format!("No. {}", self.name),
            None if self.name.starts_with("Extra") || self.name.starts_with("Work") => {
                self.name.clone()
            }
            None => format!("Extra {}", self.name),
        }
    }

    /// Which of its stations, from a certain one on, is that place.
    pub fn visit_at(&self, place: PlaceNo, from: usize) -> Option<usize> {
        (from..self.visits.len()).find(|&at| self.visits[at].place == place)
    }
}
