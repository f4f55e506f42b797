//! A session closed: the books moved on by what its bill says was done, corrected where cars were found
//! elsewhere, and ready to be written to the folder.

use engineering::{
    ids::{StationId, TrackRef},
    station::{StationKind, TrackUse},
};
use mechanical::CarId;
use model::time::RailTime;
use railroad::{Railroad, books::Settled};
use traffic::{
    CarLoad,
    books::{Books, Moment, Movement, Refused, What, Whereabouts},
};
use transportation::make_up::CarMove;

use crate::bill::{Billed, words};

/// A session closed.
#[derive(Debug, Clone)]
pub struct Closed {
    /// The books as the next session finds them.
    pub books: Books,
    /// What happened, in order of time.
    pub movements: Vec<Movement>,
    /// For the waybills' page.
    pub settled: Vec<Settled>,
    /// What did not come out as billed, in words: to be put right by saying where the car was found.
    pub amiss: Vec<String>,
    /// Cars handed over to other roads by hand: lift them off.
    pub handed_over: Vec<CarId>,
    /// Cars that came from other roads by hand: put them on, and where.
    pub came: Vec<(CarId, TrackRef)>,
}

struct Closing<'a> {
    railroad: &'a Railroad,
    closed: Closed,
}

/// Closes a billed session. `found` says where cars stand that are not where the bill has them.
///
/// # Errors
/// [`Refused`] if the cars found cannot all stand where they are said to be.
pub fn close(
    railroad: &Railroad,
    opening: &Books,
    billed: &Billed,
    found: &[(CarId, Whereabouts)],
) -> Result<Closed, Refused> {
    let mut closing = Closing {
        railroad,
        closed: Closed {
            books: opening.clone(),
            movements: vec![],
            settled: vec![],
            amiss: vec![],
            handed_over: vec![],
            came: vec![],
        },
    };
    closing.come();
    closing.trains(billed, found);
    closing.hand_over(billed);
    let end = Moment::midnight(opening.day + 1);
    closing.closed.books.found(found, end)?;
    closing
        .closed
        .movements
        .extend(found.iter().map(|(car, at)| Movement {
            car: *car,
            when: end,
            what: What::Found(at.clone()),
        }));
    closing.settle(billed);
    // What a car waits for is said anew when the next session is opened from the folder.
    for (car, _) in railroad.roster.car_ids() {
        closing.closed.books.remark(car, None);
    }
    closing.closed.books.day = opening.day + 1;
    Ok(closing.closed)
}

impl Closing<'_> {
    fn happens(&mut self, car: CarId, time: RailTime, what: What) -> Result<(), Refused> {
        let since = self.closed.books.car(car).since;
        let now = Moment {
            day: self.closed.books.day,
            time,
        };
        let movement = Movement {
            car,
            when: now.max(since),
            what,
        };
        self.closed.books.apply(&movement)?;
        self.closed.movements.push(movement);
        Ok(())
    }

    /// Cars that other roads took in earlier sessions come back, as far as there is room.
    fn come(&mut self) {
        let off: Vec<(CarId, StationId)> = self
            .closed
            .books
            .cars()
            .iter()
            .filter_map(|book| match book.at {
                Whereabouts::Off { via, .. } => Some((book.car, via)),
                _ => None,
            })
            .collect();
        for (car, via) in off {
            for track in self.tracks(via, &[TrackUse::Interchange]) {
                let at = self.closed.books.standing(track).len();
                let came = What::Come { track, at };
                if self.happens(car, RailTime::from_seconds(0), came).is_ok() {
                    self.closed.came.push((car, track));
                    break;
                }
            }
        }
    }

    fn tracks(&self, station: StationId, uses: &[TrackUse]) -> Vec<TrackRef> {
        let page = self.railroad.way.station(station);
        uses.iter()
            .flat_map(|usage| {
                page.tracks()
                    .filter(move |(_, track)| track.usage == *usage)
                    .map(move |(track, _)| TrackRef { station, track })
            })
            .collect()
    }

    /// The trains do what they are billed to do, in order of time.
    fn trains(&mut self, billed: &Billed, found: &[(CarId, Whereabouts)]) {
        let mut works = vec![];
        for (number, made) in billed.made_up.iter().enumerate() {
            let train = self.railroad.service.train(made.train);
            for (at, work) in made.works.iter().enumerate() {
                let name = &self.railroad.way.station(work.station).name.value;
                let time =
                    train
                        .time_at(name)
                        .map_or(RailTime::from_seconds(0), |(arrive, leave)| {
                            if at == 0 { leave } else { arrive }
                        });
                works.push((time, number, at));
            }
        }
        works.sort_by_key(|(time, number, at)| (time.seconds(), *number, *at));
        for (time, number, at) in works {
            let made = &billed.made_up[number];
            let symbol = &self.railroad.service.train(made.train).symbol.value;
            let work = &made.works[at];
            for moved in &work.pick_up {
                let train = symbol.clone();
                let taken = self.happens(moved.car, time, What::PickUp { train });
                self.note(taken, moved.car, found);
            }
            for moved in billed
                .yard_moves
                .iter()
                .filter(|one| one.from.station == work.station)
            {
                let books = &self.closed.books;
                let there = matches!(books.car(moved.car).at, Whereabouts::Track { track, .. } if track == moved.from);
                if there {
                    // If its spot is not free yet a later train makes it so.
                    let _ = self.put(moved.car, moved.to, moved.spot, time, false);
                }
            }
            for moved in &work.set_out {
                let left = self.set_out(work.station, moved, time);
                self.note(left, moved.car, found);
            }
        }
    }

    /// What cannot have happened is amiss, unless somebody said where the car is.
    fn note(&mut self, done: Result<(), Refused>, car: CarId, found: &[(CarId, Whereabouts)]) {
        if let Err(refused) = done
            && found.iter().all(|(other, _)| *other != car)
        {
            self.closed.amiss.push(refused.to_string());
        }
    }

    fn put(
        &mut self,
        car: CarId,
        track: TrackRef,
        spot: Option<usize>,
        time: RailTime,
        out: bool,
    ) -> Result<(), Refused> {
        let books = &self.closed.books;
        let mut at = match spot {
            Some(spot) => books.place_for_spot(track, spot),
            None => books.standing(track).len(),
        };
        if let Whereabouts::Track {
            track: on, at: own, ..
        } = books.car(car).at
            && on == track
            && own < at
        {
            at -= 1;
        }
        let what = if out {
            What::SetOut { track, spot, at }
        } else {
            What::Shift { track, spot, at }
        };
        self.happens(car, time, what)
    }

    /// Where the bill says; else as near as there is room.
    fn set_out(
        &mut self,
        station: StationId,
        moved: &CarMove,
        time: RailTime,
    ) -> Result<(), Refused> {
        let mut last = None;
        if let Some(track) = moved.track {
            let track = TrackRef { station, track };
            for spot in [moved.spot, None] {
                match self.put(moved.car, track, spot, time, true) {
                    Ok(()) => return Ok(()),
                    Err(refused) => last = last.or(Some(refused)),
                }
            }
        }
        let staging = self.railroad.way.station(station).kind == StationKind::Staging;
        let uses: &[TrackUse] = if staging {
            &[TrackUse::Staging, TrackUse::Main]
        } else {
            &[
                TrackUse::Classification,
                TrackUse::Storage,
                TrackUse::ArrivalDeparture,
                TrackUse::Siding,
            ]
        };
        for track in self.tracks(station, uses) {
            match self.put(moved.car, track, None, time, true) {
                Ok(()) => return Ok(()),
                Err(refused) => last = last.or(Some(refused)),
            }
        }
        Err(last.unwrap_or_else(|| Refused::NoTrack {
            car: self.railroad.roster.car(moved.car).name.value.clone(),
        }))
    }

    /// What stands on an interchange track and goes to another road is handed over, unless staging lies
    /// behind.
    fn hand_over(&mut self, billed: &Billed) {
        for bill in &billed.bills {
            let Some(beyond) = &bill.to.beyond else {
                continue;
            };
            let Whereabouts::Track { track, .. } = self.closed.books.car(bill.car).at else {
                continue;
            };
            let page = self.railroad.way.station(track.station);
            let by_hand = self.railroad.way.track(track).usage == TrackUse::Interchange
                && page
                    .tracks
                    .iter()
                    .all(|track| track.usage != TrackUse::Staging);
            if track.station != bill.to.station || !by_hand {
                continue;
            }
            let place = Some(beyond.clone());
            let back = Some(self.closed.books.day + 1);
            let end = RailTime::from_hm(24, 0);
            if self
                .happens(bill.car, end, What::Leave { place, back })
                .is_ok()
            {
                self.closed.handed_over.push(bill.car);
            }
        }
    }

    fn settle(&mut self, billed: &Billed) {
        for bill in &billed.bills {
            let leg = bill.legs.iter().rfind(|leg| leg.day == 0);
            // A car that only goes over to the other road has its row too: it says where the car is.
            let gone = self.closed.handed_over.contains(&bill.car);
            if leg.is_none() && !gone {
                continue;
            }
            let delivered = self.closed.books.car(bill.car).at.station() == Some(bill.to.station);
            let name = |station| self.railroad.way.station(station).name.value.clone();
            self.closed.settled.push(Settled {
                car: bill.car,
                from: match bill.from.beyond {
                    Some(_) => words::stand(self.railroad, &bill.from),
                    None => name(bill.from.station),
                },
                to: match &bill.to.beyond {
                    Some(beyond) if beyond != "home" || gone => {
                        words::stand(self.railroad, &bill.to)
                    }
                    _ => name(bill.to.station),
                },
                commodity: bill
                    .commodity
                    .clone()
                    .filter(|_| bill.state == CarLoad::Loaded),
                train: leg.map(|leg| leg.train.clone()),
                delivered,
            });
        }
    }
}
