//! Power districts: tracks fed together.

mod page;
pub mod rules;

use model::{Span, Spanned, text::Record, units::Actual};

pub use page::PAGE;

use crate::{
    ids::{StationId, TrackRef},
    way::Lookup,
};

/// A power district.
#[derive(Debug, Clone, PartialEq)]
pub struct PowerDistrict {
    /// Its name.
    pub name: Spanned<String>,
    /// Stations it feeds, but for tracks that other districts name; those that exist.
    pub stations: Vec<Spanned<StationId>>,
    /// Single tracks it feeds; those that exist.
    pub tracks: Vec<Spanned<TrackRef>>,
    /// Current it may draw, in amperes.
    pub amps: Option<Spanned<f64>>,
    /// Bus wire, AWG.
    pub wire: Option<Spanned<i64>>,
    /// Length of the bus.
    pub bus_length: Option<Spanned<Actual>>,
    /// Whether it is a reversing section.
    pub reversing: bool,
    /// The owner's note.
    pub note: Option<String>,
    /// Where it stands.
    pub span: Span,
}

/// The districts of a page.
pub(crate) fn build(
    page: &Record,
    stations: &Lookup<StationId>,
    tracks: &Lookup<TrackRef>,
) -> Vec<PowerDistrict> {
    fn found<T: Copy>(names: Vec<Spanned<&str>>, lookup: &Lookup<T>) -> Vec<Spanned<T>> {
        names
            .into_iter()
            .filter_map(|name| {
                lookup.find(name.value).map(|value| Spanned {
                    value,
                    span: name.span,
                })
            })
            .collect()
    }
    page.named("districts")
        .iter()
        .map(|(name, record)| PowerDistrict {
            name: name.clone(),
            stations: found(record.texts("stations"), stations),
            tracks: found(record.texts("tracks"), tracks),
            amps: record.number("amps"),
            wire: record.whole("wire"),
            bus_length: record.length("bus_length"),
            reversing: record.flag("reversing").is_some_and(|flag| flag.value),
            note: record.text("note").map(|text| text.value.to_owned()),
            span: record.span,
        })
        .collect()
}
