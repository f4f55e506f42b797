//! How the session went, so far or in the end: on time by class, moves, delays and their causes.

use std::collections::BTreeMap;

use maud::{Markup, html};
use session::{
    Cause,
    state::sheet::{At, Outcome, TrainNow},
};

use super::{Live, train_link};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct AfterPage {
    live: Live,
}

impl AfterPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
        })
    }
}

impl Page for AfterPage {
    fn title(&self) -> String {
        if self.live.state.sheet.closed.is_some() {
            "After the session".into()
        } else {
            "How the session goes".into()
        }
    }

    fn document(&self) -> &'static str {
        "/session/after"
    }

    fn watch(&self) -> Option<String> {
        Some("trains cars plan all".into())
    }

    fn body(&self) -> Markup {
        html! {
            (self.on_time())
            (self.work())
            (self.delays())
            (self.times())
            (self.notes())
        }
    }
}

/// How late a train was at its last station, in whole railroad minutes; nothing if it has not come there.
fn late_in(train: &TrainNow) -> Option<i64> {
    let last = train.calls.last()?;
    let due = last.plan.due_arrive.unwrap_or(last.plan.arrive);
    Some((last.arrived? - due).seconds().div_euclid(60))
}

/// What counts as on time: five minutes by the railroad's clock. Common practice, no source.
const ON_TIME: i64 = 5;

impl AfterPage {
    fn on_time(&self) -> Markup {
        let trains = &self.live.state.sheet.trains;
        let mut classes: BTreeMap<Option<u8>, Vec<&TrainNow>> = BTreeMap::new();
        for train in trains {
            classes.entry(train.sheet.class).or_default().push(train);
        }
        html! {
            h2 { "On time, by class" }
            (ledger("On time, by class", &html! {
                table {
                    thead { tr { th { "Class" } th.number { "Trains" } th.number { "Ran through" } th.number { "On time" } th.number { "Late, on the average" } th.number { "Annulled" } } }
                    tbody {
                        @for (class, trains) in &classes {
                            @let late: Vec<i64> = trains.iter().filter_map(|train| late_in(train)).collect();
                            tr {
                                th scope="row" { @match class { Some(class) => (class), None => "extra" } }
                                td.number { (trains.len()) }
                                td.number { (late.len()) }
                                td.number { (late.iter().filter(|late| **late <= ON_TIME).count()) }
                                td.number {
                                    @if !late.is_empty() {
                                        (show::figure(late.iter().map(|late| (*late).max(0)).sum::<i64>() as f64 / late.len() as f64)) " min"
                                    }
                                }
                                td.number { (trains.iter().filter(|train| train.at == At::Annulled).count()) }
                            }
                        }
                    }
                }
            }))
            p.key { "On time: at the last station no more than " (ON_TIME) " railroad minutes after the timetable, or after the plan where the timetable has no time." }
        }
    }

    fn work(&self) -> Markup {
        let state = &self.live.state;
        let all: Vec<_> = state
            .sheet
            .trains
            .iter()
            .flat_map(|train| &train.calls)
            .flat_map(|call| &call.work)
            .collect();
        let count = |which: fn(&Option<Outcome>) -> bool| {
            all.iter().filter(|work| which(&work.outcome)).count()
        };
        html! {
            h2 { "Work" }
            dl.facts {
                dt { "Cars to take or leave" } dd { (all.len()) }
                dt { "Done" } dd { (count(|one| *one == Some(Outcome::Done))) }
                dt { "Left" } dd { (count(|one| matches!(one, Some(Outcome::Left { .. })))) }
                dt { "Not to be done any more" } dd { (count(|one| matches!(one, Some(Outcome::Dropped { .. })))) }
                dt { "Still open" } dd { (count(Option::is_none)) }
                dt { "Car movements" } dd { (state.sheet.moves) }
                dt { "Orders given" } dd { (state.sheet.orders.len()) }
                dt { "Lines in the journal" } dd { (state.revision()) }
            }
            @if !state.sheet.remarks.is_empty() {
                h3 { "Cars not handled as billed" }
                ul { @for remark in &state.sheet.remarks { li { (remark.car) ": " (remark.sentence) } } }
            }
        }
    }

    fn delays(&self) -> Markup {
        let live = &self.live;
        let delays = &live.state.sheet.delays;
        let by_cause: Vec<(Cause, usize, u32)> = Cause::ALL
            .into_iter()
            .map(|cause| {
                let those: Vec<_> = delays.iter().filter(|delay| delay.cause == cause).collect();
                (
                    cause,
                    those.len(),
                    those.iter().map(|delay| delay.minutes).sum(),
                )
            })
            .filter(|(_, count, _)| *count > 0)
            .collect();
        html! {
            h2 { "Delays" }
            @if delays.is_empty() { p { "None was reported." } }
            @else {
                (ledger("Delays by cause", &html! {
                    table {
                        thead { tr { th { "Cause" } th.number { "Times" } th.number { "Minutes" } } }
                        tbody { @for (cause, count, minutes) in by_cause { tr { th scope="row" { (cause.word()) } td.number { (count) } td.number { (minutes) } } } }
                    }
                }))
                ul {
                    @for delay in delays {
                        li {
                            (train_link(live, &delay.train)) ", " (delay.minutes) " min, " (delay.cause.word())
                            @if let Some(station) = &delay.station { ", at " (station) }
                            @if !delay.text.is_empty() { ": " (delay.text) }
                        }
                    }
                }
            }
        }
    }

    /// How long stops and runs took, against the plan: what the owner's own rates can be set by.
    fn times(&self) -> Markup {
        let live = &self.live;
        let mut runs: BTreeMap<(usize, usize), Vec<(i64, i64)>> = BTreeMap::new();
        let mut stops: BTreeMap<usize, Vec<(i64, usize)>> = BTreeMap::new();
        for train in &live.state.sheet.trains {
            for pair in train.calls.windows(2) {
                if let (Some(left), Some(came)) = (pair[0].left, pair[1].arrived) {
                    let planned = (pair[1].plan.arrive - pair[0].plan.leave).seconds();
                    runs.entry((pair[0].plan.station, pair[1].plan.station))
                        .or_default()
                        .push(((came - left).seconds(), planned));
                }
            }
            for call in train.calls.iter().filter(|call| !call.work.is_empty()) {
                if let (Some(came), Some(went)) = (call.real_arrived, call.real_left) {
                    stops
                        .entry(call.plan.station)
                        .or_default()
                        .push((went - came, call.work.len()));
                }
            }
        }
        let mean = |sum: i64, count: usize| sum as f64 / count.max(1) as f64;
        html! {
            @if !runs.is_empty() {
                h2 { "Running times observed" }
                (ledger("Running times observed", &html! {
                    table {
                        thead { tr { th { "From" } th { "To" } th.number { "Trains" } th.number { "Took" } th.number { "Planned" } } }
                        tbody {
                            @for ((from, to), list) in &runs {
                                tr {
                                    th scope="row" { (live.station(*from)) } td { (live.station(*to)) }
                                    td.number { (list.len()) }
                                    td.number { (show::figure(mean(list.iter().map(|one| one.0).sum(), list.len()) / 60.0)) " min" }
                                    td.number { (show::figure(mean(list.iter().map(|one| one.1).sum(), list.len()) / 60.0)) " min" }
                                }
                            }
                        }
                    }
                }))
                p.key { "Railroad minutes." }
            }
            @if !stops.is_empty() {
                h2 { "Switching times observed" }
                (ledger("Switching times observed", &html! {
                    table {
                        thead { tr { th { "Station" } th.number { "Stops" } th.number { "Cars" } th.number { "A stop" } th.number { "A car" } } }
                        tbody {
                            @for (station, list) in &stops {
                                @let real: i64 = list.iter().map(|one| one.0).sum();
                                @let cars: usize = list.iter().map(|one| one.1).sum();
                                tr {
                                    th scope="row" { (live.station(*station)) }
                                    td.number { (list.len()) } td.number { (cars) }
                                    td.number { (show::figure(mean(real, list.len()) / 60_000.0)) " min" }
                                    td.number { (show::figure(mean(real, cars) / 60_000.0)) " min" }
                                }
                            }
                        }
                    }
                }))
                p.key { "Minutes on the wall, with all waiting: set the pace of switching by the stops that had none." }
            }
        }
    }

    fn notes(&self) -> Markup {
        let live = &self.live;
        html! {
            @if !live.state.sheet.notes.is_empty() {
                h2 { "Notes" }
                ul {
                    @for note in &live.state.sheet.notes {
                        li { span.time { (live.time(note.rail)) } " " (note.text) span.quiet { ", " (note.name) @if let Some(train) = &note.train { ", of " (live.state.title(train)) } } }
                    }
                }
            }
        }
    }
}
