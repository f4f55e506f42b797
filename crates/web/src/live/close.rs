//! Closing out: every train put away, every track walked, every car accounted for; then the books go back
//! to the folder and the session into the archive.

use std::{collections::BTreeMap, sync::Arc};

use axum::{
    Form,
    extract::{State as Shared, rejection::FormRejection},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
};
use maud::{Markup, html};
use mechanical::CarId;
use railroad::{
    books::{Settled, edits},
    edit::Desk,
};
use session::{
    Role, State,
    close::{ByHand, discrepancies, restaging},
    opening::CarPlace,
    state::sheet::{At, Outcome},
};

use super::{Live, train_link};
use crate::{
    Office,
    app::sent,
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct ClosePage {
    live: Live,
    lasting: bool,
}

impl ClosePage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
            lasting: ask.now.lasting,
        })
    }
}

impl Page for ClosePage {
    fn title(&self) -> String {
        "Close-out".into()
    }

    fn document(&self) -> &'static str {
        "/session"
    }

    fn watch(&self) -> Option<String> {
        Some("trains cars stop all".into())
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let closed = live.state.sheet.closed.is_some();
        html! {
            @if closed {
                p.lead { "The session is closed: nothing more can be reported." }
                (self.carry())
            } @else {
                p.lead { "Four steps. Cars are looked at where they stand: what the books say gives way to what is there." }
            }
            h2 { "1. Trains put away" }
            (self.trains())
            h2 { "2. Tracks walked" }
            (self.tracks(closed))
            h2 { "3. Cars not as billed" }
            (self.discrepancies())
            @if !closed {
                h2 { "4. Close" }
                @if live.may(Role::Superintendent) {
                    (live.press("close_out", &[], "primary big", "Close the session"))
                } @else {
                    p { "The superintendent closes the session." }
                }
            }
            (self.restaging())
        }
    }
}

impl ClosePage {
    fn trains(&self) -> Markup {
        let live = &self.live;
        let out: Vec<_> = live
            .state
            .sheet
            .trains
            .iter()
            .filter(|train| train.active() && train.at != At::Waiting || !train.consist.is_empty())
            .collect();
        let never: Vec<_> = live
            .state
            .sheet
            .trains
            .iter()
            .filter(|train| train.at == At::Waiting && train.consist.is_empty())
            .collect();
        html! {
            @if out.is_empty() { p { span.mark.well { "\u{2713}" } " No train is out on the line or has cars." } }
            @else {
                ul.trains {
                    @for train in out {
                        li data-key=(train.symbol()) {
                            (train_link(live, train.symbol())) ", " (live.whereabouts(train))
                            @if !train.consist.is_empty() { ", with " (show::count(train.consist.len(), "car", "cars")) }
                            @if live.may_report(train) && train.stands_at().is_some() {
                                " " (live.press("tie_up", &[("train", train.symbol())], "", &format!("{} ties up here", train.title())))
                            }
                        }
                    }
                }
            }
            @if !never.is_empty() {
                p.quiet { "Did not run: " @for (n, train) in never.iter().enumerate() { @if n > 0 { ", " } (train.title()) } "." }
            }
        }
    }

    fn tracks(&self, closed: bool) -> Markup {
        let live = &self.live;
        let state = &live.state;
        html! {
            @for station in &state.opening.stations {
                @let tracks: Vec<_> = station.tracks.iter().filter(|track| track.holds_cars || !state.standing(&station.name, &track.name).is_empty()).collect();
                @if !tracks.is_empty() {
                    @let walked = tracks.iter().filter(|track| self.walked(&station.name, &track.name)).count();
                    details data-key={ "walk-" (station.name) } {
                        summary {
                            (station.name) ": "
                            @if walked == tracks.len() { span.mark.well { "\u{2713} walked" } }
                            @else { (walked) " of " (show::count(tracks.len(), "track", "tracks")) " walked" }
                        }
                        @for track in tracks {
                            @let cars = state.standing(&station.name, &track.name);
                            @let id = format!("w-{}-{}", station.name, track.name).replace(' ', "-");
                            div.walk data-key={ (station.name) "/" (track.name) } {
                                @if closed || !live.may(Role::Yard) {
                                    p { strong { (track.name) } ": " (cars.join(", ")) }
                                } @else {
                                    (live.form("walk_track", &[("station", &station.name), ("track", &track.name)], &html! {
                                        label for=(id) { strong { (track.name) } @if self.walked(&station.name, &track.name) { " " span.mark.well { "\u{2713} walked" } } }
                                        textarea id=(id) name="cars:l" rows=(cars.len().clamp(1, 8)) { (cars.join("\n")) }
                                        p.hint { "Cars from the beginning of the track, one a line; put right what differs." }
                                        button { "It stands so" }
                                    }))
                                }
                            }
                        }
                    }
                }
            }
        }
    }

    fn walked(&self, station: &str, track: &str) -> bool {
        self.live
            .state
            .sheet
            .walked
            .iter()
            .any(|(one, other)| one == station && other == track)
    }

    fn discrepancies(&self) -> Markup {
        let found = discrepancies(&self.live.state);
        html! {
            @if found.is_empty() { p { span.mark.well { "\u{2713}" } " Every car stands where its waybill wants it, or is not wanted anywhere." } }
            ul {
                @for one in &found { li data-key=(one.car) { strong { (one.car) } ": " (one.sentence) } }
            }
        }
    }

    /// What is turned, rebuilt or re-engined by hand before the next session.
    fn restaging(&self) -> Markup {
        let steps = restaging(&self.live.state, &ByHand::default());
        let minutes: f64 = steps.iter().map(|step| step.minutes).sum();
        html! {
            h2 { "Staging made ready for the next session" }
            @if steps.is_empty() { p { "Nothing is to be turned or rebuilt by hand." } }
            @else {
                (ledger("Restaging", &html! {
                    table {
                        thead { tr { th.number { "Step" } th { "Where" } th { "What" } th.number { "Minutes" } } }
                        tbody {
                            @for step in &steps {
                                tr { td.number { (step.number) } th scope="row" { (step.station) } td { (step.sentence) } td.number { (show::figure(step.minutes)) } }
                            }
                        }
                    }
                }))
                p.key { "About " (show::figure(minutes)) " minutes by hand, in this order. Minutes by common practice, no source." }
            }
        }
    }

    /// After closing: the books to the folder, the session to the archive.
    fn carry(&self) -> Markup {
        html! {
            @if self.live.may(Role::Superintendent) {
                @if !self.lasting {
                    p { "This railroad is not on disk: what is written lasts until the office closes." }
                }
                form.actions method="post" action="/session/close" {
                    button.primary.big name="do" value="carry" { "Write the cars to the folder, and put the session away" }
                    button name="do" value="archive" { "Put it away only" }
                }
                p.hint { "Writing changes where cars stand in cars.csv and settles waybills in waybills.csv: the next session is billed from \
                    there. It can be taken back like any other change." }
            }
            p { a href="/session/after" { "How the session went" } }
        }
    }
}

/// The waybills of a session as its close leaves them: those whose cars were handled.
fn settled(state: &State) -> Vec<Settled> {
    let mut carried: BTreeMap<&str, &str> = BTreeMap::new();
    for train in &state.sheet.trains {
        for work in train.calls.iter().flat_map(|call| &call.work) {
            if work.outcome == Some(Outcome::Done) {
                carried.insert(&work.sheet.car, train.symbol());
            }
        }
    }
    state
        .opening
        .bills
        .iter()
        .filter_map(|bill| {
            let train = carried.get(bill.car.as_str())?;
            let car = state.opening.find_car(&bill.car)?;
            let to = state.opening.stations.get(bill.to_station)?;
            let delivered = match state.car_place(&bill.car) {
                Some(CarPlace::Track { station, track, .. }) => {
                    station == to.name
                        && (bill.to_tracks.is_empty() || bill.to_tracks.contains(&track))
                }
                Some(CarPlace::Off { via, .. }) => via == to.name,
                _ => false,
            };
            Some(Settled {
                car: CarId(u32::try_from(car).ok()?),
                from: bill.from.clone(),
                to: bill.to.clone(),
                commodity: bill.loaded.then(|| bill.commodity.clone()).flatten(),
                train: Some((*train).to_owned()),
                delivered,
            })
        })
        .collect()
}

/// Writes where the cars stand to the folder.
///
/// # Errors
/// Why nothing was written, as a sentence.
fn carry(desk: &mut Desk, state: &State) -> Result<(), String> {
    let loaded = desk.loaded().clone();
    let railroad = &loaded.railroad;
    // The books number cars and tracks as the folder did when the session began.
    let cars_same = railroad.roster.cars.len() == state.opening.cars.len()
        && railroad
            .roster
            .cars
            .iter()
            .zip(&state.opening.cars)
            .all(|(page, car)| page.name.value == car.name);
    let stations_same = railroad
        .way
        .stations
        .iter()
        .map(|station| &station.name.value)
        .eq(state.opening.stations.iter().map(|station| &station.name));
    if !cars_same || !stations_same {
        return Err(
            "The folder's cars or stations are not those the session began with: somebody has changed \
             them meanwhile. Put the session away only, and write where the cars stand by hand"
                .into(),
        );
    }
    let day = railroad.identity.date.map(|date| date.value);
    for edit in edits(railroad, &state.books, &settled(state), day) {
        let proposal = desk.propose(&edit).map_err(|refusal| refusal.to_string())?;
        desk.make(proposal).map_err(|error| error.to_string())?;
    }
    Ok(())
}

/// `POST /session/close`: what follows when a session is closed.
pub async fn close(
    Shared(office): Shared<Arc<Office>>,
    form: Result<Form<Vec<(String, String)>>, FormRejection>,
) -> Response {
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let does = sent(&fields, "do").unwrap_or_default().to_owned();
    let Some(room) = office.room().cloned() else {
        return Redirect::to("/session").into_response();
    };
    let Some(state) = room.state().filter(|state| state.sheet.closed.is_some()) else {
        return Redirect::to("/session/close").into_response();
    };
    if !matches!(does.as_str(), "carry" | "archive") {
        return Redirect::to("/session/close").into_response();
    }
    let done = tokio::task::spawn_blocking(move || {
        if does == "carry" {
            office.at_desk(|desk| carry(desk, &state))?;
        }
        room.journal
            .archive()
            .map_err(|trouble| trouble.to_string())?;
        room.look_again();
        Ok::<_, String>(())
    })
    .await;
    match done {
        Ok(Ok(())) => Redirect::to("/session").into_response(),
        Ok(Err(words)) => (StatusCode::CONFLICT, format!("{words}.\n")).into_response(),
        Err(_) => (
            StatusCode::SERVICE_UNAVAILABLE,
            "Not done: a mistake in the program. The journal is unharmed.\n",
        )
            .into_response(),
    }
}
