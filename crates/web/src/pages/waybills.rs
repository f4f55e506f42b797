//! Waybills: those of the session that comes next, and those on file.

use std::sync::Arc;

use maud::{Markup, html};
use model::date::DateStyle;
use railroad::Loaded;
use traffic::{Place, Waybill};

use super::{
    Lack, Leaf,
    books::{Booked, place},
    shippers::place_words,
    train_link,
};
use crate::{
    frame::{Ask, Page, ledger},
    show,
};

/// The two lists of waybills.
fn choices(filed: bool) -> Markup {
    html! {
        nav.choices aria-label="Which waybills" {
            a href="/waybills" aria-current=[(!filed).then_some("page")] { "Of the next session" }
            a href="/waybills/filed" aria-current=[filed.then_some("page")] { "On file" }
        }
    }
}

/// The waybills of the session that comes next, by car.
#[derive(Debug)]
pub struct Todays {
    loaded: Arc<Loaded>,
    booked: Booked,
    found: Vec<usize>,
    find: String,
    leaf: Leaf,
}

impl Todays {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let booked = Booked::of(ask);
        let find = ask.query("find").unwrap_or_default().to_owned();
        let words: Vec<String> = find.split_whitespace().map(str::to_lowercase).collect();
        let found: Vec<usize> = match booked.session() {
            Some(session) => (0..session.bills.len())
                .filter(|at| {
                    let (bill, says) = (&session.bills[*at], &session.words[*at]);
                    let car = &railroad.roster.car(bill.car).name.value;
                    let text = format!(
                        "{car} {} {} {} {} {}",
                        says.contents, says.from, says.to, says.why, bill.route
                    )
                    .to_lowercase();
                    words.iter().all(|word| text.contains(word.as_str()))
                })
                .collect(),
            None => Vec::new(),
        };
        Ok(Self {
            leaf: Leaf::of(ask, found.len(), &["find"]),
            loaded: ask.now.loaded.clone(),
            booked,
            found,
            find,
        })
    }
}

impl Page for Todays {
    fn title(&self) -> String {
        "Waybills of the next session".into()
    }

    fn document(&self) -> &'static str {
        "/waybills"
    }

    fn wide(&self) -> bool {
        true
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        html! {
            (choices(false))
            (self.booked.word())
            @if let Some(session) = self.booked.session() {
                form.find method="get" action="/waybills" {
                    label for="find" { "Find" }
                    input #find type="search" name="find" value=(self.find) placeholder="car, load, place, train";
                    button { "Find" }
                }
                p.lead { (show::count(self.found.len(), "waybill", "waybills")) " of " (session.bills.len()) "; "
                    (show::count(session.left.len(), "car stays", "cars stay")) " where it is or on the way." }
                @if !self.found.is_empty() {
                    (ledger("Waybills of the next session", &html! {
                        table {
                            thead { tr {
                                th.number scope="col" { "No." } th scope="col" { "Car" } th scope="col" { "Load" } th scope="col" { "Stands at" }
                                th scope="col" { "To" } th scope="col" { "By" } th scope="col" { "Why" } th scope="col" { "Mind" }
                            } }
                            tbody {
                                @for at in &self.found[self.leaf.range()] {
                                    @let (bill, says) = (&session.bills[*at], &session.words[*at]);
                                    @let car = &railroad.roster.car(bill.car).name.value;
                                    tr {
                                        td.number { (bill.no.0) }
                                        th scope="row" { a href=(show::url(&["cars", car])) { (car) } }
                                        td { (says.contents) }
                                        td { (place(railroad, &session.opening.car(bill.car).at)) }
                                        td.long { (says.to) }
                                        td.long { (bill.route) }
                                        td.long { (says.why) }
                                        td { (says.mind.join("; ")) }
                                    }
                                }
                            }
                        }
                    }))
                }
                (self.leaf.links())
                @if !session.left.is_empty() && self.find.is_empty() && self.leaf.at == 0 {
                    details {
                        summary { "Why cars stay" }
                        ul {
                            @for (car, station, why) in session.left.iter().take(200) {
                                @let car = &railroad.roster.car(*car).name.value;
                                li { a href=(show::url(&["cars", car])) { (car) } " at "
                                    (super::station_link(&railroad.way.station(*station).name.value)) ": " (why) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The list, the latest first.
#[derive(Debug)]
pub struct Waybills {
    loaded: Arc<Loaded>,
    found: Vec<usize>,
    find: String,
    leaf: Leaf,
}

impl Waybills {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let find = ask.query("find").unwrap_or_default().to_owned();
        let words: Vec<String> = find.split_whitespace().map(str::to_lowercase).collect();
        let bills = &ask.railroad().traffic.waybills;
        let mut found: Vec<usize> = (0..bills.len())
            .filter(|at| {
                let text = said(&bills[*at]);
                words.iter().all(|word| text.contains(word.as_str()))
            })
            .collect();
        found.sort_by_key(|at| std::cmp::Reverse((bills[*at].date.map(|date| date.value), *at)));
        Ok(Self {
            leaf: Leaf::of(ask, found.len(), &["find"]),
            loaded: ask.now.loaded.clone(),
            found,
            find,
        })
    }
}

fn said(bill: &Waybill) -> String {
    let parts = [
        bill.car.as_ref(),
        bill.from.as_ref().map(Place::name),
        bill.to.as_ref().map(Place::name),
        bill.commodity.as_ref(),
    ];
    let words: Vec<&str> = parts
        .into_iter()
        .flatten()
        .map(|part| part.value.as_str())
        .collect();
    words.join(" ").to_lowercase()
}

/// Waybills as a table.
pub fn table(loaded: &Loaded, bills: &[&Waybill]) -> Markup {
    html! {
        table {
            thead { tr {
                th scope="col" { "Date" }
                th scope="col" { "Car" }
                th scope="col" { "Load" }
                th scope="col" { "From" }
                th scope="col" { "To" }
                th scope="col" { "Train" }
            } }
            tbody {
                @for bill in bills {
                    tr {
                        td { (bill.date.map_or(String::new(), |date| date.value.show(DateStyle::MonthName).to_string())) }
                        th scope="row" {
                            @if let Some(car) = &bill.car { a href=(show::url(&["cars", &car.value])) { (car.value) } }
                        }
                        td {
                            @match bill.state.map(|state| state.value) {
                                Some(traffic::CarLoad::Empty) => { "empty" @if let Some(what) = &bill.commodity { " for " (what.value) } }
                                _ => (bill.commodity.as_ref().map_or("", |what| what.value.as_str())),
                            }
                        }
                        td { (place_words(loaded, bill.from.as_ref())) }
                        td { (place_words(loaded, bill.to.as_ref())) }
                        td { @if let Some(train) = &bill.train { (train_link(&train.value)) } }
                    }
                }
            }
        }
    }
}

impl Page for Waybills {
    fn title(&self) -> String {
        "Waybills on file".into()
    }

    fn document(&self) -> &'static str {
        "/waybills"
    }

    fn body(&self) -> Markup {
        let all = &self.loaded.railroad.traffic.waybills;
        let bills: Vec<&Waybill> = self.found[self.leaf.range()]
            .iter()
            .map(|at| &all[*at])
            .collect();
        html! {
            (choices(true))
            form.find method="get" action="/waybills/filed" {
                label for="find" { "Find" }
                input #find type="search" name="find" value=(self.find) placeholder="car, place, commodity";
                button { "Find" }
            }
            p.lead { (show::count(self.found.len(), "waybill", "waybills")) " of " (all.len()) " on file, the latest first." }
            @if !bills.is_empty() { (ledger("Waybills", &table(&self.loaded, &bills))) }
            (self.leaf.links())
            p.actions { a.button href="/edit?file=waybills.csv" { "Change them" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, session, whole};

    #[test]
    fn the_next_sessions_waybills_are_found_by_what_they_say() {
        let (office, car) = session();
        let found = |find: &str| {
            let ask = ask(&office, "/waybills", &[], &[("find", find)]);
            let page = Todays::of(&ask).unwrap();
            (page.found.len(), whole(&ask, &page))
        };
        let (count, text) = found("felt haberdasher");
        assert_eq!(count, 1);
        assert!(text.contains(&car) && text.contains("rush"));
        assert_eq!(found("moonbeams").0, 0);
    }

    #[test]
    fn the_latest_waybill_comes_first() {
        let office = example();
        let ask = ask(&office, "/waybills/filed", &[], &[]);
        let page = Waybills::of(&ask).unwrap();
        let bills = &page.loaded.railroad.traffic.waybills;
        let dates: Vec<_> = page
            .found
            .iter()
            .filter_map(|at| bills[*at].date.map(|d| d.value))
            .collect();
        assert!(dates.is_sorted_by(|a, b| a >= b));
        assert!(whole(&ask, &page).contains("Oct "));
    }
}
