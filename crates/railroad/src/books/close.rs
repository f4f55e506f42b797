//! The books written back to the folder: where each car stands, and which waybills are settled.

use mechanical::CarId;
use model::date::{Date, DateStyle};
use traffic::books::{Books, Whereabouts};

use crate::{Railroad, edit::Edit};

/// A move of a session, for the waybills' page.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// The car.
    pub car: CarId,
    /// From where, as the page has it.
    pub from: String,
    /// To where.
    pub to: String,
    /// What it carries; nothing if empty.
    pub commodity: Option<String>,
    /// The train, if one carried it.
    pub train: Option<String>,
    /// Whether it has come to where it goes.
    pub delivered: bool,
}

/// The edits that write the books to the folder: one for each file that changes. In the car record only the cells
/// of cars that stand elsewhere now are touched; each move has its row in the waybills' page, a new one
/// unless the session's bill has written it already.
pub fn edits(
    railroad: &Railroad,
    books: &Books,
    moves: &[Settled],
    day: Option<Date>,
) -> Vec<Edit> {
    let mut cars = vec![];
    for (row, (id, page)) in railroad.roster.car_ids().enumerate() {
        let written = page.at.as_ref().map_or("", |at| at.value.as_str());
        let now = match &books.car(id).at {
            Whereabouts::Track { track, .. } => railroad.way.track_name(*track),
            Whereabouts::Off { .. } => String::new(),
            // In a train it is nowhere that the page could say; aside it is where it was.
            Whereabouts::Train { .. } | Whereabouts::Aside => continue,
        };
        if now != written {
            cars.push(Edit::SetCell {
                file: CARS.into(),
                row,
                column: "at".into(),
                value: now,
            });
        }
    }
    let date = day.map_or_else(String::new, |day| day.show(DateStyle::Iso).to_string());
    let mut bills = vec![];
    for one in moves {
        let name = &railroad.roster.car(one.car).name.value;
        let row = railroad.traffic.waybills.iter().rposition(|waybill| {
            waybill.delivered.is_none()
                && waybill.car.as_ref().is_some_and(|car| car.value == *name)
                && waybill.date.map(|date| date.value) == day
                && waybill.train.as_ref().map(|train| train.value.as_str()) == one.train.as_deref()
        });
        match row {
            Some(row) if one.delivered => bills.push(Edit::SetCell {
                file: WAYBILLS.into(),
                row,
                column: "delivered".into(),
                value: date.clone(),
            }),
            Some(_) => {}
            None => {
                let mut values = vec![
                    ("date", date.clone()),
                    ("car", name.clone()),
                    ("from", one.from.clone()),
                    ("to", one.to.clone()),
                ];
                if let Some(train) = &one.train {
                    values.push(("train", train.clone()));
                }
                match &one.commodity {
                    Some(commodity) => values.push(("commodity", commodity.clone())),
                    None => values.push(("state", "empty".into())),
                }
                if one.delivered {
                    values.push(("delivered", date.clone()));
                }
                bills.push(Edit::AddRow {
                    file: WAYBILLS.into(),
                    values: values
                        .into_iter()
                        .map(|(key, value)| (key.to_owned(), value))
                        .collect(),
                });
            }
        }
    }
    [(CARS, cars), (WAYBILLS, bills)]
        .into_iter()
        .filter(|(_, edits)| !edits.is_empty())
        .map(|(file, edits)| Edit::Together {
            file: file.into(),
            edits,
        })
        .collect()
}

const CARS: &str = "cars.csv";
const WAYBILLS: &str = "waybills.csv";
