//! The train sheet: a column for each train, a row for each station, filled in as trains report.

use std::sync::Arc;

use engineering::ids::LineId;
use maud::{Markup, PreEscaped, html};
use model::time::RailTime;
use railroad::Loaded;
use session::state::sheet::TrainNow;

use super::Live;
use crate::{
    frame::{Ask, Page, ledger},
    pages::{
        Lack,
        diagram::{Strung, svg},
    },
    show,
};

/// The page.
#[derive(Debug)]
pub struct SheetPage {
    live: Live,
    loaded: Arc<Loaded>,
}

impl SheetPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
            loaded: ask.now.loaded.clone(),
        })
    }
}

impl Page for SheetPage {
    fn title(&self) -> String {
        "Train sheet".into()
    }

    fn document(&self) -> &'static str {
        "/session/sheet"
    }

    fn wide(&self) -> bool {
        true
    }

    fn watch(&self) -> Option<String> {
        Some("trains plan stop all".into())
    }

    fn body(&self) -> Markup {
        html! {
            (diagrams(&self.live, &self.loaded))
            (sheet(&self.live))
        }
    }
}

/// The trains of the session on the lines of the railroad: as they ran, over the plan.
pub fn diagrams(live: &Live, loaded: &Loaded) -> Markup {
    let railroad = &loaded.railroad;
    html! {
        @for (line, page) in show::lines(railroad) {
            @let plan = strings(live, loaded, line, |call, n, last| {
                let mut times = vec![call.plan.arrive];
                if n == 0 { times.clear(); }
                if n < last { times.push(call.plan.leave); }
                times
            });
            @let actual = strings(live, loaded, line, |call, _, _| {
                call.arrived.into_iter().chain(call.left).collect()
            });
            @if !plan.is_empty() {
                @let name = &page.name.value;
                h2 { (name) }
                div.drawing role="region" tabindex="0" aria-label={ "Trains of the " (name) ", planned and as they ran" } {
                    (PreEscaped(svg(railroad, line, &actual, &plan, None, Some(live.rail))))
                }
            }
        }
        p.key { "Dotted: the plan in force. Solid: as reported. The heavy upright: now." }
    }
}

/// A train for each string, with the times that `times` gives for a call.
fn strings(
    live: &Live,
    loaded: &Loaded,
    line: LineId,
    times: impl Fn(&session::state::sheet::CallNow, usize, usize) -> Vec<RailTime>,
) -> Vec<Strung> {
    let way = &loaded.railroad.way;
    live.state
        .sheet
        .trains
        .iter()
        .filter(|train| !matches!(train.at, session::state::sheet::At::Annulled))
        .filter_map(|train| {
            let last = train.calls.len().saturating_sub(1);
            let points: Vec<_> = train
                .calls
                .iter()
                .enumerate()
                .filter_map(|(n, call)| {
                    let station = way.find_station(live.station(call.plan.station))?;
                    let mile = way.station(station).mile(line)?;
                    Some(
                        times(call, n, last)
                            .into_iter()
                            .map(move |time| (station, mile, time)),
                    )
                })
                .flatten()
                .collect();
            let class = i64::from(train.sheet.class.unwrap_or(4));
            Strung::of(
                train.symbol(),
                super::train_page(train.symbol()),
                class,
                points,
            )
        })
        .collect()
}

/// Stations down, trains across.
fn sheet(live: &Live) -> Markup {
    let trains: Vec<&TrainNow> = live
        .state
        .sheet
        .trains
        .iter()
        .filter(|train| !train.calls.is_empty())
        .collect();
    let stations = &live.state.opening.stations;
    html! {
        h2 { "As reported" }
        (ledger("Train sheet", &html! {
            table.train-sheet {
                thead {
                    tr {
                        th { "Station" }
                        @for train in &trains {
                            th scope="col" data-key=(train.symbol()) { a href=(super::train_page(train.symbol())) { (train.symbol()) } }
                        }
                    }
                    tr {
                        th { "Engine" }
                        @for train in &trains { td { (train.sheet.engines.join(", ")) } }
                    }
                }
                tbody {
                    @for (at, station) in stations.iter().enumerate() {
                        tr data-key=(station.name) {
                            th scope="row" { (station.name) }
                            @for train in &trains {
                                td.time { (cell(live, train, at)) }
                            }
                        }
                    }
                    tr {
                        th scope="row" { "Now" }
                        @for train in &trains { td { (live.late_mark(train)) } }
                    }
                }
            }
        }))
        p.key { "Figures in italics are planned, in roman as reported: arrival over departure." }
    }
}

fn cell(live: &Live, train: &TrainNow, station: usize) -> Markup {
    let last = train.calls.len() - 1;
    html! {
        @for (n, call) in train.calls.iter().enumerate().filter(|(_, call)| call.plan.station == station) {
            @if n > 0 && (call.plan.stops || n == last || call.arrived.is_some() && call.arrived != call.left) {
                span.at { (time(live, call.arrived, call.plan.arrive)) }
            }
            @if n < last {
                span.at { (time(live, call.left, call.plan.leave)) }
            }
        }
    }
}

fn time(live: &Live, was: Option<RailTime>, plan: RailTime) -> Markup {
    match was {
        Some(was) => html! { b { (live.time(was)) } },
        None => html! { i { (live.time(plan)) } },
    }
}
