//! Cards for the wall: how to look at the railroad with one's own telephone, and what is at this place.

use railroad::Railroad;
use serde::Serialize;

use crate::{
    code::segment,
    form::{Form, Sheet},
    words::Wording,
};

/// Cards, four to a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WallCards {
    /// Each.
    pub cards: Vec<Card>,
}

/// A card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Card {
    /// What it stands at, large.
    pub title: String,
    /// What the code shows, a sentence.
    pub says: String,
    /// The page to which it leads.
    pub page: String,
}

impl Form for WallCards {
    const SHEET: Sheet = Sheet {
        path: "wall-cards.typ",
        text: include_str!("../../forms/wall-cards.typ"),
    };
    const TITLE: &'static str = "wall-cards-title";

    fn page(&self) -> String {
        "/".into()
    }

    fn pages(&self) -> Vec<String> {
        self.cards.iter().map(|card| card.page.clone()).collect()
    }
}

impl WallCards {
    /// Cards for the door, the call board, the dispatcher's desk and every station, or for one station.
    pub fn new(railroad: &Railroad, wording: &Wording, only: Option<&str>) -> Self {
        let card = |title: &str, says: &str, page: &str| Card {
            title: title.to_owned(),
            says: wording.at(says).to_owned(),
            page: page.to_owned(),
        };
        let mut cards = vec![];
        if only.is_none() {
            cards.push(card(wording.at("wall-join"), "wall-join-says", "/"));
            cards.push(card(
                wording.at("call-board-title"),
                "wall-board-says",
                "/crews",
            ));
            cards.push(card(wording.at("dispatcher"), "wall-desk-says", "/diagram"));
        }
        for (_, station) in railroad.way.stations() {
            let name = &station.name.value;
            if only.is_none_or(|only| only == name) {
                let page = format!("/stations/{}", segment(name));
                cards.push(card(name, "wall-station-says", &page));
            }
        }
        Self { cards }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_station_has_a_card() {
        let folder = railroad::Folder::built_in("example").unwrap();
        let railroad = railroad::load(&folder).railroad;
        let cards = WallCards::new(&railroad, &Wording::english(), None);
        assert_eq!(cards.cards.len(), railroad.way.stations.len() + 3);
        let one = WallCards::new(&railroad, &Wording::english(), Some("Port Corvane"));
        assert_eq!(one.cards.len(), 1);
        assert_eq!(one.cards[0].page, "/stations/Port%20Corvane");
    }
}
