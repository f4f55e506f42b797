//! Engines: the engine record, its page, and what can be wrong with it.

mod build;
mod page;
pub(crate) mod rules;
mod wheels;

pub use page::PAGE;
pub use wheels::{Cylinders, Wheels};

use model::{
    Span, Spanned,
    date::{Date, PartialDate},
    units::{Actual, Prototype, Weight},
};

use crate::{car::CarState, log::LogEntry};

/// Which engine of a [`Roster`](crate::Roster).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EngineId(pub(crate) u32);

impl EngineId {
    /// Its place in [`Roster::engines`](crate::Roster::engines).
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

model::words! {
    /// What drives an engine.
    pub enum EngineKind {
        Steam = "steam", "a steam locomotive";
        Diesel = "diesel", "a diesel or diesel-electric locomotive";
        Electric = "electric", "an electric locomotive or motor car";
        GasElectric = "gas-electric", "a gas-electric or gas-mechanical motor car";
    }
}

/// An engine, as its row of the engine record says. What was left out or could not be read is
/// `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Engine {
    /// The row.
    pub span: Span,
    /// Road number: its name.
    pub number: Spanned<String>,
    /// What drives it.
    pub kind: Option<Spanned<EngineKind>>,
    /// The road's own class.
    pub class: Option<String>,
    /// Wheel arrangement, as written.
    pub wheels: Option<Spanned<String>>,
    /// Diameter of the driving wheels, full size.
    pub drivers: Option<Spanned<Prototype>>,
    /// Cylinders, as written.
    pub cylinders: Option<Spanned<String>>,
    /// Boiler pressure, pounds per square inch.
    pub pressure: Option<Spanned<f64>>,
    /// Weight without tender, full size.
    pub engine_weight: Option<Spanned<Weight>>,
    /// Weight of the tender, full size.
    pub tender_weight: Option<Spanned<Weight>>,
    /// Weight on drivers, full size.
    pub weight_on_drivers: Option<Spanned<Weight>>,
    /// Rated tractive effort as written, full size (a force given as a weight).
    pub tractive_effort: Option<Spanned<Weight>>,
    /// Rated horsepower, full size.
    pub horsepower: Option<f64>,
    /// Over the pulling faces with tender, on the model.
    pub length: Option<Spanned<Actual>>,
    /// Extreme height, full size.
    pub height: Option<Spanned<Prototype>>,
    /// Extreme width, full size.
    pub width: Option<Spanned<Prototype>>,
    /// Sharpest curve the model runs on.
    pub minimum_radius: Option<Spanned<Actual>>,
    /// Measured pull of the model (a force given as a weight).
    pub drawbar_pull: Option<Spanned<Weight>>,
    /// Weight of the model with tender.
    pub weight: Option<Spanned<Weight>>,
    /// Decoder address.
    pub address: Option<Spanned<i64>>,
    /// When built.
    pub built: Option<Spanned<PartialDate>>,
    /// When it left service.
    pub retired: Option<Spanned<PartialDate>>,
    /// Whether it can be used.
    pub state: CarState,
    /// Where it stands before the first session, `Station / track`.
    pub at: Option<Spanned<String>>,
    /// What it may run with.
    pub consist: Option<String>,
    /// Log of its repairs.
    pub log: Vec<Spanned<LogEntry>>,
    /// Its photograph.
    pub photo: Option<String>,
    /// The owner's note.
    pub note: Option<String>,
}

impl Engine {
    /// Whether the engine exists on a day. What the record does not say counts for the engine.
    pub fn exists_on(&self, day: Date) -> bool {
        self.built
            .as_ref()
            .is_none_or(|built| built.value.first() <= day)
            && self
                .retired
                .as_ref()
                .is_none_or(|retired| retired.value.last() >= day)
    }

    /// The wheel arrangement, if it is written and can be read.
    pub fn wheel_arrangement(&self) -> Option<Wheels> {
        self.wheels
            .as_ref()
            .and_then(|wheels| Wheels::parse(&wheels.value))
    }

    /// Bore and stroke, if they are written and can be read.
    pub fn cylinder_sizes(&self) -> Option<Cylinders> {
        self.cylinders
            .as_ref()
            .and_then(|cylinders| Cylinders::parse(&cylinders.value))
    }

    /// Tractive effort in pounds that cylinders, pressure and drivers give: 0.85 P d² s / D for each
    /// pair of cylinders, the usual handbook formula. Engines with limited cut-off give less.
    pub fn computed_tractive_effort_lb(&self) -> Option<f64> {
        let cylinders = self.cylinder_sizes()?;
        let pressure = self.pressure?.value;
        let drivers = self.drivers?.value.inches();
        (drivers > 0.0).then(|| {
            0.85 * pressure * cylinders.bore_in.powi(2) * cylinders.stroke_in / drivers
                * (f64::from(cylinders.count) / 2.0)
        })
    }
}
