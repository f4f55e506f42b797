//! A station's page: what is due, what stands there, and reports an operator makes for trains that pass.

use std::sync::Arc;

use maud::{Markup, html};
use railroad::Loaded;
use session::{Role, TrackPlace};

use super::{Live, train_link, work, yard};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct StationPage {
    live: Live,
    loaded: Arc<Loaded>,
    station: usize,
}

impl StationPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let live = Live::of(ask)?;
        let station = yard::station(&live, ask.param("station"), "session/stations")?;
        Ok(Self {
            live,
            loaded: ask.now.loaded.clone(),
            station,
        })
    }
}

impl Page for StationPage {
    fn title(&self) -> String {
        self.live.station(self.station).to_owned()
    }

    fn document(&self) -> &'static str {
        "/session"
    }

    fn watch(&self) -> Option<String> {
        Some("trains cars plan stop tracks all".into())
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let name = live.station(self.station);
        let here: Vec<_> = live
            .state
            .sheet
            .trains
            .iter()
            .filter(|train| {
                train.stands_at().is_some_and(|call| {
                    train
                        .calls
                        .get(call)
                        .is_some_and(|call| call.plan.station == self.station)
                })
            })
            .collect();
        html! {
            @if super::is_yard(live.state.opening.stations[self.station].kind) {
                p { a href=(show::url(&["session", "yards", name])) { "The yard\u{2019}s page" } }
            }
            h2 { "Here now" }
            @if here.is_empty() { p { "No train." } }
            ul.trains {
                @for train in here {
                    li data-key=(train.symbol()) {
                        (train_link(live, train.symbol())) ", " (live.whereabouts(train)) " " (live.late_mark(train))
                        @if live.may(Role::Yard) && train.active() && train.call() + 1 < train.calls.len() {
                            " " (live.press("departed", &[("train", train.symbol()), ("station", name)], "", &format!("{} left", train.title())))
                        }
                    }
                }
            }
            h2 { "Due" }
            @let coming = yard::coming(live, self.station);
            @if coming.is_empty() { p { "Nothing more in this session." } }
            @else {
                (ledger("Trains due", &html! {
                    table {
                        thead { tr { th { "Expected" } th { "Plan" } th { "Train" } th { "Now" } th { "Track" } th { "Report" } } }
                        tbody {
                            @for (time, train, at) in coming.into_iter().filter(|(_, _, at)| *at > 0).take(10) {
                                @let plan = &train.calls[at].plan;
                                tr data-key={ (train.symbol()) "/" (at) } {
                                    td.time { (live.time(time)) }
                                    td.time { (live.time(plan.arrive)) }
                                    th scope="row" { (train_link(live, train.symbol())) " " (live.late_mark(train)) }
                                    td { (live.whereabouts(train)) }
                                    td { (plan.track.as_deref().unwrap_or("")) }
                                    td {
                                        @if live.may(Role::Yard) && train.call() + 1 == at && train.stands_at().is_none() {
                                            div.row {
                                                (live.press("arrived", &[("train", train.symbol()), ("station", name)], "", &format!("{} arrived", train.title())))
                                                @if !plan.stops { (live.press("passed", &[("train", train.symbol()), ("station", name)], "", &format!("{} passed", train.title()))) }
                                            }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }))
            }
            @let out: Vec<_> = live.state.sheet.tracks_out.iter().filter(|(place, _)| about(place, name)).collect();
            @if !out.is_empty() {
                h2 { "Out of service" }
                ul { @for (place, why) in out { li { span.mark.late { "\u{25b2} " (place) } ": " (why) } } }
            }
            h2 { "The tracks" }
            (work::town(live, &self.loaded, name))
            (super::train::stop(live))
        }
    }
}

fn about(place: &TrackPlace, name: &str) -> bool {
    match place {
        TrackPlace::Station { station, .. } => station == name,
        TrackPlace::Line { from, to } => from == name || to == name,
    }
}
