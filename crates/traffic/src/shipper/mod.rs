//! Shippers and receivers, and what each ships and receives.

mod build;
mod page;
pub(crate) mod rules;
mod season;

pub(crate) use build::place;
pub use page::PAGE;
pub use season::Season;

use mechanical::CarKind;
use model::{Span, Spanned, days::Days, time::RailSpan};

/// Which shipper of a [`Traffic`](crate::Traffic).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ShipperId(pub(crate) u32);

impl ShipperId {
    /// Its place in [`Traffic::shippers`](crate::Traffic::shippers).
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// Which flow of a [`Traffic`](crate::Traffic).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FlowId(pub u32);

impl FlowId {
    /// Its place in [`Traffic::flows`](crate::Traffic::flows).
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// A shipper or receiver.
#[derive(Debug, Clone, PartialEq)]
pub struct Shipper {
    /// Its name, where it is first written.
    pub name: Spanned<String>,
    /// What it ships and receives.
    pub flows: Vec<FlowId>,
}

model::words! {
    /// Which way a flow goes.
    pub enum Does {
        Ships = "ships", "cars come empty and leave loaded";
        Receives = "receives", "cars come loaded and leave empty";
    }
}

model::words! {
    /// In what manner a commodity moves.
    pub enum Moves {
        Carload = "carload", "cars are ordered as there is something to ship";
        LessThanCarload = "less-than-carload", "house cars go on each of the days, full or not";
        Company = "company", "the railroad's own coal, ties or ice: no revenue, served after paying freight of the same priority";
    }
}

/// Where a load goes to or comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    /// As written, when it says nothing of the way: a station, or a place off the line.
    Named(Spanned<String>),
    /// A place off the line, and the station by which it is reached: staging or an interchange.
    Via {
        /// The place.
        name: Spanned<String>,
        /// The station.
        via: Spanned<String>,
    },
}

impl Place {
    /// The place's own name.
    pub fn name(&self) -> &Spanned<String> {
        match self {
            Self::Named(name) | Self::Via { name, .. } => name,
        }
    }
}

/// What a shipper ships or receives: one row of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    /// The row.
    pub span: Span,
    /// Whose it is.
    pub shipper: Option<ShipperId>,
    /// The shipper's name on this row.
    pub shipper_name: Option<Spanned<String>>,
    /// Where the shipper is.
    pub station: Option<Spanned<String>>,
    /// On which track of the station.
    pub track: Option<Spanned<String>>,
    /// At which spots of the track; any of them if none is written.
    pub spots: Vec<Spanned<String>>,
    /// Ships or receives.
    pub does: Option<Spanned<Does>>,
    /// What.
    pub commodity: Option<Spanned<String>>,
    /// In which kind of car.
    pub car_kind: Option<Spanned<CarKind>>,
    /// How many cars a week, in season.
    pub cars_per_week: Option<Spanned<f64>>,
    /// Where it goes to or comes from.
    pub place: Option<Place>,
    /// How long a car stands to be loaded or unloaded, by the railroad's clock.
    pub dwell: Option<Spanned<RailSpan>>,
    /// The months in which it moves.
    pub season: Season,
    /// Which flow is served first when cars or room are short: 1 before 2.
    pub priority: i64,
    /// The pool whose cars it uses.
    pub pool: Option<String>,
    /// The days of the week on which it moves.
    pub days: Spanned<Days>,
    /// In what manner it moves.
    pub moves: Moves,
    /// How many cars go together.
    pub cars_at_once: Spanned<u32>,
    /// What the car must not have carried last.
    pub not_after: Vec<Spanned<String>>,
    /// Whether it needs a clean car.
    pub clean: bool,
    /// Whether it leaves the car dirty.
    pub dirties: bool,
    /// Whether only cars of the pool will do, which go back to where they are loaded.
    pub captive: Option<Span>,
    /// How long a car is away beyond the line.
    pub away: RailSpan,
    /// The owner's note.
    pub note: Option<String>,
}
