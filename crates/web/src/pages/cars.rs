//! The car records: a list to search, and the record of each car.

use std::sync::Arc;

use maud::{Markup, html};
use mechanical::{
    Car, CarKind,
    car::CarState,
    era::{Standing, judge_car},
    fit::{Body, Fit},
};
use railroad::{Loaded, Railroad, fit, shop};

use super::{
    Lack, Leaf,
    books::{self, Booked},
    station_link,
};
use crate::{
    forms::place,
    frame::{Ask, Page, ledger},
    show,
};

/// The list, as far as it is asked for.
#[derive(Debug)]
pub struct Cars {
    loaded: Arc<Loaded>,
    /// Places in the roster.
    found: Vec<usize>,
    leaf: Leaf,
    find: String,
    kind: String,
    station: String,
}

impl Cars {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let find = ask.query("find").unwrap_or_default().to_owned();
        let kind = ask.query("kind").unwrap_or_default().to_owned();
        let station = ask.query("at").unwrap_or_default().to_owned();
        let words: Vec<String> = find.split_whitespace().map(str::to_lowercase).collect();
        let found: Vec<usize> = railroad
            .roster
            .cars
            .iter()
            .enumerate()
            .filter(|(_, car)| kind.is_empty() || car.kind.is_some_and(|k| k.value.word() == kind))
            .filter(|(_, car)| {
                station.is_empty()
                    || car
                        .at
                        .as_ref()
                        .and_then(|at| at.value.split_once(" / "))
                        .is_some_and(|(at, _)| at == station)
            })
            .filter(|(_, car)| {
                let text = said(car);
                words.iter().all(|word| text.contains(word.as_str()))
            })
            .map(|(at, _)| at)
            .collect();
        Ok(Self {
            leaf: Leaf::of(ask, found.len(), &["find", "kind", "at"]),
            loaded: ask.now.loaded.clone(),
            found,
            find,
            kind,
            station,
        })
    }
}

/// Everything of a car that one may search by.
fn said(car: &Car) -> String {
    let mut text = car.name.value.clone();
    for part in [
        car.designation.as_ref().map(|d| d.value.to_string()),
        car.kind.map(|kind| kind.value.word().to_owned()),
        car.at.as_ref().map(|at| at.value.clone()),
        car.pool.clone(),
        car.note.clone(),
        car.built.as_ref().map(|built| built.value.to_string()),
        Some(car.state.word().to_owned()),
    ]
    .into_iter()
    .flatten()
    {
        text.push(' ');
        text.push_str(&part);
    }
    text.to_lowercase()
}

impl Page for Cars {
    fn title(&self) -> String {
        "Car records".into()
    }

    fn document(&self) -> &'static str {
        "/cars"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let cars = &railroad.roster.cars;
        html! {
            form.find method="get" action="/cars" {
                label for="find" { "Find" }
                input #find type="search" name="find" value=(self.find) placeholder="marks, number, kind, place, note";
                label for="kind" { "Kind" }
                select #kind name="kind" {
                    option value="" { "any" }
                    @for kind in CarKind::ALL {
                        @if cars.iter().any(|car| car.kind.is_some_and(|k| k.value == *kind)) {
                            option value=(kind.word()) selected[kind.word() == self.kind] { (kind.word()) }
                        }
                    }
                }
                label for="at" { "At" }
                select #at name="at" {
                    option value="" { "anywhere" }
                    @for station in &railroad.way.stations {
                        option selected[station.name.value == self.station] { (station.name.value) }
                    }
                }
                button { "Find" }
            }
            p.lead { (show::count(self.found.len(), "car", "cars")) " of " (cars.len()) "." }
            @if !self.found.is_empty() {
                (ledger("Cars", &html! {
                    table {
                        thead { tr {
                            th scope="col" { "Car" }
                            th scope="col" { "Design." }
                            th scope="col" { "Kind" }
                            th.number scope="col" { "Length" }
                            th.number scope="col" { "Capacity" }
                            th.number scope="col" { "Built" }
                            th scope="col" { "Stands at" }
                            th scope="col" { "State" }
                        } }
                        tbody {
                            @for at in &self.found[self.leaf.range()] {
                                @let car = &cars[*at];
                                tr {
                                    th scope="row" { a href=(show::url(&["cars", &car.name.value])) { (car.name.value) } }
                                    td { (car.designation.as_ref().map_or(String::new(), |d| d.value.to_string())) }
                                    td { (car.kind.map_or("", |kind| kind.value.word())) }
                                    td.number { (car.length.map_or(String::new(), |l| show::length(railroad, l.value))) }
                                    td.number { (car.capacity.map_or(String::new(), |c| show::tons(c.value))) }
                                    td.number { (car.built.as_ref().map_or(String::new(), |built| built.value.to_string())) }
                                    td { (stands(car.at.as_ref().map(|at| at.value.as_str()))) }
                                    td { @if car.state != CarState::InService { (car.state.word()) } }
                                }
                            }
                        }
                    }
                }))
                (self.leaf.links())
            }
            p.actions {
                a.button href="/edit?file=cars.csv" { "Change the records" }
                " "
                a.button href="/paste?file=cars.csv" { "Paste from a spreadsheet" }
            }
        }
    }
}

/// `Station / track` with the station a link.
pub fn stands(at: Option<&str>) -> Markup {
    html! {
        @match at.and_then(|at| at.split_once(" / ")) {
            Some((station, track)) => { (station_link(station)) ", " (track) }
            None => { (at.unwrap_or_default()) }
        }
    }
}

/// One car.
#[derive(Debug)]
pub struct CarRecord {
    loaded: Arc<Loaded>,
    at: usize,
    booked: Booked,
}

impl CarRecord {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let roster = &ask.railroad().roster;
        let name = ask.param("name");
        let names = || roster.cars.iter().map(|car| car.name.value.as_str());
        let id = roster
            .find_car(name)
            .ok_or_else(|| Lack::named("car", name, "cars", names()))?;
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            at: id.index(),
            booked: Booked::of(ask),
        })
    }

    fn car(&self) -> &Car {
        &self.loaded.railroad.roster.cars[self.at]
    }
}

impl Page for CarRecord {
    fn title(&self) -> String {
        self.car().name.value.clone()
    }

    fn document(&self) -> &'static str {
        "/cars"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let car = self.car();
        let text = |value: Option<String>| value.unwrap_or_default();
        let facts: Vec<(&str, String)> = vec![
            (
                "Kind",
                text(car.kind.map(|kind| kind.value.word().to_owned())),
            ),
            (
                "Designation",
                text(car.designation.as_ref().map(|d| d.value.to_string())),
            ),
            (
                "Length over pulling faces",
                text(car.length.map(|l| show::length(railroad, l.value))),
            ),
            (
                "Inside length",
                text(car.inside_length.map(|l| feet(l.value))),
            ),
            ("Extreme height", text(car.height.map(|l| feet(l.value)))),
            ("Capacity", text(car.capacity.map(|w| pounds(w.value)))),
            (
                "Light weight",
                text(car.light_weight.map(|w| pounds(w.value))),
            ),
            (
                "Built",
                text(car.built.as_ref().map(|d| d.value.to_string())),
            ),
            (
                "Rebuilt",
                text(car.rebuilt.as_ref().map(|d| d.value.to_string())),
            ),
            (
                "Painted",
                text(car.painted.as_ref().map(|d| d.value.to_string())),
            ),
            (
                "Retired",
                text(car.retired.as_ref().map(|d| d.value.to_string())),
            ),
            ("Trucks", text(car.truck.as_ref().map(|t| t.value.clone()))),
            ("Brake", text(car.brake.as_ref().map(|t| t.value.clone()))),
            (
                "Underframe",
                text(car.underframe.map(|u| u.value.word().to_owned())),
            ),
            (
                "Running board",
                text(car.running_board.map(|r| r.value.word().to_owned())),
            ),
            (
                "Home road",
                text(car.home_road.as_ref().map(|t| t.value.clone())),
            ),
            ("Pool", text(car.pool.clone())),
            (
                "Weight of the model",
                text(car.weight.map(|w| show::model_weight(railroad, w.value))),
            ),
            ("Couplers", text(car.couplers.clone())),
            ("Wheels", text(car.wheels.clone())),
            ("State", car.state.word().to_owned()),
        ];
        html! {
            p.lead {
                @match &car.at {
                    Some(at) => { "Stands at " (stands(Some(&at.value))) " before the session." }
                    None => "The record does not say where it stands.",
                }
            }
            (sheet(&facts))
            (self.era(railroad))
            (fits(railroad, &Body::car(car, railroad.identity.scale.scale), &car.name.value))
            (self.session(railroad))
            (self.history(railroad))
            @if !car.log.is_empty() {
                h2 { "Repairs" }
                ul { @for entry in &car.log { li { @if let Some(date) = &entry.value.date { (date) ": " } (entry.value.what) } } }
            }
            @if let Some(note) = &car.note { p.note { (note) } }
            p.actions { a.button href=(place::link(&self.loaded, car.name.span)) { "Change the record" } }
        }
    }
}

/// Facts in two columns, those that nothing is known of left out.
pub fn sheet(facts: &[(&str, String)]) -> Markup {
    html! {
        dl.facts.record {
            @for (name, value) in facts.iter().filter(|(_, value)| !value.is_empty()) {
                dt { (name) } dd { (value) }
            }
        }
    }
}

/// Full-size feet and inches.
pub fn feet(length: model::units::Prototype) -> String {
    let inches = length.inches().round();
    let (feet, inches) = ((inches / 12.0).floor(), inches.rem_euclid(12.0));
    if inches == 0.0 {
        format!("{feet:.0} ft")
    } else {
        format!("{feet:.0} ft {inches:.0} in")
    }
}

/// Full-size pounds.
pub fn pounds(weight: model::units::Weight) -> String {
    let pounds = format!("{:.0}", weight.pounds());
    let mut text = String::new();
    for (at, digit) in pounds.chars().enumerate() {
        if at > 0 && (pounds.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text + " lb"
}

/// Where a piece of equipment does not fit.
pub fn fits(railroad: &Railroad, body: &Body, name: &str) -> Markup {
    let spots = fit::spots(railroad);
    let tight: Vec<_> = spots
        .iter()
        .filter_map(|spot| match spot.takes(body) {
            Fit::Short(by) => Some((spot, by)),
            _ => None,
        })
        .collect();
    html! {
        h2 { "Where it fits" }
        @if tight.is_empty() {
            p { "\u{2713} Nowhere on the railroad is too tight for " (name) ", as far as the records say." }
        } @else {
            ul {
                @for (spot, by) in tight.iter().take(20) {
                    li {
                        (spot.place) ": " (spot.asks.word()) " is " (show::length(railroad, *by))
                        @if spot.asks == fit::Asks::Curve && body.radius_by_rule { " under three times its length" }
                        @else { " too little" }
                    }
                }
                @if tight.len() > 20 { li { "\u{2026} and at " (tight.len() - 20) " more places" } }
            }
        }
    }
}

/// Verdict and findings of the date.
pub fn verdict(judged: &mechanical::era::Judged) -> Markup {
    html! {
        h2 { "Right for the date" }
        @match judged.standing() {
            Standing::Right => { p { "\u{2713} Nothing is against it." } }
            _ => {
                ul {
                    @for finding in &judged.findings {
                        li {
                            @if finding.standing == Standing::Wrong { "\u{2716} " } @else { "? " }
                            "It " (finding.sentence) "; " (finding.mend) "."
                        }
                    }
                }
            }
        }
    }
}

impl CarRecord {
    fn era(&self, railroad: &Railroad) -> Markup {
        let context = shop(railroad);
        let car = self.car();
        html! {
            @if let Some(allowed) = context.allowed() {
                (verdict(&judge_car(car, car.is_foreign(&context), &allowed)))
            }
        }
    }

    /// What it does in the session that comes next.
    fn session(&self, railroad: &Railroad) -> Markup {
        let Some((id, _)) = railroad.roster.car_ids().nth(self.at) else {
            return html! {};
        };
        let Some(session) = self.booked.session() else {
            return self.booked.word();
        };
        let moves: Vec<_> = session
            .movements
            .iter()
            .filter(|movement| movement.car == id)
            .collect();
        let left: Vec<_> = session.left.iter().filter(|(car, ..)| *car == id).collect();
        html! {
            h2 { "In the next session" }
            @match session.bill(id) {
                Some((bill, words)) => {
                    p { "Waybill " (bill.no.0) ": " (words.contents) ", to " (words.to) ". "
                        @if !bill.route.is_empty() { "By " (bill.route) ". " }
                        "Why: " (words.why) "."
                        @if !words.mind.is_empty() { " Mind: " (words.mind.join("; ")) "." } }
                }
                None => { p { "It is not billed." } }
            }
            @if !moves.is_empty() { ol { @for movement in moves { li { (books::happening(railroad, movement)) } } } }
            @for (_, station, why) in left {
                p { "It stays at " (station_link(&railroad.way.station(*station).name.value)) ": " (why) "." }
            }
        }
    }

    /// Where it was and what it carried, by its waybills.
    fn history(&self, railroad: &Railroad) -> Markup {
        let name = &self.car().name.value;
        let bills: Vec<_> = railroad
            .traffic
            .waybills
            .iter()
            .filter(|bill| bill.car.as_ref().is_some_and(|car| car.value == *name))
            .collect();
        html! {
            h2 { "Its waybills" }
            @if bills.is_empty() { p { "None are on file." } }
            @else { (ledger("Waybills of the car", &super::waybills::table(&self.loaded, &bills))) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn the_list_finds_by_any_word_and_by_kind() {
        let office = example();
        let all = office.now().loaded.railroad.roster.cars.len();
        let found = |query: &[(&str, &str)]| {
            let ask = ask(&office, "/cars", &[], query);
            let page = Cars::of(&ask).unwrap();
            assert!(whole(&ask, &page).len() < 150_000);
            page.found.len()
        };
        assert_eq!(found(&[]), all);
        let reefers = found(&[("kind", "reefer")]);
        assert!(reefers > 0 && reefers < all);
        assert_eq!(found(&[("find", "cvbe 8805")]), 1);
        assert_eq!(found(&[("find", "8805 boxcar"), ("kind", "reefer")]), 0);
        assert!(found(&[("at", "Kellander")]) > 0);
        // A leaf past the end is the last one.
        assert_eq!(found(&[("leaf", "99")]), all);
    }

    #[test]
    fn a_record_says_what_the_car_does_in_the_session() {
        let (office, car) = crate::pages::testing::session();
        let ask = ask(&office, "/cars/x", &[("name", &car)], &[]);
        let page = whole(&ask, &CarRecord::of(&ask).unwrap());
        assert!(
            page.contains("Waybill 7: felt, to the haberdasher."),
            "{page}"
        );
        assert!(page.contains("10:00 AM: taken by train") && page.contains("11:00 AM: set out at"));
    }

    #[test]
    fn each_record_says_where_the_car_is_and_what_it_is() {
        let office = example();
        let ask = ask(&office, "/cars/x", &[("name", "CVBE 8805")], &[]);
        let page = whole(&ask, &CarRecord::of(&ask).unwrap());
        assert!(
            page.contains("/stations/Ellenmoor") && page.contains("35,700 lb"),
            "{page}"
        );
        assert!(page.contains("36 ft<"), "{page}");
        assert!(page.contains("/edit?file=cars.csv&amp;at=0#v:0"));
    }
}
