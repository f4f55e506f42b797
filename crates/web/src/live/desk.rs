//! The dispatcher's desk: the diagram filling itself in, what waits for an answer, and what can be ordered.

use std::sync::{Arc, PoisonError};

use maud::{Markup, html};
use railroad::Loaded;
use session::{TrackPlace, state::sheet::TrainNow};
use transportation::Method;

use super::{Live, orders, room::Offered, sheet, train_link};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
};

/// The page.
#[derive(Debug)]
pub struct DeskPage {
    live: Live,
    loaded: Arc<Loaded>,
    plans: bool,
    ready: Option<Offered>,
}

impl DeskPage {
    /// The plan the office has worked out by itself. Nothing of it is out.
    fn ready(&self) -> Markup {
        let plan = self.ready.as_ref().and_then(|one| one.work.result());
        html! {
            @if let Some(Ok(plan)) = plan {
                section data-key="plan-ready" role="status" {
                    h2 { "A new plan is ready" }
                    p { "Worked out by the office after the latest reports. Nothing of it is in force, and no order is out, until you say so." }
                    ul.changes { @for change in plan.changes.iter().take(8) { li { (change) } } }
                    @if plan.changes.len() > 8 { p.quiet { "and " (plan.changes.len() - 8) " more" } }
                    form.actions method="post" action="/session/plan" {
                        button.primary name="do" value="look" { "Look at the new plan" }
                    }
                }
            }
        }
    }

    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
            loaded: ask.now.loaded.clone(),
            plans: ask.office.services.replan.is_some(),
            ready: ask.office.room().and_then(|room| {
                let ready = room.ready.lock().unwrap_or_else(PoisonError::into_inner);
                ready.clone()
            }),
        })
    }
}

impl Page for DeskPage {
    fn title(&self) -> String {
        "Dispatcher\u{2019}s desk".into()
    }

    fn document(&self) -> &'static str {
        "/session/desk"
    }

    fn wide(&self) -> bool {
        true
    }

    fn watch(&self) -> Option<String> {
        Some("trains orders plan ready stop tracks clock people all".into())
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let clock = &live.state.sheet.clock;
        html! {
            div.actions {
                @if clock.runs {
                    (live.press("stop_clock", &[("why", "the dispatcher stopped it")], "", "Stop the clock"))
                } @else {
                    (live.press("start_clock", &[], "primary", "Start the clock"))
                }
                @if self.plans {
                    form method="post" action="/session/plan" {
                        button.primary name="do" value="ask" { "Make a new plan" }
                    }
                }
                a.button href="/session/sheet" { "Train sheet" }
                (super::train::stop(live))
            }
            (self.ready())
            @if !live.state.sheet.plan_changes.is_empty() {
                details data-key="plan-changes" {
                    summary { "What the plan in force changed" }
                    ul { @for change in &live.state.sheet.plan_changes { li { (change) } } }
                }
            }
            h2 { "Waiting for you" }
            (orders::open(live))
            (orders::planned(live))
            (sheet::diagrams(live, &self.loaded))
            (self.trains())
            (self.news())
            h2 { "Orders and the track" }
            (self.issue())
            (self.trains_changed())
            (self.track())
        }
    }
}

impl DeskPage {
    fn trains(&self) -> Markup {
        let live = &self.live;
        html! {
            h2 { "Trains" }
            (ledger("Trains", &html! {
                table {
                    thead { tr { th { "Train" } th { "Crew" } th { "Where" } th { "Against the plan" } th { "Next" } th { "Report for them" } } }
                    tbody {
                        @for train in live.state.sheet.trains.iter().filter(|train| train.active()) {
                            tr data-key=(train.symbol()) {
                                th scope="row" { (train_link(live, train.symbol())) }
                                td { (live.state.crew_of(train).join(", ")) }
                                td { (live.whereabouts(train)) }
                                td { (live.late_mark(train)) }
                                td {
                                    @if let Some(call) = train.calls.get(train.call() + 1) {
                                        (live.station(call.plan.station)) " "
                                        @if let Some(at) = train.expected(train.call() + 1, live.rail) { (live.time(at)) }
                                    }
                                }
                                td { (report(live, train)) }
                            }
                        }
                    }
                }
            }))
        }
    }

    fn news(&self) -> Markup {
        let live = &self.live;
        html! {
            h2 { "The latest" }
            ol.latest {
                @for (brief, _) in live.state.sheet.recent.iter().rev().take(8) {
                    li data-key=(brief.revision) {
                        span.time { (live.time(model::time::RailTime::from_seconds(brief.rail))) } " "
                        (brief.sentence) span.quiet { ", " (brief.name) }
                    }
                }
            }
            p { a href="/session/journal" { "The whole journal" } }
        }
    }

    fn issue(&self) -> Markup {
        let live = &self.live;
        let method = live.state.opening.method;
        let by_order = method == Method::TimetableAndTrainOrder;
        html! {
            @if !by_order {
                details open data-key="authority" {
                    summary { "Give an authority" }
                    (live.form("issue_order", &[("text.form", "authority")], &html! {
                        div.fields {
                            (self.pick_train("a-train", "text.train", "Train"))
                            (self.pick_station("a-from", "text.from", "From"))
                            (self.pick_station("a-to", "text.to", "To"))
                        }
                        button.primary { "Give it" }
                    }))
                }
            }
            @if by_order {
                details open data-key="order-late" {
                    summary { "Order: a train runs late" }
                    (live.form("issue_order", &[("text.form", "run_late")], &html! {
                        div.fields {
                            (self.pick_train("l-train", "text.train", "Train"))
                            div.field { label for="l-min" { "Railroad minutes" } input #l-min type="number" min="1" max="720" name="text.minutes:n" required; }
                            (self.pick_station("l-from", "text.from", "From"))
                            (self.pick_station("l-to", "text.to", "To"))
                            (self.to("l-copies"))
                        }
                        button { "Issue" }
                    }))
                }
                details data-key="order-wait" {
                    summary { "Order: a train waits until a time" }
                    (live.form("issue_order", &[("text.form", "wait")], &html! {
                        div.fields {
                            (self.pick_train("w-train", "text.train", "Train"))
                            (self.pick_station("w-at", "text.at.0.0", "At"))
                            div.field { label for="w-until" { "Until" } input #w-until name="text.at.0.1:t" required placeholder=(live.time(live.rail)); }
                            (self.to("w-copies"))
                        }
                        button { "Issue" }
                    }))
                }
                details data-key="order-right" {
                    summary { "Order: a train has right over another" }
                    (live.form("issue_order", &[("text.form", "right_over")], &html! {
                        div.fields {
                            (self.pick_train("r-first", "text.first", "Train"))
                            (self.pick_train("r-over", "text.over", "Over"))
                            (self.pick_station("r-from", "text.from", "From"))
                            (self.pick_station("r-to", "text.to", "To"))
                        }
                        button { "Issue" }
                    }))
                }
                details data-key="order-ahead" {
                    summary { "Order: a train runs ahead of another" }
                    (live.form("issue_order", &[("text.form", "ahead")], &html! {
                        div.fields {
                            (self.pick_train("h-first", "text.first", "First"))
                            (self.pick_train("h-second", "text.seconds.0.0", "Then"))
                            (self.pick_station("h-from", "text.seconds.0.1", "From"))
                            (self.pick_station("h-to", "text.seconds.0.2", "To"))
                        }
                        button { "Issue" }
                    }))
                }
                details data-key="order-hold" {
                    summary { "Order: hold a train" }
                    (live.form("issue_order", &[("text.form", "hold")], &html! {
                        div.fields {
                            (self.pick_train("o-train", "text.train", "Train"))
                            (self.pick_station("o-at", "text.station", "At"))
                        }
                        button { "Issue" }
                    }))
                }
                details data-key="order-meet" {
                    summary { "Order: two trains meet" }
                    (live.form("issue_order", &[("text.form", "meet")], &html! {
                        div.fields {
                            (self.pick_train("m-train", "text.train", "Train"))
                            (self.pick_train("m-other", "text.others.0.0", "Meets"))
                            (self.pick_station("m-at", "text.others.0.1", "At"))
                        }
                        button { "Issue" }
                    }))
                }
            }
            @let standing: Vec<_> = live.state.sheet.orders.iter().filter(|order| !order.over).collect();
            @if !standing.is_empty() {
                details data-key="order-annul" {
                    summary { "Annul an order, or take an authority back" }
                    ul.orders {
                        @for order in standing {
                            li data-key={ "annul-" (order.number) } {
                                strong { "No. " (order.number) } " " (orders::says(live, order)) ". "
                                @let number = order.number.to_string();
                                @if order.is_authority() { (live.press("give_back", &[("number:n", &number)], "", &format!("Take back {number}"))) }
                                @else {
                                    (live.press("issue_order", &[("text.form", "annul_order"), ("text.number:n", &number), ("to:l", &order.copies.iter().map(|copy| copy.train.as_str()).collect::<Vec<_>>().join(","))], "", &format!("Annul {number}")))
                                }
                            }
                        }
                    }
                }
            }
        }
    }

    fn trains_changed(&self) -> Markup {
        let live = &self.live;
        html! {
            details data-key="extra" {
                summary { "Create an extra" }
                (live.form("create_extra", &[], &html! {
                    div.fields {
                        div.field { label for="x-symbol" { "Its engine\u{2019}s number" } input #x-symbol name="symbol" required maxlength="12"; }
                        div.field { label for="x-engines" { "Engines" } input #x-engines name="engines:l" required; p.hint { "Several with commas between." } }
                        div.field { label for="x-way" { "Stations of its way, in order" } textarea #x-way name="way:l" rows="4" required {
                            @for station in &live.state.opening.stations { (station.name) "\n" }
                        } p.hint { "One a line: take out those it does not touch." } }
                        div.field { label for="x-leave" { "Leaves at" } input #x-leave name="leave:t" required placeholder=(live.time(live.rail)); }
                        div.field { label for="x-job" { "Job" } select #x-job name="job" { option value="" { "none" } @for job in &live.state.opening.jobs { option value=(job.name) { (job.name) } } } }
                    }
                    button { "Create it" }
                }))
            }
            details data-key="annul-train" {
                summary { "Annul a train" }
                (live.form("annul_train", &[], &html! {
                    div.fields {
                        (self.pick_train("n-train", "train", "Train"))
                        div.field { label for="n-why" { "Why" } input #n-why name="why" required maxlength="120"; }
                    }
                    button { "Annul it" }
                }))
            }
            details data-key="combine" {
                summary { "Combine two trains" }
                (live.form("combine", &[], &html! {
                    div.fields {
                        (self.pick_train("c-train", "train", "This one ends"))
                        (self.pick_train("c-into", "into", "This one goes on"))
                    }
                    button { "Combine" }
                }))
            }
            details data-key="engines" {
                summary { "Change a train\u{2019}s engines" }
                (live.form("change_engines", &[], &html! {
                    div.fields {
                        (self.pick_train("e-train", "train", "Train"))
                        div.field { label for="e-engines" { "Engines from now on" } input #e-engines name="engines:l" required; }
                        div.field { label for="e-why" { "Why" } input #e-why name="why" required maxlength="120"; }
                    }
                    button { "Change" }
                }))
            }
        }
    }

    fn track(&self) -> Markup {
        let live = &self.live;
        let opening = &live.state.opening;
        html! {
            @let sheet = &live.state.sheet;
            @if !sheet.tracks_out.is_empty() {
                ul {
                    @for (place, why) in &sheet.tracks_out {
                        li data-key={ "out-" (place) } {
                            span.mark.late { "\u{25b2} out of service: " (place) } @if !why.is_empty() { ", " (why) } " "
                            @match place {
                                TrackPlace::Line { from, to } => (live.press("put_track_back", &[("place.track_of", "line"), ("place.from", from), ("place.to", to)], "", "Back in service")),
                                TrackPlace::Station { station, track } => (live.press("put_track_back", &[("place.track_of", "station"), ("place.station", station), ("place.track", track)], "", "Back in service")),
                            }
                        }
                    }
                }
            }
            details data-key="track-out" {
                summary { "Take track out of service" }
                (live.form("take_track_out", &[], &html! {
                    div.fields {
                        div.field { label for="t-place" { "Which" } select #t-place name="place:j" {
                            @for district in &opening.districts {
                                @let [low, high] = district.ends.map(|at| live.station(at));
                                option value=(serde_json::json!({ "track_of": "line", "from": low, "to": high })) { "the line between " (low) " and " (high) }
                            }
                            @for station in &opening.stations {
                                @for track in &station.tracks {
                                    option value=(serde_json::json!({ "track_of": "station", "station": station.name, "track": track.name })) { (station.name) " / " (track.name) }
                                }
                            }
                        } }
                        div.field { label for="t-why" { "Why" } input #t-why name="why" required maxlength="120"; }
                    }
                    button { "Take it out" }
                }))
            }
            @for bridge in opening.districts.iter().flat_map(|district| &district.bridges) {
                @let open = sheet.bridges_open.contains(bridge);
                div.row data-key={ "bridge-" (bridge) } {
                    (bridge) ": " @if open { span.mark.late { "\u{25b2} open" } } @else { "closed" } " "
                    (live.press("drawbridge", &[("name", bridge), ("open:b", if open { "false" } else { "true" })], "", if open { "It is closed and latched" } else { "It is opened" }))
                }
            }
        }
    }

    fn pick_train(&self, id: &str, name: &str, label: &str) -> Markup {
        html! {
            div.field { label for=(id) { (label) } select id=(id) name=(name) {
                @for train in self.live.state.sheet.trains.iter().filter(|train| train.active()) {
                    option value=(train.symbol()) { (train.title()) }
                }
            } }
        }
    }

    fn pick_station(&self, id: &str, name: &str, label: &str) -> Markup {
        html! {
            div.field { label for=(id) { (label) } select id=(id) name=(name) {
                @for station in &self.live.state.opening.stations { option value=(station.name) { (station.name) } }
            } }
        }
    }

    /// Whose crews get a copy besides those the order speaks of.
    fn to(&self, id: &str) -> Markup {
        html! {
            div.field {
                label for=(id) { "Copies to" }
                input id=(id) name="to:l" placeholder="the trains it names";
                p.hint { "Symbols with commas between." }
            }
        }
    }
}

/// What the dispatcher hears most often and enters for a crew.
fn report(live: &Live, train: &TrainNow) -> Markup {
    use session::state::sheet::At;
    let symbol = train.symbol();
    let last = train.calls.len().saturating_sub(1);
    html! {
        @match train.at {
            At::Line { call } if call < last => {
                @let name = live.call_station(train, call + 1);
                @if train.calls[call + 1].plan.stops || call + 1 == last {
                    (live.press("arrived", &[("train", symbol), ("station", name)], "", &format!("Arrived {name}")))
                } @else {
                    (live.press("passed", &[("train", symbol), ("station", name)], "", &format!("Passed {name}")))
                }
            }
            At::Station { call, .. } if call == last => (live.press("tie_up", &[("train", symbol)], "", "Tied up")),
            At::Station { call, .. } => (live.press("departed", &[("train", symbol), ("station", live.call_station(train, call))], "", &format!("Left {}", live.call_station(train, call)))),
            At::Waiting if train.called.is_none() => (live.press("call_train", &[("train", symbol)], "", "Call")),
            At::Waiting => (live.press("departed", &[("train", symbol), ("station", live.call_station(train, 0))], "", &format!("Left {}", live.call_station(train, 0)))),
            _ => {}
        }
    }
}
