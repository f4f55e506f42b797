//! The facts of a center line, and what depends on it.

use engineering::{
    alignment::{Located, Of},
    curve::Path,
};
use maud::{Markup, html};
use model::units::Actual;
use railroad::Railroad;

use super::super::{station_link, train_link};
use crate::show;

/// The least radius of a course; none if it is straight.
pub fn sharpest(path: &Path) -> Option<f64> {
    let most = path
        .pieces()
        .iter()
        .map(|piece| piece.sharpest().abs())
        .fold(0.0, f64::max);
    (most > 1e-6).then(|| 1.0 / most)
}

/// How it meets its end.
pub fn end_words(railroad: &Railroad, located: &Located, line: usize) -> String {
    let Some(Some(laid)) = located.solved.lines.get(line) else {
        return "cannot be laid".into();
    };
    match &laid.closure {
        None => "wherever it comes to".into(),
        Some(closure) if closure.after.closes() => "meets it".into(),
        Some(closure) => format!(
            "misses it by {}",
            show::length(railroad, Actual::from_meters(closure.after.distance()))
        ),
    }
}

/// What is measured along it.
pub fn measures(railroad: &Railroad, located: &Located, line: usize) -> Markup {
    let described = &located.described[line];
    let length = |metres: f64| show::length(railroad, Actual::from_meters(metres));
    let path = located.path(line);
    let steepest = located.heights.get(line).and_then(|heights| {
        heights
            .points()
            .windows(2)
            .map(|pair| (pair[1].elevation - pair[0].elevation) / (pair[1].at - pair[0].at))
            .filter(|grade| grade.is_finite())
            .max_by(|a, b| a.abs().total_cmp(&b.abs()))
    });
    html! {
        dl.facts {
            dt { "What it is" }
            dd {
                @match described.of {
                    Some(Of::Track(track)) => {
                        (railroad.way.track(track).usage.word()) " track of "
                        (station_link(&railroad.way.station(track.station).name.value))
                    }
                    Some(Of::Open(open, _)) => { "open line of the " (railroad.way.line(open.line).name.value) }
                    None => "a center line of no track yet",
                }
            }
            @if let Some(path) = path {
                dt { "Length" } dd { (length(path.length())) }
                @if let Some(Of::Track(track)) = described.of {
                    dt { "Usable, as it is written" } dd { (show::length(railroad, railroad.network.usable(&railroad.way, track).length)) }
                }
                dt { "Sharpest curve" }
                dd { @match sharpest(path) { Some(radius) => { "radius " (length(radius)) } None => "none: it is straight" } }
            }
            @if let Some(grade) = steepest {
                dt { "Steepest grade" } dd { (format!("{:.2} %", grade.abs() * 100.0)) @if grade.abs() > 5e-4 { (if grade > 0.0 { " up" } else { " down" }) " as it runs" } }
            }
            dt { "Its end" } dd { (end_words(railroad, located, line)) }
            @if let Some(Some(laid)) = located.solved.lines.get(line) && let Some(closure) = &laid.closure && !closure.adjusted.is_empty() {
                dt { "Adjusted to close" }
                dd { (show::count(closure.adjusted.len(), "element", "elements")) }
            }
        }
    }
}

/// What lies, stands, ships and runs by it.
pub fn dependents(railroad: &Railroad, line: usize, again: &[usize]) -> Markup {
    let located = &railroad.way.located;
    let others: Vec<usize> = again
        .iter()
        .copied()
        .filter(|other| *other != line)
        .collect();
    html! {
        ul {
            li {
                @if others.is_empty() { "No other center line is laid from it." }
                @else {
                    "Laid anew when it moves: "
                    @for (at, other) in others.iter().enumerate() {
                        @let name = &located.described[*other].name.value;
                        @if at > 0 { ", " } a href={ "/rooms?line=" (show::escape(name)) } { (name) }
                    }
                    "."
                }
            }
            @if let Some(Of::Track(track)) = located.described[line].of {
                @let station = railroad.way.station(track.station);
                @let page = station.track(track.track);
                @let name = station.name.value.as_str();
                @let standing = railroad::books::open(railroad).0.standing(track).len();
                @if standing > 0 { li { (show::count(standing, "car stands", "cars stand")) " on it before the session." } }
                @let shippers = shippers(railroad, name, &page.name.value);
                @if !shippers.is_empty() { li { "Shippers at it: " (shippers.join(", ")) "." } }
                @let trains: Vec<&str> = railroad.service.trains.iter()
                    .filter(|train| train.time_at(name).is_some()).map(|train| train.symbol.value.as_str()).collect();
                @if !trains.is_empty() {
                    li { "Trains through " (station_link(name)) ": "
                        @for (at, train) in trains.iter().enumerate() { @if at > 0 { ", " } (train_link(train)) } "." }
                }
            }
        }
    }
}

/// Who ships or receives on a track.
fn shippers(railroad: &Railroad, station: &str, track: &str) -> Vec<String> {
    let mut names: Vec<String> = railroad
        .traffic
        .flows
        .iter()
        .filter(|flow| {
            flow.station.as_ref().is_some_and(|at| at.value == station)
                && flow.track.as_ref().is_some_and(|on| on.value == track)
        })
        .filter_map(|flow| flow.shipper_name.as_ref().map(|name| name.value.clone()))
        .collect();
    names.sort();
    names.dedup();
    names
}
