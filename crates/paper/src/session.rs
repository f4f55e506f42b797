//! What the forms of a session are made from, and how its things are named on paper.

use engineering::ids::{StationId, TrackId};
use mechanical::{Car, CarId};
use model::time::RailTime;
use railroad::Railroad;
use traffic::{Bill, CarLoad, Stand, WaybillNo};
use transportation::{
    DayPlan, MadeUp, Train, TrainId, TrainPlan,
    order::{Clearance, Order, Territory},
};

/// Orders, and the territory in whose terms they speak.
#[derive(Debug, Clone, Copy)]
pub struct Dispatch<'a> {
    /// Offices and trains as the orders name them.
    pub territory: &'a Territory,
    /// The orders of the day.
    pub orders: &'a [Order],
    /// The clearances of the day.
    pub clearances: &'a [Clearance],
}

/// The people called for a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Called {
    /// The job.
    pub job: String,
    /// Who.
    pub people: Vec<Person>,
}

/// A person called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// Their name.
    pub name: String,
    /// What they do.
    pub role: String,
}

impl Called {
    /// Everyone with what they do: `Ada Merrow, engineer`.
    pub fn words(&self) -> Vec<String> {
        self.people
            .iter()
            .map(|person| format!("{}, {}", person.name, person.role))
            .collect()
    }
}

/// A session: the railroad, and whatever of its day has been planned. What has not is left blank, to
/// be written by hand.
#[derive(Debug, Clone, Copy)]
pub struct Session<'a> {
    /// The railroad.
    pub railroad: &'a Railroad,
    /// The plan of the day.
    pub plan: Option<&'a DayPlan>,
    /// Waybills.
    pub bills: &'a [Bill],
    /// What each train carries.
    pub made_up: &'a [MadeUp],
    /// Orders.
    pub dispatch: Option<Dispatch<'a>>,
    /// Who is called.
    pub called: &'a [Called],
}

impl<'a> Session<'a> {
    /// A railroad of whose day nothing is planned yet.
    pub const fn blank(railroad: &'a Railroad) -> Self {
        Self {
            railroad,
            plan: None,
            bills: &[],
            made_up: &[],
            dispatch: None,
            called: &[],
        }
    }

    /// A car by its number in the record.
    pub fn car(&self, car: CarId) -> &'a Car {
        &self.railroad.roster.cars[car.index()]
    }

    /// A waybill by its number.
    pub fn bill(&self, no: WaybillNo) -> Option<&'a Bill> {
        self.bills.iter().find(|bill| bill.no == no)
    }

    /// A station's name.
    pub fn station(&self, station: StationId) -> &'a str {
        &self.railroad.way.station(station).name.value
    }

    /// A track's name.
    pub fn track(&self, station: StationId, track: TrackId) -> &'a str {
        &self.railroad.way.station(station).track(track).name.value
    }

    /// A spot's name; its number if it has none.
    pub fn spot(&self, station: StationId, track: TrackId, spot: usize) -> String {
        let track = self.railroad.way.station(station).track(track);
        track
            .spots
            .get(spot)
            .map_or_else(|| (spot + 1).to_string(), |spot| spot.value.clone())
    }

    /// Track and spot in a few words: `mill, door 2`.
    pub fn place(&self, station: StationId, track: Option<TrackId>, spot: Option<usize>) -> String {
        match (track, spot) {
            (Some(track), Some(spot)) => self.spot(station, track, spot),
            (Some(track), None) => self.track(station, track).to_owned(),
            (None, _) => String::new(),
        }
    }

    /// A train as written.
    pub fn train(&self, train: TrainId) -> &'a Train {
        self.railroad.service.train(train)
    }

    /// A train's part of the plan.
    pub fn planned(&self, train: TrainId) -> Option<&'a TrainPlan> {
        self.plan?
            .trains
            .iter()
            .find(|plan| plan.train == Some(train))
    }

    /// A time as the railroad's clock shows it.
    pub fn time(&self, time: RailTime) -> String {
        let style = self.railroad.identity.clock_face.style();
        // Nobody works to the second.
        let minute = RailTime::from_seconds(time.seconds().div_euclid(60) * 60);
        minute.show(style).to_string()
    }

    /// Where a move begins or ends, in words.
    pub fn stand(&self, stand: &Stand) -> String {
        railroad::stand(self.railroad, stand)
    }

    /// Who ships or receives what a waybill moves.
    pub fn shipper(&self, bill: &Bill) -> Option<&'a str> {
        let flow = self.railroad.traffic.flow(bill.flow?);
        Some(&flow.shipper_name.as_ref()?.value)
    }

    /// What a car carries by its waybill: the commodity, or that it is empty and what for.
    pub fn lading(&self, bill: &Bill, empty: &str) -> String {
        match (bill.state, &bill.commodity) {
            (CarLoad::Loaded, Some(what)) => what.clone(),
            (CarLoad::Loaded, None) => String::new(),
            (CarLoad::Empty, Some(what)) => format!("{empty} ({what})"),
            (CarLoad::Empty, None) => empty.to_owned(),
        }
    }
}
