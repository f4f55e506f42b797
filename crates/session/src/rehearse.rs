//! Simulated crews: what they would say next, from the state as it is. Pure: chance comes from a seed, and
//! whoever plays them says what time it is and gives them the answers.
//!
//! They do their work as people do: late now and then, slower or faster, with mishaps if asked for: wrong
//! reports taken back, cars found unfit or elsewhere, engines that fail, track out of service, everything
//! stopped. A dispatcher gives the orders of the plan, or authorities as trains come up.

use std::collections::BTreeMap;

use engineering::station::StationKind;
use model::time::{RailSpan, RailTime};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use transportation::Method;

use crate::{
    command::{Cause, Command, Done, TrackPlace},
    opening::CarPlace,
    order::OrderText,
    refused::Refused,
    state::{
        State,
        sheet::{At, TrainNow},
    },
    who::{Role, Who},
};

/// Something said, and by whom.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Who says it.
    pub who: Who,
    /// What.
    pub command: Command,
}

/// The device of the simulated dispatcher.
pub const DISPATCHER: &str = "rehearsal-dispatcher";
/// The device of the simulated yardmaster.
pub const YARD: &str = "rehearsal-yard";

/// How long a crew waits before it asks again, in railroad time.
const PATIENCE: RailSpan = RailSpan::from_minutes(4);

/// How long a train waits for another before the dispatcher gives it an order of its own.
const STUCK: RailSpan = RailSpan::from_minutes(25);

/// Crews by seed.
#[derive(Debug, Clone)]
pub struct Crews {
    dice: Pcg64,
    mishaps: bool,
    /// When each train is next looked at.
    next: BTreeMap<String, RailTime>,
    /// Since when a train has been refused.
    refused: BTreeMap<String, RailTime>,
    /// What is still to be said before anything else: the parts of a mishap, repeats of orders.
    queue: Vec<(RailTime, Said)>,
    /// The next mishap.
    trouble: RailTime,
    /// Planned orders already given, by their place in the opening.
    given: Vec<bool>,
    /// Annulled trains of which all have been told.
    told: Vec<String>,
    /// Tracks tried in vain for tying a train up.
    tried: BTreeMap<String, usize>,
    introduced: bool,
}

fn person(device: &str, name: &str, role: Role) -> Who {
    Who {
        name: name.to_owned(),
        device: device.to_owned(),
        role,
    }
}

fn dispatcher() -> Who {
    person(DISPATCHER, "the rehearsal's dispatcher", Role::Dispatcher)
}

fn yard() -> Who {
    person(YARD, "the rehearsal's yardmaster", Role::Yard)
}

/// The crew of a train: of its job, or for a train without one a crew of its own.
fn crew(train: &TrainNow) -> Who {
    match &train.sheet.job {
        Some(job) => person(
            &format!("rehearsal-{job}"),
            &format!("crew of {job}"),
            Role::Crew,
        ),
        // Nobody holds the job of such a train: an operator reports it.
        None => yard(),
    }
}

impl Crews {
    /// Crews for a session, with or without mishaps.
    pub fn new(seed: u64, mishaps: bool) -> Self {
        Self {
            dice: Pcg64::seed_from_u64(seed),
            mishaps,
            next: BTreeMap::new(),
            refused: BTreeMap::new(),
            queue: Vec::new(),
            trouble: RailTime::from_seconds(i64::MIN / 2),
            given: Vec::new(),
            told: Vec::new(),
            tried: BTreeMap::new(),
            introduced: false,
        }
    }

    /// What the office says first: the devices join and get their roles.
    pub fn introductions(state: &State) -> Vec<Said> {
        let mut people = vec![dispatcher(), yard()];
        for train in &state.sheet.trains {
            let who = crew(train);
            if !people.contains(&who) {
                people.push(who);
            }
        }
        people
            .into_iter()
            .flat_map(|who| {
                let office = Who::office();
                [
                    Said {
                        who: office.clone(),
                        command: Command::Join {
                            device: who.device.clone(),
                            name: who.name.clone(),
                        },
                    },
                    Said {
                        who: office,
                        command: Command::Grant {
                            device: who.device,
                            role: who.role,
                        },
                    },
                ]
            })
            .collect()
    }

    /// What is said next at this time of the railroad; nothing if all wait.
    pub fn next(&mut self, state: &State, rail: RailTime) -> Option<Said> {
        if !self.introduced {
            self.introduced = true;
            let all = Self::introductions(state);
            self.queue.extend(all.into_iter().map(|said| (rail, said)));
            self.given = vec![false; state.opening.orders.len()];
            self.trouble = rail + self.between(10, 40);
        }
        if state.sheet.closed.is_some() {
            return None;
        }
        if let Some(at) = self.queue.iter().position(|(when, _)| *when <= rail) {
            return Some(self.queue.remove(at).1);
        }
        if state.sheet.stopped.is_some() {
            return None;
        }
        if !state.sheet.clock.runs {
            return Some(Said {
                who: dispatcher(),
                command: Command::StartClock,
            });
        }
        if let Some(said) = self.desk(state, rail) {
            return Some(said);
        }
        if self.mishaps && rail >= self.trouble {
            self.trouble = rail + self.between(8, 45);
            if let Some(said) = self.mishap(state, rail) {
                return Some(said);
            }
        }
        for train in &state.sheet.trains {
            if let Some(said) = self.crew_says(state, train, rail) {
                return Some(said);
            }
        }
        None
    }

    /// When somebody has something to say next, at the latest.
    pub fn wakes(&self, rail: RailTime) -> RailTime {
        let soonest = self
            .next
            .values()
            .copied()
            .chain(self.queue.iter().map(|(when, _)| *when))
            .filter(|when| *when > rail)
            .min();
        let later = rail + RailSpan::from_minutes(2);
        soonest.map_or(later, |when| when.min(later))
    }

    /// Whether all trains have ended their runs.
    pub fn all_in(state: &State) -> bool {
        state.sheet.trains.iter().all(|train| !train.active())
    }

    /// The crews hear what became of something said.
    pub fn hear(&mut self, said: &Said, rail: RailTime, result: Result<&State, &Refused>) {
        match (&said.command, result) {
            (Command::IssueOrder { .. }, Ok(state)) => self.order_out(state, rail),
            (command, Err(refused)) => self.was_refused(&said.who, command, rail, refused),
            (Command::Departed { train, .. } | Command::Passed { train, .. }, Ok(_)) => {
                self.refused.remove(train);
                self.next.remove(train);
            }
            (Command::Arrived { train, .. }, Ok(_)) => {
                let wait = self.between(1, 4);
                self.next.insert(train.clone(), rail + wait);
            }
            (Command::Work { train, .. }, Ok(_)) => {
                let wait = self.between(2, 7);
                self.next.insert(train.clone(), rail + wait);
            }
            _ => {}
        }
    }

    fn was_refused(&mut self, who: &Who, command: &Command, rail: RailTime, refused: &Refused) {
        let again = rail + PATIENCE;
        match command {
            Command::Departed { train, .. } => {
                self.next.insert(train.clone(), again);
                self.refused.entry(train.clone()).or_insert(rail);
            }
            Command::Passed { train, .. } => {
                // Held before the station: it comes in and stands.
                self.next.insert(train.clone(), rail);
                self.refused.entry(train.clone()).or_insert(rail);
            }
            Command::Work {
                train,
                car,
                done: Done::PickedUp | Done::SetOut { .. },
            } => {
                let left = Command::Work {
                    train: train.clone(),
                    car: car.clone(),
                    done: Done::Left {
                        why: refused.found.clone(),
                    },
                };
                let who = who.clone();
                self.queue.push((rail, Said { who, command: left }));
                self.next.insert(train.clone(), again);
            }
            Command::Work { train, .. } => {
                self.next.insert(train.clone(), again);
            }
            Command::TieUp { train, .. } => {
                *self.tried.entry(train.clone()).or_insert(0) += 1;
                self.next
                    .insert(train.clone(), rail + RailSpan::from_minutes(1));
            }
            Command::Arrived { train, .. } => {
                self.next.insert(train.clone(), again);
            }
            Command::IssueOrder {
                text: OrderText::Authority { train, .. },
                ..
            } => {
                // A train on the line comes in and stands; one that stands waits.
                self.next
                    .insert(train.clone(), rail + RailSpan::from_minutes(2));
                self.refused.entry(train.clone()).or_insert(rail);
            }
            Command::OnDuty { .. } | Command::CallTrain { .. } => {
                if let Some(train) = command.train() {
                    self.next.insert(train.to_owned(), again);
                }
            }
            _ => {}
        }
    }

    fn between(&mut self, least: i64, most: i64) -> RailSpan {
        RailSpan::from_seconds(self.dice.random_range(least * 60..=most * 60))
    }

    fn chance(&mut self, part: f64) -> bool {
        self.dice.random_bool(part)
    }

    /// What the dispatcher has to do.
    fn desk(&mut self, state: &State, rail: RailTime) -> Option<Said> {
        let says = |command| {
            Some(Said {
                who: dispatcher(),
                command,
            })
        };
        if state.opening.method == Method::TimetableAndTrainOrder {
            for (at, order) in state.opening.orders.iter().enumerate() {
                let due = order.complete - RailSpan::from_minutes(20);
                if !self.given[at] && due <= rail {
                    self.given[at] = true;
                    return says(Command::IssueOrder {
                        text: order.text.clone(),
                        to: order.to.clone(),
                    });
                }
            }
            let annulled = state
                .sheet
                .trains
                .iter()
                .find(|train| {
                    train.at == At::Annulled
                        && train.sheet.class.is_some()
                        && !self.told.contains(&train.sheet.symbol)
                })
                .map(|train| train.sheet.symbol.clone());
            if let Some(train) = annulled {
                self.told.push(train.clone());
                return says(Command::IssueOrder {
                    text: OrderText::AnnulSchedule { train },
                    to: Vec::new(),
                });
            }
        }
        None
    }

    /// A new order is repeated by those who get it, and made complete.
    fn order_out(&mut self, state: &State, rail: RailTime) {
        let Some(order) = state.sheet.orders.last() else {
            return;
        };
        for copy in &order.copies {
            if copy.completed.is_some() {
                continue;
            }
            let Some(train) = state.train(&copy.train) else {
                continue;
            };
            let mut who = crew(train);
            if state
                .trains_of(&who.name)
                .iter()
                .all(|one| one.symbol() != copy.train)
            {
                // Not on duty yet: an operator copies it.
                who = yard();
            }
            let heard = rail + RailSpan::from_seconds(30);
            let (number, train) = (order.number, copy.train.clone());
            self.queue.push((
                heard,
                Said {
                    who,
                    command: Command::RepeatOrder {
                        number,
                        train: train.clone(),
                    },
                },
            ));
            self.queue.push((
                heard + RailSpan::from_seconds(20),
                Said {
                    who: dispatcher(),
                    command: Command::CompleteOrder { number, train },
                },
            ));
        }
    }

    fn crew_says(&mut self, state: &State, train: &TrainNow, rail: RailTime) -> Option<Said> {
        let symbol = train.symbol();
        if !train.active() || self.next.get(symbol).is_some_and(|when| *when > rail) {
            return None;
        }
        let who = self.on_duty(state, train, rail)?;
        if let Err(said) = who {
            return Some(said);
        }
        let who = crew(train);
        let says = |command| {
            Some(Said {
                who: who.clone(),
                command,
            })
        };
        let station = |call: usize| {
            state.opening.stations[train.calls[call].plan.station]
                .name
                .clone()
        };
        match train.at {
            At::Line { call } => {
                let there = train.calls.get(call + 1)?;
                if !self.next.contains_key(symbol) {
                    // How long this run takes is drawn once.
                    let planned = (there.plan.arrive - train.calls[call].plan.leave).seconds();
                    let pace = self.dice.random_range(0.92..1.12);
                    let took = RailSpan::from_seconds((planned as f64 * pace) as i64);
                    let left = train.calls[call].left.unwrap_or(rail);
                    self.next.insert(
                        symbol.to_owned(),
                        left + took.max(RailSpan::from_minutes(1)),
                    );
                    return None;
                }
                let last = call + 2 >= train.calls.len();
                let held = self.refused.contains_key(symbol);
                if !last && !there.plan.stops && there.work.is_empty() && !held {
                    return self
                        .with_authority(state, train, call + 1, rail)
                        .or_else(|| {
                            says(Command::Passed {
                                train: symbol.to_owned(),
                                station: station(call + 1),
                            })
                        });
                }
                says(Command::Arrived {
                    train: symbol.to_owned(),
                    station: station(call + 1),
                    track: None,
                })
            }
            At::Waiting | At::Station { .. } => {
                let call = train.stands_at()?;
                if (call > 0 || train.calls.len() == 1)
                    && let Some(work) = state.work_at(train, call).first()
                {
                    let done = if work.pick_up {
                        Done::PickedUp
                    } else {
                        Done::SetOut {
                            track: work
                                .track
                                .clone()
                                .or_else(|| self.any_track(state, train, call))?,
                            spot: work.spot,
                        }
                    };
                    return says(Command::Work {
                        train: symbol.to_owned(),
                        car: work.car.clone(),
                        done,
                    });
                }
                if call + 1 == train.calls.len() {
                    let track = match self.tried.get(symbol).copied().unwrap_or(0) {
                        0 => None,
                        tries => Some(self.track_number(state, train, call, tries - 1)?),
                    };
                    return says(Command::TieUp {
                        train: symbol.to_owned(),
                        track,
                    });
                }
                if train.calls[call].plan.leave > rail {
                    self.next
                        .insert(symbol.to_owned(), train.calls[call].plan.leave);
                    return None;
                }
                if call == 0 && train.called.is_none() && !self.refused.contains_key(symbol) {
                    if self.mishaps && self.chance(0.15) {
                        // Late out of the yard.
                        let wait = self.between(3, 20);
                        self.next.insert(symbol.to_owned(), rail + wait);
                    }
                    return Some(Said {
                        who: yard(),
                        command: Command::CallTrain {
                            train: symbol.to_owned(),
                        },
                    });
                }
                if let Some(said) = self.with_authority(state, train, call, rail) {
                    return Some(said);
                }
                if let Some(said) = self.way_out(state, train, call, rail) {
                    return Some(said);
                }
                says(Command::Departed {
                    train: symbol.to_owned(),
                    station: station(call),
                })
            }
            _ => None,
        }
    }

    /// `Ok` if the crew is on duty, else what it says to be; nothing while it is not wanted yet.
    fn on_duty(
        &mut self,
        state: &State,
        train: &TrainNow,
        rail: RailTime,
    ) -> Option<Result<(), Said>> {
        let who = crew(train);
        let Some(job) = &train.sheet.job else {
            return Some(Ok(()));
        };
        let on = state.sheet.people.get(&who.name);
        if on.is_some_and(|one| !one.off && one.job.as_ref() == Some(job)) {
            return Some(Ok(()));
        }
        let wanted = train.calls.first()?.plan.leave - RailSpan::from_minutes(20);
        if rail < wanted {
            self.next.insert(train.symbol().to_owned(), wanted);
            return None;
        }
        Some(Err(Said {
            command: Command::OnDuty {
                person: who.name.clone(),
                job: Some(job.clone()),
            },
            who,
        }))
    }

    /// Where trains run by authority: what the dispatcher gives a train that comes up, unless it has one.
    fn with_authority(
        &mut self,
        state: &State,
        train: &TrainNow,
        call: usize,
        rail: RailTime,
    ) -> Option<Said> {
        let by_authority = matches!(
            state.opening.method,
            Method::VerbalAuthority | Method::TrackWarrant | Method::Signals
        );
        let symbol = train.symbol();
        let name = |call: usize| {
            state.opening.stations[train.calls[call].plan.station]
                .name
                .as_str()
        };
        let held = state.sheet.orders.iter().any(|order| match &order.text {
            OrderText::Authority {
                train: whose,
                from,
                to,
                ..
            } if whose == symbol && !order.over => {
                let at = |station: &str| (0..train.calls.len()).find(|&one| name(one) == station);
                matches!((at(from), at(to)), (Some(from), Some(to)) if (from..to).contains(&call))
            }
            _ => false,
        });
        if !by_authority || held {
            return None;
        }
        // Asked again only after a while.
        self.next
            .insert(symbol.to_owned(), rail + RailSpan::from_minutes(1));
        let reach = if self.chance(0.3) { 2 } else { 1 };
        let to = (call + reach).min(train.calls.len() - 1);
        Some(Said {
            who: dispatcher(),
            command: Command::IssueOrder {
                text: OrderText::Authority {
                    train: symbol.to_owned(),
                    from: name(call).to_owned(),
                    to: name(to).to_owned(),
                    after: Vec::new(),
                },
                to: Vec::new(),
            },
        })
    }

    /// A train that has waited long gets an order to meet the others farther on; older orders about the
    /// two are annulled first.
    fn way_out(
        &mut self,
        state: &State,
        train: &TrainNow,
        call: usize,
        rail: RailTime,
    ) -> Option<Said> {
        let since = self.refused.get(train.symbol()).copied()?;
        if state.opening.method != Method::TimetableAndTrainOrder || rail - since < STUCK {
            return None;
        }
        self.refused.insert(train.symbol().to_owned(), rail);
        let district = train.calls[call].plan.next?;
        let here = train.calls[call].plan.station;
        let there = train.calls.get(call + 1)?.plan.station;
        let others: Vec<&TrainNow> = state
            .sheet
            .trains
            .iter()
            .filter(|other| other.active() && other.symbol() != train.symbol())
            .filter(|other| {
                other.calls.iter().enumerate().any(|(at, theirs)| {
                    theirs.plan.next == Some(district)
                        && theirs.plan.station == there
                        && theirs.left.is_none()
                        && at >= other.call()
                })
            })
            .collect();
        let mine = train.symbol();
        for other in &others {
            let old = state.sheet.orders.iter().find(|order| {
                let about = order.text.trains();
                !order.over
                    && matches!(order.text, OrderText::Meet { .. } | OrderText::RightOver { .. })
                    && about.contains(&mine)
                    && about.contains(&other.symbol())
                    && !state.sheet.orders.iter().any(|one| {
                        matches!(one.text, OrderText::AnnulOrder { number } if number == order.number)
                    })
            });
            if let Some(old) = old {
                return Some(Said {
                    who: dispatcher(),
                    command: Command::IssueOrder {
                        text: OrderText::AnnulOrder { number: old.number },
                        to: Vec::new(),
                    },
                });
            }
        }
        let place = state.opening.stations[there].name.clone();
        debug_assert!(here != there);
        let others: Vec<(String, String)> = others
            .into_iter()
            .map(|other| (other.symbol().to_owned(), place.clone()))
            .collect();
        if others.is_empty() {
            return None;
        }
        Some(Said {
            who: dispatcher(),
            command: Command::IssueOrder {
                text: OrderText::Meet {
                    train: mine.to_owned(),
                    others,
                },
                to: Vec::new(),
            },
        })
    }

    fn any_track(&mut self, state: &State, train: &TrainNow, call: usize) -> Option<String> {
        self.track_number(state, train, call, 0)
    }

    /// The tracks of a station that hold cars, in turn.
    fn track_number(
        &mut self,
        state: &State,
        train: &TrainNow,
        call: usize,
        number: usize,
    ) -> Option<String> {
        let station = &state.opening.stations[train.calls[call].plan.station];
        let mut tracks: Vec<&str> = station
            .tracks
            .iter()
            .filter(|track| track.holds_cars)
            .map(|track| track.name.as_str())
            .collect();
        if station.kind == StationKind::Staging || tracks.is_empty() {
            tracks.extend(station.tracks.iter().map(|track| track.name.as_str()));
        }
        let count = tracks.len();
        tracks
            .get(number % count.max(1))
            .map(|track| (*track).to_owned())
    }

    fn mishap(&mut self, state: &State, rail: RailTime) -> Option<Said> {
        let kind = self.dice.random_range(0..12);
        let trains: Vec<&TrainNow> = state
            .sheet
            .trains
            .iter()
            .filter(|one| one.active())
            .collect();
        if trains.is_empty() {
            return None;
        }
        let train = trains[self.dice.random_range(0..trains.len())];
        let symbol = train.symbol().to_owned();
        let by = |who: Who, command| Some(Said { who, command });
        match kind {
            0 => {
                let wait = self.between(10, 40);
                self.next.insert(symbol.clone(), rail + wait);
                by(
                    dispatcher(),
                    Command::Delay {
                        train: symbol,
                        cause: Cause::Derailment,
                        minutes: (wait.seconds() / 60) as u32,
                        text: "a truck on the ground".into(),
                    },
                )
            }
            1 => {
                // A wrong report, taken back.
                let last = state.sheet.recent.iter().rev().take(6).find(|(brief, _)| {
                    brief.sentence.contains("arrived at") || brief.sentence.contains("left ")
                })?;
                by(
                    dispatcher(),
                    Command::Undo {
                        revision: last.0.revision,
                    },
                )
            }
            2 => {
                let cars = state.opening.cars.len();
                if cars == 0 {
                    return None;
                }
                let car = &state.opening.cars[self.dice.random_range(0..cars)].name;
                if state.sheet.bad_orders.contains_key(car) {
                    return by(yard(), Command::Repaired { car: car.clone() });
                }
                by(
                    yard(),
                    Command::BadOrder {
                        car: car.clone(),
                        why: "a coupler hangs low".into(),
                    },
                )
            }
            3 => {
                let districts = state.opening.districts.len();
                let at = self.dice.random_range(0..districts.max(1));
                let ends = state.opening.districts.get(at)?.ends;
                if !state.on_line(at).is_empty() {
                    return None;
                }
                let [from, to] = ends.map(|end| state.opening.stations[end].name.clone());
                let place = TrackPlace::Line { from, to };
                let back = rail + self.between(10, 30);
                self.queue.push((
                    back,
                    Said {
                        who: dispatcher(),
                        command: Command::PutTrackBack {
                            place: place.clone(),
                        },
                    },
                ));
                by(
                    dispatcher(),
                    Command::TakeTrackOut {
                        place,
                        why: "a broken rail joiner".into(),
                    },
                )
            }
            4 => {
                let back = rail;
                self.queue.push((
                    back,
                    Said {
                        who: dispatcher(),
                        command: Command::GoAhead,
                    },
                ));
                by(
                    crew(train),
                    Command::StopEverything {
                        why: "a short circuit somewhere".into(),
                    },
                )
            }
            5 => by(
                yard(),
                Command::ChangeEngines {
                    train: symbol,
                    engines: vec![format!("spare {}", self.dice.random_range(1..100))],
                    why: "the motor stalls".into(),
                },
            ),
            6 if train.at == At::Waiting
                && train.sheet.class.is_none_or(|class| class >= 3)
                && self.chance(0.3) =>
            {
                by(
                    dispatcher(),
                    Command::AnnulTrain {
                        train: symbol,
                        why: "too few people".into(),
                    },
                )
            }
            7 => {
                let bridges: Vec<&String> = state
                    .opening
                    .districts
                    .iter()
                    .flat_map(|district| &district.bridges)
                    .collect();
                if bridges.is_empty() {
                    return None;
                }
                let name = bridges[self.dice.random_range(0..bridges.len())].clone();
                let open = !state.sheet.bridges_open.contains(&name);
                if open {
                    let back = rail + self.between(3, 8);
                    self.queue.push((
                        back,
                        Said {
                            who: dispatcher(),
                            command: Command::Drawbridge {
                                name: name.clone(),
                                open: false,
                            },
                        },
                    ));
                }
                by(dispatcher(), Command::Drawbridge { name, open })
            }
            8 => {
                // A car that is not where the books have it.
                let standing: Vec<&str> = state
                    .opening
                    .cars
                    .iter()
                    .map(|car| car.name.as_str())
                    .filter(|car| matches!(state.car_place(car), Some(CarPlace::Track { .. })))
                    .collect();
                if standing.len() < 2 {
                    return None;
                }
                let car = standing[self.dice.random_range(0..standing.len())];
                let other = standing[self.dice.random_range(0..standing.len())];
                let mut place = state.car_place(other)?;
                if let CarPlace::Track { spot, .. } = &mut place {
                    *spot = None;
                }
                by(
                    yard(),
                    Command::Found {
                        car: car.to_owned(),
                        place,
                    },
                )
            }
            9 => {
                // Somebody reports a train where it cannot be.
                by(
                    yard(),
                    Command::Arrived {
                        train: symbol,
                        station: state.opening.stations
                            [self.dice.random_range(0..state.opening.stations.len())]
                        .name
                        .clone(),
                        track: None,
                    },
                )
            }
            10 => by(
                crew(train),
                Command::Note {
                    train: Some(symbol),
                    text: "lost a marker lamp".into(),
                },
            ),
            _ => None,
        }
    }
}
