//! Movements entered in the books, or refused.

use engineering::ids::TrackRef;
use mechanical::CarId;

use super::{Books, Moment, Movement, Refused, What, Whereabouts, ground::SLACK};

impl Books {
    /// Enters a movement.
    ///
    /// # Errors
    /// [`Refused`] if it cannot have happened; then nothing is changed.
    pub fn apply(&mut self, movement: &Movement) -> Result<(), Refused> {
        let car = movement.car;
        let Some(book) = self.cars.get(car.index()) else {
            return Err(Refused::NoCar(car.index()));
        };
        if movement.when < book.since {
            return Err(Refused::Earlier {
                car: self.name(car),
            });
        }
        match &movement.what {
            What::PickUp { train } => {
                let from = self.standing_at(car, "be picked up")?;
                self.lift(car);
                let from = from.station;
                let train = train.clone();
                self.put(car, Whereabouts::Train { train, from }, movement.when);
            }
            What::SetOut { track, spot, at } => {
                let Whereabouts::Train { .. } = &book.at else {
                    return Err(self.elsewhere(car, "be set out", "in a train"));
                };
                self.fits(car, *track, *spot, *at)?;
                self.set_down(car, *track, *spot, *at, movement.when);
            }
            What::Shift { track, spot, at } => {
                let from = self.standing_at(car, "be shifted")?;
                if from.station != track.station {
                    let expected = format!("at the station of {}", self.track_name(*track));
                    return Err(self.elsewhere(car, "be shifted", &expected));
                }
                let was = book.at.clone();
                let since = book.since;
                self.lift(car);
                if let Err(refused) = self.fits(car, *track, *spot, *at) {
                    self.put_back(car, &was, since);
                    return Err(refused);
                }
                self.set_down(car, *track, *spot, *at, movement.when);
            }
            What::Leave { place, back } => {
                let from = self.standing_at(car, "leave the railroad")?;
                self.lift(car);
                let off = Whereabouts::Off {
                    via: from.station,
                    place: place.clone(),
                    back: *back,
                };
                self.put(car, off, movement.when);
            }
            What::Come { track, at } => {
                let Whereabouts::Off { via, .. } = book.at else {
                    return Err(self.elsewhere(
                        car,
                        "come onto the railroad",
                        "off it with another road",
                    ));
                };
                if via != track.station {
                    return Err(Refused::OtherStation {
                        car: self.name(car),
                        via,
                    });
                }
                self.fits(car, *track, None, *at)?;
                self.set_down(car, *track, None, *at, movement.when);
            }
            What::Load(load) => {
                self.standing_at(car, "be loaded")?;
                if self.car(car).load.is_some() {
                    return Err(Refused::Already {
                        car: self.name(car),
                        is: "loaded",
                    });
                }
                self.cars[car.index()].load = Some(load.clone());
            }
            What::Unload => {
                self.standing_at(car, "be unloaded")?;
                if self.cars[car.index()].load.take().is_none() {
                    return Err(Refused::Already {
                        car: self.name(car),
                        is: "empty",
                    });
                }
            }
            What::Found(at) => self.found(&[(car, at.clone())], movement.when)?,
        }
        // What it waited for, it waited for where it was.
        self.cars[car.index()].waiting_for = None;
        Ok(())
    }

    /// Corrects the books: these cars were found at these places. All are taken from where the books
    /// had them before any is put where it was found, so that cars may change places.
    ///
    /// # Errors
    /// [`Refused`] if they cannot all stand there beside the others; then nothing is changed. The car
    /// named is not always the one that is wrong: another that the books have there may be elsewhere.
    pub fn found(&mut self, cars: &[(CarId, Whereabouts)], when: Moment) -> Result<(), Refused> {
        let before = self.clone();
        for (car, _) in cars {
            if car.index() >= self.cars.len() {
                return Err(Refused::NoCar(car.index()));
            }
            self.lift(*car);
            self.put(*car, Whereabouts::Aside, when);
        }
        for (car, at) in cars {
            match at {
                Whereabouts::Track { track, spot, at } => {
                    // Where in the row nobody may have noted: as far in as there are cars.
                    let at = (*at).min(self.standing(*track).len());
                    let at = spot.map_or(at, |spot| self.place_for_spot(*track, spot));
                    if let Err(refused) = self.fits(*car, *track, *spot, at) {
                        *self = before;
                        return Err(refused);
                    }
                    self.set_down(*car, *track, *spot, at, when);
                }
                elsewhere => self.put(*car, elsewhere.clone(), when),
            }
            self.cars[car.index()].waiting_for = None;
        }
        Ok(())
    }

    fn name(&self, car: CarId) -> String {
        self.ground.cars[car.index()].name.clone()
    }

    fn track_name(&self, track: TrackRef) -> String {
        self.ground
            .track(track)
            .map_or_else(|| "a track that is not there".into(), |t| t.name.clone())
    }

    /// Where a car is, in words.
    pub fn words(&self, car: CarId) -> String {
        match &self.car(car).at {
            Whereabouts::Track { track, .. } => format!("on {}", self.track_name(*track)),
            Whereabouts::Train { train, .. } => format!("in train {train}"),
            Whereabouts::Off {
                place: Some(place), ..
            } => format!("off the railroad at {place}"),
            Whereabouts::Off { .. } => "off the railroad with another road".into(),
            Whereabouts::Aside => "not on the railroad".into(),
        }
    }

    fn elsewhere(&self, car: CarId, what: &'static str, expected: &str) -> Refused {
        Refused::Elsewhere {
            car: self.name(car),
            what,
            is: self.words(car),
            expected: expected.into(),
        }
    }

    /// The track on which a car stands.
    fn standing_at(&self, car: CarId, what: &'static str) -> Result<TrackRef, Refused> {
        match self.car(car).at {
            Whereabouts::Track { track, .. } => Ok(track),
            _ => Err(self.elsewhere(car, what, "standing on a track")),
        }
    }

    /// Whether a car that stands nowhere can be put there.
    fn fits(
        &self,
        car: CarId,
        track: TrackRef,
        spot: Option<usize>,
        at: usize,
    ) -> Result<(), Refused> {
        let name = self.name(car);
        let Some(ground) = self.ground.track(track) else {
            return Err(Refused::NoTrack { car: name });
        };
        let standing = self.standing(track);
        let track_name = ground.name.clone();
        if !ground.holds_cars {
            return Err(Refused::KeptClear {
                car: name,
                track: track_name,
            });
        }
        if at > standing.len() {
            return Err(Refused::NoPlace {
                car: name,
                track: track_name,
                at: at + 1,
                standing: standing.len(),
            });
        }
        let over = self.taken(track) + self.ground.cars[car.index()].length - ground.room;
        if over > SLACK {
            return Err(Refused::NoRoom {
                car: name,
                track: track_name,
                over_inches: over.inches(),
                standing: standing.len(),
            });
        }
        let Some(spot) = spot else { return Ok(()) };
        if spot >= ground.spots {
            return Err(Refused::NoSpot {
                car: name,
                track: track_name,
                spots: ground.spots,
                spot: spot + 1,
            });
        }
        for (place, &other) in standing.iter().enumerate() {
            let Whereabouts::Track { spot: Some(o), .. } = self.car(other).at else {
                continue;
            };
            if o == spot {
                return Err(Refused::SpotTaken {
                    car: name,
                    track: track_name,
                    other: self.name(other),
                });
            }
            if (place < at) != (o < spot) {
                return Err(Refused::SpotOrder {
                    car: name,
                    track: track_name,
                    other: self.name(other),
                });
            }
        }
        Ok(())
    }

    /// Takes a car off the track where it stands, if it stands on one.
    fn lift(&mut self, car: CarId) {
        let Whereabouts::Track { track, at, .. } = self.car(car).at else {
            return;
        };
        let (s, t) = (track.station.index(), track.track.index());
        self.standing[s][t].remove(at);
        self.number(track, at);
        let length = self.ground.cars[car.index()].length;
        self.taken[s][t] = if self.standing[s][t].is_empty() {
            // No rounding is carried on.
            model::units::Actual::ZERO
        } else {
            self.taken[s][t] - length
        };
    }

    fn set_down(
        &mut self,
        car: CarId,
        track: TrackRef,
        spot: Option<usize>,
        at: usize,
        when: Moment,
    ) {
        let (s, t) = (track.station.index(), track.track.index());
        self.standing[s][t].insert(at, car);
        self.taken[s][t] += self.ground.cars[car.index()].length;
        self.put(car, Whereabouts::Track { track, spot, at }, when);
        self.number(track, at + 1);
    }

    fn put_back(&mut self, car: CarId, was: &Whereabouts, since: Moment) {
        if let &Whereabouts::Track { track, spot, at } = was {
            self.set_down(car, track, spot, at, since);
        }
    }

    fn put(&mut self, car: CarId, at: Whereabouts, when: Moment) {
        let book = &mut self.cars[car.index()];
        book.at = at;
        book.since = when;
    }

    /// Counts the cars of a track anew from a place on.
    fn number(&mut self, track: TrackRef, from: usize) {
        let (s, t) = (track.station.index(), track.track.index());
        for place in from..self.standing[s][t].len() {
            let car = self.standing[s][t][place];
            if let Whereabouts::Track { at, .. } = &mut self.cars[car.index()].at {
                *at = place;
            }
        }
    }
}
