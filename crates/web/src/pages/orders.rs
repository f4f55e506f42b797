//! The day's train orders and clearances.

use maud::{Markup, html};

use super::{Lack, planned::Planned};
use crate::{
    frame::{Ask, Page},
    services::{OrdersAnswer, Progress, Sorry},
    show,
};

/// The orders of the plan.
#[derive(Debug)]
pub struct Orders {
    planned: Planned,
    orders: Option<Result<OrdersAnswer, Sorry>>,
}

impl Orders {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let planned = Planned::of(ask);
        let orders = match (&planned, &ask.office.services.orders) {
            (Planned::Ready(answer, _), Some(orders)) => {
                Some(orders(ask.railroad(), &answer.plan, &Progress::default()))
            }
            _ => None,
        };
        Ok(Self { planned, orders })
    }
}

impl Page for Orders {
    fn title(&self) -> String {
        "Train orders".into()
    }

    fn document(&self) -> &'static str {
        "/orders"
    }

    fn body(&self) -> Markup {
        html! {
            @match &self.orders {
                None => {
                    (self.planned.word())
                    @if matches!(self.planned, Planned::Nobody | Planned::Ready(..)) { p { "Nobody writes orders in this office." } }
                }
                Some(Err(sorry)) => { p { (sorry.what) "." @if let Some(help) = &sorry.help { " " (help) } } }
                Some(Ok(answer)) => {
                    @for words in &answer.worth { p.lead { (words) } }
                    @if !answer.faults.is_empty() {
                        h2 { "Not to be handed out as they stand" }
                        ul.attention { @for words in &answer.faults { li { (super::attention::sign(model::Severity::Error)) " " (words) } } }
                    }
                    h2 { (show::count(answer.orders.len(), "order", "orders")) }
                    @for order in &answer.orders {
                        article.slip {
                            h3 { "No. " (order.number) @if !order.form.is_empty() { ", Form " (order.form) } }
                            p { (order.sentence) }
                            details { summary { "The sheet of order " (order.number) } pre tabindex="0" { (order.sheet) } }
                        }
                    }
                    h2 { (show::count(answer.clearances.len(), "clearance", "clearances")) }
                    @if !answer.clearances.is_empty() {
                        details { summary { "All clearances" }
                            @for sheet in &answer.clearances { pre tabindex="0" { (sheet) } }
                        }
                    }
                }
            }
        }
    }
}
