//! The judge of the books: looks at them as an auditor would, car by car and track by track, with the
//! facts taken from the railroad's own pages. Shares no code with what enters movements.

use std::collections::{BTreeMap, HashMap};

use engineering::{
    Way,
    ids::{StationId, TrackRef},
};
use mechanical::{CarId, CarKind, Roster};
use model::units::Actual;

use super::{CarBook, Moment, Movement, Waiting, What, Whereabouts};
use crate::{FlowId, Traffic};

/// What the books are held to.
#[derive(Clone, Copy)]
pub struct Facts<'a> {
    /// Stations and tracks.
    pub way: &'a Way,
    /// The car record.
    pub roster: &'a Roster,
    /// Shippers.
    pub traffic: &'a Traffic,
    /// How much of a track holds cars.
    pub usable: &'a dyn Fn(TrackRef) -> Actual,
}

/// What is wrong with the books.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Wrong {
    /// A car of the roster is not in the books.
    #[error("{0} is not in the books")]
    Lost(String),
    /// A car is in the books twice.
    #[error("{0} is in the books {1} times")]
    Doubled(String, usize),
    /// There is no such car or track.
    #[error("{0} is in the books at a place that is not on the railroad")]
    Nowhere(String),
    /// Two cars are in one place, or there is a gap in the row.
    #[error("{track}: the cars there are numbered {found:?}, which is no row")]
    Row {
        /// The track.
        track: String,
        /// Their numbers.
        found: Vec<usize>,
    },
    /// More cars than the track holds.
    #[error("{track} holds {holds_inches:.2} in, and the cars there take {taken_inches:.2} in")]
    Overfull {
        /// The track.
        track: String,
        /// What it holds.
        holds_inches: f64,
        /// What they take.
        taken_inches: f64,
    },
    /// A track that is kept clear.
    #[error("{car} stands on {track}, which is kept clear")]
    KeptClear {
        /// The car.
        car: String,
        /// The track.
        track: String,
    },
    /// A spot that is not there, is taken twice, or is out of order.
    #[error("{car} is at no legal spot of {track}: {why}")]
    Spot {
        /// The car.
        car: String,
        /// The track.
        track: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// It is loaded or unloaded for somebody whose spot or kind of car this is not.
    #[error("{car} is worked on {track} for a shipper who does not use {what}")]
    NotTheirs {
        /// The car.
        car: String,
        /// The track.
        track: String,
        /// The track, the spot or the kind of car.
        what: &'static str,
    },
    /// A car moved in a way that no car moves.
    #[error("{car}: {why}")]
    Jumped {
        /// The car.
        car: String,
        /// What happened.
        why: String,
    },
}

/// A car on a track: its place in the row, its spot, and its page.
type Stands<'a> = (usize, Option<usize>, &'a CarBook);

/// All that is wrong with books, if anything is.
pub fn judge(books: &[CarBook], facts: &Facts<'_>) -> Vec<Wrong> {
    let mut wrong = vec![];
    let name = |car: CarId| match facts.roster.cars.get(car.index()) {
        Some(car) => car.name.value.clone(),
        None => format!("car {}", car.index()),
    };
    let mut count: HashMap<CarId, usize> = HashMap::new();
    for book in books {
        *count.entry(book.car).or_default() += 1;
    }
    for (car, page) in facts.roster.car_ids() {
        match count.get(&car).copied().unwrap_or(0) {
            0 => wrong.push(Wrong::Lost(page.name.value.clone())),
            1 => {}
            more => wrong.push(Wrong::Doubled(page.name.value.clone(), more)),
        }
    }
    let mut on: BTreeMap<TrackRef, Vec<Stands>> = BTreeMap::new();
    for book in books {
        match &book.at {
            Whereabouts::Track { track, spot, at } => {
                let there = facts
                    .way
                    .stations()
                    .nth(track.station.index())
                    .is_some_and(|(_, page)| track.track.index() < page.tracks.len());
                if there {
                    on.entry(*track).or_default().push((*at, *spot, book));
                } else {
                    wrong.push(Wrong::Nowhere(name(book.car)));
                }
            }
            Whereabouts::Train { train, .. } if train.is_empty() => {
                wrong.push(Wrong::Nowhere(name(book.car)));
            }
            Whereabouts::Train { .. } | Whereabouts::Off { .. } | Whereabouts::Aside => {}
        }
    }
    for (track, mut row) in on {
        row.sort_by_key(|(at, _, book)| (*at, book.car));
        let label = facts.way.track_name(track);
        let page = facts.way.track(track);
        let numbers: Vec<usize> = row.iter().map(|(at, ..)| *at).collect();
        if numbers.iter().enumerate().any(|(n, at)| n != *at) {
            wrong.push(Wrong::Row {
                track: label.clone(),
                found: numbers,
            });
        }
        let taken: f64 = row
            .iter()
            .filter_map(|(.., book)| facts.roster.cars.get(book.car.index()))
            .map(|car| car.length.map_or(0.0, |length| length.value.inches()))
            .sum();
        let holds = (facts.usable)(track).inches();
        // A thousandth of an inch a car for sums in another order.
        if taken > holds + 0.005 {
            wrong.push(Wrong::Overfull {
                track: label.clone(),
                holds_inches: holds,
                taken_inches: taken,
            });
        }
        let staging =
            facts.way.station(track.station).kind == engineering::station::StationKind::Staging;
        if !page.usage.holds_cars() && !staging {
            wrong.push(Wrong::KeptClear {
                car: name(row[0].2.car),
                track: label.clone(),
            });
        }
        let mut last: Option<usize> = None;
        for (_, spot, book) in &row {
            let Some(spot) = *spot else { continue };
            let why = if spot >= page.spots.len() {
                Some("the track has fewer")
            } else if last == Some(spot) {
                Some("another car stands there")
            } else if last.is_some_and(|last| last > spot) {
                Some("a car nearer the beginning is at a farther spot")
            } else {
                None
            };
            last = Some(spot);
            if let Some(why) = why {
                wrong.push(Wrong::Spot {
                    car: name(book.car),
                    track: label.clone(),
                    why,
                });
            }
        }
        for (_, spot, book) in &row {
            let (Some(Waiting::Loading { flow, .. }) | Some(Waiting::Unloading { flow, .. })) =
                &book.waiting_for
            else {
                continue;
            };
            if let Some(what) = not_theirs(facts, *flow, track, *spot, book.car) {
                wrong.push(Wrong::NotTheirs {
                    car: name(book.car),
                    track: label.clone(),
                    what,
                });
            }
        }
    }
    wrong
}

/// What of a track, spot and car is not the shipper's.
fn not_theirs(
    facts: &Facts<'_>,
    flow: FlowId,
    track: TrackRef,
    spot: Option<usize>,
    car: CarId,
) -> Option<&'static str> {
    let flow = facts.traffic.flows.get(flow.index())?;
    let station = facts.way.station(track.station);
    let page = facts.way.track(track);
    let same = |written: &Option<model::Spanned<String>>, name: &str| {
        written.as_ref().is_none_or(|written| written.value == name)
    };
    if !same(&flow.station, &station.name.value) || !same(&flow.track, &page.name.value) {
        return Some("this track");
    }
    let spot_name = spot.and_then(|spot| page.spots.get(spot));
    if !flow.spots.is_empty()
        && !spot_name.is_some_and(|name| flow.spots.iter().any(|s| s.value == name.value))
    {
        return Some("this spot");
    }
    let kind = facts.roster.cars.get(car.index())?.kind?.value;
    let wants: CarKind = flow.car_kind?.value;
    (kind != wants).then_some("this kind of car")
}

/// Looks at a list of movements, in order of time for each car: whether a car ever moved otherwise
/// than a train, an engine at its station or another road moves it. `runs` says at which stations a
/// train calls, in order. `before` is where the cars were.
pub fn judge_movements(
    before: &[CarBook],
    movements: &[Movement],
    facts: &Facts<'_>,
    runs: &dyn Fn(&str) -> Vec<StationId>,
) -> Vec<Wrong> {
    #[derive(Clone, PartialEq)]
    enum Is {
        At(StationId),
        In(String, StationId),
        Off(StationId),
        Aside,
    }
    let mut wrong = vec![];
    let mut is: HashMap<CarId, (Is, Moment)> = before
        .iter()
        .map(|book| {
            let is = match &book.at {
                Whereabouts::Track { track, .. } => Is::At(track.station),
                Whereabouts::Train { train, from } => Is::In(train.clone(), *from),
                Whereabouts::Off { via, .. } => Is::Off(*via),
                Whereabouts::Aside => Is::Aside,
            };
            (book.car, (is, book.since))
        })
        .collect();
    for movement in movements {
        let label = facts
            .roster
            .cars
            .get(movement.car.index())
            .map_or_else(String::new, |car| car.name.value.clone());
        let mut jumped = |why: String| {
            wrong.push(Wrong::Jumped {
                car: label.clone(),
                why,
            });
        };
        let Some((now, since)) = is.get_mut(&movement.car) else {
            jumped("a car that is not in the books moved".into());
            continue;
        };
        if movement.when < *since {
            jumped("it moved before it had come".into());
        }
        *since = movement.when;
        match (&movement.what, now.clone()) {
            (What::PickUp { train }, Is::At(station)) => {
                if !runs(train).contains(&station) {
                    jumped(format!("train {train} took it where it does not call"));
                }
                *now = Is::In(train.clone(), station);
            }
            (What::SetOut { track, .. }, Is::In(train, from)) => {
                let calls = runs(&train);
                let taken = calls.iter().position(|&s| s == from);
                let left = calls.iter().rposition(|&s| s == track.station);
                if taken.is_none() || left.is_none() || left < taken {
                    jumped(format!("train {train} left it where it does not come to"));
                }
                *now = Is::At(track.station);
            }
            (What::Shift { track, .. }, Is::At(station)) => {
                if track.station != station {
                    jumped("it was shifted to another station".into());
                }
            }
            (What::Leave { .. }, Is::At(station)) => *now = Is::Off(station),
            (What::Come { track, .. }, Is::Off(via)) => {
                if track.station != via {
                    jumped("it came back elsewhere than it had left".into());
                }
                *now = Is::At(track.station);
            }
            (What::Load(_) | What::Unload, Is::At(_)) => {}
            (What::Found(at), _) => {
                *now = match at {
                    Whereabouts::Track { track, .. } => Is::At(track.station),
                    Whereabouts::Train { train, from } => Is::In(train.clone(), *from),
                    Whereabouts::Off { via, .. } => Is::Off(*via),
                    Whereabouts::Aside => Is::Aside,
                }
            }
            (what, _) => jumped(format!(
                "it was not where this could happen to it: {what:?}"
            )),
        }
    }
    wrong
}
