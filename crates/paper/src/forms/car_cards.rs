//! Car cards: a card for every car, with its photograph and a pocket line for the waybill.

use serde::Serialize;

use crate::{
    code::segment,
    form::{Form, Sheet},
    session::Session,
};

/// Cards, six to a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CarCards {
    /// By marks and number.
    pub cars: Vec<Card>,
}

/// A card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Card {
    /// Reporting marks.
    pub marks: String,
    /// Number.
    pub number: String,
    /// Kind of car.
    pub kind: String,
    /// Mechanical designation.
    pub designation: String,
    /// Where it goes when empty: its home road, or its pool.
    pub home: String,
    /// The owner's note.
    pub note: String,
    /// The photograph's file on the press; empty if there is none.
    pub photo: String,
    /// Its page in the office.
    pub page: String,
}

impl Form for CarCards {
    const SHEET: Sheet = Sheet {
        path: "car-cards.typ",
        text: include_str!("../../forms/car-cards.typ"),
    };
    const TITLE: &'static str = "car-cards-title";

    fn pages(&self) -> Vec<String> {
        self.cars.iter().map(|car| car.page.clone()).collect()
    }
}

impl CarCards {
    /// The cards of all cars, or of those of these names. `photos` are the names of photographs that
    /// are laid ready on the press.
    pub fn new(session: &Session<'_>, only: Option<&[String]>, photos: &[String]) -> Self {
        let mut cars: Vec<&mechanical::Car> = session
            .railroad
            .roster
            .cars
            .iter()
            .filter(|car| only.is_none_or(|only| only.contains(&car.name.value)))
            .collect();
        cars.sort_by_key(|car| {
            let number: u64 = car.number.parse().unwrap_or(u64::MAX);
            (&car.marks.value, number, &car.number)
        });
        let cars = cars
            .into_iter()
            .map(|car| Card {
                marks: car.marks.value.clone(),
                number: car.number.clone(),
                kind: car
                    .kind
                    .map_or_else(String::new, |kind| kind.value.word().to_owned()),
                designation: car
                    .designation
                    .as_ref()
                    .map_or_else(String::new, |designation| designation.value.to_string()),
                home: car.pool.clone().unwrap_or_else(|| {
                    car.home_road
                        .as_ref()
                        .map_or_else(|| car.marks.value.clone(), |road| road.value.clone())
                }),
                note: car.note.clone().unwrap_or_default(),
                photo: car
                    .photo
                    .clone()
                    .filter(|photo| photos.contains(photo))
                    .unwrap_or_default(),
                page: format!("/cars/{}", segment(&car.name.value)),
            })
            .collect();
        Self { cars }
    }
}
