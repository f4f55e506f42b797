//! The tonnage rating: what each engine class may take over each line, by direction.

use mechanical::rating::Limit;
use model::units::WeightStyle;
use railroad::{Railroad, rating};
use serde::Serialize;

use crate::{
    form::{Form, Sheet},
    words::Wording,
};

/// A tonnage rating.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tonnage {
    /// By what it is reckoned.
    pub by: String,
    /// A table for each line and direction.
    pub lines: Vec<Line>,
}

/// A line in one direction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// The direction.
    pub direction: String,
    /// Classes by name.
    pub classes: Vec<Class>,
}

/// An engine class.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Class {
    /// Its name.
    pub class: String,
    /// Its engines.
    pub engines: String,
    /// Cars it may take; why not, if it is not rated.
    pub cars: String,
    /// Their weight by the reckoning that governs.
    pub weight: String,
    /// The grade that rules, and where.
    pub grade: String,
}

impl Form for Tonnage {
    const SHEET: Sheet = Sheet {
        path: "tonnage.typ",
        text: include_str!("../../forms/tonnage.typ"),
    };
    const TITLE: &'static str = "tonnage-title";

    fn page(&self) -> String {
        "/tonnage".into()
    }
}

impl Tonnage {
    /// The rating of a railroad.
    pub fn new(railroad: &Railroad, wording: &Wording) -> Self {
        let sheet = rating::sheet(railroad);
        let lines = sheet
            .lines
            .iter()
            .map(|line| Line {
                name: line.name.clone(),
                direction: line.direction.clone(),
                classes: line
                    .classes
                    .iter()
                    .map(|class| row(railroad, &sheet, line, class, wording))
                    .collect(),
            })
            .collect();
        Self {
            by: sheet.governs.word().to_owned(),
            lines,
        }
    }
}

fn row(
    railroad: &Railroad,
    sheet: &rating::Sheet,
    line: &rating::LineRatings,
    class: &rating::ClassRatings,
    wording: &Wording,
) -> Class {
    let engines: Vec<&str> = class
        .engines
        .iter()
        .map(|&id| railroad.roster.engines[id.index()].number.value.as_str())
        .collect();
    let mut out = Class {
        class: class.class.clone(),
        engines: engines.join(", "),
        cars: wording.at("not-rated").to_owned(),
        weight: String::new(),
        grade: String::new(),
    };
    let Ok(rated) = class.governing(sheet) else {
        return out;
    };
    let rating = rated.rating(sheet.rated_for);
    out.cars = rating.cars.to_string();
    let style = match sheet.governs {
        mechanical::tonnage::Governs::FullSize => WeightStyle::ShortTons { decimals: 0 },
        mechanical::tonnage::Governs::Model => match railroad.identity.units {
            railroad::identity::UnitsStyle::Metric => WeightStyle::Grams { decimals: 0 },
            _ => WeightStyle::Ounces { decimals: 0 },
        },
    };
    out.weight = rated.weight.show(style).to_string();
    if let Limit::Grade(hardest) = rating.limit {
        let place = line
            .profile
            .last_place(hardest.front)
            .map_or("", |(place, _)| place.name.as_str());
        out.grade = format!("{:.2} %, {place}", 100.0 * hardest.mean);
    }
    out
}
