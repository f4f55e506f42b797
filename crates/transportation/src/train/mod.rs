//! Trains: schedules, stops, meets, and what can be wrong with them.

mod build;
mod page;
pub(crate) mod rules;

pub(crate) use build::{owned, texts};
pub use page::PAGE;

use model::{
    Span, Spanned,
    days::Days,
    time::{RailSpan, RailTime},
    units::Actual,
};

/// Which train of a [`Service`](crate::Service).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TrainId(pub u32);

impl TrainId {
    /// Its place in [`Service::trains`](crate::Service::trains).
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

model::words! {
    /// What a train is for.
    pub enum TrainKind {
        Passenger = "passenger", "carries people";
        Express = "express", "carries mail and express at passenger speed";
        Perishable = "perishable", "carries what spoils: fruit, meat, livestock";
        ThroughFreight = "through freight", "carries freight from end to end";
        Local = "local", "sets out and picks up at the stations between";
        Mixed = "mixed", "carries both freight and people";
        Transfer = "transfer", "moves cuts of cars between yards";
        Work = "work", "carries the company's own gangs and material";
        Helper = "helper", "an engine that helps others and returns";
        LightEngine = "light engine", "an engine alone";
    }
}

model::words! {
    /// What a train does at a stop.
    pub enum StopWork {
        PassengerStop = "passenger stop", "takes and leaves people";
        PickUp = "pick up", "takes cars on";
        SetOut = "set out", "leaves cars";
        Switch = "switch", "works the tracks of the station with the cars there";
        Meet = "meet", "waits for another train";
        Water = "water", "takes water";
        Coal = "coal", "takes fuel";
        Ice = "ice", "has its reefers iced";
        HelperOn = "helper on", "takes on a helper";
        HelperOff = "helper off", "lets the helper go";
        Crew = "crew change", "changes crews";
        Register = "register", "registers or takes orders";
        CutIn = "cut in", "takes passenger cars into the train";
        CutOut = "cut out", "leaves passenger cars to go on otherwise";
    }
}

/// A train. What was left out or could not be read is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Train {
    /// The table it is written in.
    pub span: Span,
    /// Number or symbol.
    pub symbol: Spanned<String>,
    /// Name, if it has one.
    pub name: Option<String>,
    /// Class: 1 is superior to 2.
    pub class: Option<Spanned<i64>>,
    /// What it is for.
    pub kind: Option<Spanned<TrainKind>>,
    /// The line it runs on, if written.
    pub line: Option<Spanned<String>>,
    /// Timetable direction.
    pub direction: Option<Spanned<String>>,
    /// Days on which it leaves.
    pub days: Spanned<Days>,
    /// Initial station.
    pub from: Option<Spanned<String>>,
    /// Terminal station.
    pub to: Option<Spanned<String>>,
    /// Track on which it is made up.
    pub from_track: Option<Spanned<String>>,
    /// Which of several trains on that track it is, counted from the end it leaves by.
    pub from_place: Option<Spanned<i64>>,
    /// Track on which it ends.
    pub to_track: Option<Spanned<String>>,
    /// When it leaves the initial station.
    pub leave: Option<Spanned<RailTime>>,
    /// When it is due at the terminal station.
    pub arrive: Option<Spanned<RailTime>>,
    /// Its engines, by number.
    pub engines: Vec<Spanned<String>>,
    /// The helper it takes.
    pub helper: Option<Helper>,
    /// Longest it may be, engines and caboose included.
    pub max_length: Option<Spanned<Actual>>,
    /// Most cars.
    pub max_cars: Option<Spanned<i64>>,
    /// Most tons behind the engine, full size.
    pub max_tons: Option<Spanned<f64>>,
    /// The blocks it carries, head end first.
    pub blocks: Vec<Spanned<String>>,
    /// Its stops between the ends, in order.
    pub stops: Vec<Stop>,
    /// Trains it is to meet or pass.
    pub meets: Vec<Meet>,
    /// The job that works it.
    pub job: Option<Spanned<String>>,
    /// Whether it carries a caboose.
    pub caboose: bool,
    /// The owner's note.
    pub note: Option<String>,
}

/// A helper engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Helper {
    /// Where it is written.
    pub span: Span,
    /// The engine, by number.
    pub engine: Option<Spanned<String>>,
    /// Where it couples on.
    pub from: Option<Spanned<String>>,
    /// Where it cuts off.
    pub to: Option<Spanned<String>>,
    /// Whether it then returns light to where it coupled on.
    pub returns: bool,
}

/// A stop between the ends of a train's way.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// Where it is written.
    pub span: Span,
    /// The station.
    pub station: Option<Spanned<String>>,
    /// When it arrives.
    pub arrive: Option<Spanned<RailTime>>,
    /// When it leaves.
    pub leave: Option<Spanned<RailTime>>,
    /// The track it uses.
    pub track: Option<Spanned<String>>,
    /// What it does there.
    pub work: Vec<Spanned<StopWork>>,
    /// How long the work takes.
    pub minutes: Option<Spanned<RailSpan>>,
}

/// A train to meet, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Meet {
    /// Where it is written.
    pub span: Span,
    /// The other train.
    pub train: Option<Spanned<String>>,
    /// The station.
    pub at: Option<Spanned<String>>,
}

impl Train {
    /// Every timed place of the train's way, in the order written: station, arrival, leaving. The
    /// ends are the first and the last.
    pub fn times(&self) -> Vec<TimedPlace<'_>> {
        let mut places = Vec::with_capacity(self.stops.len() + 2);
        places.push(TimedPlace {
            station: self.from.as_ref(),
            arrive: None,
            leave: self.leave,
        });
        places.extend(self.stops.iter().map(|stop| TimedPlace {
            station: stop.station.as_ref(),
            arrive: stop.arrive,
            leave: stop.leave,
        }));
        places.push(TimedPlace {
            station: self.to.as_ref(),
            arrive: self.arrive,
            leave: None,
        });
        places
    }

    /// The time from leaving to arriving, if both are written and it is more than nothing.
    pub fn hours(&self) -> Option<(RailTime, RailTime)> {
        let (leave, arrive) = (self.leave?.value, self.arrive?.value);
        (leave < arrive).then_some((leave, arrive))
    }

    /// Whether the two run on some day in common.
    pub fn shares_a_day_with(&self, other: &Self) -> bool {
        (0..7).any(|day| self.days.contains(day) && other.days.contains(day))
    }

    /// When it is at a station, as far as its times say: from arriving to leaving. A station that is
    /// not among its stops has no such time.
    pub fn time_at(&self, station: &str) -> Option<(RailTime, RailTime)> {
        self.times()
            .into_iter()
            .find(|place| place.station.is_some_and(|s| s.value == station))
            .and_then(|place| {
                let arrive = place.arrive.or(place.leave)?.value;
                let leave = place.leave.or(place.arrive)?.value;
                Some((arrive, leave))
            })
    }
}

/// A station of a train's way with its times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimedPlace<'a> {
    /// The station.
    pub station: Option<&'a Spanned<String>>,
    /// When the train arrives.
    pub arrive: Option<Spanned<RailTime>>,
    /// When it leaves.
    pub leave: Option<Spanned<RailTime>>,
}

/// The meets of one train with another.
pub(crate) fn meets_of<'a>(train: &'a Train, other: &Train) -> impl Iterator<Item = &'a Meet> {
    let symbol = other.symbol.value.clone();
    train
        .meets
        .iter()
        .filter(move |meet| meet.train.as_ref().is_some_and(|t| t.value == symbol))
}
