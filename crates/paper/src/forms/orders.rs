//! Train orders and clearances: a slip for every copy that is handed out.

use model::time::TimeStyle;
use serde::Serialize;
use transportation::order::{Order, Territory, To};

use crate::{
    form::{Form, Sheet},
    session::Session,
    words::Wording,
};

/// Orders and clearances, those of one train together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Orders {
    /// Orders in the order of their numbers.
    pub orders: Vec<Slip>,
    /// Clearances by time.
    pub clearances: Vec<ClearanceSlip>,
}

/// An order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slip {
    /// Its number.
    pub number: u32,
    /// `31` if it is signed for, `19` if not.
    pub form: String,
    /// The letter of its standard form.
    pub letter: String,
    /// To whom and where.
    pub to: Vec<String>,
    /// What it says.
    pub says: String,
    /// When it is complete.
    pub complete: String,
}

/// A clearance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClearanceSlip {
    /// The train.
    pub train: String,
    /// The office.
    pub at: String,
    /// When it is due there.
    pub time: String,
    /// The numbers of its orders.
    pub orders: Vec<u32>,
}

impl Form for Orders {
    const SHEET: Sheet = Sheet {
        path: "orders.typ",
        text: include_str!("../../forms/orders.typ"),
    };
    const TITLE: &'static str = "orders-title";

    fn page(&self) -> String {
        "/orders".into()
    }
}

impl Orders {
    /// The orders of a session, or of one train of it by its symbol.
    pub fn new(session: &Session<'_>, wording: &Wording, only: Option<&[String]>) -> Self {
        let Some(dispatch) = session.dispatch else {
            return Self {
                orders: vec![],
                clearances: vec![],
            };
        };
        let style = session.railroad.identity.clock_face.style();
        let wanted = |name: &str| only.is_none_or(|only| only.iter().any(|symbol| symbol == name));
        let orders = dispatch
            .orders
            .iter()
            .filter(|order| {
                order.copies.iter().any(|copy| match copy.to {
                    To::Train(run) => wanted(&dispatch.territory.run(run).name),
                    To::Operator => only.is_none(),
                })
            })
            .map(|order| slip(dispatch.territory, wording, order, style))
            .collect();
        let clearances = dispatch
            .clearances
            .iter()
            .filter(|clearance| wanted(&dispatch.territory.run(clearance.train).name))
            .map(|clearance| ClearanceSlip {
                train: dispatch.territory.run(clearance.train).title(),
                at: dispatch.territory.place(clearance.at).name.clone(),
                time: session.time(clearance.time),
                orders: clearance.orders.clone(),
            })
            .collect();
        Self { orders, clearances }
    }
}

fn slip(territory: &Territory, wording: &Wording, order: &Order, style: TimeStyle) -> Slip {
    let to = order
        .copies
        .iter()
        .map(|copy| {
            let who = match copy.to {
                To::Train(run) => {
                    format!("{}, {}", wording.at("crew-of"), territory.run(run).title())
                }
                To::Operator => wording.at("operator").to_owned(),
            };
            format!("{who}, {}", territory.place(copy.at).name)
        })
        .collect();
    let signed = order.copies.iter().any(|copy| copy.signed);
    Slip {
        number: order.number,
        form: if signed { "31" } else { "19" }.to_owned(),
        letter: order.body.form().to_string(),
        to,
        says: order.body.sentence(territory, style),
        complete: order.complete.show(style).to_string(),
    }
}
