//! A crew's page: its train, what it has to repeat, where it goes next, what it does there, and one large
//! button for what it reports next.

use std::sync::Arc;

use maud::{Markup, html};
use railroad::Loaded;
use session::{
    Cause, Role,
    state::sheet::{At, TrainNow},
};

use super::{Live, orders, work};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct TrainPage {
    live: Live,
    loaded: Arc<Loaded>,
    symbol: String,
}

impl TrainPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let live = Live::of(ask)?;
        let symbol = live.train(ask.param("symbol"))?.symbol().to_owned();
        Ok(Self {
            live,
            loaded: ask.now.loaded.clone(),
            symbol,
        })
    }
}

impl Page for TrainPage {
    fn title(&self) -> String {
        self.live.state.title(&self.symbol)
    }

    fn document(&self) -> &'static str {
        "/session"
    }

    fn watch(&self) -> Option<String> {
        Some(format!(
            "train:{} orders plan stop people devices tracks clock all",
            self.symbol
        ))
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let Ok(train) = live.train(&self.symbol) else {
            return html! {};
        };
        let sheet = &train.sheet;
        html! {
            p.under {
                @if let Some(name) = &sheet.name { em { (name) } " \u{b7} " }
                (sheet.direction)
                @if !sheet.engines.is_empty() { " \u{b7} engine " (sheet.engines.join(", ")) }
                @if let Some(job) = &sheet.job { " \u{b7} " (job) }
            }
            p.lead.where {
                (capital(&live.whereabouts(train))) ". " (live.late_mark(train))
            }
            (orders::to_repeat(live, train))
            (report(live, train))
            (next(live, train))
            (work::here(live, &self.loaded, train))
            (orders::held(live, train))
            (run(live, train))
            (others(live, train))
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// The large button: what the crew reports next.
fn report(live: &Live, train: &TrainNow) -> Markup {
    if !train.active() || !live.may_report(train) {
        return html! {};
    }
    let symbol = train.symbol();
    let with = |call: usize| {
        [
            ("train", symbol),
            ("station", live.call_station(train, call)),
        ]
    };
    let big = "primary huge";
    let last = train.calls.len().saturating_sub(1);
    html! {
        div.report {
            @match train.at {
                At::Line { call } if call < last => {
                    @let name = live.call_station(train, call + 1);
                    @if train.calls[call + 1].plan.stops || call + 1 == last {
                        (live.press("arrived", &with(call + 1), big, &format!("Arrived at {name}")))
                        @if call + 1 < last { (live.press("passed", &with(call + 1), "", &format!("Passed {name} without stopping"))) }
                    } @else {
                        (live.press("passed", &with(call + 1), big, &format!("Passed {name}")))
                        (live.press("arrived", &with(call + 1), "", &format!("Arrived and stopped at {name}")))
                    }
                }
                At::Station { call, .. } if call == last => {
                    (live.press("tie_up", &[("train", symbol)], big, "Tie up: the run is over"))
                }
                At::Station { call, clear } => {
                    (live.press("departed", &with(call), big, &format!("Leaving {}", live.call_station(train, call))))
                    @if !clear { (live.press("clear_of_main", &with(call), "", "Clear of the main")) }
                }
                At::Waiting => {
                    (live.press("departed", &with(0), big, &format!("Leaving {}", live.call_station(train, 0))))
                }
                _ => {}
            }
        }
    }
}

/// Where it goes next.
fn next(live: &Live, train: &TrainNow) -> Markup {
    let at = train.call();
    let next = match train.at {
        At::Line { .. } | At::Station { .. } | At::Waiting => at + 1,
        _ => return html! {},
    };
    let here = train.calls.get(at);
    html! {
        @if let (Some(here), Some(_)) = (here, train.stands_at()) {
            @if next < train.calls.len() {
                p { "Due out at " strong { (live.time(here.plan.leave)) } "." }
            }
            @for meet in &here.plan.meets { p.meet { "\u{21c4} " (meet) } }
        }
        @if let Some(call) = train.calls.get(next) {
            section.next {
                h2 { "Next: " (live.station(call.plan.station)) }
                p {
                    @if call.plan.stops { "Arrive " } @else { "Pass at " }
                    strong { (live.time(call.plan.arrive)) }
                    @if let Some(track) = &call.plan.track { " on " strong { (track) } }
                    @if call.plan.stops && next + 1 < train.calls.len() { ", leave " strong { (live.time(call.plan.leave)) } }
                    "."
                    @if let Some(expected) = train.expected(next, live.rail).filter(|at| (*at - call.plan.arrive).seconds() >= 120) {
                        " As you run now: " (live.time(expected)) "."
                    }
                }
                @for meet in &call.plan.meets { p.meet { "\u{21c4} " (meet) } }
                @if !call.work.is_empty() {
                    p { (show::count(call.work.iter().filter(|work| !work.sheet.pick_up).count(), "car", "cars")) " to set out, "
                        (show::count(call.work.iter().filter(|work| work.sheet.pick_up).count(), "car", "cars")) " to pick up there." }
                }
            }
        }
    }
}

/// The whole run, planned and as it went.
fn run(live: &Live, train: &TrainNow) -> Markup {
    let at = train.call();
    html! {
        h2 { "The run" }
        (ledger("The run", &html! {
            table.run {
                thead { tr { th { "Station" } th { "Plan" } th { "Was" } th { "Track" } th { "Work" } } }
                tbody {
                    @for (n, call) in train.calls.iter().enumerate() {
                        tr.here[train.active() && n == at] {
                            th scope="row" { @if train.active() && n == at { "\u{25b8} " } (live.station(call.plan.station)) }
                            td.time {
                                @if call.plan.arrive != call.plan.leave && n > 0 { (live.time(call.plan.arrive)) "\u{2013}" }
                                (live.time(if n + 1 == train.calls.len() { call.plan.arrive } else { call.plan.leave }))
                            }
                            td.time {
                                @match (call.arrived, call.left) {
                                    (Some(came), Some(went)) if came != went => { (live.time(came)) "\u{2013}" (live.time(went)) }
                                    (_, Some(time)) | (Some(time), None) => (live.time(time)),
                                    _ => {}
                                }
                            }
                            td { (call.track.as_deref().or(call.plan.track.as_deref()).unwrap_or("")) }
                            td {
                                @if !call.work.is_empty() {
                                    (call.work.iter().filter(|work| work.outcome.is_some()).count()) " of " (call.work.len())
                                }
                            }
                        }
                    }
                }
            }
        }))
        @if !train.consist.is_empty() {
            details data-key="consist" {
                summary { (show::count(train.consist.len(), "car", "cars")) " in the train" }
                ul.cars {
                    @for car in &train.consist {
                        li { (car) @if let Some(load) = live.state.load_of(car) { ", " (load) } }
                    }
                }
            }
        }
    }
}

/// Reports that are made seldom.
fn others(live: &Live, train: &TrainNow) -> Markup {
    let symbol = train.symbol();
    html! {
        @if live.may_report(train) && train.active() {
            details data-key="delay" {
                summary { "Report a delay" }
                (live.form("delay", &[("train", symbol)], &html! {
                    div.fields {
                        div.field { label for="cause" { "Cause" } select #cause name="cause" {
                            @for cause in Cause::ALL { option value=(word(cause)) { (cause.word()) } }
                        } }
                        div.field { label for="minutes" { "Railroad minutes, about" } input #minutes name="minutes:n" type="number" min="1" max="600" value="10" required; }
                        div.field { label for="more" { "In words" } input #more name="text" maxlength="200"; }
                    }
                    button { "Report the delay" }
                }))
            }
        }
        @if live.may(Role::Crew) {
            details data-key="note" {
                summary { "A note for the record" }
                (live.form("note", &[("train", symbol)], &html! {
                    div.field { label for="note" { "Note" } input #note name="text" maxlength="400" required; }
                    button { "Note it" }
                }))
            }
        }
        (stop(live))
    }
}

/// The word of a cause in a command.
pub fn word(cause: Cause) -> String {
    format!("{cause:?}").to_lowercase()
}

/// The button that stops everything: for anyone, but not to be pressed by chance.
pub fn stop(live: &Live) -> Markup {
    html! {
        @if live.state.sheet.stopped.is_none() && live.state.sheet.closed.is_none() {
            details.stop data-key="stop" {
                summary { "\u{25a0} Stop everything" }
                (live.form("stop_everything", &[], &html! {
                    p { "For danger to people or equipment. Every screen says so at once." }
                    div.field { label for="stop-why" { "Why" } input #stop-why name="why" maxlength="200"; }
                    // An empty reason must still be one.
                    button.danger { "\u{25a0} Stop everything now" }
                }))
            }
        }
    }
}
