//! Where equipment fits, and where it does not.

use std::sync::Arc;

use maud::{Markup, html};
use mechanical::fit::Fit;
use railroad::{
    Loaded,
    fit::{Asks, bodies, spots},
};

use super::{Lack, caution};
use crate::{
    frame::{Ask, Page, ledger},
    show,
};

/// Every place that could be too tight.
#[derive(Debug)]
pub struct Clearances {
    loaded: Arc<Loaded>,
}

impl Clearances {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
        })
    }
}

impl Page for Clearances {
    fn title(&self) -> String {
        "Where equipment fits".into()
    }

    fn document(&self) -> &'static str {
        "/clearances"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let (spots, bodies) = (spots(railroad), bodies(railroad));
        html! {
            p.lead {
                (show::count(bodies.len(), "piece of equipment", "pieces of equipment")) " against "
                (show::count(spots.len(), "place", "places")) ": turntables, wyes, curves, clear heights and widths."
            }
            (caution("Figures are no better than the records. Push a long car through by hand before a train is run through."))
            (ledger("Places", &html! {
                table {
                    thead { tr {
                        th scope="col" { "Place" } th scope="col" { "Asks" } th.number scope="col" { "Has" }
                        th.number scope="col" { "Too tight for" } th scope="col" { "Among them" }
                    } }
                    tbody {
                        @for spot in &spots {
                            @let tight: Vec<&str> = bodies.iter()
                                .filter(|body| !matches!(spot.asks, Asks::Turntable | Asks::Tail) || body.name.starts_with("engine "))
                                .filter(|body| matches!(spot.takes(body), Fit::Short(_)))
                                .map(|body| body.name.as_str())
                                .collect();
                            tr {
                                th scope="row" { (spot.place) }
                                td { (spot.asks.word()) }
                                td.number { (spot.has.map_or_else(|| "not recorded".to_owned(), |has| show::length(railroad, has))) }
                                td.number { @if tight.is_empty() { "\u{2713} none" } @else { (tight.len()) } }
                                td { (tight.iter().take(4).copied().collect::<Vec<_>>().join(", ")) @if tight.len() > 4 { " \u{2026}" } }
                            }
                        }
                    }
                }
            }))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_place_is_listed() {
        let office = example();
        let ask = ask(&office, "/clearances", &[], &[]);
        let page = whole(&ask, &Clearances::of(&ask).unwrap());
        for spot in spots(&office.now().loaded.railroad) {
            assert!(page.contains(&spot.place), "{}", spot.place);
        }
    }
}
