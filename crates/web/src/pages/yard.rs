//! A yard as its master needs it: what stands on each track and for where, what comes in and when, what
//! is to be built, and the blocks.

use std::{collections::BTreeMap, sync::Arc};

use drawing::track_chart::ChartStation;
use engineering::{
    ids::{StationId, TrackId, TrackRef},
    station::{StationKind, TrackUse},
};
use maud::{Markup, html};
use mechanical::CarId;
use model::time::RailTime;
use railroad::{Loaded, Railroad};
use traffic::books::Books;
use transportation::{
    MadeUp,
    make_up::{CarMove, Haul},
};

use super::{
    Lack,
    books::{AskedTime, Booked, contents},
    station, station_link, train_link,
};
use crate::{
    frame::{Ask, Page, drawing, ledger},
    ink::{self, How, Standing},
    services::SessionBooks,
    show,
};

/// Whether cars are sorted or trains made up there.
pub fn is_yard(railroad: &Railroad, id: StationId) -> bool {
    let page = railroad.way.station(id);
    matches!(page.kind, StationKind::Yard | StationKind::Staging)
        || page
            .tracks
            .iter()
            .any(|track| track.usage == TrackUse::Classification)
}

/// All yards.
#[derive(Debug)]
pub struct Yards {
    loaded: Arc<Loaded>,
    booked: Booked,
}

impl Yards {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            booked: Booked::of(ask),
        })
    }
}

impl Page for Yards {
    fn title(&self) -> String {
        "Yards".into()
    }

    fn document(&self) -> &'static str {
        "/yards"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let books = self.booked.at(None);
        let session = self.booked.session();
        let yards: Vec<_> = railroad
            .way
            .stations()
            .filter(|(id, _)| is_yard(railroad, *id))
            .collect();
        html! {
            p.lead { "What stands there before the session, what comes in and what is to be built." }
            (self.booked.word())
            @if yards.is_empty() { p { "No station is a yard or staging." } }
            @else {
                (ledger("Yards", &html! {
                    table {
                        thead { tr {
                            th scope="col" { "Yard" } th scope="col" { "Kind" } th.number scope="col" { "Tracks" } th.number scope="col" { "Cars stand" }
                            th.number scope="col" { "Come in" } th.number scope="col" { "Go out" } th.number scope="col" { "Trains to build" }
                        } }
                        tbody {
                            @for (id, page) in yards {
                                @let work = session.map(|session| Work::at(session, id));
                                tr {
                                    th scope="row" { a href=(show::url(&["yards", &page.name.value])) { (page.name.value) } }
                                    td { (page.kind.word()) }
                                    td.number { (page.tracks.len()) }
                                    td.number { @if let Some(books) = &books { (standing(books, railroad, id)) } }
                                    td.number { @if let Some(work) = &work { (work.cars_in()) } }
                                    td.number { @if let Some(work) = &work { (work.cars_out()) } }
                                    td.number { @if let Some(work) = &work { (work.out.len()) } }
                                }
                            }
                        }
                    }
                }))
            }
        }
    }
}

fn standing(books: &Books, railroad: &Railroad, station: StationId) -> usize {
    railroad
        .way
        .station(station)
        .tracks()
        .map(|(track, _)| books.standing(TrackRef { station, track }).len())
        .sum()
}

/// What trains do at a yard in the session: each with its place among those made up and among its works.
struct Work<'a> {
    into: Vec<(&'a MadeUp, &'a [CarMove])>,
    out: Vec<(&'a MadeUp, usize, &'a [CarMove])>,
}

impl<'a> Work<'a> {
    fn at(session: &'a SessionBooks, station: StationId) -> Self {
        let mut work = Self {
            into: Vec::new(),
            out: Vec::new(),
        };
        for made in &session.made_up {
            for (at, one) in made.works.iter().enumerate() {
                if one.station != station {
                    continue;
                }
                if !one.set_out.is_empty() {
                    work.into.push((made, &one.set_out));
                }
                if !one.pick_up.is_empty() {
                    work.out.push((made, at, &one.pick_up));
                }
            }
        }
        work
    }

    fn cars_in(&self) -> usize {
        self.into.iter().map(|(_, cars)| cars.len()).sum()
    }

    fn cars_out(&self) -> usize {
        self.out.iter().map(|(.., cars)| cars.len()).sum()
    }
}

/// One yard.
#[derive(Debug)]
pub struct YardPage {
    loaded: Arc<Loaded>,
    id: StationId,
    chart: Option<ChartStation>,
    booked: Booked,
    books: Option<Books>,
    time: AskedTime,
    standing: Vec<Standing>,
}

impl YardPage {
    /// The page; `at` in the query shows it at a time of the session.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let id = station::find(railroad, ask.param("name"))?;
        let booked = Booked::of(ask);
        let time = AskedTime::of(ask);
        let books = booked.at(time.time);
        let standing = match &books {
            Some(books) => station::standing(railroad, id, books),
            None => Vec::new(),
        };
        Ok(Self {
            chart: station::chart(railroad, id),
            loaded: ask.now.loaded.clone(),
            id,
            booked,
            books,
            time,
            standing,
        })
    }

    fn name(&self) -> &str {
        &self.loaded.railroad.way.station(self.id).name.value
    }

    /// A car with what is in it.
    fn car(&self, books: &Books, id: CarId) -> Markup {
        let name = &self.loaded.railroad.roster.car(id).name.value;
        html! {
            a href=(show::url(&["cars", name])) { (name) } " " span.quiet { (contents(&self.booked, books, id)) }
        }
    }

    fn track(&self, track: TrackId) -> &str {
        &self
            .loaded
            .railroad
            .way
            .station(self.id)
            .track(track)
            .name
            .value
    }

    fn tracks(&self, books: &Books) -> Markup {
        let railroad = &self.loaded.railroad;
        let station = railroad.way.station(self.id);
        let [low, _] = station::ways_out(railroad, self.id);
        html! {
            h2 { "Tracks " (self.time.words(railroad)) }
            p.quiet { "Cars from the end toward " (low) "." }
            (ledger("Tracks of the yard", &html! {
                table.tracks {
                    thead { tr {
                        th scope="col" { "Track" } th scope="col" { "Use" } th.number scope="col" { "Cars" }
                        th.number scope="col" { "Room left" } th scope="col" { "What stands there" }
                    } }
                    tbody {
                        @for (id, track) in station.tracks() {
                            @let on = TrackRef { station: self.id, track: id };
                            @let cars: Vec<CarId> = station::from_low(railroad, books, on).collect();
                            tr {
                                th scope="row" { (track.name.value) }
                                td { (track.usage.word()) }
                                td.number { @if !cars.is_empty() { (cars.len()) } }
                                td.number { (show::length(railroad, books.room(on))) }
                                td { @for (at, car) in cars.iter().enumerate() { @if at > 0 { "; " } (self.car(books, *car)) } }
                            }
                        }
                    }
                }
            }))
        }
    }

    /// When a train is at the yard, by its written times.
    fn times(&self, made: &MadeUp) -> Option<(RailTime, RailTime)> {
        let service = &self.loaded.railroad.service;
        service.train(made.train).time_at(self.name())
    }

    fn arrivals(&self, books: &Books, work: &Work) -> Markup {
        let railroad = &self.loaded.railroad;
        let mut into: Vec<_> = work
            .into
            .iter()
            .map(|(made, cars)| (self.times(made).map(|(arrive, _)| arrive), *made, *cars))
            .collect();
        into.sort_by_key(|(time, made, _)| (*time, made.train));
        html! {
            h2 { "What comes in" }
            @if into.is_empty() { p { "No train leaves cars here in the session." } }
            @else {
                (ledger("What comes in", &html! {
                    table {
                        thead { tr { th.time scope="col" { "Time" } th scope="col" { "Train" } th.number scope="col" { "Cars" } th scope="col" { "Cars from the engine, and to which track" } } }
                        tbody {
                            @for (time, made, cars) in into {
                                tr {
                                    td.time { (time.map_or(String::new(), |time| show::time(railroad, time))) }
                                    th scope="row" { (train_link(&railroad.service.train(made.train).symbol.value)) }
                                    td.number { (cars.len()) }
                                    td { @for (at, moved) in cars.iter().enumerate() {
                                        @if at > 0 { "; " } (self.car(books, moved.car))
                                        @if let Some(track) = moved.track { " \u{2192} " (self.track(track)) }
                                    } }
                                }
                            }
                        }
                    }
                }))
            }
        }
    }

    fn builds(&self, books: &Books, work: &Work) -> Markup {
        let railroad = &self.loaded.railroad;
        let mut out: Vec<_> = work
            .out
            .iter()
            .map(|(made, at, cars)| (self.times(made).map(|(_, leave)| leave), *made, *at, *cars))
            .collect();
        out.sort_by_key(|(time, made, ..)| (*time, made.train));
        html! {
            h2 { "What is to be built" }
            @if out.is_empty() { p { "No train takes cars from here in the session." } }
            @for (time, made, at, cars) in out {
                @let train = railroad.service.train(made.train);
                h3 {
                    "Train " (train_link(&train.symbol.value))
                    @if let Some(time) = time { ", leaves " (show::time(railroad, time)) }
                    ": " (show::count(cars.len(), "car", "cars"))
                    @if let Some(haul) = made.hauls.get(at) { "; " (size(railroad, haul)) }
                }
                ol.blocks {
                    @for (block, cars) in blocks(cars) {
                        li {
                            strong { (block) } ", " (cars.len()) ": "
                            @for (at, moved) in cars.iter().enumerate() {
                                @if at > 0 { "; " } (self.car(books, moved.car))
                                @if let Some(track) = moved.track { " from " (self.track(track)) }
                            }
                        }
                    }
                }
            }
        }
    }

    /// The cars that stand here, by the train and block in which they are to leave.
    fn blocks(&self, books: &Books, session: &SessionBooks) -> Markup {
        let railroad = &self.loaded.railroad;
        let mut by_block: BTreeMap<(u32, String, String), Vec<(CarId, TrackId)>> = BTreeMap::new();
        let mut unbilled = Vec::new();
        for (track, _) in railroad.way.station(self.id).tracks() {
            for &car in books.standing(TrackRef {
                station: self.id,
                track,
            }) {
                let leg = session
                    .bill(car)
                    .and_then(|(bill, _)| bill.legs.iter().find(|leg| leg.from == self.id));
                match leg {
                    Some(leg) => by_block
                        .entry((leg.day, leg.train.clone(), leg.block.clone()))
                        .or_default()
                        .push((car, track)),
                    None => unbilled.push(car),
                }
            }
        }
        html! {
            h2 { "Blocks " (self.time.words(railroad)) }
            @if by_block.is_empty() { p { "No car that stands here is billed to leave." } }
            @else {
                (ledger("Blocks", &html! {
                    table {
                        thead { tr { th scope="col" { "Block" } th scope="col" { "Train" } th.number scope="col" { "Cars" } th scope="col" { "Stand on" } } }
                        tbody {
                            @for ((day, train, block), cars) in &by_block {
                                tr {
                                    th scope="row" { (block) }
                                    td { (train_link(train)) @match day { 0 => "", 1 => ", next session", _ => ", later" } }
                                    td.number { (cars.len()) }
                                    td { (on_tracks(self, cars)) }
                                }
                            }
                        }
                    }
                }))
            }
            @if !unbilled.is_empty() {
                p.quiet { (show::count(unbilled.len(), "car stands", "cars stand")) " here and "
                    (if unbilled.len() == 1 { "is" } else { "are" }) " not billed to leave." }
            }
        }
    }
}

/// `track 2: 4, track 3: 1`.
fn on_tracks(page: &YardPage, cars: &[(CarId, TrackId)]) -> String {
    let mut counts: BTreeMap<TrackId, usize> = BTreeMap::new();
    for (_, track) in cars {
        *counts.entry(*track).or_default() += 1;
    }
    let each: Vec<String> = counts
        .iter()
        .map(|(track, count)| format!("{}: {count}", page.track(*track)))
        .collect();
    each.join(", ")
}

/// The blocks of a train in the order in which they are to stand, from the engine.
fn blocks(cars: &[CarMove]) -> Vec<(&str, Vec<&CarMove>)> {
    let mut order: Vec<&CarMove> = cars.iter().collect();
    order.sort_by_key(|moved| moved.rank);
    let mut blocks: Vec<(&str, Vec<&CarMove>)> = Vec::new();
    for moved in order {
        match blocks.last_mut() {
            Some((name, cars)) if *name == moved.block => cars.push(moved),
            _ => blocks.push((&moved.block, vec![moved])),
        }
    }
    blocks
}

/// How large a train leaves, against what it may be.
fn size(railroad: &Railroad, haul: &Haul) -> String {
    let mut words = format!(
        "leaves with {}, {}",
        show::count(haul.cars as usize, "car", "cars"),
        show::length(railroad, haul.length)
    );
    if let Some(most) = haul.allowed.length {
        words.push_str(&format!(" of {}", show::length(railroad, most)));
    }
    words.push_str(&format!(", {:.0} tons", haul.tons));
    if let Some(most) = haul.allowed.tons {
        words.push_str(&format!(" of {most:.0}"));
    }
    words
}

impl Page for YardPage {
    fn title(&self) -> String {
        format!("{}: the yard", self.name())
    }

    fn document(&self) -> &'static str {
        "/yards"
    }

    fn wide(&self) -> bool {
        true
    }

    fn whom(&self) -> Option<String> {
        Some(self.name().to_owned())
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let [low, high] = station::ways_out(railroad, self.id);
        let name = self.name();
        html! {
            p.lead { "For the rest of its page see " (station_link(name)) "." }
            form.find method="get" action=(show::url(&["yards", name])) {
                (self.time.field(railroad, "As it should be at", "By the session's waybills, at the trains' written times."))
            }
            (self.booked.word())
            @if let Some(chart) = &self.chart {
                (drawing(&format!("The tracks of {name}"), &ink::town(chart, [&low, &high], &self.standing, How::default())))
            }
            @if let Some(books) = &self.books {
                (self.tracks(books))
                @if let Some(session) = self.booked.session() {
                    @let work = Work::at(session, self.id);
                    (self.arrivals(books, &work))
                    (self.builds(books, &work))
                    (self.blocks(books, session))
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, session, whole};

    #[test]
    fn a_yard_says_what_comes_in_what_is_built_and_in_which_blocks() {
        let (office, car) = session();
        let now = office.now();
        let railroad = &now.loaded.railroad;
        let (_, yard) = railroad
            .way
            .stations()
            .find(|(_, page)| page.kind == StationKind::Yard)
            .unwrap();
        let name = yard.name.value.as_str();
        let look = |at: &str| {
            let ask = ask(&office, "/yards/x", &[("name", name)], &[("at", at)]);
            whole(&ask, &YardPage::of(&ask).unwrap())
        };
        let (riding, left) = (look("10:30 AM"), look("11:30 AM"));
        for page in [&riding, &left] {
            assert!(
                page.contains("What comes in") && page.contains("Train <a href=\"/trains/45\"")
            );
            assert!(page.contains("<strong>Wendry</strong>, 1"), "{page}");
        }
        // On the way it stands on no track; then on one, and is a block of its own.
        let times = |page: &str| page.matches(&format!(">{car}<")).count();
        assert_eq!(times(&riding) + 1, times(&left));
        assert!(left.contains("<th scope=\"row\">Wendry</th>"));
        assert!(riding.contains("No car that stands here is billed to leave."));
    }

    #[test]
    fn blocks_stand_by_rank_from_the_engine() {
        let moved = |car, block: &str, rank| CarMove {
            car: CarId(car),
            bill: traffic::WaybillNo(car),
            block: block.into(),
            rank,
            track: None,
            spot: None,
            off_spot: false,
        };
        let cars = [moved(1, "far", 2), moved(2, "near", 1), moved(3, "far", 2)];
        let found: Vec<(&str, usize)> = blocks(&cars)
            .into_iter()
            .map(|(name, cars)| (name, cars.len()))
            .collect();
        assert_eq!(found, [("near", 1), ("far", 2)]);
    }
}
