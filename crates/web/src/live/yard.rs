//! A yard's page: what is coming, what is to be built, what stands on which track.

use std::sync::Arc;

use maud::{Markup, html};
use model::time::RailTime;
use railroad::Loaded;
use session::{Role, state::sheet::TrainNow};

use super::{Live, train_link, work};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct YardPage {
    live: Live,
    loaded: Arc<Loaded>,
    station: usize,
}

/// A station of the session by the name in the address.
pub fn station(live: &Live, name: &str, root: &str) -> Result<usize, Lack> {
    live.state.opening.find_station(name).ok_or_else(|| {
        let names = live
            .state
            .opening
            .stations
            .iter()
            .map(|one| one.name.as_str());
        Lack::named("station", name, root, names)
    })
}

/// Calls at a station of trains that run: the train, and which of its calls.
fn calls(live: &Live, station: usize) -> impl Iterator<Item = (&TrainNow, usize)> {
    let trains = live.state.sheet.trains.iter();
    trains
        .filter(|train| train.active())
        .flat_map(move |train| {
            let here = move |at: &usize| train.calls[*at].plan.station == station;
            (0..train.calls.len())
                .filter(here)
                .map(move |at| (train, at))
        })
}

/// Trains that still come to a station: when they are expected, and at which of their calls.
pub fn coming(live: &Live, station: usize) -> Vec<(RailTime, &TrainNow, usize)> {
    let mut coming: Vec<_> = calls(live, station)
        .filter(|(train, at)| {
            let call = &train.calls[*at];
            call.arrived.is_none() && call.left.is_none()
        })
        .filter_map(|(train, at)| Some((train.expected(at, live.rail)?, train, at)))
        .collect();
    coming.sort_by_key(|(time, ..)| *time);
    coming
}

impl YardPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let live = Live::of(ask)?;
        let station = station(&live, ask.param("station"), "session/yards")?;
        Ok(Self {
            live,
            loaded: ask.now.loaded.clone(),
            station,
        })
    }
}

impl Page for YardPage {
    fn title(&self) -> String {
        format!("{}: the yard", self.live.station(self.station))
    }

    fn document(&self) -> &'static str {
        "/session"
    }

    fn watch(&self) -> Option<String> {
        Some("trains cars plan stop tracks all".into())
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let name = live.station(self.station).to_owned();
        html! {
            h2 { "What is coming" }
            (self.coming())
            h2 { "What to build" }
            (self.to_build(&name))
            h2 { "What stands here" }
            (work::town(live, &self.loaded, &name))
            (self.tracks(&name))
            (super::train::stop(live))
        }
    }
}

impl YardPage {
    fn coming(&self) -> Markup {
        let live = &self.live;
        let coming: Vec<_> = coming(live, self.station)
            .into_iter()
            .filter(|(_, _, at)| *at > 0)
            .collect();
        html! {
            @if coming.is_empty() { p { "Nothing more comes in this session." } }
            @else {
                (ledger("Trains coming", &html! {
                    table {
                        thead { tr { th { "Expected" } th { "Train" } th { "Now" } th { "Sets out here" } } }
                        tbody {
                            @for (time, train, at) in coming.into_iter().take(8) {
                                tr data-key=(train.symbol()) {
                                    td.time { (live.time(time)) }
                                    th scope="row" { (train_link(live, train.symbol())) " " (live.late_mark(train)) }
                                    td { (live.whereabouts(train)) }
                                    td { (cars(train, at, false)) }
                                }
                            }
                        }
                    }
                }))
            }
        }
    }

    fn to_build(&self, name: &str) -> Markup {
        let live = &self.live;
        let mut building: Vec<_> = calls(live, self.station)
            .filter(|(train, at)| {
                let call = &train.calls[*at];
                let to_take = call
                    .work
                    .iter()
                    .any(|work| work.sheet.pick_up && work.outcome.is_none());
                call.left.is_none() && to_take
            })
            .map(|(train, at)| (train.calls[at].plan.leave, train, at))
            .collect();
        building.sort_by_key(|(time, ..)| *time);
        html! {
            @if building.is_empty() { p { "No train takes cars from here any more." } }
            @for (time, train, at) in building {
                section.build data-key={ (train.symbol()) "/" (at) } {
                    h3 { (train_link(live, train.symbol())) ", to leave at " (live.time(time))
                        @if let Some(last) = train.calls.last() { " for " (live.station(last.plan.station)) } }
                    ol {
                        @for work in train.calls[at].work.iter().filter(|work| work.sheet.pick_up && work.outcome.is_none()) {
                            @let sheet = &work.sheet;
                            li {
                                strong { (sheet.car) }
                                @if !sheet.block.is_empty() { ", block " (sheet.block) }
                                @match live.state.car_place(&sheet.car) {
                                    Some(session::opening::CarPlace::Track { station, track, .. }) if station == name => { ", stands on " (track) }
                                    Some(session::opening::CarPlace::Track { station, track, .. }) => { ", " span.mark.behind { "\u{25b3} still at " (station) ", " (track) } }
                                    Some(session::opening::CarPlace::Train { train, .. }) => { ", " span.mark.behind { "\u{25b3} still in " (live.state.title(&train)) } }
                                    _ => { ", " span.mark.late { "\u{25b2} not on the railroad" } }
                                }
                            }
                        }
                    }
                    @if live.may(Role::Yard) && train.called.is_none() && at == 0 {
                        (live.press("call_train", &[("train", train.symbol())], "", &format!("Call {}", train.title())))
                    }
                }
            }
        }
    }

    fn tracks(&self, name: &str) -> Markup {
        let live = &self.live;
        let tracks = &live.state.opening.stations[self.station].tracks;
        html! {
            (ledger("Tracks", &html! {
                table {
                    thead { tr { th { "Track" } th { "Cars, from its beginning" } } }
                    tbody {
                        @for track in tracks.iter().filter(|track| track.holds_cars) {
                            @let cars = live.state.standing(name, &track.name);
                            tr data-key=(track.name) {
                                th scope="row" { (track.name) }
                                td { @if cars.is_empty() { span.quiet { "empty" } } @else { (cars.join(", ")) } }
                            }
                        }
                    }
                }
            }))
            @if live.may(Role::Yard) {
                @let all: Vec<&str> = tracks.iter().flat_map(|track| live.state.standing(name, &track.name)).collect();
                @if !all.is_empty() {
                    details data-key="shift" {
                        summary { "Move a car to another track" }
                        (live.form("shift", &[], &html! {
                            div.fields {
                                div.field { label for="car" { "Car" } select #car name="car" { @for car in &all { option value=(car) { (car) } } } }
                                div.field { label for="track" { "To track" } select #track name="track" { @for track in tracks.iter().filter(|track| track.holds_cars) { option value=(track.name) { (track.name) } } } }
                            }
                            button { "Moved" }
                        }))
                    }
                    details data-key="bad" {
                        summary { "Bad order a car, or say that it is fit again" }
                        (live.form("bad_order", &[], &html! {
                            div.fields {
                                div.field { label for="bad-car" { "Car" } select #bad-car name="car" { @for car in &all { option value=(car) { (car) } } } }
                                div.field { label for="bad-why" { "What is wrong" } input #bad-why name="why" required maxlength="120"; }
                            }
                            button { "Bad order" }
                        }))
                        @for car in all.iter().filter(|car| live.state.sheet.bad_orders.contains_key(**car)) {
                            (live.press("repaired", &[("car", car)], "", &format!("{car} is fit again")))
                        }
                    }
                }
            }
        }
    }
}

/// The cars a train takes or leaves at a call, in a line.
fn cars(train: &TrainNow, at: usize, pick_up: bool) -> Markup {
    let cars: Vec<&str> = train.calls[at]
        .work
        .iter()
        .filter(|work| work.sheet.pick_up == pick_up)
        .map(|work| work.sheet.car.as_str())
        .collect();
    html! {
        @if cars.is_empty() { span.quiet { "nothing" } }
        @else { (show::count(cars.len(), "car", "cars")) ": " (cars.join(", ")) }
    }
}
