//! The front page: what today's railroad is, and what needs attention.

use std::sync::Arc;

use maud::{Markup, html};
use railroad::Loaded;
use transportation::{Train, day::DayPlan};

use super::{
    attention,
    planned::{self, Planned},
    station_link,
    timetable::today,
    train_link,
};
use crate::{
    forms::place::Links,
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The railroad today.
#[derive(Debug)]
pub struct Today {
    loaded: Arc<Loaded>,
    planned: Planned,
}

/// How many diagnostics the front page names.
const NAMED: usize = 5;

impl Today {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            planned: Planned::of(ask),
        })
    }

    /// The trains of the modelled day by the time they leave; all of them if the day is not known.
    fn trains(&self) -> Vec<&Train> {
        let mut trains: Vec<&Train> = today(&self.loaded.railroad).collect();
        trains.sort_by_key(|train| {
            (
                train.leave.map(|leave| leave.value),
                train.symbol.value.clone(),
            )
        });
        trains
    }
}

/// Whether a train is on time by the plan.
fn standing(plan: &DayPlan, symbol: &str) -> Markup {
    let train = plan.trains.iter().find(|train| train.symbol == symbol);
    html! {
        @match train.map(|train| train.late()) {
            None => "left out",
            Some(Some(late)) if late.seconds() >= 30 => { "\u{25b2} " (show::span(late)) " late" }
            Some(Some(_)) => "\u{2713} on time",
            Some(None) => "runs",
        }
    }
}

impl Today {
    /// The waits that cost somebody time, the longest first.
    fn waits(&self, plan: &DayPlan) -> Markup {
        let railroad = &self.loaded.railroad;
        let mut costly: Vec<_> = plan
            .trains
            .iter()
            .flat_map(|train| train.waits.iter().map(move |wait| (train, wait)))
            .filter(|(_, wait)| wait.costs)
            .collect();
        costly
            .sort_by_key(|(train, wait)| (std::cmp::Reverse(wait.length()), train.symbol.clone()));
        html! {
            @if !costly.is_empty() {
                details {
                    summary { (show::count(costly.len(), "wait costs", "waits cost")) " a train time" }
                    ul {
                        @for (train, wait) in costly.iter().take(12) {
                            li { (train_link(&train.symbol)) " " (planned::wait(railroad, wait)) }
                        }
                    }
                }
            }
        }
    }
}

impl Page for Today {
    fn title(&self) -> String {
        show::day(&self.loaded.railroad).unwrap_or_else(|| "The railroad today".into())
    }

    fn document(&self) -> &'static str {
        "/"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let trains = self.trains();
        let diagnostics = &self.loaded.diagnostics;
        let worst: Vec<_> = {
            let mut all: Vec<_> = diagnostics.iter().collect();
            all.sort_by_key(|found| found.rule.severity);
            all.into_iter().take(NAMED).collect()
        };
        let identity = &railroad.identity;
        let links = Links::new(&self.loaded);
        html! {
            @if let Some(session) = &identity.session {
                p.lead {
                    "The session begins at " (show::time(railroad, session.begins))
                    " and takes " (show::span(session.real_time)) " of the clock on the wall."
                }
            }
            section {
                h2 { "What needs attention" }
                @if diagnostics.is_empty() {
                    p { "\u{2713} Everything in the folder holds together." }
                } @else {
                    ul.attention {
                        @for found in &worst { li { (attention::line(&links, found)) } }
                    }
                    @if diagnostics.len() > worst.len() {
                        p { a href="/attention" { "All " (diagnostics.len()) } }
                    }
                }
            }
            section {
                h2 { "The railroad" }
                dl.facts {
                    @for (id, line) in show::lines(railroad) {
                        dt { (line.name.value) }
                        dd {
                            @let stations = railroad.way.line_stations(id);
                            @if let [first, .., last] = stations {
                                (station_link(&railroad.way.station(*first).name.value)) " to "
                                (station_link(&railroad.way.station(*last).name.value)) ", "
                            }
                            (show::count(stations.len(), "station", "stations"))
                        }
                    }
                    dt { "Engines" }
                    dd { a href="/engines" { (railroad.roster.engines.len()) } }
                    dt { "Cars" }
                    dd { a href="/cars" { (railroad.roster.cars.len()) } }
                    dt { "Shippers" }
                    dd { a href="/shippers" { (railroad.traffic.shippers.len()) } }
                    dt { "Jobs" }
                    dd {
                        a href="/crews" { (railroad.service.jobs.len()) }
                        @if !railroad.service.people.is_empty() {
                            ", " (show::count(railroad.service.people.len(), "person", "people")) " on the call list"
                        }
                    }
                }
            }
            section {
                h2 { "Today's trains" }
                (self.planned.word())
                @if let Some(plan) = self.planned.plan() { (self.waits(plan)) }
                @if trains.is_empty() {
                    p { "No train runs today." }
                } @else {
                    (ledger("Today's trains", &html! {
                        table {
                            thead { tr {
                                th scope="col" { "Train" }
                                th scope="col" { "Class" }
                                th scope="col" { "Leaves" }
                                th.time scope="col" { "at" }
                                th scope="col" { "Arrives" }
                                th.time scope="col" { "at" }
                                @if self.planned.plan().is_some() { th scope="col" { "By the plan" } }
                            } }
                            tbody {
                                @for train in &trains {
                                    tr {
                                        th scope="row" {
                                            (train_link(&train.symbol.value))
                                            @if let Some(name) = &train.name { " " span.quiet { (name) } }
                                        }
                                        td { (train.class.map_or(String::new(), |class| ordinal(class.value))) }
                                        td { @if let Some(from) = &train.from { (station_link(&from.value)) } }
                                        td.time { (train.leave.map_or(String::new(), |t| show::time(railroad, t.value))) }
                                        td { @if let Some(to) = &train.to { (station_link(&to.value)) } }
                                        td.time { (train.arrive.map_or(String::new(), |t| show::time(railroad, t.value))) }
                                        @if let Some(plan) = self.planned.plan() { td { (standing(plan, &train.symbol.value)) } }
                                    }
                                }
                            }
                        }
                    }))
                }
            }
        }
    }
}

/// `1st`, `2nd`.
pub fn ordinal(class: i64) -> String {
    match class {
        1 => "1st".into(),
        2 => "2nd".into(),
        3 => "3rd".into(),
        _ => format!("{class}th"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn the_front_page_names_the_day_its_trains_and_what_is_wrong() {
        let office = example();
        let ask = ask(&office, "/", &[], &[]);
        let page = Today::of(&ask).unwrap();
        let text = whole(&ask, &page);
        assert!(text.contains("<h1>Thursday, October 9, 1941</h1>"));
        assert!(text.contains("Basin Perishable"));
        let trains = page.trains();
        assert!(trains.is_sorted_by_key(|train| train.leave.map(|leave| leave.value)));
        let found = office.now().loaded.diagnostics.len();
        assert_eq!(
            text.contains("Everything in the folder holds together"),
            found == 0
        );
    }
}
