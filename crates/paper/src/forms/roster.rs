//! The roster book: every car by kind and every engine, as their records have them.

use model::units::{Fraction, LengthStyle, Prototype, Weight, WeightStyle};
use railroad::Railroad;
use serde::Serialize;

use crate::form::{Form, Sheet};

/// A roster book.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Roster {
    /// Engines.
    pub engines: Vec<EngineRow>,
    /// Cars, a table for each kind.
    pub kinds: Vec<Kind>,
}

/// An engine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EngineRow {
    /// Number.
    pub number: String,
    /// Kind and class.
    pub kind: String,
    /// Wheels.
    pub wheels: String,
    /// Built.
    pub built: String,
    /// Decoder address.
    pub address: String,
    /// State, or where it stands.
    pub at: String,
}

/// Cars of a kind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Kind {
    /// The kind.
    pub kind: String,
    /// The cars, by marks and number.
    pub cars: Vec<CarRow>,
}

/// A car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CarRow {
    /// Marks.
    pub marks: String,
    /// Number.
    pub number: String,
    /// Mechanical designation.
    pub designation: String,
    /// Inside length and capacity.
    pub size: String,
    /// Built and rebuilt.
    pub built: String,
    /// State if it is not in service, and pool.
    pub remarks: String,
}

impl Form for Roster {
    const SHEET: Sheet = Sheet {
        path: "roster.typ",
        text: include_str!("../../forms/roster.typ"),
    };
    const TITLE: &'static str = "roster-title";

    fn page(&self) -> String {
        "/cars".into()
    }
}

impl Roster {
    /// The roster of a railroad.
    pub fn new(railroad: &Railroad) -> Self {
        let engines = railroad
            .roster
            .engines
            .iter()
            .map(|engine| EngineRow {
                number: engine.number.value.clone(),
                kind: words([
                    engine.class.clone(),
                    engine.kind.map(|kind| kind.value.word().to_owned()),
                ]),
                wheels: engine
                    .wheels
                    .as_ref()
                    .map_or_else(String::new, |wheels| wheels.value.clone()),
                built: engine
                    .built
                    .map_or_else(String::new, |built| built.value.to_string()),
                address: engine
                    .address
                    .map_or_else(String::new, |address| address.value.to_string()),
                at: engine
                    .at
                    .as_ref()
                    .map_or_else(String::new, |at| at.value.clone()),
            })
            .collect();
        let mut kinds: Vec<Kind> = vec![];
        for car in &railroad.roster.cars {
            let kind = car
                .kind
                .map_or_else(String::new, |kind| kind.value.word().to_owned());
            let row = CarRow {
                marks: car.marks.value.clone(),
                number: car.number.clone(),
                designation: car
                    .designation
                    .as_ref()
                    .map_or_else(String::new, |designation| designation.value.to_string()),
                size: words([
                    car.inside_length.map(|length| full_size(length.value)),
                    car.capacity.map(|capacity| pounds(capacity.value)),
                ]),
                built: words([
                    car.built.map(|built| built.value.to_string()),
                    car.rebuilt.map(|rebuilt| rebuilt.value.to_string()),
                ]),
                remarks: words([
                    (!car.state.on_the_railroad()).then(|| car.state.word().to_owned()),
                    car.pool.clone(),
                ]),
            };
            match kinds.iter_mut().find(|of| of.kind == kind) {
                Some(of) => of.cars.push(row),
                None => kinds.push(Kind {
                    kind,
                    cars: vec![row],
                }),
            }
        }
        kinds.sort_by(|a, b| a.kind.cmp(&b.kind));
        for kind in &mut kinds {
            kind.cars.sort_by_key(|car| {
                let number: u64 = car.number.parse().unwrap_or(u64::MAX);
                (car.marks.clone(), number, car.number.clone())
            });
        }
        Self { engines, kinds }
    }
}

fn full_size(length: Prototype) -> String {
    length
        .show(LengthStyle::FeetInches(Fraction::Whole))
        .to_string()
}

fn pounds(weight: Weight) -> String {
    weight.show(WeightStyle::Pounds { decimals: 0 }).to_string()
}

fn words<const N: usize>(parts: [Option<String>; N]) -> String {
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    parts.join(", ")
}
