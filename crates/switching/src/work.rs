//! The work: the cars standing, the train that comes, and where everything should end up.

use crate::town::{Length, NodeId, PlaceId, Town, TrackId};

/// A car, by its position in [`Work::cars`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CarId(pub u16);

impl CarId {
    /// Position in the list of cars.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Where a car should end up.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Goal {
    /// Anywhere, in the train or on a track.
    Anywhere,
    /// On one of these places. Cars with a rank stand in order of rank from end 0 to end 1; cars
    /// without a rank may stand anywhere among them.
    Track {
        /// Any of these will do.
        places: Vec<PlaceId>,
        /// Order on the place, if it matters.
        rank: Option<u16>,
    },
    /// At one of these marked positions.
    Spot {
        /// The place with the marks.
        place: PlaceId,
        /// Any of these will do (numbers of [`crate::Place::spots`]).
        spots: Vec<u16>,
    },
    /// In the train when it leaves. Block numbers never fall from the engine to the rear.
    Leave {
        /// The block: 0 next to the engine.
        block: u16,
    },
}

/// A car and what is to be done with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Car {
    /// Marks and number, or any name.
    pub name: String,
    /// Length over couplers, in the town's unit.
    pub length: Length,
    /// Where it should end up.
    pub goal: Goal,
    /// Not to be moved, shoved or coupled to: under repair, or unloading. Must stand at a given
    /// position.
    pub immovable: bool,
}

/// A car where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StandingCar {
    /// The car.
    pub car: CarId,
    /// Distance from end 0 of the place to the near face of the car, if its position matters: it
    /// is at a spot, or not to be moved. Only on places that have spots or an immovable car.
    pub at: Option<Length>,
}

/// What stands on a place, from end 0 to end 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// The place.
    pub place: PlaceId,
    /// The cars.
    pub cars: Vec<StandingCar>,
}

/// An engine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Engine {
    /// Its number or name.
    pub name: String,
    /// Its length, tender included.
    pub length: Length,
}

/// The train as it stands when work begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Train {
    /// The engine at work.
    pub engine: Engine,
    /// Cars ahead of the engine, from the front face back to the engine.
    pub ahead: Vec<CarId>,
    /// Cars behind the engine, from the engine back to the rear face.
    pub behind: Vec<CarId>,
    /// The tracks it stands on, from its front to its rear. Together they must be long enough.
    pub on: Vec<TrackId>,
    /// The node at the end of the first of those tracks that its front looks towards.
    pub front_towards: NodeId,
}

/// A second engine, standing alone at the end of a place; the crew may leave the first engine
/// (with all its cars, in the clear on a place) and take this one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpareEngine {
    /// The engine.
    pub engine: Engine,
    /// Where it stands, outermost at the given end (0 or 1).
    pub place: PlaceId,
    /// Which end of the place.
    pub end: u8,
}

/// How the train leaves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Departure {
    /// Through which boundary.
    pub boundary: NodeId,
    /// Engine ahead; `false` lets it shove the whole train out, engine last.
    pub engine_ahead: bool,
    /// A caboose that must be the last car (at the end away from the engine).
    pub caboose: Option<CarId>,
}

/// Main track that must be clear for a train that is due. Times are seconds from the start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrainDue {
    /// The train, for the words of the plan.
    pub name: String,
    /// In the clear from this second.
    pub from_s: u32,
    /// Until this second.
    pub to_s: u32,
}

/// The whole task.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Work {
    /// All cars, those of the train and those standing.
    pub cars: Vec<Car>,
    /// What stands where.
    pub standing: Vec<Standing>,
    /// The train.
    pub train: Train,
    /// A second engine.
    pub spare: Option<SpareEngine>,
    /// How the train leaves; `None` for a yard engine that stays.
    pub departure: Option<Departure>,
    /// Trains due on the main tracks of the town (tracks with `main` set); in order of time and
    /// not overlapping.
    pub trains_due: Vec<TrainDue>,
}

/// What is wrong with a piece of work before anything is moved.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WorkError {
    /// A car is listed twice or not at all.
    #[error("car `{car}` stands in {found} places; expected exactly one")]
    CarPlacedTimes {
        /// The car.
        car: String,
        /// How often it is listed.
        found: usize,
    },
    /// A place or spot that does not exist.
    #[error("`{what}` names a place or spot that is not in the town")]
    NoSuchPlace {
        /// Who names it.
        what: String,
    },
    /// More cars than fit.
    #[error("`{place}` holds {capacity}; the cars standing there need {needed}, or overlap")]
    DoesNotFit {
        /// The place.
        place: String,
        /// Its length.
        capacity: Length,
        /// Length of the cars.
        needed: Length,
    },
    /// Two places that share a track are both occupied, or the train stands on a track with cars.
    #[error("`{place}` shares a track with another place that has cars, or with the train")]
    Overlap {
        /// The place.
        place: String,
    },
    /// An immovable car without a position, or a position on a place without marks.
    #[error(
        "car `{car}` needs a position on its place (it may not be moved), or has one where the place has no marks"
    )]
    Position {
        /// The car.
        car: String,
    },
    /// The train does not fit on the tracks it is said to stand on, or they are not in a row.
    #[error("the train is {needed} long; the tracks it stands on hold {capacity} in a row")]
    TrainDoesNotFit {
        /// Length of the tracks.
        capacity: Length,
        /// Length of the train.
        needed: Length,
    },
    /// More cars than the engine can hold.
    #[error("{found} cars and engines; the most is 120")]
    TooManyCars {
        /// Cars found.
        found: usize,
    },
    /// Trains due out of order.
    #[error("train `{train}` is due before the one listed above it has passed")]
    DueOutOfOrder {
        /// The train.
        train: String,
    },
}

/// Most cars and engines in one piece of work.
pub const MAX_CARS: usize = 120;

impl Work {
    /// A train with nothing in the town yet: an engine with the given cars behind it, standing on
    /// `on` (front to rear) and looking towards `front_towards`.
    pub fn new(engine: &str, length: Length, on: &[TrackId], front_towards: NodeId) -> Self {
        Self {
            cars: vec![],
            standing: vec![],
            train: Train {
                engine: Engine {
                    name: engine.into(),
                    length,
                },
                ahead: vec![],
                behind: vec![],
                on: on.to_vec(),
                front_towards,
            },
            spare: None,
            departure: None,
            trains_due: vec![],
        }
    }

    /// Adds a car to the list (place it with the methods below).
    pub fn car(&mut self, name: &str, length: Length, goal: Goal) -> CarId {
        self.cars.push(Car {
            name: name.into(),
            length,
            goal,
            immovable: false,
        });
        CarId((self.cars.len() - 1) as u16)
    }

    /// Stands cars on a place, from end 0 to end 1, position unmarked.
    pub fn stands(&mut self, place: PlaceId, cars: &[CarId]) {
        let cars = cars.iter().map(|&car| StandingCar { car, at: None });
        match self.standing.iter_mut().find(|s| s.place == place) {
            Some(s) => s.cars.extend(cars),
            None => self.standing.push(Standing {
                place,
                cars: cars.collect(),
            }),
        }
    }

    /// Stands a car on a place with its near face at a given distance from end 0.
    pub fn stands_at(&mut self, place: PlaceId, car: CarId, at: Length) {
        let car = StandingCar { car, at: Some(at) };
        match self.standing.iter_mut().find(|s| s.place == place) {
            Some(s) => s.cars.push(car),
            None => self.standing.push(Standing {
                place,
                cars: vec![car],
            }),
        }
    }

    /// Length of the train with its engine.
    pub fn train_length(&self) -> Length {
        let t = &self.train;
        let cars = t.ahead.iter().chain(&t.behind);
        t.engine.length + cars.map(|c| self.cars[c.index()].length).sum::<Length>()
    }

    /// Whether positions matter on a place: it has spots, or holds an immovable car.
    pub fn marked(&self, town: &Town, place: PlaceId) -> bool {
        !town.places[place.index()].spots.is_empty()
            || self.standing.iter().any(|s| {
                s.place == place && s.cars.iter().any(|c| self.cars[c.car.index()].immovable)
            })
    }

    /// Everything wrong with the work, in words.
    pub fn check(&self, town: &Town) -> Vec<WorkError> {
        let mut out = vec![];
        let n = self.cars.len() + 1 + usize::from(self.spare.is_some());
        if n > MAX_CARS {
            out.push(WorkError::TooManyCars { found: n });
        }
        let mut seen = vec![0usize; self.cars.len()];
        let listed = self
            .standing
            .iter()
            .flat_map(|s| s.cars.iter().map(|c| c.car));
        for c in listed
            .chain(self.train.ahead.iter().copied())
            .chain(self.train.behind.clone())
        {
            if let Some(k) = seen.get_mut(c.index()) {
                *k += 1;
            }
        }
        for (c, &k) in self.cars.iter().zip(&seen) {
            if k != 1 {
                out.push(WorkError::CarPlacedTimes {
                    car: c.name.clone(),
                    found: k,
                });
            }
            let ok = match &c.goal {
                Goal::Track { places, .. } => {
                    !places.is_empty() && places.iter().all(|p| p.index() < town.places.len())
                }
                Goal::Spot { place, spots } => town.places.get(place.index()).is_some_and(|p| {
                    !spots.is_empty() && spots.iter().all(|&s| (s as usize) < p.spots.len())
                }),
                Goal::Anywhere | Goal::Leave { .. } => true,
            };
            if !ok {
                out.push(WorkError::NoSuchPlace {
                    what: c.name.clone(),
                });
            }
        }
        if !out.is_empty() {
            return out;
        }
        let mut used = vec![false; town.tracks.len()];
        for t in &self.train.on {
            if let Some(u) = used.get_mut(t.index()) {
                *u = true;
            }
        }
        let spare = self.spare.iter().map(|s| s.place);
        let mut occupied: Vec<PlaceId> = self
            .standing
            .iter()
            .filter(|s| !s.cars.is_empty())
            .map(|s| s.place)
            .collect();
        for p in spare {
            if !occupied.contains(&p) {
                occupied.push(p);
            }
        }
        for p in occupied {
            let Some(place) = town.places.get(p.index()) else {
                out.push(WorkError::NoSuchPlace {
                    what: "a standing car".into(),
                });
                continue;
            };
            for t in &place.tracks {
                if std::mem::replace(&mut used[t.index()], true) {
                    out.push(WorkError::Overlap {
                        place: place.name.clone(),
                    });
                    break;
                }
            }
            let marked = self.marked(town, p);
            let capacity = town.place_length(p);
            let cars: Vec<StandingCar> = self
                .standing
                .iter()
                .filter(|s| s.place == p)
                .flat_map(|s| s.cars.iter().copied())
                .collect();
            let mut needed: Length = cars.iter().map(|c| self.cars[c.car.index()].length).sum();
            if let Some(s) = self.spare.as_ref().filter(|s| s.place == p) {
                needed += s.engine.length;
            }
            // Walk from end 0, keeping the first free point; a marked car must not be before it.
            let mut free = match &self.spare {
                Some(s) if s.place == p && s.end == 0 => s.engine.length,
                _ => 0,
            };
            let mut fits = needed <= capacity;
            for c in &cars {
                let car = &self.cars[c.car.index()];
                if (car.immovable && c.at.is_none()) || (c.at.is_some() && !marked) {
                    out.push(WorkError::Position {
                        car: car.name.clone(),
                    });
                }
                if let Some(at) = c.at {
                    fits &= at >= free;
                    free = at;
                }
                free += car.length;
            }
            if let Some(s) = self.spare.as_ref().filter(|s| s.place == p && s.end == 1) {
                free += s.engine.length;
            }
            if !fits || free > capacity {
                out.push(WorkError::DoesNotFit {
                    place: place.name.clone(),
                    capacity,
                    needed,
                });
            }
        }
        let needed = self.train_length();
        let capacity = self.train_room(town);
        if capacity.is_none_or(|c| c < needed) {
            out.push(WorkError::TrainDoesNotFit {
                capacity: capacity.unwrap_or(0),
                needed,
            });
        }
        for pair in self.trains_due.windows(2) {
            if pair[1].from_s < pair[0].to_s {
                out.push(WorkError::DueOutOfOrder {
                    train: pair[1].name.clone(),
                });
            }
        }
        out
    }

    /// Length of the tracks the train stands on, `None` if they are not in a row that starts by
    /// looking towards [`Train::front_towards`].
    fn train_room(&self, town: &Town) -> Option<Length> {
        let on = &self.train.on;
        let first = town.tracks.get(on.first()?.index())?;
        let front = first
            .ends
            .iter()
            .position(|e| e.node == self.train.front_towards)?;
        let mut rear = first.ends[1 - front];
        let mut room = first.length;
        for t in &on[1..] {
            let t = town.tracks.get(t.index())?;
            let near = (0..2).find(|&i| town.joined(rear, t.ends[i]))?;
            rear = t.ends[1 - near];
            room += t.length;
        }
        Some(room)
    }
}
