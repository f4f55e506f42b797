//! A station: its tracks and spots, what stands where, who ships here, which trains call.

use std::{collections::BTreeMap, sync::Arc};

use drawing::track_chart::{ChartStation, facts};
use engineering::{
    ids::{StationId, TrackId, TrackRef},
    station::Side,
};
use maud::{Markup, html};
use mechanical::CarId;
use model::{time::RailTime, units::Actual};
use railroad::{Loaded, Railroad};
use traffic::books::{Books, Whereabouts};
use transportation::day::DayPlan;

use super::{
    Lack,
    books::{AskedTime, Booked},
    planned::{self, Planned},
    train_link,
};
use crate::{
    frame::{Ask, Page, drawing, ledger},
    ink::{self, How, Piece, Standing},
    show,
};

/// One station.
#[derive(Debug)]
pub struct StationPage {
    loaded: Arc<Loaded>,
    id: StationId,
    chart: Option<ChartStation>,
    standing: Vec<Standing>,
    file: String,
    switched: bool,
    planned: Planned,
    booked: Booked,
    time: AskedTime,
}

impl StationPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let id = find(railroad, ask.param("name"))?;
        let planned = Planned::of(ask);
        let booked = Booked::of(ask);
        let time = AskedTime::of(ask);
        // Until the session is billed cars stand as the record says.
        let books = booked
            .at(time.time)
            .unwrap_or_else(|| railroad::books::open(railroad).0);
        let mut standing = standing(railroad, id, &books);
        if let (Some(time), Some(plan)) = (time.time, planned.plan()) {
            at_time(railroad, id, plan, time, &mut standing);
        }
        Ok(Self {
            chart: chart(railroad, id),
            standing,
            file: file(ask.loaded(), id),
            switched: ask
                .office
                .services
                .works
                .as_ref()
                .is_some_and(|works| !works(railroad, id).is_empty()),
            loaded: ask.now.loaded.clone(),
            id,
            planned,
            booked,
            time,
        })
    }
}

/// Where trains are at a time: those of the plan stand on their tracks, and engines of trains that have
/// left are not there. Where cars stand then the books of the session say.
fn at_time(
    railroad: &Railroad,
    id: StationId,
    plan: &DayPlan,
    time: RailTime,
    standing: &mut Vec<Standing>,
) {
    for train in &plan.trains {
        let engines: Vec<&str> = train
            .train
            .map(|id| {
                railroad
                    .service
                    .train(id)
                    .engines
                    .iter()
                    .map(|number| number.value.as_str())
                    .collect()
            })
            .unwrap_or_default();
        // Once its train has left, an engine is where the train is.
        if train.hours().is_some_and(|(leave, _)| time >= leave) {
            for standing in standing.iter_mut() {
                standing
                    .pieces
                    .retain(|piece| !piece.engine || !engines.contains(&piece.name.as_str()));
            }
        }
        let here = train
            .calls
            .iter()
            .find(|call| call.station == id && call.arrive <= time && time < call.leave);
        let Some(track) = here.and_then(|call| call.track) else {
            continue;
        };
        let track = railroad.way.station(id).track(track).name.value.clone();
        let piece = Piece {
            name: train.symbol.clone(),
            kind: "train".into(),
            length: train
                .train
                .and_then(|id| railroad.service.train(id).max_length)
                .map_or(Actual::from_feet(2.0), |length| length.value),
            engine: true,
            spot: None,
        };
        match standing.iter_mut().find(|standing| standing.track == track) {
            Some(standing) => standing.pieces.push(piece),
            None => standing.push(Standing {
                track,
                pieces: vec![piece],
            }),
        }
    }
    standing.retain(|standing| !standing.pieces.is_empty());
}

/// The station of a name.
pub fn find(railroad: &Railroad, name: &str) -> Result<StationId, Lack> {
    let names = || {
        railroad
            .way
            .stations
            .iter()
            .map(|station| station.name.value.as_str())
    };
    railroad
        .way
        .find_station(name)
        .ok_or_else(|| Lack::named("station", name, "stations", names()))
}

/// The file a station is written in.
pub fn file(loaded: &Loaded, id: StationId) -> String {
    let station = loaded.railroad.way.station(id);
    loaded.sources.get(station.span.file).path.clone()
}

/// The station as its line's track chart has it.
pub fn chart(railroad: &Railroad, id: StationId) -> Option<ChartStation> {
    let station = railroad.way.station(id);
    let line = station.line()?;
    facts(railroad, line)
        .stations
        .into_iter()
        .find(|chart| chart.name == station.name.value)
}

/// The names of the ways out, toward lower and higher miles, as the timetable has them.
pub fn ways_out(railroad: &Railroad, id: StationId) -> [String; 2] {
    match railroad.way.station(id).line() {
        Some(line) => railroad.way.line(line).directions.clone(),
        None => ["lower miles".into(), "higher miles".into()],
    }
}

/// The cars on a track by the books, from its low-mile end.
pub fn from_low<'a>(
    railroad: &Railroad,
    books: &'a Books,
    track: TrackRef,
) -> Box<dyn Iterator<Item = CarId> + 'a> {
    let cars = books.standing(track).iter().copied();
    match railroad.network.orientation(track.station).tracks[track.track.index()] {
        Side::High => Box::new(cars),
        Side::Low => Box::new(cars.rev()),
    }
}

/// What stands at a station by the books, track by track, from the low-mile end; engines where the
/// record says.
pub fn standing(railroad: &Railroad, id: StationId, books: &Books) -> Vec<Standing> {
    let station = railroad.way.station(id);
    let usual = Actual::from_inches(6.0);
    let mut tracks: BTreeMap<TrackId, Vec<Piece>> = BTreeMap::new();
    for engine in &railroad.roster.engines {
        let at = engine
            .at
            .as_ref()
            .and_then(|at| railroad.way.find_track(&at.value));
        if let Some(track) = at.filter(|track| track.station == id)
            && engine.state.on_the_railroad()
        {
            tracks.entry(track.track).or_default().push(Piece {
                name: engine.number.value.clone(),
                kind: format!(
                    "{} engine",
                    engine.kind.map_or("", |kind| kind.value.word())
                ),
                length: engine.length.map_or(usual, |length| length.value),
                engine: true,
                spot: None,
            });
        }
    }
    for (track, _) in station.tracks() {
        for car in from_low(railroad, books, TrackRef { station: id, track }) {
            let page = railroad.roster.car(car);
            let spot = match books.car(car).at {
                Whereabouts::Track { spot, .. } => spot,
                _ => None,
            };
            tracks.entry(track).or_default().push(Piece {
                name: page.name.value.clone(),
                kind: page.kind.map_or("car", |kind| kind.value.word()).to_owned(),
                length: page.length.map_or(usual, |length| length.value),
                engine: false,
                spot,
            });
        }
    }
    tracks
        .into_iter()
        .map(|(track, pieces)| Standing {
            track: station.track(track).name.value.clone(),
            pieces,
        })
        .collect()
}

impl Page for StationPage {
    fn title(&self) -> String {
        self.loaded.railroad.way.station(self.id).name.value.clone()
    }

    fn document(&self) -> &'static str {
        "/stations"
    }

    fn whom(&self) -> Option<String> {
        Some(self.title())
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let station = railroad.way.station(self.id);
        let name = station.name.value.as_str();
        let [low, high] = ways_out(railroad, self.id);
        let chart = self.chart.as_ref();
        html! {
            p.lead {
                (station.kind.word())
                @for on in &station.lines {
                    @if let (Some(line), Some(mile)) = (&on.name, &on.mile) {
                        ", mile " (format!("{:.1}", mile.value)) " of the " (line.value)
                    }
                }
                @if let Some(call) = &station.call { ", call " span.call { (call.value) } }
                "."
                @if !station.facilities.is_empty() {
                    " " (station.facilities.iter().map(|f| f.word()).collect::<Vec<_>>().join(", ")) "."
                }
                @if station.yard_limits { " Within yard limits." }
            }
            @if let Some(chart) = chart {
                (drawing(&format!("The tracks of {name}"), &ink::town(chart, [&low, &high], &self.standing, How::default())))
                p.key { "Figures: how many cars a track holds. Filled: cars; ruled: engines. A bar under a track: a spot. \
                    A full wedge: a switch thrown by hand; an open one: by power." }
            }
            @if self.planned.plan().is_some() || self.booked.session().is_some() {
                form.find method="get" action=(show::url(&["stations", name])) {
                    (self.time.field(railroad, "As it should look at", "Trains by the plan, at their longest; cars by the session's waybills."))
                }
            }
            (self.booked.word())
            p.actions {
                a.button href=(show::url(&["stations", name, "tracks"])) { "Change the tracks" }
                " "
                a.button href={ "/edit?file=" (show::escape(&self.file)) } { "Its page in the folder" }
                @if super::yard::is_yard(railroad, self.id) {
                    " " a.button href=(show::url(&["yards", name])) { "The yard at work" }
                }
                @if self.switched {
                    " " a.button href=(show::url(&["switching", name])) { "Switch it" }
                }
            }
            h2 { "Tracks" }
            (self.tracks())
            h2 {
                "What stands here " (self.time.words(railroad))
            }
            @if self.standing.is_empty() { p { "Nothing." } }
            @else { (self.cars()) }
            (self.shippers(name))
            (self.trains(name))
            @if let Some(note) = &station.note { p.note { (note) } }
        }
    }
}

impl StationPage {
    fn tracks(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let station = railroad.way.station(self.id);
        let chart = |name: &str| {
            self.chart
                .as_ref()
                .and_then(|chart| chart.tracks.iter().find(|track| track.name == name))
        };
        ledger(
            "Tracks",
            &html! {
                table {
                    thead { tr {
                        th scope="col" { "Track" }
                        th scope="col" { "Use" }
                        th.number scope="col" { "Length" }
                        th.number scope="col" { "Usable" }
                        th.number scope="col" { "Cars" }
                        th.number scope="col" { "Stand" }
                        th scope="col" { "Spots" }
                    } }
                    tbody {
                        @for track in &station.tracks {
                            @let name = track.name.value.as_str();
                            @let found = chart(name);
                            @let stand = self.standing.iter().find(|s| s.track == name).map_or(0, |s| s.pieces.len());
                            tr {
                                th scope="row" { (name) }
                                td { (track.usage.word()) }
                                td.number { (track.length.map_or(String::new(), |l| show::length(railroad, l.value))) }
                                td.number { (found.map_or(String::new(), |t| show::length(railroad, t.usable))) }
                                td.number { (found.map_or(String::new(), |t| t.cars.to_string())) }
                                td.number { @if stand > 0 { (stand) } }
                                td { (track.spots.iter().map(|spot| spot.value.as_str()).collect::<Vec<_>>().join(", ")) }
                            }
                        }
                    }
                }
            },
        )
    }

    fn cars(&self) -> Markup {
        html! {
            dl.standing {
                @for standing in &self.standing {
                    dt { (standing.track) }
                    dd {
                        @for (at, piece) in standing.pieces.iter().enumerate() {
                            @if at > 0 { ", " }
                            @let train = piece.kind == "train";
                            @let root = if train { "trains" } else if piece.engine { "engines" } else { "cars" };
                            a href=(show::url(&[root, &piece.name])) {
                                @if train { "train " } @else if piece.engine { "engine " } (piece.name)
                            }
                        }
                    }
                }
            }
        }
    }

    fn shippers(&self, name: &str) -> Markup {
        let traffic = &self.loaded.railroad.traffic;
        let flows: Vec<_> = traffic
            .flows
            .iter()
            .filter(|flow| {
                flow.station
                    .as_ref()
                    .is_some_and(|station| station.value == name)
            })
            .collect();
        if flows.is_empty() {
            return html! {};
        }
        html! {
            h2 { "Shippers" }
            (ledger("Shippers", &super::shippers::table(&self.loaded, &flows, false)))
        }
    }

    /// Every train that comes by, by the plan.
    fn calls(&self, plan: &DayPlan) -> Markup {
        let railroad = &self.loaded.railroad;
        let station = railroad.way.station(self.id);
        let mut calls: Vec<_> = plan
            .trains
            .iter()
            .filter_map(|train| Some((train, train.call(self.id)?)))
            .collect();
        calls.sort_by_key(|(train, call)| (call.arrive, train.symbol.clone()));
        html! {
            h2 { "Trains, by the plan" }
            (ledger("Trains", &html! {
                table {
                    thead { tr {
                        th scope="col" { "Train" } th scope="col" { "Direction" } th.time scope="col" { "Arrives" }
                        th.time scope="col" { "Leaves" } th scope="col" { "Track" } th scope="col" { "Meets and passes" }
                    } }
                    tbody {
                        @for (train, call) in &calls {
                            tr {
                                th scope="row" { @if train.train.is_some() { (train_link(&train.symbol)) } @else { (train.symbol) } }
                                td { (train.direction) }
                                td.time { (show::minute(railroad, call.arrive)) }
                                td.time { (show::minute(railroad, call.leave)) }
                                td { (call.track.map_or("", |track| station.track(track).name.value.as_str())) }
                                td { (planned::meets(plan, call)) }
                            }
                        }
                    }
                }
            }))
        }
    }

    fn trains(&self, name: &str) -> Markup {
        let railroad = &self.loaded.railroad;
        if let Some(plan) = self.planned.plan() {
            return self.calls(plan);
        }
        let mut calls: Vec<_> = railroad
            .service
            .trains
            .iter()
            .filter_map(|train| Some((train.time_at(name)?, train)))
            .collect();
        calls.sort_by_key(|((arrive, _), train)| (*arrive, train.symbol.value.clone()));
        if calls.is_empty() {
            return html! {};
        }
        html! {
            h2 { "Trains" }
            (ledger("Trains", &html! {
                table {
                    thead { tr {
                        th scope="col" { "Train" }
                        th scope="col" { "Direction" }
                        th.time scope="col" { "Arrives" }
                        th.time scope="col" { "Leaves" }
                        th scope="col" { "Work" }
                    } }
                    tbody {
                        @for ((arrive, leave), train) in &calls {
                            @let stop = train.stops.iter().find(|stop| stop.station.as_ref().is_some_and(|s| s.value == name));
                            tr {
                                th scope="row" { (train_link(&train.symbol.value)) }
                                td { (train.direction.as_ref().map_or("", |d| d.value.as_str())) }
                                td.time { (show::time(railroad, *arrive)) }
                                td.time { (show::time(railroad, *leave)) }
                                td { @if let Some(stop) = stop {
                                    (stop.work.iter().map(|work| work.value.word()).collect::<Vec<_>>().join(", "))
                                } }
                            }
                        }
                    }
                }
            }))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_station_of_the_example_has_its_page_under_the_weight() {
        let office = example();
        let now = office.now();
        for (_, station) in now.loaded.railroad.way.stations() {
            let name = station.name.value.as_str();
            let ask = ask(&office, "/stations/x", &[("name", name)], &[]);
            let page = whole(&ask, &StationPage::of(&ask).unwrap());
            assert!(page.contains("<svg class=\"town\""), "{name}");
            for track in &station.tracks {
                assert!(
                    page.contains(&track.name.value),
                    "{name}: {}",
                    track.name.value
                );
            }
            assert!(page.len() < 150_000, "{name}: {} bytes", page.len());
        }
    }

    #[test]
    fn what_stands_there_is_counted_once() {
        let office = example();
        let now = office.now();
        let railroad = &now.loaded.railroad;
        let (books, aside) = railroad::books::open(railroad);
        assert!(aside.is_empty(), "{aside:?}");
        let all: usize = railroad
            .way
            .stations()
            .flat_map(|(id, _)| standing(railroad, id, &books))
            .map(|standing| standing.pieces.len())
            .sum();
        let placed = |at: Option<&model::Spanned<String>>| {
            at.is_some_and(|at| railroad.way.find_track(&at.value).is_some())
        };
        let cars = railroad
            .roster
            .cars
            .iter()
            .filter(|car| placed(car.at.as_ref()) && car.state.on_the_railroad())
            .count();
        let engines = railroad
            .roster
            .engines
            .iter()
            .filter(|engine| placed(engine.at.as_ref()) && engine.state.on_the_railroad())
            .count();
        assert_eq!(all, cars + engines);
    }

    #[test]
    fn at_a_time_of_the_session_cars_stand_where_their_trains_left_them() {
        let (office, car) = crate::pages::testing::session();
        let now = office.now();
        let railroad = &now.loaded.railroad;
        let at = |at: &str| {
            let mut stands = Vec::new();
            for (_, station) in railroad.way.stations() {
                let name = station.name.value.as_str();
                let ask = ask(&office, "/stations/x", &[("name", name)], &[("at", at)]);
                let page = StationPage::of(&ask).unwrap();
                let here = page.standing.iter();
                if here
                    .flat_map(|on| &on.pieces)
                    .any(|piece| piece.name == car)
                {
                    stands.push(name.to_owned());
                }
            }
            stands
        };
        let before = at("");
        assert_eq!(before.len(), 1);
        assert!(at("10:30 AM").is_empty());
        assert_eq!(at("11:30 AM").len(), 1);
    }

    #[test]
    fn a_station_that_there_is_not_is_guessed() {
        let office = example();
        let ask = ask(&office, "/stations/x", &[("name", "Sandril")], &[]);
        let page = whole(&ask, &StationPage::of(&ask).unwrap_err());
        assert!(page.contains("/stations/Sandrill"));
    }
}
