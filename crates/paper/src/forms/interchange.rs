//! The interchange report: which cars came from and went to other roads, by the place of exchange; and
//! what is to be exchanged by hand between sessions.

use engineering::{ids::StationId, station::StationKind};
use serde::Serialize;
use traffic::{Bill, CarLoad};

use crate::{
    form::{Form, Sheet},
    session::Session,
    words::Wording,
};

/// The report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Interchange {
    /// By place of exchange.
    pub places: Vec<Place>,
}

/// A place of exchange.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Place {
    /// The station by which cars come and go.
    pub station: String,
    /// Whether it is staging: trains stand there for the rest of the world.
    pub staging: bool,
    /// Cars that go off there.
    pub delivered: Vec<Row>,
    /// Cars that came on there.
    pub received: Vec<Row>,
}

/// A car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Marks and number.
    pub car: String,
    /// Kind.
    pub kind: String,
    /// What it carries.
    pub lading: String,
    /// The place beyond.
    pub beyond: String,
    /// The train that brings or takes it.
    pub train: String,
}

impl Form for Interchange {
    const SHEET: Sheet = Sheet {
        path: "interchange.typ",
        text: include_str!("../../forms/interchange.typ"),
    };
    const TITLE: &'static str = "interchange-title";

    fn page(&self) -> String {
        "/waybills".into()
    }
}

impl Interchange {
    /// The report of a session.
    pub fn new(session: &Session<'_>, wording: &Wording) -> Self {
        let mut places: Vec<(StationId, Place)> = vec![];
        for bill in session.bills {
            if bill.to.beyond.is_some() {
                let train = bill.legs.last().map_or("", |leg| leg.train.as_str());
                let row = row(session, wording, bill, bill.to.beyond.as_deref(), train);
                place(session, &mut places, bill.to.station)
                    .delivered
                    .push(row);
            }
            if bill.from.beyond.is_some() {
                let train = bill.legs.first().map_or("", |leg| leg.train.as_str());
                let row = row(session, wording, bill, bill.from.beyond.as_deref(), train);
                place(session, &mut places, bill.from.station)
                    .received
                    .push(row);
            }
        }
        places.sort_by_key(|(station, _)| *station);
        Self {
            places: places.into_iter().map(|(_, place)| place).collect(),
        }
    }
}

fn place<'a>(
    session: &Session<'_>,
    places: &'a mut Vec<(StationId, Place)>,
    station: StationId,
) -> &'a mut Place {
    let at = match places.iter().position(|(at, _)| *at == station) {
        Some(at) => at,
        None => {
            let page = session.railroad.way.station(station);
            places.push((
                station,
                Place {
                    station: page.name.value.clone(),
                    staging: page.kind == StationKind::Staging,
                    delivered: vec![],
                    received: vec![],
                },
            ));
            places.len() - 1
        }
    };
    &mut places[at].1
}

fn row(
    session: &Session<'_>,
    wording: &Wording,
    bill: &Bill,
    beyond: Option<&str>,
    train: &str,
) -> Row {
    let car = session.car(bill.car);
    Row {
        car: car.name.value.clone(),
        kind: car
            .kind
            .map_or_else(String::new, |kind| kind.value.word().to_owned()),
        lading: match bill.state {
            CarLoad::Loaded => bill.commodity.clone().unwrap_or_default(),
            CarLoad::Empty => wording.at("empty").to_owned(),
        },
        beyond: beyond.unwrap_or_default().to_owned(),
        train: train.to_owned(),
    }
}
