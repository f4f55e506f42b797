//! Events entered.

use std::sync::Arc;

use engineering::ids::StationId;
use mechanical::CarId;
use traffic::books::{Moment, Movement, What as Moved, Whereabouts};

use super::{
    RECENT, State, TAKEN_BACK, named,
    sheet::{
        At, CarRemark, CopyNow, DelayNow, DeviceNow, NoteNow, OrderNow, Outcome, PersonNow,
        TrainNow, WorkNow,
    },
    undo,
};
use crate::{
    event::{Event, What},
    opening::{CallSheet, CarPlace},
    order::OrderText,
    refused::Brief,
};

impl State {
    /// Enters an event. One that [`State::decide`] gave for this state always goes in whole; of one that
    /// does not fit (a journal that was tampered with) what fits goes in.
    pub fn apply(&mut self, event: &Event) {
        let sentence = self.sentence(&event.what);
        let subjects = match &event.what {
            What::Undone { of, .. } => self.kept(*of).map_or_else(Vec::new, |b| b.subjects.clone()),
            what => self.subjects_of(what),
        };
        if undo::can_be_taken_back(&event.what) {
            let before = self.before(event, sentence.clone());
            self.before.push_back(Arc::new(before));
            if self.before.len() > TAKEN_BACK {
                self.before.pop_front();
            }
        }
        self.enter(event, &sentence);
        let sheet = &mut self.sheet;
        sheet.revision = event.revision;
        sheet.clock.shown = sheet.clock.shown.max(event.rail);
        if !matches!(event.what, What::Undone { .. }) {
            for subject in &subjects {
                sheet.touched.insert(subject.clone(), event.revision);
            }
        }
        let brief = Brief {
            revision: event.revision,
            rail: event.rail.seconds(),
            name: event.who.name.clone(),
            device: event.who.device.clone(),
            sentence,
        };
        sheet.recent.push_back((brief, subjects));
        if sheet.recent.len() > RECENT {
            sheet.recent.pop_front();
        }
    }

    /// What happened, as a sentence without its stop.
    pub fn sentence(&self, what: &What) -> String {
        what.sentence(&self.opening, &|symbol| self.title(symbol))
    }

    fn enter(&mut self, event: &Event, sentence: &str) {
        let (rail, real) = (event.rail, event.real);
        let sheet = &mut self.sheet;
        match &event.what {
            What::ClockStarted => sheet.clock.set(rail, real, true),
            What::ClockStopped { .. } => sheet.clock.set(rail, real, false),
            What::RatioSet {
                railroad,
                in_real: seconds,
            } => {
                let runs = sheet.clock.runs;
                sheet.clock.set(rail, real, runs);
                sheet.clock.ratio = [*railroad, *seconds];
            }
            What::ClockJumped { .. } => {
                let runs = sheet.clock.runs;
                sheet.clock.set(rail, real, runs);
            }
            What::OnDuty { person, job } => {
                let now = PersonNow {
                    job: job.clone(),
                    since: rail,
                    off: false,
                };
                sheet.people.insert(person.clone(), now);
            }
            What::OffDuty { person } => {
                if let Some(now) = sheet.people.get_mut(person) {
                    now.off = true;
                    now.since = rail;
                }
            }
            What::Called { train, .. } => self.with(train, |train| train.called = Some(rail)),
            What::Arrived {
                train, call, track, ..
            } => self.with(train, |train| {
                let Some(now) = train.calls.get_mut(*call) else {
                    return;
                };
                now.arrived = Some(rail);
                now.real_arrived = Some(real);
                now.track.clone_from(track);
                train.at = At::Station {
                    call: *call,
                    clear: false,
                };
            }),
            What::Departed { train, call, .. } => self.with(train, |train| {
                let Some(now) = train.calls.get_mut(*call) else {
                    return;
                };
                now.left = Some(rail);
                now.real_left = Some(real);
                train.at = At::Line { call: *call };
            }),
            What::Passed { train, call, .. } => self.with(train, |train| {
                let Some(now) = train.calls.get_mut(*call) else {
                    return;
                };
                now.arrived = Some(rail);
                now.left = Some(rail);
                now.real_arrived = Some(real);
                now.real_left = Some(real);
                train.at = At::Line { call: *call };
            }),
            What::InClear { train, call, .. } => self.with(train, |train| {
                let Some(now) = train.calls.get_mut(*call) else {
                    return;
                };
                now.clear = Some(rail);
                train.at = At::Station {
                    call: *call,
                    clear: true,
                };
            }),
            What::TiedUp { train, .. } => self.with(train, |train| train.at = At::Ended),
            What::PickedUp {
                train,
                car,
                station,
            } => {
                let taken = Moved::PickUp {
                    train: train.clone(),
                };
                self.moved(event, car, taken);
                self.with(train, |train| {
                    train.consist.push(car.clone());
                    outcome(train, car, true, &Outcome::Done, station);
                });
            }
            What::SetOut {
                train,
                car,
                station,
                track,
                spot,
                place,
            } => {
                if let Some(track) = self.opening.track(station, track) {
                    let left = Moved::SetOut {
                        track,
                        spot: *spot,
                        at: *place,
                    };
                    self.moved(event, car, left);
                }
                self.with(train, |train| {
                    train.consist.retain(|one| one != car);
                    outcome(train, car, false, &Outcome::Done, station);
                });
            }
            What::Shifted {
                car,
                station,
                track,
                spot,
                place,
            } => {
                if let Some(track) = self.opening.track(station, track) {
                    let shifted = Moved::Shift {
                        track,
                        spot: *spot,
                        at: *place,
                    };
                    self.moved(event, car, shifted);
                }
            }
            What::Left {
                train,
                car,
                station,
                why,
            } => {
                self.with(train, |train| {
                    let aboard = train.consist.contains(car);
                    let left = Outcome::Left { why: why.clone() };
                    outcome(train, car, !aboard, &left, station);
                });
                self.remark(event, car, sentence);
            }
            What::BadOrdered { car, why } => {
                self.sheet.bad_orders.insert(car.clone(), why.clone());
                self.remark(event, car, sentence);
            }
            What::Repaired { car } => {
                self.sheet.bad_orders.remove(car);
            }
            What::WorkAdded {
                train,
                station,
                work,
            } => {
                let at = self.opening.find_station(station);
                self.with(train, |train| {
                    let from = train.call();
                    let call = train.calls[from..]
                        .iter_mut()
                        .find(|call| Some(call.plan.station) == at);
                    if let Some(call) = call {
                        call.work.push(WorkNow {
                            sheet: work.clone(),
                            outcome: None,
                        });
                    }
                });
                self.remark(event, &work.car, sentence);
            }
            What::WorkDropped {
                train,
                station,
                car,
                why,
            } => {
                let at = self.opening.find_station(station);
                self.with(train, |train| {
                    let open = train
                        .calls
                        .iter_mut()
                        .filter(|call| Some(call.plan.station) == at)
                        .flat_map(|call| &mut call.work)
                        .filter(|work| work.sheet.car == *car && work.outcome.is_none());
                    for work in open {
                        work.outcome = Some(Outcome::Dropped { why: why.clone() });
                    }
                });
                self.remark(event, car, sentence);
            }
            What::OrderIssued { number, text, to } => self.issued(event, *number, text, to),
            What::OrderRepeated { number, train } => self.copy(*number, train, |copy, _| {
                copy.repeated = Some(rail);
            }),
            What::OrderCompleted { number, train } => {
                self.copy(*number, train, |copy, call| {
                    copy.completed = Some(rail);
                    copy.at_call = call;
                });
                self.fall(*number);
            }
            What::GivenBack { number } => {
                if let Some(order) = sheet.orders.iter_mut().find(|one| one.number == *number) {
                    order.over = true;
                }
            }
            What::ExtraCreated { train } => {
                if self.opening.faults_of(train).is_none() {
                    sheet.trains.push(TrainNow::new(train, true));
                }
            }
            What::Annulled { train, .. } => {
                let mut cars = Vec::new();
                self.with(train, |train| {
                    train.at = At::Annulled;
                    for work in train.calls.iter_mut().flat_map(|call| &mut call.work) {
                        if work.outcome.is_none() {
                            let why = sentence.to_owned();
                            work.outcome = Some(Outcome::Dropped { why });
                            if work.sheet.pick_up {
                                cars.push(work.sheet.car.clone());
                            }
                        }
                    }
                });
                // Their waybills still stand; they wait for another train.
                for car in cars {
                    self.remark(event, &car, sentence);
                }
            }
            What::Combined { train, into, .. } => {
                let cars = self
                    .train(train)
                    .map_or_else(Vec::new, |train| train.consist.clone());
                let stations: Vec<(usize, WorkNow)> =
                    self.train(train).map_or_else(Vec::new, |train| {
                        train
                            .calls
                            .iter()
                            .flat_map(|call| {
                                let at = call.plan.station;
                                call.work.iter().map(move |work| (at, work.clone()))
                            })
                            .filter(|(_, work)| work.outcome.is_none())
                            .collect()
                    });
                self.with(train, |train| {
                    train.consist.clear();
                    train.at = At::Combined { into: into.clone() };
                });
                self.with(into, |other| {
                    other.consist.extend(cars.iter().cloned());
                    let from = other.call();
                    for (station, work) in stations {
                        let call = other.calls[from..]
                            .iter_mut()
                            .find(|call| call.plan.station == station);
                        if let Some(call) = call {
                            call.work.push(work);
                        }
                    }
                });
                for car in cars {
                    self.aboard(event, &car, into);
                }
            }
            What::EnginesChanged { train, engines, .. } => self.with(train, |train| {
                train.sheet.engines.clone_from(engines);
            }),
            What::TrackOut { place, why } => {
                sheet.tracks_out.retain(|(one, _)| one != place);
                sheet.tracks_out.push((place.clone(), why.clone()));
            }
            What::TrackBack { place } => sheet.tracks_out.retain(|(one, _)| one != place),
            What::Bridge { name, open } => {
                if *open {
                    sheet.bridges_open.insert(name.clone());
                } else {
                    sheet.bridges_open.remove(name);
                }
            }
            What::AllStopped { why } => {
                sheet.stopped = Some(why.clone());
                let running = sheet.clock.runs;
                if running {
                    sheet.clock.set(rail, real, false);
                }
            }
            What::WentAhead => sheet.stopped = None,
            What::Noted { train, text } => sheet.notes.push(NoteNow {
                train: train.clone(),
                text: text.clone(),
                name: event.who.name.clone(),
                rail,
                revision: event.revision,
            }),
            What::Delayed {
                train,
                station,
                cause,
                minutes,
                text,
            } => {
                let holds = sheet
                    .trains
                    .iter()
                    .find(|one| one.sheet.symbol == *train)
                    .and_then(|one| one.holds(*minutes, rail));
                sheet.delays.push(DelayNow {
                    train: train.clone(),
                    station: station.clone(),
                    cause: *cause,
                    minutes: *minutes,
                    text: text.clone(),
                    revision: event.revision,
                    holds,
                });
            }
            What::PlanTaken { plan } => {
                for (train, calls) in &plan.trains {
                    self.with(train, |train| replan(train, calls));
                }
                self.sheet.plan_changes.clone_from(&plan.changes);
            }
            What::Undone { of, .. } => {
                let found = self.before.iter().position(|one| one.revision == *of);
                if let Some(before) = found.and_then(|at| self.before.remove(at)) {
                    self.take_back(&before, rail);
                }
            }
            What::Found { car, place } => {
                for train in &mut sheet.trains {
                    train.consist.retain(|one| one != car);
                }
                if let CarPlace::Train { train, .. } = place {
                    self.with(train, |train| train.consist.push(car.clone()));
                }
                if let Some(there) = named::whereabouts(&self.opening, place) {
                    self.moved(event, car, Moved::Found(there));
                }
                self.remark(event, car, sentence);
            }
            What::Walked { station, track, .. } => {
                let walked = (station.clone(), track.clone());
                if !sheet.walked.contains(&walked) {
                    sheet.walked.push(walked);
                }
            }
            What::Joined { device, name } => {
                let role = sheet
                    .devices
                    .get(device)
                    .map_or_else(Default::default, |known| known.role);
                let now = DeviceNow {
                    name: name.clone(),
                    role,
                    since: real,
                };
                sheet.devices.insert(device.clone(), now);
            }
            What::Granted { device, role } => {
                if let Some(now) = sheet.devices.get_mut(device) {
                    now.role = *role;
                }
            }
            What::LeftRoom { device } => {
                sheet.devices.remove(device);
            }
            What::Closed => {
                sheet.closed = Some(real);
                if sheet.clock.runs {
                    sheet.clock.set(rail, real, false);
                }
            }
        }
    }

    fn with(&mut self, symbol: &str, change: impl FnOnce(&mut TrainNow)) {
        let train = self
            .sheet
            .trains
            .iter_mut()
            .find(|train| train.sheet.symbol == symbol);
        if let Some(train) = train {
            change(train);
        }
    }

    fn moved(&mut self, event: &Event, car: &str, what: Moved) {
        let Some(at) = self.opening.find_car(car) else {
            return;
        };
        let movement = Movement {
            car: CarId(at as u32),
            when: Moment {
                day: self.opening.day,
                time: event.rail,
            },
            what,
        };
        if self.books.apply(&movement).is_ok() {
            self.sheet.moves += 1;
        }
    }

    /// A car that rode in one train rides in another.
    fn aboard(&mut self, event: &Event, car: &str, train: &str) {
        let from = self.train(train).map_or(0, |train| {
            train
                .calls
                .get(train.call())
                .map_or(0, |call| call.plan.station)
        });
        let there = Whereabouts::Train {
            train: train.to_owned(),
            from: StationId(from as u32),
        };
        self.moved(event, car, Moved::Found(there));
    }

    fn remark(&mut self, event: &Event, car: &str, sentence: &str) {
        self.sheet.remarks.push(CarRemark {
            car: car.to_owned(),
            revision: event.revision,
            sentence: sentence.to_owned(),
        });
    }

    fn issued(&mut self, event: &Event, number: u32, text: &OrderText, to: &[String]) {
        // A signal speaks for itself: the route is the authority as soon as it is lined.
        let at_once = self.opening.method == transportation::Method::Signals
            && matches!(text, OrderText::Authority { .. });
        let copies = to
            .iter()
            .map(|train| CopyNow {
                train: train.clone(),
                repeated: at_once.then_some(event.rail),
                completed: at_once.then_some(event.rail),
                at_call: self.train(train).map_or(0, TrainNow::call),
            })
            .collect();
        self.sheet.orders.push(OrderNow {
            number,
            text: text.clone(),
            issued: event.rail,
            copies,
            over: false,
        });
    }

    fn copy(&mut self, number: u32, train: &str, change: impl FnOnce(&mut CopyNow, usize)) {
        let call = self.train(train).map_or(0, TrainNow::call);
        let copy = self
            .sheet
            .orders
            .iter_mut()
            .find(|order| order.number == number)
            .and_then(|order| order.copies.iter_mut().find(|copy| copy.train == train));
        if let Some(copy) = copy {
            change(copy, call);
        }
    }

    /// An order that annuls another takes effect when all who hold a copy have it.
    fn fall(&mut self, number: u32) {
        let orders = &mut self.sheet.orders;
        let falls = orders.iter().find_map(|order| match order.text {
            OrderText::AnnulOrder { number: old } if order.number == number => order
                .copies
                .iter()
                .all(|copy| copy.completed.is_some())
                .then_some(old),
            _ => None,
        });
        if let Some(order) = orders.iter_mut().find(|one| Some(one.number) == falls) {
            order.over = true;
        }
    }
}

/// Notes what became of a train's work with a car: that of the station where it is now, else of a later one,
/// which is then not to be done any more.
fn outcome(train: &mut TrainNow, car: &str, pick_up: bool, what: &Outcome, place: &str) {
    let here = train.call();
    let open = |work: &WorkNow, pick_up: bool| {
        work.sheet.car == car && work.sheet.pick_up == pick_up && work.outcome.is_none()
    };
    let now = train
        .calls
        .get_mut(here)
        .and_then(|call| call.work.iter_mut().find(|work| open(work, pick_up)));
    if let Some(work) = now {
        work.outcome = Some(what.clone());
    } else if let Some(work) = train
        .calls
        .iter_mut()
        .skip(here + 1)
        .flat_map(|call| &mut call.work)
        .find(|work| open(work, pick_up))
    {
        work.outcome = Some(Outcome::Left {
            why: format!("done at {place}"),
        });
    }
    // A car that was not taken is not there to be set out farther on.
    if pick_up && matches!(what, Outcome::Left { .. }) {
        let later = train
            .calls
            .iter_mut()
            .flat_map(|call| &mut call.work)
            .filter(|work| open(work, false));
        for work in later {
            work.outcome = Some(what.clone());
        }
    }
}

/// The calls of a new plan, as far as the train has not been there.
fn replan(train: &mut TrainNow, calls: &[CallSheet]) {
    let here = train.call();
    for (at, new) in calls.iter().enumerate() {
        let Some(call) = train.calls.get_mut(at) else {
            continue;
        };
        if call.plan.station != new.station || call.left.is_some() || at < here {
            continue;
        }
        let (due_arrive, due_leave) = (call.plan.due_arrive, call.plan.due_leave);
        let (work, arrive) = (std::mem::take(&mut call.plan.work), call.plan.arrive);
        call.plan = CallSheet {
            due_arrive,
            due_leave,
            work,
            ..new.clone()
        };
        if call.arrived.is_some() {
            call.plan.arrive = arrive;
        }
    }
}
