//! Waybills: which car carries what from where to where.

mod build;
mod page;
pub(crate) mod rules;

pub use page::PAGE;

use model::{Span, Spanned, date::Date};

use crate::shipper::Place;

model::words! {
    /// Whether a car moves loaded.
    pub enum CarLoad {
        Loaded = "loaded", "it carries the commodity";
        Empty = "empty", "it goes to be loaded, or home";
    }
}

/// A waybill: one row of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Waybill {
    /// The row.
    pub span: Span,
    /// The day it was written.
    pub date: Option<Spanned<Date>>,
    /// The car's name in the spelling of the car record.
    pub car: Option<Spanned<String>>,
    /// From where: a station, a shipper, or a place off the line.
    pub from: Option<Place>,
    /// To where.
    pub to: Option<Place>,
    /// What it carries.
    pub commodity: Option<Spanned<String>>,
    /// The train that carries it.
    pub train: Option<Spanned<String>>,
    /// Loaded or empty.
    pub state: Option<Spanned<CarLoad>>,
    /// The day on which the car came to where it goes.
    pub delivered: Option<Spanned<Date>>,
}
