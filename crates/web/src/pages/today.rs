//! The front page: what today's railroad is, and what needs attention.

use std::sync::Arc;

use maud::{Markup, html};
use model::Severity;
use railroad::Loaded;
use transportation::Train;

use super::{attention, station_link, train_link};
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
}

/// How many diagnostics the front page names.
const NAMED: usize = 5;

impl Today {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
        })
    }

    /// The trains of the modelled day by the time they leave; all of them if the day is not known.
    fn trains(&self) -> Vec<&Train> {
        let railroad = &self.loaded.railroad;
        let day = railroad
            .identity
            .date
            .map(|date| date.value.weekday().days_after_monday());
        let mut trains: Vec<&Train> = railroad
            .service
            .trains
            .iter()
            .filter(|train| day.is_none_or(|day| train.days.value.contains(day)))
            .collect();
        trains.sort_by_key(|train| {
            (
                train.leave.map(|leave| leave.value),
                train.symbol.value.clone(),
            )
        });
        trains
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
            section aria-labelledby="needs" {
                h2 #needs { "What needs attention" }
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
            section aria-labelledby="road" {
                h2 #road { "The railroad" }
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
            section aria-labelledby="trains" {
                h2 #trains { "Today's trains" }
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
                                    }
                                }
                            }
                        }
                    }))
                }
            }
            @if self.loaded.count(Severity::Error) > 0 {
                p.quiet { "Times are those of the trains' own pages." }
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
