//! The work of a train at a station, car by car, with the town's drawing.

use std::collections::BTreeMap;

use drawing::track_chart::ChartStation;
use maud::{Markup, html};
use model::units::Actual;
use railroad::Loaded;
use session::state::sheet::{At, Outcome, TrainNow, WorkNow};

use super::Live;
use crate::{
    frame::drawing,
    ink::{self, How, Piece, Standing},
    pages::station::{chart, ways_out},
};

/// Reasons for leaving a car that are given most often.
const WHY_LEFT: [&str; 6] = [
    "no room on the track",
    "not spotted where it should be",
    "blocked by other cars",
    "still being loaded or unloaded",
    "no time",
    "could not be found",
];

/// The work where the train stands, or at its next station while it is on the line.
pub fn here(live: &Live, loaded: &Loaded, train: &TrainNow) -> Markup {
    let stands = train.stands_at();
    let call = match train.at {
        At::Line { call } => call + 1,
        _ => match stands {
            Some(call) => call,
            None => return html! {},
        },
    };
    let Some(now) = train.calls.get(call) else {
        return html! {};
    };
    let station = live.station(now.plan.station);
    let may = live.may_report(train) && stands == Some(call);
    html! {
        @if !now.work.is_empty() {
            section.work {
                h2 { "Work at " (station) }
                @if let Some(seconds) = now.plan.work_seconds.filter(|seconds| *seconds > 0) {
                    p.quiet { "Planned to take " (seconds / 60) " railroad minutes." }
                }
                @for (pick_up, heading) in [(false, "Set out"), (true, "Pick up")] {
                    @let list: Vec<&WorkNow> = now.work.iter().filter(|work| work.sheet.pick_up == pick_up).collect();
                    @if !list.is_empty() {
                        h3 { (heading) }
                        @let open: Vec<&str> = list.iter().filter(|work| work.outcome.is_none()).map(|work| work.sheet.car.as_str()).collect();
                        @if may && pick_up && open.len() > 1 {
                            p { (live.press("work", &[("train", train.symbol()), ("car", open[0]), ("each-car", &open.join(",")), ("done.done", "picked_up")], "primary", &format!("Picked up all {}", open.len()))) }
                        }
                        ul.work-list { @for work in list { (car(live, train, station, work, may)) } }
                    }
                }
            }
            (town(live, loaded, station))
        }
    }
}

fn car(live: &Live, train: &TrainNow, station: &str, work: &WorkNow, may: bool) -> Markup {
    let sheet = &work.sheet;
    let car = sheet.car.as_str();
    let with = [("train", train.symbol()), ("car", car)];
    let opening = &live.state.opening;
    let tracks = opening
        .find_station(station)
        .map_or(&[][..], |at| &opening.stations[at].tracks);
    html! {
        li.car data-key=(car) {
            p {
                strong { (car) }
                @if let Some(kind) = opening.find_car(car).map(|at| &opening.cars[at].kind) { " " (kind) }
                @if let Some(load) = live.state.load_of(car) { ", " (load) }
                @match (&sheet.track, sheet.pick_up) {
                    (Some(track), false) => { " \u{2192} " (track) }
                    (Some(track), true) => { " from " (track) }
                    (None, false) => { " \u{2192} where the yard says" }
                    (None, true) => {}
                }
                @if let Some(spot) = spot(live, station, sheet.track.as_deref(), sheet.spot) { ", " (spot) }
                @match &work.outcome {
                    Some(Outcome::Done) => { " " span.mark.well { "\u{2713} done" } }
                    Some(Outcome::Left { why }) => { " " span.mark.late { "\u{25b2} left: " (why) } }
                    Some(Outcome::Dropped { why }) => { " " span.mark.quiet { "\u{2014} not to be done: " (why) } }
                    None => {}
                }
            }
            @if may && work.outcome.is_none() {
                div.row {
                    @if sheet.pick_up {
                        (live.press("work", &[with[0], with[1], ("done.done", "picked_up")], "primary", &format!("Picked up {car}")))
                    } @else {
                        (live.form("work", &[with[0], with[1], ("done.done", "set_out")], &html! {
                            @if let Some(spot) = sheet.spot { input type="hidden" name="done.spot:n" value=(spot); }
                            button.primary { "Set out " (car) }
                            " " label { "on " select name="done.track" {
                                @for track in tracks.iter().filter(|track| track.holds_cars || sheet.track.as_deref() == Some(&track.name)) {
                                    option value=(track.name) selected[sheet.track.as_deref() == Some(&track.name)] { (track.name) }
                                }
                            } }
                        }))
                    }
                    details data-key={ "not-" (car) } {
                        summary { "Not done" }
                        (live.form("work", &[with[0], with[1], ("done.done", "left")], &html! {
                            label { "Why " select name="done.why" { @for why in WHY_LEFT { option value=(why) { (why) } } } }
                            " " button { "Left " (car) }
                        }))
                        (live.form("work", &[with[0], with[1], ("done.done", "bad_ordered")], &html! {
                            label { "What is wrong " input name="done.why" required maxlength="120"; }
                            " " button { "Bad order " (car) }
                        }))
                    }
                }
            }
        }
    }
}

/// A spot by its name.
pub fn spot(
    live: &Live,
    station: &str,
    track: Option<&str>,
    spot: Option<usize>,
) -> Option<String> {
    let opening = &live.state.opening;
    let at = opening.find_station(station)?;
    let track = opening.stations[at]
        .tracks
        .iter()
        .find(|one| Some(one.name.as_str()) == track)?;
    track.spots.get(spot?).cloned()
}

/// The drawing of a town with the cars where they now stand.
pub fn town(live: &Live, loaded: &Loaded, station: &str) -> Markup {
    let railroad = &loaded.railroad;
    // Drawn by the folder as it is: if the station has been taken out since, there is nothing to draw.
    let Some(id) = railroad.way.find_station(station) else {
        return html! {};
    };
    let Some(chart): Option<ChartStation> = chart(railroad, id) else {
        return html! {};
    };
    let [low, high] = ways_out(railroad, id);
    let standing = standing(live, station);
    html! {
        (drawing(&format!("The tracks of {station} and what stands there now"), &ink::town(&chart, [&low, &high], &standing, How::default())))
    }
}

/// The cars on a station's tracks.
pub fn standing(live: &Live, station: &str) -> Vec<Standing> {
    let opening = &live.state.opening;
    let Some(at) = opening.find_station(station) else {
        return Vec::new();
    };
    let lengths: BTreeMap<&str, (f64, &str)> = opening
        .cars
        .iter()
        .map(|car| (car.name.as_str(), (car.length, car.kind.as_str())))
        .collect();
    opening.stations[at]
        .tracks
        .iter()
        .filter_map(|track| {
            let pieces: Vec<Piece> = live
                .state
                .standing(station, &track.name)
                .into_iter()
                .map(|name| {
                    let (length, kind) = lengths.get(name).copied().unwrap_or((0.15, ""));
                    Piece {
                        name: name.to_owned(),
                        kind: kind.to_owned(),
                        length: Actual::from_meters(length),
                        engine: false,
                        spot: None,
                    }
                })
                .collect();
            (!pieces.is_empty()).then(|| Standing {
                track: track.name.clone(),
                pieces,
            })
        })
        .collect()
}
