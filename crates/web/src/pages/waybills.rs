//! Waybills on file.

use std::sync::Arc;

use maud::{Markup, html};
use model::date::DateStyle;
use railroad::Loaded;
use traffic::{Place, Waybill};

use super::{Lack, Leaf, shippers::place_words, train_link};
use crate::{
    frame::{Ask, Page, ledger},
    show,
};

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
        "Waybills".into()
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
            form.find method="get" action="/waybills" {
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
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn the_latest_waybill_comes_first() {
        let office = example();
        let ask = ask(&office, "/waybills", &[], &[]);
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
