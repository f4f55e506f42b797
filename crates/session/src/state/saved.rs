//! A state written down and taken up again: for snapshots, and for comparing two states.

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    sync::Arc,
};

use mechanical::CarId;
use model::{time::RailTime, units::Actual};
use serde::{Deserialize, Serialize};
use traffic::books::{
    Books, CarGround, Ground, Load, Moment, Movement, TrackGround, What, Whereabouts,
};

use super::{
    State, named,
    sheet::{Sheet, TrainNow},
    undo::Before,
};
use crate::{
    clock::{Clock, RealMillis},
    opening::{CarPlace, Opening},
};

/// A state as it is written down; its opening stands apart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Saved {
    sheet: Sheet,
    cars: Vec<SavedCar>,
    before: Vec<Before>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct SavedCar {
    pub(super) at: CarPlace,
    pub(super) load: Option<String>,
    pub(super) since: i64,
}

fn ground(opening: &Opening) -> Ground {
    Ground {
        tracks: opening
            .stations
            .iter()
            .map(|station| {
                station
                    .tracks
                    .iter()
                    .map(|track| TrackGround {
                        name: format!("{} / {}", station.name, track.name),
                        room: Actual::from_meters(track.room),
                        spots: track.spots.len(),
                        holds_cars: track.holds_cars,
                    })
                    .collect()
            })
            .collect(),
        cars: opening
            .cars
            .iter()
            .map(|car| CarGround {
                name: car.name.clone(),
                length: Actual::from_meters(car.length),
            })
            .collect(),
    }
}

/// Books with the cars where they are said to be. A car that does not fit where it is said to be stays
/// aside: close-out asks for it.
fn books(opening: &Opening, cars: &[SavedCar]) -> Books {
    let count = cars.len().min(opening.cars.len());
    let ids = (0..opening.cars.len()).map(|at| CarId(at as u32));
    let mut books = Books::new(Arc::new(ground(opening)), ids);
    books.day = opening.day;
    // From the beginning of each track, so that each finds its place behind the others.
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by_key(|&at| match &cars[at].at {
        CarPlace::Track { place, .. } => *place,
        _ => 0,
    });
    for at in order {
        let (car, id) = (&cars[at], CarId(at as u32));
        let when = Moment {
            day: opening.day,
            time: RailTime::from_seconds(car.since),
        };
        let Some(there) = named::whereabouts(opening, &car.at) else {
            continue;
        };
        if let Whereabouts::Track { track, spot, .. } = there {
            // Off a train, so that it comes to stand exactly where it stood among the others.
            let aboard = Whereabouts::Train {
                train: String::new(),
                from: track.station,
            };
            let at = books.standing(track).len();
            let what = What::SetOut { track, spot, at };
            let car = id;
            let put = books
                .found(&[(id, aboard)], when)
                .and_then(|()| books.apply(&Movement { car, when, what }));
            if put.is_err() {
                let _ = books.found(&[(id, Whereabouts::Aside)], when);
            }
        } else {
            // Nothing stands in the way of a car that is on no track.
            let _ = books.found(&[(id, there)], when);
        }
        if let Some(commodity) = &car.load {
            let load = Load {
                flow: None,
                commodity: commodity.clone(),
            };
            books.carries(id, Some(load));
        }
    }
    books
}

impl State {
    /// The state in which a session begins, with its clock standing.
    pub fn new(opening: Arc<Opening>, now: RealMillis) -> Self {
        let cars: Vec<SavedCar> = opening
            .cars
            .iter()
            .map(|car| SavedCar {
                at: car.at.clone(),
                load: car.load.clone(),
                since: i64::MIN / 4,
            })
            .collect();
        let mut trains: Vec<TrainNow> = opening
            .trains
            .iter()
            .map(|train| TrainNow::new(train, false))
            .collect();
        for car in &opening.cars {
            if let CarPlace::Train { train, .. } = &car.at
                && let Some(train) = trains.iter_mut().find(|one| one.sheet.symbol == *train)
            {
                train.consist.push(car.name.clone());
            }
        }
        let bad_orders: BTreeMap<String, String> = opening
            .cars
            .iter()
            .filter(|car| car.bad_order)
            .map(|car| {
                (
                    car.name.clone(),
                    "bad ordered before the session".to_owned(),
                )
            })
            .collect();
        Self {
            books: books(&opening, &cars),
            sheet: Sheet {
                revision: 0,
                clock: Clock::standing(opening.begins, opening.ratio, now),
                trains,
                orders: Vec::new(),
                people: BTreeMap::new(),
                devices: BTreeMap::new(),
                tracks_out: Vec::new(),
                bridges_open: BTreeSet::new(),
                stopped: None,
                bad_orders,
                remarks: Vec::new(),
                delays: Vec::new(),
                notes: Vec::new(),
                walked: Vec::new(),
                plan_changes: Vec::new(),
                moves: 0,
                closed: None,
                recent: VecDeque::new(),
                touched: BTreeMap::new(),
            },
            before: VecDeque::new(),
            opening,
        }
    }

    /// Writes it down.
    pub fn save(&self) -> Saved {
        Saved {
            sheet: self.sheet.clone(),
            cars: (0..self.opening.cars.len())
                .map(|at| self.saved_car(at))
                .collect(),
            before: self.before.iter().map(|one| (**one).clone()).collect(),
        }
    }

    /// Takes it up again.
    pub fn restore(opening: Arc<Opening>, saved: Saved) -> Self {
        Self {
            books: books(&opening, &saved.cars),
            sheet: saved.sheet,
            before: saved.before.into_iter().map(Arc::new).collect(),
            opening,
        }
    }

    pub(super) fn saved_car(&self, at: usize) -> SavedCar {
        let book = self.books.car(CarId(at as u32));
        SavedCar {
            at: named::place(&self.opening, &self.books, at),
            load: book.load.as_ref().map(|load| load.commodity.clone()),
            since: book.since.time.seconds(),
        }
    }

    /// Puts a car back to what it was, as far as its place is still free.
    pub(super) fn put_car(&mut self, at: usize, saved: &SavedCar, rail: RailTime) -> bool {
        let when = Moment {
            day: self.opening.day,
            time: rail,
        };
        let Some(there) = named::whereabouts(&self.opening, &saved.at) else {
            return false;
        };
        let movement = Movement {
            car: CarId(at as u32),
            when,
            what: What::Found(there),
        };
        self.books.apply(&movement).is_ok()
    }
}
