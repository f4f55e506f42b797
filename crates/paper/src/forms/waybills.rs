//! Waybills, to be cut apart: one for each car that moves, eight to a sheet.

use serde::Serialize;
use traffic::{Bill, CarLoad};

use crate::{
    form::{Form, Sheet},
    session::Session,
    words::Wording,
};

/// Waybills in the order of their numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Waybills {
    /// Each.
    pub bills: Vec<Waybill>,
    /// Whether each is a slip to be folded and used again, with room for three more moves.
    pub folded: bool,
}

/// One waybill.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Waybill {
    /// Its number.
    pub no: u32,
    /// Reporting marks.
    pub marks: String,
    /// Car number.
    pub number: String,
    /// What kind of car.
    pub kind: String,
    /// Whether it is loaded.
    pub loaded: bool,
    /// What it carries, or is to carry.
    pub lading: String,
    /// Who ships or receives it.
    pub shipper: String,
    /// From where.
    pub from: String,
    /// To where.
    pub to: String,
    /// Its trains, in order.
    pub legs: Vec<Leg>,
    /// What crews must mind.
    pub restrictions: Vec<String>,
}

/// A train it rides.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Leg {
    /// The train.
    pub train: String,
    /// From.
    pub from: String,
    /// To.
    pub to: String,
    /// In how many sessions, in words; empty for this one.
    pub when: String,
}

impl Form for Waybills {
    const SHEET: Sheet = Sheet {
        path: "waybills.typ",
        text: include_str!("../../forms/waybills.typ"),
    };
    const TITLE: &'static str = "waybills-title";

    fn page(&self) -> String {
        "/waybills".into()
    }
}

impl Waybills {
    /// The waybills of a session, or those of cars that ride in these trains.
    pub fn new(
        session: &Session<'_>,
        wording: &Wording,
        folded: bool,
        only: Option<&[String]>,
    ) -> Self {
        let mut bills: Vec<Waybill> = session
            .bills
            .iter()
            .filter(|bill| {
                only.is_none_or(|only| bill.legs.iter().any(|leg| only.contains(&leg.train)))
            })
            .map(|bill| waybill(session, wording, bill))
            .collect();
        bills.sort_by_key(|bill| bill.no);
        Self { bills, folded }
    }
}

fn waybill(session: &Session<'_>, wording: &Wording, bill: &Bill) -> Waybill {
    let car = session.car(bill.car);
    Waybill {
        no: bill.no.0,
        marks: car.marks.value.clone(),
        number: car.number.clone(),
        kind: car
            .kind
            .map_or_else(String::new, |kind| kind.value.word().to_owned()),
        loaded: bill.state == CarLoad::Loaded,
        lading: session.lading(bill, wording.at("empty")),
        shipper: session.shipper(bill).unwrap_or_default().to_owned(),
        from: session.stand(&bill.from),
        to: session.stand(&bill.to),
        legs: bill
            .legs
            .iter()
            .map(|leg| Leg {
                train: leg.train.clone(),
                from: session.station(leg.from).to_owned(),
                to: session.station(leg.to).to_owned(),
                when: match leg.day {
                    0 => String::new(),
                    day => format!("{} {day}", wording.at("sessions-on")),
                },
            })
            .collect(),
        restrictions: bill
            .restrictions
            .iter()
            .map(|restriction| restriction.words(|time| session.time(time)))
            .collect(),
    }
}
