//! Commands about cars.

use engineering::ids::TrackRef;
use mechanical::CarId;
use traffic::books::{Moment, Movement, Refused as NotInBooks, What as Moved, Whereabouts};

use super::{
    State,
    decide::{Draft, text, where_is},
    named,
    sheet::{Outcome, TrainNow},
};
use crate::{
    command::Done,
    event::What,
    opening::{CarPlace, WorkSheet},
    refused::{Refused, Why},
    who::Role,
};

impl From<NotInBooks> for Refused {
    fn from(refused: NotInBooks) -> Self {
        Self::not_now(refused.to_string(), "")
    }
}

impl State {
    /// The work of a train at one of its calls that is still to be done.
    pub fn work_at<'a>(&self, train: &'a TrainNow, call: usize) -> Vec<&'a WorkSheet> {
        train.calls.get(call).map_or_else(Vec::new, |call| {
            call.work
                .iter()
                .filter(|work| work.outcome.is_none())
                .map(|work| &work.sheet)
                .collect()
        })
    }
}

fn has_open(train: &TrainNow, call: usize, car: &str, pick_up: bool) -> bool {
    train.calls.get(call).is_some_and(|call| {
        call.work.iter().any(|work| {
            work.sheet.car == car && work.sheet.pick_up == pick_up && work.outcome.is_none()
        })
    })
}

impl Draft<'_> {
    /// Whether the books would take a movement now.
    fn try_move(&self, car: usize, what: Moved) -> Result<(), Refused> {
        let mut books = self.state.books.clone();
        books.apply(&Movement {
            car: CarId(car as u32),
            when: Moment {
                day: self.state.opening.day,
                time: self.rail(),
            },
            what,
        })?;
        Ok(())
    }

    /// Where on a track a car comes to stand: at its spot, or behind the others.
    fn place_on(&self, car: usize, track: TrackRef, spot: Option<usize>) -> usize {
        let books = &self.state.books;
        let at = match spot {
            Some(spot) => books.place_for_spot(track, spot),
            None => books.standing(track).len(),
        };
        match books.car(CarId(car as u32)).at {
            Whereabouts::Track {
                track: on, at: own, ..
            } if on == track && own < at => at - 1,
            _ => at,
        }
    }

    fn standing_train(&self, train: &str) -> Result<(usize, usize, String), Refused> {
        let at = self.state.train_at(train)?;
        let now = &self.state.sheet.trains[at];
        let Some(call) = now.stands_at() else {
            return Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(&self.state, now)),
                "it would have to stand at a station",
            ));
        };
        let station = now.calls[call].plan.station;
        Ok((at, call, self.state.opening.stations[station].name.clone()))
    }

    pub(super) fn work(&mut self, train: &str, car: &str, done: &Done) -> Result<(), Refused> {
        let (at, call, station) = self.standing_train(train)?;
        let car_at = self.state.car_at(car)?;
        let now = &self.state.sheet.trains[at];
        let title = now.title();
        match done {
            Done::PickedUp => {
                if let Some(why) = self.state.sheet.bad_orders.get(car) {
                    return Err(Refused::not_now(
                        format!("{car} is bad ordered: {why}"),
                        "leave it, or have it repaired first",
                    ));
                }
                if self.who.role == Role::Crew && !has_open(now, call, car, true) {
                    return Err(Refused::not_now(
                        format!("{car} is not among the cars {title} picks up at {station}"),
                        "have the yard or the dispatcher add it to the work",
                    ));
                }
                self.picks_up(train, car, car_at, &station)?;
            }
            Done::SetOut { track, spot } => {
                if !now.consist.iter().any(|one| one == car) {
                    let found = format!("{car} is {}", self.state.books.words(id(car_at)));
                    return Err(Refused::not_now(
                        found,
                        format!("it would have to be in {title}"),
                    ));
                }
                let station_at = self.state.station_at(&station)?;
                let on = self.state.track_at(station_at, track)?;
                if let Some(why) = self.state.out_of_service(&station, track) {
                    return Err(Refused::not_now(
                        format!("{station} / {track} is out of service: {why}"),
                        "set it out on another track",
                    ));
                }
                let place = self.place_on(car_at, on, *spot);
                let moved = Moved::SetOut {
                    track: on,
                    spot: *spot,
                    at: place,
                };
                self.try_move(car_at, moved)?;
                self.happens(What::SetOut {
                    train: train.to_owned(),
                    car: car.to_owned(),
                    station,
                    track: track.clone(),
                    spot: *spot,
                    place,
                });
            }
            Done::Left { why } => {
                if !has_open(now, call, car, true) && !has_open(now, call, car, false) {
                    return Err(Refused::not_now(
                        format!("{title} has no work with {car} at {station} to be done"),
                        "",
                    ));
                }
                let why = text(why)?;
                self.happens(What::Left {
                    train: train.to_owned(),
                    car: car.to_owned(),
                    station,
                    why,
                });
            }
            Done::BadOrdered { why } => {
                if let Some(why) = self.state.sheet.bad_orders.get(car) {
                    return Err(Refused::not_now(
                        format!("{car} is bad ordered already: {why}"),
                        "",
                    ));
                }
                let aboard = now.consist.iter().any(|one| one == car);
                let here = match self.state.car_place(car) {
                    Some(CarPlace::Track { station: at, .. }) => at == station,
                    _ => aboard,
                };
                if !here {
                    let found = format!("{car} is {}", self.state.books.words(id(car_at)));
                    return Err(Refused::not_now(
                        found,
                        format!("{title} stands at {station}"),
                    ));
                }
                let to_take = has_open(now, call, car, true);
                let why = text(why)?;
                self.happens(What::BadOrdered {
                    car: car.to_owned(),
                    why: why.clone(),
                });
                if to_take && !aboard {
                    self.happens(What::Left {
                        train: train.to_owned(),
                        car: car.to_owned(),
                        station,
                        why: format!("bad ordered: {why}"),
                    });
                }
            }
        }
        Ok(())
    }

    fn picks_up(
        &mut self,
        train: &str,
        car: &str,
        car_at: usize,
        station: &str,
    ) -> Result<(), Refused> {
        let here = matches!(self.state.car_place(car), Some(CarPlace::Track { station: at, .. }) if at == station);
        if !here {
            let found = format!("{car} is {}", self.state.books.words(id(car_at)));
            return Err(Refused::not_now(
                found,
                format!("it would have to stand at {station}"),
            ));
        }
        let taken = Moved::PickUp {
            train: train.to_owned(),
        };
        self.try_move(car_at, taken)?;
        self.happens(What::PickedUp {
            train: train.to_owned(),
            car: car.to_owned(),
            station: station.to_owned(),
        });
        Ok(())
    }

    /// A train that leaves takes what it was made up of at its initial station; what else is not done by
    /// then is left.
    pub(super) fn leave_work(&mut self, train: usize, call: usize, station: &str) {
        let now = &self.state.sheet.trains[train];
        let symbol = now.sheet.symbol.clone();
        let open: Vec<WorkSheet> = now.calls[call]
            .work
            .iter()
            .filter(|work| work.outcome.is_none())
            .map(|work| work.sheet.clone())
            .collect();
        for work in open {
            let fit = !self.state.sheet.bad_orders.contains_key(&work.car);
            if call == 0 && work.pick_up && fit {
                let taken = self
                    .state
                    .car_at(&work.car)
                    .and_then(|car| self.picks_up(&symbol, &work.car, car, station));
                if taken.is_ok() {
                    continue;
                }
            }
            let why = match (work.pick_up, fit) {
                (true, false) => "bad ordered",
                (true, true) if call == 0 => "it was not there",
                (true, true) => "not picked up before the train left",
                (false, _) => "carried by",
            };
            self.happens(What::Left {
                train: symbol.clone(),
                car: work.car,
                station: station.to_owned(),
                why: why.to_owned(),
            });
        }
    }

    pub(super) fn tie_up(&mut self, train: &str, track: Option<&str>) -> Result<(), Refused> {
        let (at, call, station) = self.standing_train(train)?;
        let now = &self.state.sheet.trains[at];
        let last = call + 1 == now.calls.len();
        if !last && self.who.role < Role::Dispatcher {
            return Err(Refused::not_now(
                format!(
                    "{} {}, and its run goes on",
                    now.title(),
                    where_is(&self.state, now)
                ),
                "the dispatcher ends a run before its terminal",
            ));
        }
        let station_at = now.calls[call].plan.station;
        let on = match track {
            Some(track) => Some(self.state.track_at(station_at, track)?),
            None => self.state.track_of(now, call),
        };
        let name = |on: TrackRef| {
            self.state.opening.stations[station_at].tracks[on.track.index()]
                .name
                .clone()
        };
        let track = on.map(name);
        let cars = now.consist.clone();
        for car in cars {
            let Some((on, track)) = on.zip(track.clone()) else {
                return Err(Refused::not_now(
                    format!("{train} still has cars, and no track is known for them"),
                    "say on which track they are left",
                ));
            };
            let car_at = self.state.car_at(&car)?;
            let place = self.place_on(car_at, on, None);
            let moved = Moved::SetOut {
                track: on,
                spot: None,
                at: place,
            };
            self.try_move(car_at, moved).map_err(|mut refused| {
                refused.expected = "set the cars out one by one, or say another track".into();
                refused
            })?;
            self.happens(What::SetOut {
                train: train.to_owned(),
                car,
                station: station.clone(),
                track,
                spot: None,
                place,
            });
        }
        self.happens(What::TiedUp {
            train: train.to_owned(),
            station,
            track,
        });
        Ok(())
    }

    pub(super) fn shift(
        &mut self,
        car: &str,
        track: &str,
        spot: Option<usize>,
    ) -> Result<(), Refused> {
        let car_at = self.state.car_at(car)?;
        let Some(CarPlace::Track { station, .. }) = self.state.car_place(car) else {
            let found = format!("{car} is {}", self.state.books.words(id(car_at)));
            return Err(Refused::not_now(
                found,
                "only a car that stands on a track is moved within its station",
            ));
        };
        let station_at = self.state.station_at(&station)?;
        let on = self.state.track_at(station_at, track)?;
        let place = self.place_on(car_at, on, spot);
        let moved = Moved::Shift {
            track: on,
            spot,
            at: place,
        };
        self.try_move(car_at, moved)?;
        self.happens(What::Shifted {
            car: car.to_owned(),
            station,
            track: track.to_owned(),
            spot,
            place,
        });
        Ok(())
    }

    pub(super) fn add_work(
        &mut self,
        train: &str,
        station: &str,
        car: &str,
        pick_up: bool,
        track: Option<&str>,
        spot: Option<usize>,
    ) -> Result<(), Refused> {
        let at = self.state.train_at(train)?;
        let station_at = self.state.station_at(station)?;
        let car_at = self.state.car_at(car)?;
        let now = &self.state.sheet.trains[at];
        let from = match now.stands_at() {
            Some(call) => call,
            None => now.call() + 1,
        };
        let call = (from..now.calls.len()).find(|&one| now.calls[one].plan.station == station_at);
        let Some(call) = call.filter(|_| now.active()) else {
            return Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(&self.state, now)),
                format!("{station} would have to lie ahead of it"),
            ));
        };
        if has_open(now, call, car, pick_up) {
            return Err(Refused::not_now(
                format!("{} has that work at {station} already", now.title()),
                "",
            ));
        }
        let mut track = track.map(str::to_owned);
        if let Some(track) = &track {
            self.state.track_at(station_at, track)?;
        }
        if pick_up {
            if let Some(CarPlace::Track {
                station: at,
                track: on,
                ..
            }) = self.state.car_place(car)
                && at == station
            {
                track = track.or(Some(on));
            }
        } else {
            // To be set out it has to be in the train by then.
            let aboard = now.consist.iter().any(|one| one == car)
                || (0..=call).any(|one| has_open(now, one, car, true));
            if !aboard {
                let found = format!("{car} is {}", self.state.books.words(id(car_at)));
                return Err(Refused::not_now(
                    found,
                    format!("{} would have to carry it or pick it up first", now.title()),
                ));
            }
        }
        let work = WorkSheet {
            car: car.to_owned(),
            pick_up,
            track,
            spot,
            block: String::new(),
        };
        self.happens(What::WorkAdded {
            train: train.to_owned(),
            station: station.to_owned(),
            work,
        });
        Ok(())
    }

    pub(super) fn drop_work(
        &mut self,
        train: &str,
        station: &str,
        car: &str,
        why: &str,
    ) -> Result<(), Refused> {
        let at = self.state.train_at(train)?;
        let station_at = self.state.station_at(station)?;
        self.state.car_at(car)?;
        let now = &self.state.sheet.trains[at];
        let open = now
            .calls
            .iter()
            .filter(|call| call.plan.station == station_at)
            .flat_map(|call| &call.work)
            .find(|work| work.sheet.car == car);
        match open.map(|work| &work.outcome) {
            Some(None) => {}
            Some(Some(Outcome::Done)) => {
                return Err(Refused::not_now(
                    format!("{} has done that work", now.title()),
                    "",
                ));
            }
            _ => {
                return Err(Refused::not_now(
                    format!("{} has no work with {car} at {station}", now.title()),
                    "",
                ));
            }
        }
        self.happens(What::WorkDropped {
            train: train.to_owned(),
            station: station.to_owned(),
            car: car.to_owned(),
            why: why.to_owned(),
        });
        Ok(())
    }

    pub(super) fn found(&mut self, car: &str, place: &CarPlace) -> Result<(), Refused> {
        let car_at = self.state.car_at(car)?;
        let Some(there) = named::whereabouts(&self.state.opening, place) else {
            return Err(Refused::new(
                Why::Unknown,
                format!("{car} cannot be there: the station or track is not of this railroad"),
                "name a station and a track of it",
            ));
        };
        if let CarPlace::Train { train, .. } = place {
            self.state.active(train, "")?;
        }
        self.try_move(car_at, Moved::Found(there))?;
        self.happens(What::Found {
            car: car.to_owned(),
            place: place.clone(),
        });
        Ok(())
    }

    /// A track as it was found: cars that are not there are nowhere until they are found, cars that are
    /// there come from wherever the books had them.
    pub(super) fn walk(
        &mut self,
        station: &str,
        track: &str,
        cars: &[String],
    ) -> Result<(), Refused> {
        let station_at = self.state.station_at(station)?;
        self.state.track_at(station_at, track)?;
        let mut listed = Vec::new();
        for car in cars {
            let at = self.state.car_at(car)?;
            if listed.contains(&at) {
                return Err(Refused::not_now(format!("{car} is named twice"), ""));
            }
            listed.push(at);
        }
        let booked: Vec<String> = self
            .state
            .standing(station, track)
            .into_iter()
            .map(str::to_owned)
            .collect();
        for car in booked.iter().filter(|car| !cars.contains(car)) {
            self.found(car, &CarPlace::Aside)?;
        }
        for (place, car) in cars.iter().enumerate() {
            let stands = self.state.standing(station, track);
            if stands.get(place).copied() == Some(car.as_str()) {
                continue;
            }
            self.found(
                car,
                &CarPlace::Track {
                    station: station.to_owned(),
                    track: track.to_owned(),
                    spot: None,
                    place,
                },
            )?;
        }
        self.happens(What::Walked {
            station: station.to_owned(),
            track: track.to_owned(),
            cars: cars.len(),
        });
        Ok(())
    }
}

fn id(car: usize) -> CarId {
    CarId(car as u32)
}
