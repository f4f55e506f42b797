//! The fewest train orders that turn the timetable into the day's plan.
//!
//! [`needs`] finds where the timetable alone would not let the plan happen; [`remedies`] says which
//! orders would help and where they can still be delivered; [`cover`] picks the fewest; this module
//! numbers, times and addresses them. Nothing is handed out unless the judge of
//! [`transportation::order::judge`], which shares no code with this, finds no fault.

pub mod authority;
mod cover;
mod needs;
mod remedies;
pub mod territory;

use model::time::{RailSpan, RailTime, TimeStyle};
use transportation::{
    order::{Body, Clearance, Delivery, Order, PlaceNo, RunNo, Territory, To, clearances, judge},
    rights::Book,
};

pub use needs::Need;
use remedies::{Group, Remedy};

/// How orders are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// The rules.
    pub book: Book,
    /// How many meets one order may carry. Roads kept orders short; four is common practice, no source.
    pub most_in_one: usize,
    /// How long before the first addressee may be gone an order is made complete.
    pub ahead: RailSpan,
    /// Steps of the search before it is content with what it has.
    pub steps: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            book: Book::default(),
            most_in_one: 4,
            ahead: RailSpan::from_minutes(10),
            steps: 400_000,
        }
    }
}

/// The day's orders.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// The orders, by number.
    pub orders: Vec<Order>,
    /// The clearances, by time.
    pub clearances: Vec<Clearance>,
    /// How often the timetable alone did not do.
    pub needs: usize,
    /// No choice among the kinds of orders considered needs fewer: proven. Holding orders, which see to
    /// delivery only, are not counted in it.
    pub at_least: usize,
    /// What no order can be delivered in time for, in sentences.
    pub undelivered: Vec<String>,
    /// What the judge found, empty if the orders may be handed out.
    pub findings: Vec<judge::Finding>,
}

impl Paper {
    /// Whether no choice of orders is smaller.
    pub fn is_fewest(&self) -> bool {
        self.orders.len() <= self.at_least
    }
}

/// Writes the orders of a day.
pub fn orders(territory: &Territory, options: &Options, style: TimeStyle) -> Paper {
    let book = &options.book;
    let needs = needs::find(territory, book);
    let (remedies, undelivered) = remedies::find(territory, &needs, book, style);
    let wanted: Vec<usize> = (0..needs.len())
        .filter(|&need| remedies.iter().any(|remedy| remedy.helps.contains(&need)))
        .collect();
    let sets: Vec<cover::Set> = remedies
        .iter()
        .map(|remedy| cover::Set {
            items: remedy.helps.clone(),
            most: match remedy.group {
                Group::Meet(_) | Group::Ahead(_) => options.most_in_one.max(1),
                Group::Whole(_) => usize::MAX,
            },
        })
        .collect();
    let picked = cover::fewest(&wanted, &sets, options.steps);
    let mut drafts = Vec::new();
    for (remedy, helped) in picked.chosen {
        let remedy = &remedies[remedy];
        for part in helped.chunks(sets_most(options, remedy)) {
            drafts.extend(remedies::write(territory, &needs, remedy, part, book));
        }
    }
    let created = create(territory);
    let fixed = created.len();
    drafts.extend(created);
    let orders = number(territory, drafts, options);
    let findings = judge::judge(territory, &orders, book, style);
    Paper {
        clearances: clearances(territory, &orders),
        needs: needs.len(),
        at_least: picked.at_least + fixed,
        undelivered,
        findings,
        orders,
    }
}

fn sets_most(options: &Options, remedy: &Remedy) -> usize {
    match remedy.group {
        Group::Meet(_) | Group::Ahead(_) => options.most_in_one.max(1),
        Group::Whole(_) => usize::MAX,
    }
}

/// The orders that extras run by.
fn create(territory: &Territory) -> Vec<remedies::Draft> {
    territory
        .numbered()
        .filter(|(_, run)| run.runs && run.class.is_none())
        .filter_map(|(no, run)| {
            let (first, last) = (run.visits.first()?, run.visits.last()?);
            let body = match run.works {
                Some(hours) => Body::WorkExtra {
                    train: no,
                    hours,
                    limits: [first.place, last.place],
                },
                None => Body::Extra {
                    train: no,
                    from: first.place,
                    to: last.place,
                },
            };
            Some(remedies::Draft {
                body,
                copies: vec![Delivery {
                    to: To::Train(no),
                    at: first.place,
                    last: first.place,
                    signed: false,
                }],
            })
        })
        .collect()
}

/// When a train may be gone from a place at the earliest.
fn gone(territory: &Territory, train: RunNo, place: PlaceNo) -> Option<RailTime> {
    let run = territory.run(train);
    let at = run.visit_at(place, 0)?;
    let planned = run.visits[at].leave;
    Some(needs::shown(run, at).map_or(planned, |shown| shown.min(planned)))
}

/// Times the orders, the earliest first, and numbers them.
fn number(territory: &Territory, drafts: Vec<remedies::Draft>, options: &Options) -> Vec<Order> {
    let mut orders: Vec<Order> = drafts
        .into_iter()
        .map(|draft| {
            let trains = draft.copies.iter().filter_map(|copy| match copy.to {
                To::Train(train) => gone(territory, train, copy.at),
                To::Operator => match draft.body {
                    Body::Hold { train, at } => gone(territory, train, at),
                    _ => None,
                },
            });
            let first = trains.min().unwrap_or(RailTime::MIDNIGHT);
            Order {
                number: 0,
                complete: first - options.ahead,
                body: draft.body,
                copies: draft.copies,
            }
        })
        .collect();
    orders.sort_by_key(|order| (order.complete, order.copies.first().map(|copy| copy.to)));
    for (at, order) in orders.iter_mut().enumerate() {
        order.number = at as u32 + 1;
    }
    orders
}

#[cfg(test)]
mod obedient;
#[cfg(test)]
mod tests;
