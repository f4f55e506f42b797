//! The timetable, set as an employee timetable is: stations down the middle, one direction read down at
//! the right and the other read up at the left.

use std::{collections::HashMap, sync::Arc};

use engineering::ids::{LineId, StationId};
use maud::{Markup, html};
use model::time::RailTime;
use railroad::{Loaded, Railroad};
use transportation::{Train, TrainId};

use super::{Lack, station_link, today::ordinal, train_link};
use crate::{
    forms::place,
    frame::{Ask, Page, ledger},
    show,
};

/// A train's times at a station.
pub type Times = HashMap<StationId, (Option<RailTime>, Option<RailTime>)>;

/// A train as a column of its line.
#[derive(Debug, Clone)]
pub struct Column {
    /// The train.
    pub train: TrainId,
    /// Whether it goes toward higher miles.
    pub up: bool,
    /// Its times.
    pub times: Times,
}

/// The times on a train's own page.
pub fn written(railroad: &Railroad, train: &Train) -> Times {
    let mut times = Times::new();
    for place in train.times() {
        let station = place
            .station
            .and_then(|station| railroad.way.find_station(&station.value));
        if let Some(station) = station {
            times.insert(
                station,
                (place.arrive.map(|t| t.value), place.leave.map(|t| t.value)),
            );
        }
    }
    times
}

/// The trains of the modelled day on each line, by class and time of leaving.
pub fn columns(railroad: &Railroad, line: LineId) -> Vec<Column> {
    let order = railroad.way.line_stations(line);
    let at = |id: StationId| order.iter().position(|station| *station == id);
    let day = railroad
        .identity
        .date
        .map(|date| date.value.weekday().days_after_monday());
    let mut columns: Vec<(i64, Option<RailTime>, Column)> = Vec::new();
    for (id, train) in railroad.service.train_ids() {
        if !day.is_none_or(|day| train.days.value.contains(day)) {
            continue;
        }
        let times = written(railroad, train);
        // On this line it is if it is at two of its stations at least.
        let mut on: Vec<(usize, RailTime)> = times
            .iter()
            .filter_map(|(station, (arrive, leave))| Some((at(*station)?, leave.or(*arrive)?)))
            .collect();
        on.sort_by_key(|(_, time)| *time);
        let [(first, left), .., (last, _)] = on.as_slice() else {
            continue;
        };
        if first != last {
            columns.push((
                train.class.map_or(9, |class| class.value),
                Some(*left),
                Column {
                    train: id,
                    up: last > first,
                    times,
                },
            ));
        }
    }
    columns.sort_by_key(|(class, left, column)| (*class, *left, column.train));
    columns.into_iter().map(|(.., column)| column).collect()
}

/// The timetable of all lines.
#[derive(Debug)]
pub struct Timetable {
    loaded: Arc<Loaded>,
}

impl Timetable {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
        })
    }

    fn head(&self, columns: &[&Column]) -> Markup {
        let service = &self.loaded.railroad.service;
        html! {
            @for column in columns {
                @let train = service.train(column.train);
                th.train scope="col" {
                    (train_link(&train.symbol.value))
                    @if let Some(name) = &train.name { span.name { (name) } }
                    span.class { (train.class.map_or(String::new(), |class| format!("{} class", ordinal(class.value)))) }
                }
            }
        }
    }

    fn cells(&self, columns: &[&Column], station: StationId) -> Markup {
        let railroad = &self.loaded.railroad;
        html! {
            @for column in columns {
                td.time {
                    @if let Some((arrive, leave)) = column.times.get(&station) {
                        @match (arrive, leave) {
                            (Some(arrive), Some(leave)) if arrive != leave => {
                                // Read up or down, arriving comes first.
                                @if column.up { (time(railroad, *arrive, "a")) (time(railroad, *leave, "l")) }
                                @else { (time(railroad, *leave, "l")) (time(railroad, *arrive, "a")) }
                            }
                            (Some(only), None) => (time(railroad, *only, "a")),
                            (_, Some(only)) => (time(railroad, *only, "l")),
                            (None, None) => "",
                        }
                    }
                }
            }
        }
    }
}

/// A time in light figures before noon and heavy ones after, with its letter: arrives or leaves.
fn time(railroad: &Railroad, time: RailTime, letter: &str) -> Markup {
    let shown = show::time(railroad, time);
    let (figures, rest) = shown.split_once(' ').unwrap_or((&shown, ""));
    let after_noon = time.of_day() >= RailTime::NOON;
    let word = if letter == "a" { "arrives" } else { "leaves" };
    html! {
        span.at.pm[after_noon] {
            span.letter aria-hidden="true" { (letter) }
            span.visually-hidden { (word) " " }
            (figures)
            @if !rest.is_empty() { span.visually-hidden { " " (rest) } }
        }
    }
}

impl Page for Timetable {
    fn title(&self) -> String {
        "Timetable".into()
    }

    fn document(&self) -> &'static str {
        "/timetable"
    }

    fn wide(&self) -> bool {
        true
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        html! {
            p.lead { "Times are those of the trains' own pages. Light figures: before noon; heavy figures: after noon. "
                "The left side is read upward, the right side downward." }
            @for (id, line) in show::lines(railroad) {
                @let all = columns(railroad, id);
                @if !all.is_empty() {
                    @let down: Vec<&Column> = all.iter().filter(|column| column.up).collect();
                    // The highest class stands nearest to the stations.
                    @let up: Vec<&Column> = all.iter().filter(|column| !column.up).rev().collect();
                    h2 { (line.name.value) }
                    (ledger(&format!("Timetable, {}", line.name.value), &html! {
                        table.timetable {
                            thead {
                                tr {
                                    @if !up.is_empty() { th.way colspan=(up.len()) scope="colgroup" { (line.directions[0]) " \u{2191}" } }
                                    th.middle rowspan="2" scope="col" { "Stations" }
                                    @if !down.is_empty() { th.way colspan=(down.len()) scope="colgroup" { (line.directions[1]) " \u{2193}" } }
                                }
                                tr { (self.head(&up)) (self.head(&down)) }
                            }
                            tbody {
                                @for station in railroad.way.line_stations(id) {
                                    @let page = railroad.way.station(*station);
                                    tr {
                                        (self.cells(&up, *station))
                                        th.middle scope="row" {
                                            span.mile { (page.mile(id).map_or(String::new(), |mile| format!("{mile:.1}"))) }
                                            (station_link(&page.name.value))
                                            @if let Some(call) = &page.call { " " span.call { (call.value) } }
                                        }
                                        (self.cells(&down, *station))
                                    }
                                }
                            }
                        }
                    }))
                }
            }
            p.key { "a: arrives. l: leaves." }
        }
    }
}

/// One train.
#[derive(Debug)]
pub struct TrainPage {
    loaded: Arc<Loaded>,
    train: TrainId,
}

impl TrainPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let service = &ask.railroad().service;
        let symbol = ask.param("symbol");
        let names = || {
            service
                .trains
                .iter()
                .map(|train| train.symbol.value.as_str())
        };
        Ok(Self {
            train: service
                .find_train(symbol)
                .ok_or_else(|| Lack::named("train", symbol, "trains", names()))?,
            loaded: ask.now.loaded.clone(),
        })
    }
}

impl Page for TrainPage {
    fn title(&self) -> String {
        let train = self.loaded.railroad.service.train(self.train);
        match &train.name {
            Some(name) => format!("Train {}, {name}", train.symbol.value),
            None => format!("Train {}", train.symbol.value),
        }
    }

    fn document(&self) -> &'static str {
        "/timetable"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let train = railroad.service.train(self.train);
        let text = |value: Option<String>| value.unwrap_or_default();
        let facts: Vec<(&str, String)> = vec![
            ("Class", text(train.class.map(|class| ordinal(class.value)))),
            (
                "Kind",
                text(train.kind.map(|kind| kind.value.word().to_owned())),
            ),
            (
                "Direction",
                text(train.direction.as_ref().map(|d| d.value.clone())),
            ),
            ("Days", train.days.value.to_string()),
            (
                "Longest",
                text(train.max_length.map(|l| show::length(railroad, l.value))),
            ),
            (
                "Most cars",
                text(train.max_cars.map(|c| c.value.to_string())),
            ),
            (
                "Most tons",
                text(train.max_tons.map(|t| format!("{:.0}", t.value))),
            ),
            (
                "Blocks, head end first",
                train
                    .blocks
                    .iter()
                    .map(|b| b.value.as_str())
                    .collect::<Vec<_>>()
                    .join(", "),
            ),
            (
                "Caboose",
                if train.caboose {
                    "yes".into()
                } else {
                    "no".into()
                },
            ),
            ("Job", text(train.job.as_ref().map(|job| job.value.clone()))),
        ];
        html! {
            (super::cars::sheet(&facts))
            @if !train.engines.is_empty() {
                p {
                    "Engines: "
                    @for (at, engine) in train.engines.iter().enumerate() {
                        @if at > 0 { ", " } a href=(show::url(&["engines", &engine.value])) { (engine.value) }
                    }
                    @if let Some(helper) = &train.helper {
                        @if let (Some(engine), Some(from), Some(to)) = (&helper.engine, &helper.from, &helper.to) {
                            "; helper " a href=(show::url(&["engines", &engine.value])) { (engine.value) }
                            " from " (station_link(&from.value)) " to " (station_link(&to.value))
                        }
                    }
                    "."
                }
            }
            h2 { "Its way" }
            (ledger("Stations of the train's way", &html! {
                table {
                    thead { tr { th scope="col" { "Station" } th.time scope="col" { "Arrives" } th.time scope="col" { "Leaves" } th scope="col" { "Track" } th scope="col" { "Work" } } }
                    tbody {
                        @for (at, place) in train.times().iter().enumerate() {
                            @let stop = at.checked_sub(1).and_then(|at| train.stops.get(at));
                            tr {
                                th scope="row" { @if let Some(station) = place.station { (station_link(&station.value)) } }
                                td.time { (place.arrive.map_or(String::new(), |t| show::time(railroad, t.value))) }
                                td.time { (place.leave.map_or(String::new(), |t| show::time(railroad, t.value))) }
                                td {
                                    @let track = match stop {
                                        Some(stop) => stop.track.as_ref(),
                                        None if at == 0 => train.from_track.as_ref(),
                                        None => train.to_track.as_ref(),
                                    };
                                    (track.map_or("", |track| track.value.as_str()))
                                }
                                td { @if let Some(stop) = stop {
                                    (stop.work.iter().map(|work| work.value.word()).collect::<Vec<_>>().join(", "))
                                    @if let Some(minutes) = stop.minutes { " (" (show::span(minutes.value)) ")" }
                                } }
                            }
                        }
                    }
                }
            }))
            @if !train.meets.is_empty() {
                h2 { "Meets" }
                ul { @for meet in &train.meets { li {
                    @if let Some(other) = &meet.train { (train_link(&other.value)) }
                    @if let Some(at) = &meet.at { " at " (station_link(&at.value)) }
                } } }
            }
            @if let Some(note) = &train.note { p.note { (note) } }
            p.actions { a.button href=(place::link(&self.loaded, train.symbol.span)) { "Change the train" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_train_of_the_day_stands_in_the_timetable_with_its_times() {
        let office = example();
        let ask = ask(&office, "/timetable", &[], &[]);
        let page = whole(&ask, &Timetable::of(&ask).unwrap());
        let now = office.now();
        let railroad = &now.loaded.railroad;
        let all: usize = railroad
            .way
            .lines()
            .map(|(line, _)| columns(railroad, line).len())
            .sum();
        assert!(all > 0);
        for (line, _) in railroad.way.lines() {
            for column in columns(railroad, line) {
                let symbol = &railroad.service.train(column.train).symbol.value;
                assert!(
                    page.contains(&format!("/trains/{}\"", show::escape(symbol))),
                    "{symbol}"
                );
            }
        }
        assert!(page.len() < 150_000, "{} bytes", page.len());
    }

    #[test]
    fn a_train_goes_up_if_its_later_stations_have_higher_miles() {
        let office = example();
        let now = office.now();
        let railroad = &now.loaded.railroad;
        let line = railroad.way.find_line("Main Line").unwrap();
        for column in columns(railroad, line) {
            let train = railroad.service.train(column.train);
            let direction = &train.direction.as_ref().unwrap().value;
            let [low, high] = &railroad.way.line(line).directions;
            // Trains of the branch keep their own words on the main.
            if direction == low || direction == high {
                assert_eq!(direction == high, column.up, "{}", train.symbol.value);
            }
        }
    }

    #[test]
    fn a_train_page_tells_its_way() {
        let office = example();
        let ask = ask(&office, "/trains/2", &[("symbol", "2")], &[]);
        let page = whole(&ask, &TrainPage::of(&ask).unwrap());
        assert!(page.contains("Basin Perishable") && page.contains("/engines/402"));
    }
}
