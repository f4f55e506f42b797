//! The timetable, set as an employee timetable is: stations down the middle, one direction read down at
//! the right and the other read up at the left.

use std::{collections::HashMap, sync::Arc};

use engineering::ids::{LineId, StationId};
use maud::{Markup, html};
use model::time::RailTime;
use railroad::{Loaded, Railroad};
use transportation::{
    Train, TrainId,
    day::{DayPlan, TrainPlan},
    make_up::CarMove,
};

use super::{
    Lack,
    books::Booked,
    planned::{self, Planned},
    station_link,
    today::ordinal,
    train_link,
};
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
    /// Number or symbol.
    pub symbol: String,
    /// Its name.
    pub name: Option<String>,
    /// Its class.
    pub class: i64,
    /// Whether it has a page of its own.
    pub written: bool,
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

/// The trains of the modelled day on each line, by class and time of leaving: by a plan, or by their
/// own pages.
pub fn columns(railroad: &Railroad, line: LineId, plan: Option<&DayPlan>) -> Vec<Column> {
    let order = railroad.way.line_stations(line);
    let at = |id: StationId| order.iter().position(|station| *station == id);
    let trains: Vec<Column> = match plan {
        Some(plan) => plan
            .trains
            .iter()
            .map(|train| planned(railroad, train))
            .collect(),
        None => today(railroad)
            .map(|train| Column {
                symbol: train.symbol.value.clone(),
                name: train.name.clone(),
                class: train.class.map_or(9, |class| class.value),
                written: true,
                up: false,
                times: written(railroad, train),
            })
            .collect(),
    };
    let mut columns: Vec<(i64, RailTime, Column)> = Vec::new();
    for mut column in trains {
        // On this line it is if it is at two of its stations at least.
        let mut on: Vec<(usize, RailTime)> = column
            .times
            .iter()
            .filter_map(|(station, (arrive, leave))| Some((at(*station)?, leave.or(*arrive)?)))
            .collect();
        on.sort_by_key(|(_, time)| *time);
        let [(first, left), .., (last, _)] = on.as_slice() else {
            continue;
        };
        if first != last {
            column.up = last > first;
            columns.push((column.class, *left, column));
        }
    }
    columns.sort_by(|a, b| (a.0, a.1, &a.2.symbol).cmp(&(b.0, b.1, &b.2.symbol)));
    columns.into_iter().map(|(.., column)| column).collect()
}

/// The trains that run on the modelled day.
pub fn today(railroad: &Railroad) -> impl Iterator<Item = &Train> {
    let day = railroad
        .identity
        .date
        .map(|date| date.value.weekday().days_after_monday());
    railroad
        .service
        .trains
        .iter()
        .filter(move |train| day.is_none_or(|day| train.days.value.contains(day)))
}

/// A train as planned: where it begins it leaves, where it ends it arrives, and where it only passes it
/// has one time.
fn planned(railroad: &Railroad, train: &TrainPlan) -> Column {
    let last = train.calls.len().saturating_sub(1);
    let times = train
        .calls
        .iter()
        .enumerate()
        .map(|(at, call)| {
            let arrive = (at > 0 && (call.stops || at == last)).then_some(call.arrive);
            let leave = (at < last).then_some(call.leave);
            (call.station, (arrive, leave))
        })
        .collect();
    let name = train
        .train
        .and_then(|id| railroad.service.train(id).name.clone());
    Column {
        symbol: train.symbol.clone(),
        name,
        class: train.class,
        written: train.train.is_some(),
        up: false,
        times,
    }
}

/// The timetable of all lines.
#[derive(Debug)]
pub struct Timetable {
    loaded: Arc<Loaded>,
    planned: Planned,
}

impl Timetable {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            planned: Planned::of(ask),
        })
    }

    fn head(columns: &[&Column]) -> Markup {
        html! {
            @for column in columns {
                th.train scope="col" {
                    @if column.written { (train_link(&column.symbol)) } @else { (column.symbol) }
                    @if let Some(name) = &column.name { span.name { (name) } }
                    span.class { @if column.written { (ordinal(column.class)) " class" } @else { "extra" } }
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
    let shown = show::minute(railroad, time);
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
            (self.planned.word())
            p.lead { "Light figures: before noon; heavy figures: after noon. "
                "The left side is read upward, the right side downward." }
            @for (id, line) in show::lines(railroad) {
                @let all = columns(railroad, id, self.planned.plan());
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
                                tr { (Self::head(&up)) (Self::head(&down)) }
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
    planned: Planned,
    booked: Booked,
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
            planned: Planned::of(ask),
            booked: Booked::of(ask),
        })
    }

    /// What it takes and leaves in the session that comes next.
    fn work(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let made = self
            .booked
            .session()
            .and_then(|session| session.made_up.iter().find(|made| made.train == self.train));
        let Some(made) = made else {
            return html! {};
        };
        let cars = |cars: &[CarMove]| {
            html! {
                @for (at, moved) in cars.iter().enumerate() {
                    @let name = &railroad.roster.car(moved.car).name.value;
                    @if at > 0 { ", " } a href=(show::url(&["cars", name])) { (name) }
                }
            }
        };
        html! {
            h2 { "What it takes and leaves" }
            (ledger("What the train takes and leaves", &html! {
                table {
                    thead { tr { th scope="col" { "Station" } th scope="col" { "Leaves" } th scope="col" { "Takes" } th.number scope="col" { "Goes on with" } } }
                    tbody {
                        @for (at, work) in made.works.iter().enumerate() {
                            tr {
                                th scope="row" { (station_link(&railroad.way.station(work.station).name.value)) }
                                td { (cars(&work.set_out)) }
                                td { (cars(&work.pick_up)) }
                                td.number { @if let Some(haul) = made.hauls.get(at) { (show::count(haul.cars as usize, "car", "cars")) } }
                            }
                        }
                    }
                }
            }))
        }
    }

    /// The train's part of the plan.
    fn plan(&self) -> Option<(&DayPlan, &TrainPlan)> {
        let plan = self.planned.plan()?;
        let train = plan
            .trains
            .iter()
            .find(|train| train.train == Some(self.train))?;
        Some((plan, train))
    }

    fn by_plan(&self, plan: &DayPlan, train: &TrainPlan) -> Markup {
        let railroad = &self.loaded.railroad;
        let last = train.calls.len().saturating_sub(1);
        html! {
            h2 { "Today, by the plan" }
            (self.planned.word())
            @match train.late() {
                Some(late) if late.seconds() >= 30 => { p { "It arrives " (show::span(late)) " late." } }
                Some(_) => { p { "\u{2713} It arrives on time." } }
                None => {}
            }
            (ledger("The train by the plan", &html! {
                table {
                    thead { tr { th scope="col" { "Station" } th.time scope="col" { "Arrives" } th.time scope="col" { "Leaves" } th.time scope="col" { "Due" } th scope="col" { "Track" } th scope="col" { "Meets and passes" } } }
                    tbody {
                        @for (at, call) in train.calls.iter().enumerate() {
                            @let station = railroad.way.station(call.station);
                            tr {
                                th scope="row" { (station_link(&station.name.value)) }
                                td.time { @if at > 0 && (call.stops || at == last) { (show::minute(railroad, call.arrive)) } }
                                td.time { @if at < last { (show::minute(railroad, call.leave)) } }
                                td.time { (call.due_leave.or(call.due_arrive).map_or(String::new(), |due| show::time(railroad, due))) }
                                td { (call.track.map_or("", |track| station.track(track).name.value.as_str())) }
                                td { (planned::meets(plan, call)) }
                            }
                        }
                    }
                }
            }))
            @if !train.waits.is_empty() {
                h3 { "Why it waits" }
                ul { @for wait in &train.waits { li { "It " (planned::wait(railroad, wait)) "." } } }
            }
        }
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

    fn whom(&self) -> Option<String> {
        Some(
            self.loaded
                .railroad
                .service
                .train(self.train)
                .symbol
                .value
                .clone(),
        )
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
            @match self.plan() {
                Some((plan, train)) => (self.by_plan(plan, train)),
                None => (self.planned.word()),
            }
            (self.work())
            h2 { "Its way, as written" }
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
            form.find method="get" action="/retime" {
                input type="hidden" name="train" value=(train.symbol.value);
                label for="minutes" { "Later by minutes" }
                input #minutes name="minutes" value="5" size="4" inputmode="numeric";
                button { "Try it" }
            }
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
            .map(|(line, _)| columns(railroad, line, None).len())
            .sum();
        assert!(all > 0);
        for (line, _) in railroad.way.lines() {
            for column in columns(railroad, line, None) {
                let symbol = &column.symbol;
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
        for column in columns(railroad, line, None) {
            let train = railroad.service.find_train(&column.symbol).unwrap();
            let train = railroad.service.train(train);
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
