//! Shippers: what each ships and receives.

use std::sync::Arc;

use maud::{Markup, html};
use model::text::Noun;
use railroad::Loaded;
use traffic::{Flow, Place, Season};

use super::{Lack, Leaf, station_link};
use crate::{
    forms::place::Links,
    frame::{Ask, Page, ledger},
    show,
};

/// The list.
#[derive(Debug)]
pub struct Shippers {
    loaded: Arc<Loaded>,
    found: Vec<usize>,
    find: String,
    leaf: Leaf,
}

impl Shippers {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let find = ask.query("find").unwrap_or_default().to_owned();
        let words: Vec<String> = find.split_whitespace().map(str::to_lowercase).collect();
        let found: Vec<usize> = ask
            .railroad()
            .traffic
            .flows
            .iter()
            .enumerate()
            .filter(|(_, flow)| {
                let text = said(flow);
                words.iter().all(|word| text.contains(word.as_str()))
            })
            .map(|(at, _)| at)
            .collect();
        Ok(Self {
            leaf: Leaf::of(ask, found.len(), &["find"]),
            loaded: ask.now.loaded.clone(),
            found,
            find,
        })
    }
}

fn said(flow: &Flow) -> String {
    let mut text = String::new();
    let parts = [
        flow.shipper_name.as_ref(),
        flow.station.as_ref(),
        flow.track.as_ref(),
        flow.commodity.as_ref(),
        flow.place.as_ref().map(Place::name),
    ];
    for part in parts.into_iter().flatten() {
        text.push_str(&part.value);
        text.push(' ');
    }
    if let Some(kind) = flow.car_kind {
        text.push_str(kind.value.word());
    }
    text.to_lowercase()
}

/// Where goods come from or go to.
pub fn place_words(loaded: &Loaded, place: Option<&Place>) -> Markup {
    html! {
        @match place {
            None => "",
            Some(Place::Named(name)) => {
                @if loaded.railroad.way.find_station(&name.value).is_some() { (station_link(&name.value)) }
                @else { (name.value) }
            }
            Some(Place::Via { name, via }) => { (name.value) " via " (station_link(&via.value)) }
        }
    }
}

/// Flows as a table; the station's own page leaves its name out.
pub fn table(loaded: &Loaded, flows: &[&Flow], station: bool) -> Markup {
    let links = Links::new(loaded);
    html! {
        table {
            thead { tr {
                th scope="col" { "Shipper" }
                @if station { th scope="col" { "Station" } }
                th scope="col" { "Spots" }
                th scope="col" { "Does" }
                th scope="col" { "Commodity" }
                th scope="col" { "In" }
                th.number scope="col" { "Cars a week" }
                th scope="col" { "To or from" }
                th scope="col" { "Season" }
            } }
            tbody {
                @for flow in flows {
                    tr {
                        th scope="row" {
                            a href=(links.to(flow.shipper_name.as_ref().map_or(flow.span, |name| name.span))) {
                                (flow.shipper_name.as_ref().map_or("?", |name| name.value.as_str()))
                            }
                        }
                        @if station { td { @if let Some(station) = &flow.station { (station_link(&station.value)) } } }
                        td {
                            (flow.track.as_ref().map_or("", |track| track.value.as_str()))
                            @if !flow.spots.is_empty() {
                                ": " (flow.spots.iter().map(|spot| spot.value.as_str()).collect::<Vec<_>>().join(", "))
                            }
                        }
                        td { (flow.does.map_or("", |does| does.value.word())) }
                        td { (flow.commodity.as_ref().map_or("", |what| what.value.as_str())) }
                        td { (flow.car_kind.map_or("", |kind| kind.value.word())) }
                        td.number { (flow.cars_per_week.map_or(String::new(), |rate| rate.value.to_string())) }
                        td { (place_words(loaded, flow.place.as_ref())) }
                        td { @if flow.season != Season::ALL_YEAR { (season(flow.season)) } }
                    }
                }
            }
        }
    }
}

/// Runs of months: `Apr–Nov`.
fn season(season: Season) -> String {
    const MONTHS: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    let within = |month: usize| season.contains(month as u8 % 12 + 1);
    let mut runs = Vec::new();
    for month in 0..12 {
        // A run begins where the month before is not in it.
        if within(month) && !within(month + 11) {
            let length = (1..12).take_while(|more| within(month + more)).count();
            runs.push(if length == 0 {
                MONTHS[month].to_owned()
            } else {
                format!("{}\u{2013}{}", MONTHS[month], MONTHS[(month + length) % 12])
            });
        }
    }
    runs.join(", ")
}

impl Page for Shippers {
    fn title(&self) -> String {
        "Shippers".into()
    }

    fn document(&self) -> &'static str {
        "/shippers"
    }

    fn body(&self) -> Markup {
        let traffic = &self.loaded.railroad.traffic;
        let flows: Vec<&Flow> = self.found[self.leaf.range()]
            .iter()
            .map(|at| &traffic.flows[*at])
            .collect();
        let weekly: f64 = self
            .found
            .iter()
            .filter_map(|at| traffic.flows[*at].cars_per_week)
            .map(|rate| rate.value)
            .sum();
        html! {
            form.find method="get" action="/shippers" {
                label for="find" { "Find" }
                input #find type="search" name="find" value=(self.find) placeholder={ (Noun::Shipper.word()) ", station, commodity" };
                button { "Find" }
            }
            p.lead {
                (show::count(traffic.shippers.len(), "shipper", "shippers")) "; "
                (show::count(self.found.len(), "row", "rows")) " here, " (format!("{weekly:.0}")) " cars a week in season."
            }
            @if !flows.is_empty() { (ledger("Shippers", &table(&self.loaded, &flows, true))) }
            (self.leaf.links())
            p.actions {
                a.button href="/edit?file=shippers.csv" { "Change them" }
                " " a.button href="/paste?file=shippers.csv" { "Paste from a spreadsheet" }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn shippers_are_found_by_commodity_and_station() {
        let office = example();
        let found = |find: &str| {
            let ask = ask(&office, "/shippers", &[], &[("find", find)]);
            let page = Shippers::of(&ask).unwrap();
            assert!(whole(&ask, &page).contains("Cars a week") || page.found.is_empty());
            page.found.len()
        };
        assert!(found("lumber") > 0);
        assert!(found("port corvane lumber") <= found("lumber"));
        assert_eq!(found("moonbeams"), 0);
    }

    #[test]
    fn seasons_are_told_in_runs_of_months() {
        assert_eq!(season(Season::parse("Apr-Nov").unwrap()), "Apr\u{2013}Nov");
        assert_eq!(
            season(Season::parse("Nov-Feb, Jun").unwrap()),
            "Jun, Nov\u{2013}Feb"
        );
    }
}
