//! The car accountant's books: where every car is before the session or at a time of it, what is in it,
//! where it goes and what it waits for.

use std::{sync::Arc, time::Duration};

use maud::{Markup, html};
use mechanical::CarId;
use model::time::RailTime;
use railroad::{Loaded, Railroad};
use traffic::books::{Books, Movement, Waiting, What, Whereabouts};

use super::{Lack, Leaf, station_link, train_link};
use crate::{
    frame::{Ask, Page, ledger},
    services::{SessionBooks, Sorry},
    show,
    works::Work,
};

/// How long a page waits for the books before it is shown without.
const PATIENCE: Duration = Duration::from_millis(300);

/// The session's books as pages use them.
#[derive(Debug)]
pub enum Booked {
    /// Nobody bills here: cars stand as the record says.
    Nobody(Box<Books>),
    /// The session is being billed.
    Waiting(Arc<Work<SessionBooks>>),
    /// There they are.
    Ready(Arc<SessionBooks>),
    /// The session could not be billed.
    Sorry(Sorry),
}

impl Booked {
    /// The books of the railroad as it is.
    pub fn of(ask: &Ask) -> Self {
        let Some(work) = ask.office.books() else {
            return Self::Nobody(Box::new(railroad::books::open(ask.railroad()).0));
        };
        match work.wait(PATIENCE) {
            None => Self::Waiting(work),
            Some(Ok(books)) => Self::Ready(books),
            Some(Err(sorry)) => Self::Sorry(sorry),
        }
    }

    /// The session, if it is billed.
    pub fn session(&self) -> Option<&SessionBooks> {
        match self {
            Self::Ready(session) => Some(session),
            _ => None,
        }
    }

    /// The books at a time of the session; before it if no time is asked for.
    pub fn at(&self, time: Option<RailTime>) -> Option<Books> {
        match (self, time) {
            (Self::Ready(session), Some(time)) => Some(session.at(time)),
            (Self::Ready(session), None) => Some(session.opening.clone()),
            (Self::Nobody(books), _) => Some((**books).clone()),
            _ => None,
        }
    }

    /// What stands in for the books where they are not ready, or what is amiss in them.
    pub fn word(&self) -> Markup {
        html! {
            @match self {
                Self::Nobody(_) => { p.quiet { "This office was opened without anyone to bill cars: they stand as the record says." } }
                Self::Waiting(work) => {
                    p.waiting role="status" data-waiting="/books/state" {
                        "The session is being billed "
                        progress max="1" value=(work.progress.part()) aria-label="How much of the session is billed" {}
                        " " a href="" { "Look again" }
                    }
                }
                Self::Sorry(sorry) => {
                    p { (super::attention::sign(model::Severity::Error)) " The session could not be billed: " (sorry.what) "."
                        @if let Some(help) = &sorry.help { " " (help) } }
                }
                Self::Ready(session) => {
                    @if !session.amiss.is_empty() {
                        details {
                            summary { (super::attention::sign(model::Severity::Warning)) " "
                                (show::count(session.amiss.len(), "move does", "moves do")) " not come out as billed" }
                            ul { @for words in session.amiss.iter().take(40) { li { (words) } } }
                        }
                    }
                }
            }
        }
    }
}

/// A time of the session asked for in the query.
#[derive(Debug)]
pub struct AskedTime {
    /// The time; before the session if none.
    pub time: Option<RailTime>,
    /// Why what was asked for is none.
    wrong: Option<String>,
}

impl AskedTime {
    /// The time `at` of the query.
    pub fn of(ask: &Ask) -> Self {
        match ask.query("at").map(RailTime::parse) {
            Some(Ok(time)) => Self {
                time: Some(time),
                wrong: None,
            },
            Some(Err(error)) => Self {
                time: None,
                wrong: Some(error.to_string()),
            },
            None => Self {
                time: None,
                wrong: None,
            },
        }
    }

    /// `before the session`, `at 6:15 AM`.
    pub fn words(&self, railroad: &Railroad) -> String {
        match self.time {
            Some(time) => format!("at {}", show::time(railroad, time)),
            None => "before the session".into(),
        }
    }

    /// Its field of a form, with a hint that says what the answer rests on.
    pub fn field(&self, railroad: &Railroad, label: &str, hint: &str) -> Markup {
        html! {
            label for="time" { (label) }
            input #time name="at" size="16" value=(self.time.map_or(String::new(), |time| show::time(railroad, time)))
                placeholder="before the session" aria-invalid=[self.wrong.as_ref().map(|_| "true")] aria-describedby="time-hint";
            button { "Show" }
            span.hint #time-hint {
                @match &self.wrong { Some(words) => (words), None => (hint) }
            }
        }
    }
}

/// Where a car is, with links.
pub fn place(railroad: &Railroad, at: &Whereabouts) -> Markup {
    let station = |id| station_link(&railroad.way.station(id).name.value);
    html! {
        @match at {
            Whereabouts::Track { track, spot, .. } => {
                @let page = railroad.way.track(*track);
                (station(track.station)) ", "
                @match spot.and_then(|spot| page.spots.get(spot)) {
                    Some(spot) => (spot.value),
                    None => (page.name.value),
                }
            }
            Whereabouts::Train { train, from } => { "in train " (train_link(train)) ", taken at " (station(*from)) }
            Whereabouts::Off { via, place, .. } => {
                @match place { Some(place) => { (place) ", beyond " } None => "beyond " }
                (station(*via))
            }
            Whereabouts::Aside => "not on the railroad",
        }
    }
}

/// What a car waits for.
fn waits(railroad: &Railroad, waiting: &Waiting) -> String {
    let shipper = |flow| {
        railroad
            .traffic
            .flow(flow)
            .shipper_name
            .as_ref()
            .map_or_else(|| "a shipper".to_owned(), |name| name.value.clone())
    };
    let until = |moment: &traffic::books::Moment| match moment.day {
        0 => format!("until {}", show::minute(railroad, moment.time)),
        1 => "until next session".to_owned(),
        days => format!("for {days} sessions"),
    };
    match waiting {
        Waiting::Loading { flow, until: done } => {
            format!("loading at {} {}", shipper(*flow), until(done))
        }
        Waiting::Unloading { flow, until: done } => {
            format!("unloading at {} {}", shipper(*flow), until(done))
        }
        Waiting::Beyond { place, until: back } => {
            format!("stands for one at {place}, {}", until(back))
        }
        Waiting::Train => "a train".into(),
        Waiting::Spot { flow } => format!("room at {}", shipper(*flow)),
        Waiting::Order => "an order".into(),
        Waiting::Repairs => "the car shop".into(),
    }
}

/// What happened to a car, and when.
pub fn happening(railroad: &Railroad, movement: &Movement) -> Markup {
    let on = |track: &engineering::ids::TrackRef, spot: &Option<usize>| {
        let at = Whereabouts::Track {
            track: *track,
            spot: *spot,
            at: 0,
        };
        place(railroad, &at)
    };
    html! {
        (show::minute(railroad, movement.when.time)) ": "
        @match &movement.what {
            What::PickUp { train } => { "taken by train " (train_link(train)) }
            What::SetOut { track, spot, .. } => { "set out at " (on(track, spot)) }
            What::Shift { track, spot, .. } => { "moved to " (on(track, spot)) }
            What::Leave { place, .. } => { "handed to another road" @if let Some(place) = place { ", for " (place) } }
            What::Come { track, .. } => { "came from another road, to " (on(track, &None)) }
            What::Load(load) => { "loaded with " (load.commodity) }
            What::Unload => "unloaded",
            What::Found(at) => { "found at " (place(railroad, at)) }
        }
    }
}

/// What is in a car: by its waybill, else by the books.
pub fn contents(booked: &Booked, books: &Books, car: CarId) -> String {
    if let Some((_, words)) = booked.session().and_then(|session| session.bill(car)) {
        return words.contents.clone();
    }
    match &books.car(car).load {
        Some(load) => load.commodity.clone(),
        None => "empty".into(),
    }
}

/// Where every car is.
#[derive(Debug)]
pub struct WhereCarsAre {
    loaded: Arc<Loaded>,
    booked: Booked,
    books: Option<Books>,
    time: AskedTime,
    found: Vec<CarId>,
    find: String,
    leaf: Leaf,
}

impl WhereCarsAre {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let booked = Booked::of(ask);
        let time = AskedTime::of(ask);
        let books = booked.at(time.time);
        let find = ask.query("find").unwrap_or_default().to_owned();
        let words: Vec<String> = find.split_whitespace().map(str::to_lowercase).collect();
        let found: Vec<CarId> = match &books {
            Some(books) => railroad
                .roster
                .car_ids()
                .filter(|(id, car)| {
                    let text = said(railroad, &booked, books, *id, car);
                    words.iter().all(|word| text.contains(word.as_str()))
                })
                .map(|(id, _)| id)
                .collect(),
            None => Vec::new(),
        };
        Ok(Self {
            leaf: Leaf::of(ask, found.len(), &["find", "at"]),
            loaded: ask.now.loaded.clone(),
            booked,
            books,
            time,
            found,
            find,
        })
    }
}

/// Everything of a car's entry that one may search by.
fn said(
    railroad: &Railroad,
    booked: &Booked,
    books: &Books,
    id: CarId,
    car: &mechanical::Car,
) -> String {
    let entry = books.car(id);
    let station = |id| railroad.way.station(id).name.value.clone();
    let at = match &entry.at {
        Whereabouts::Track { track, .. } => {
            format!(
                "{} {}",
                station(track.station),
                railroad.way.track(*track).name.value
            )
        }
        Whereabouts::Train { train, from } => format!("train {train} {}", station(*from)),
        Whereabouts::Off { via, place, .. } => {
            format!(
                "off {} {}",
                station(*via),
                place.clone().unwrap_or_default()
            )
        }
        Whereabouts::Aside => "aside".into(),
    };
    let bill = booked
        .session()
        .and_then(|session| session.bill(id))
        .map_or_else(String::new, |(bill, words)| {
            format!("{} {}", words.to, bill.route)
        });
    let kind = car.kind.map_or("", |kind| kind.value.word());
    format!(
        "{} {kind} {at} {} {bill}",
        car.name.value,
        contents(booked, books, id)
    )
    .to_lowercase()
}

impl Page for WhereCarsAre {
    fn title(&self) -> String {
        format!("Where cars are {}", self.time.words(&self.loaded.railroad))
    }

    fn document(&self) -> &'static str {
        "/books"
    }

    fn wide(&self) -> bool {
        true
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        html! {
            form.find method="get" action="/books" {
                label for="find" { "Find" }
                input #find type="search" name="find" value=(self.find) placeholder="car, kind, place, train, load";
                (self.time.field(railroad, "At", "Moves by the session's waybills, at the trains' written times."))
            }
            (self.booked.word())
            @if let Some(books) = &self.books {
                (self.count(books))
                @if !self.found.is_empty() { (self.table(books)) }
                (self.leaf.links())
            }
        }
    }
}

impl WhereCarsAre {
    /// How many cars stand, ride and are away, of those found.
    fn count(&self, books: &Books) -> Markup {
        let mut counts = [0_usize; 4];
        for car in &self.found {
            counts[match books.car(*car).at {
                Whereabouts::Track { .. } => 0,
                Whereabouts::Train { .. } => 1,
                Whereabouts::Off { .. } => 2,
                Whereabouts::Aside => 3,
            }] += 1;
        }
        let [standing, riding, off, aside] = counts;
        html! {
            p.lead {
                (show::count(self.found.len(), "car", "cars")) ": " (standing) " on tracks, " (riding) " in trains"
                @if off > 0 { ", " (off) " with other roads" }
                @if aside > 0 { ", " (aside) " not on the railroad" }
                "."
            }
        }
    }

    fn table(&self, books: &Books) -> Markup {
        let railroad = &self.loaded.railroad;
        let session = self.booked.session();
        ledger(
            "Where cars are",
            &html! {
                table {
                    thead { tr {
                        th scope="col" { "Car" } th scope="col" { "Kind" } th scope="col" { "Is at" }
                        th scope="col" { "Load" } th scope="col" { "Goes to" } th scope="col" { "By" } th scope="col" { "Waits for" }
                    } }
                    tbody {
                        @for id in &self.found[self.leaf.range()] {
                            @let car = railroad.roster.car(*id);
                            @let entry = books.car(*id);
                            @let bill = session.and_then(|session| session.bill(*id));
                            tr {
                                th scope="row" { a href=(show::url(&["cars", &car.name.value])) { (car.name.value) } }
                                td { (car.kind.map_or("", |kind| kind.value.word())) }
                                td.long { (place(railroad, &entry.at)) }
                                td { (contents(&self.booked, books, *id)) }
                                td.long { @if let Some((_, words)) = bill { (words.to) } }
                                td.long { @if let Some((bill, _)) = bill { (bill.route) } }
                                td.long { @if let Some(waiting) = &entry.waiting_for { (waits(railroad, waiting)) } }
                            }
                        }
                    }
                }
            },
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, session, whole};

    #[test]
    fn a_car_is_where_its_train_has_taken_it() {
        let (office, car) = session();
        let look = |at: &str| {
            let query = [("find", car.as_str()), ("at", at)];
            let ask = ask(&office, "/books", &[], &query);
            let page = WhereCarsAre::of(&ask).unwrap();
            assert_eq!(page.found.len(), 1, "{at}");
            whole(&ask, &page)
        };
        assert!(look("").contains("1 on tracks, 0 in trains"));
        assert!(look("9:59 AM").contains("1 on tracks, 0 in trains"));
        let riding = look("10:30 AM");
        assert!(riding.contains("0 on tracks, 1 in trains") && riding.contains("/trains/45"));
        assert!(look("11:00 AM").contains("1 on tracks"));
        assert!(look("half past").contains("aria-invalid"));
    }

    #[test]
    fn without_anyone_to_bill_cars_stand_as_the_record_says() {
        let office = example();
        let ask = ask(&office, "/books", &[], &[]);
        let page = WhereCarsAre::of(&ask).unwrap();
        assert_eq!(
            page.found.len(),
            office.now().loaded.railroad.roster.cars.len()
        );
        let text = whole(&ask, &page);
        assert!(text.contains("as the record says") && text.len() < 150_000);
    }
}
