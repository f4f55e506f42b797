//! Commands decided: what they come to as things stand, or why they cannot be.

use model::time::{FastClock, RailSpan, RailTime};
use transportation::Method;

use super::{
    State,
    sheet::{At, TrainNow},
    undo,
};
use crate::{
    clock::RealMillis,
    command::{Command, NewPlan, TrackPlace},
    event::{Event, Subject, What},
    opening::{CallSheet, TrainSheet},
    order::OrderText,
    refused::{Refused, Why},
    who::{Role, Who},
};

/// The longest text that a command may carry, in bytes.
const LONGEST: usize = 2000;

/// What a command comes to, decided one event after the other.
pub(super) struct Draft<'a> {
    /// The state with the events so far.
    pub(super) state: State,
    pub(super) who: &'a Who,
    now: RealMillis,
    events: Vec<Event>,
}

impl Draft<'_> {
    /// Enters an event.
    pub(super) fn happens(&mut self, what: What) {
        let rail = self.state.rail(self.now);
        self.happens_at(what, rail);
    }

    fn happens_at(&mut self, what: What, rail: RailTime) {
        let event = Event {
            revision: self.state.revision() + 1,
            real: self.now,
            rail,
            who: self.who.clone(),
            what,
        };
        self.state.apply(&event);
        self.events.push(event);
    }

    /// What the clock shows.
    pub(super) fn rail(&self) -> RailTime {
        self.state.rail(self.now)
    }
}

impl State {
    /// What a command comes to: events for [`State::apply`], in order. `seen` is the revision that the
    /// device saw; what has happened since to the same things is told with a refusal.
    ///
    /// # Errors
    /// [`Refused`], with what was found, what was expected, and what has happened meanwhile.
    pub fn decide(
        &self,
        command: &Command,
        who: &Who,
        seen: Option<u64>,
        now: RealMillis,
    ) -> Result<Vec<Event>, Refused> {
        self.decide_anew(command, who, seen, now)
            .map(|(events, _)| events)
    }

    /// The same, with the state that the events lead to.
    ///
    /// # Errors
    /// As [`State::decide`].
    pub fn decide_anew(
        &self,
        command: &Command,
        who: &Who,
        seen: Option<u64>,
        now: RealMillis,
    ) -> Result<(Vec<Event>, State), Refused> {
        let mut draft = Draft {
            state: self.clone(),
            who,
            now,
            events: Vec::new(),
        };
        let decided = self
            .may_say(command, who, seen)
            .and_then(|()| draft.carry_out(command));
        match decided {
            Ok(()) => Ok((draft.events, draft.state)),
            Err(mut refused) => {
                refused.now = self.revision();
                refused.seen = seen;
                if refused.meanwhile.is_empty()
                    && let Some(seen) = seen
                {
                    let subjects = self.subjects(command);
                    refused.meanwhile = self
                        .about(&subjects, seen)
                        .into_iter()
                        .filter(|brief| brief.device != who.device)
                        .cloned()
                        .collect();
                }
                Err(refused)
            }
        }
    }

    /// What a command is about.
    fn subjects(&self, command: &Command) -> Vec<Subject> {
        let mut all = Vec::new();
        let mut train = |symbol: &str| {
            let subject = Subject::Train(symbol.to_owned());
            if !all.contains(&subject) {
                all.push(subject);
            }
        };
        if let Some(symbol) = command.train() {
            train(symbol);
        }
        match command {
            Command::CallTrain { train: one }
            | Command::AnnulTrain { train: one, .. }
            | Command::ChangeEngines { train: one, .. } => train(one),
            Command::AddWork {
                train: one, car, ..
            }
            | Command::DropWork {
                train: one, car, ..
            } => {
                train(one);
                all.push(Subject::Car(car.clone()));
            }
            Command::Combine { train: one, into } => {
                train(one);
                train(into);
            }
            Command::IssueOrder { text, .. } => text.trains().into_iter().for_each(train),
            Command::TakePlan { plan } => {
                plan.trains.iter().for_each(|(symbol, _)| train(symbol));
                all.push(Subject::Plan);
            }
            _ => {}
        }
        match command {
            Command::StartClock
            | Command::StopClock { .. }
            | Command::SetRatio { .. }
            | Command::JumpClock { .. } => all.push(Subject::Clock),
            Command::OnDuty { person, .. } | Command::OffDuty { person } => {
                all.push(Subject::Person(person.clone()));
            }
            Command::Work { car, .. }
            | Command::Shift { car, .. }
            | Command::BadOrder { car, .. }
            | Command::Repaired { car }
            | Command::Found { car, .. } => all.push(Subject::Car(car.clone())),
            Command::RepeatOrder { number, .. }
            | Command::CompleteOrder { number, .. }
            | Command::GiveBack { number } => all.push(Subject::Order(*number)),
            Command::TakeTrackOut { place, .. } | Command::PutTrackBack { place } => {
                all.push(Subject::Track(place.clone()));
            }
            Command::Drawbridge { name, .. } => all.push(Subject::Bridge(name.clone())),
            Command::StopEverything { .. } | Command::GoAhead => all.push(Subject::Stop),
            Command::Undo { revision } => {
                if let Some(before) = self.kept(*revision) {
                    all.extend(before.subjects.iter().cloned());
                }
            }
            Command::Grant { device, .. }
            | Command::Leave { device }
            | Command::Join { device, .. } => all.push(Subject::Device(device.clone())),
            _ => {}
        }
        all
    }

    /// Whether this device may say this now.
    fn may_say(&self, command: &Command, who: &Who, seen: Option<u64>) -> Result<(), Refused> {
        if self.sheet.closed.is_some() {
            return Err(Refused::new(
                Why::Closed,
                "the session is closed",
                "open the next one",
            ));
        }
        let needs = command.needs();
        if who.role < needs {
            return Err(Refused::new(
                Why::NotAllowed,
                format!("{} may not say this as {}", who.name, who.role),
                format!("it takes the {needs}"),
            ));
        }
        if who.role == Role::Crew
            && let Some(symbol) = command.train()
            && self.train(symbol).is_some()
            && !self
                .trains_of(&who.name)
                .iter()
                .any(|one| one.symbol() == symbol)
        {
            return Err(Refused::new(
                Why::NotAllowed,
                format!(
                    "{} is not on duty on the job of {}",
                    who.name,
                    self.title(symbol)
                ),
                "go on duty on its job, or leave the report to its crew",
            ));
        }
        if let Some(why) = &self.sheet.stopped
            && matches!(
                command,
                Command::Departed { .. }
                    | Command::Passed { .. }
                    | Command::StartClock
                    | Command::JumpClock { .. }
                    | Command::IssueOrder { .. }
                    | Command::CompleteOrder { .. }
                    | Command::CallTrain { .. }
                    | Command::Drawbridge { .. }
            )
        {
            return Err(Refused::new(
                Why::Stopped,
                format!("everything is stopped: {why}"),
                "wait until the dispatcher lets it go on",
            ));
        }
        // What sets a thing anew must not undo unseen what another device has just set.
        let sets = matches!(
            command,
            Command::SetRatio { .. }
                | Command::JumpClock { .. }
                | Command::AnnulTrain { .. }
                | Command::Combine { .. }
                | Command::ChangeEngines { .. }
                | Command::DropWork { .. }
                | Command::Shift { .. }
                | Command::IssueOrder { .. }
                | Command::Grant { .. }
        );
        if let (true, Some(seen)) = (sets, seen) {
            let subjects = self.subjects(command);
            let meanwhile: Vec<_> = self
                .about(&subjects, seen)
                .into_iter()
                .filter(|brief| brief.device != who.device)
                .cloned()
                .collect();
            if !meanwhile.is_empty() {
                let mut refused = Refused::new(
                    Why::Meanwhile,
                    format!(
                        "this was said at line {seen}, and the journal is at {}",
                        self.revision()
                    ),
                    "look at what has happened, then say it again if it still holds",
                );
                refused.meanwhile = meanwhile;
                return Err(refused);
            }
        }
        Ok(())
    }
}

impl Draft<'_> {
    fn carry_out(&mut self, command: &Command) -> Result<(), Refused> {
        match command {
            Command::StartClock => {
                if self.state.sheet.clock.runs {
                    return Err(Refused::not_now("the clock runs already", ""));
                }
                self.happens(What::ClockStarted);
            }
            Command::StopClock { why } => {
                if !self.state.sheet.clock.runs {
                    return Err(Refused::not_now("the clock stands already", ""));
                }
                self.happens(What::ClockStopped { why: text(why)? });
            }
            Command::SetRatio { railroad, real } => {
                if FastClock::new(*railroad, *real).is_none() {
                    return Err(Refused::not_now(
                        format!("the ratio {railroad}:{real} cannot be"),
                        "say two numbers from 1 to 1000",
                    ));
                }
                self.happens(What::RatioSet {
                    railroad: *railroad,
                    in_real: *real,
                });
            }
            Command::JumpClock { to } => {
                let shows = self.rail();
                if *to <= shows || *to - shows > RailSpan::from_minutes(24 * 60) {
                    let time = |time| self.state.opening.time(time);
                    return Err(Refused::not_now(
                        format!(
                            "the clock shows {}, and was to jump to {}",
                            time(shows),
                            time(*to)
                        ),
                        "the clock never goes back: say a time within the next 24 hours",
                    ));
                }
                let from = shows.seconds();
                self.happens_at(What::ClockJumped { from }, *to);
            }
            Command::OnDuty { person, job } => self.on_duty(person, job.as_deref())?,
            Command::OffDuty { person } => {
                self.own(person)?;
                let on = self
                    .state
                    .sheet
                    .people
                    .get(person)
                    .is_some_and(|one| !one.off);
                if !on {
                    return Err(Refused::not_now(format!("{person} is not on duty"), ""));
                }
                let person = person.clone();
                self.happens(What::OffDuty { person });
            }
            Command::CallTrain { train } => {
                let at = self.state.train_at(train)?;
                let now = &self.state.sheet.trains[at];
                if let Some(called) = now.called {
                    return Err(Refused::not_now(
                        format!(
                            "{} was called at {}",
                            now.title(),
                            self.state.opening.time(called)
                        ),
                        "",
                    ));
                }
                if now.at != At::Waiting {
                    return Err(Refused::not_now(
                        format!("{} {}", now.title(), where_is(&self.state, now)),
                        "only a train that has not left yet is called",
                    ));
                }
                let crew = self.state.crew_of(now);
                let crew = crew.into_iter().map(str::to_owned).collect();
                let train = train.clone();
                self.happens(What::Called { train, crew });
            }
            Command::Arrived {
                train,
                station,
                track,
            } => self.arrived(train, station, track.as_deref())?,
            Command::Departed { train, station } => self.departed(train, station)?,
            Command::Passed { train, station } => self.passed(train, station)?,
            Command::ClearOfMain { train, station } => {
                let (at, call) = self.stands(train, station)?;
                if matches!(
                    self.state.sheet.trains[at].at,
                    At::Station { clear: true, .. }
                ) {
                    let title = self.state.title(train);
                    return Err(Refused::not_now(
                        format!("{title} is reported clear at {station} already"),
                        "",
                    ));
                }
                let (train, station) = (train.clone(), station.clone());
                self.happens(What::InClear {
                    train,
                    station,
                    call,
                });
            }
            Command::TieUp { train, track } => self.tie_up(train, track.as_deref())?,
            Command::Work { train, car, done } => self.work(train, car, done)?,
            Command::Shift { car, track, spot } => self.shift(car, track, *spot)?,
            Command::BadOrder { car, why } => {
                self.state.car_at(car)?;
                if let Some(why) = self.state.sheet.bad_orders.get(car) {
                    return Err(Refused::not_now(
                        format!("{car} is bad ordered already: {why}"),
                        "",
                    ));
                }
                let (car, why) = (car.clone(), text(why)?);
                self.happens(What::BadOrdered { car, why });
            }
            Command::Repaired { car } => {
                self.state.car_at(car)?;
                if !self.state.sheet.bad_orders.contains_key(car) {
                    return Err(Refused::not_now(format!("{car} is not bad ordered"), ""));
                }
                let car = car.clone();
                self.happens(What::Repaired { car });
            }
            Command::AddWork {
                train,
                station,
                car,
                pick_up,
                track,
                spot,
            } => self.add_work(train, station, car, *pick_up, track.as_deref(), *spot)?,
            Command::DropWork {
                train,
                station,
                car,
                why,
            } => self.drop_work(train, station, car, &text(why)?)?,
            Command::IssueOrder { text, to } => self.issue(text, to)?,
            Command::RepeatOrder { number, train } => self.repeat(*number, train)?,
            Command::CompleteOrder { number, train } => self.complete(*number, train)?,
            Command::GiveBack { number } => self.give_back(*number)?,
            Command::CreateExtra {
                symbol,
                engines,
                way,
                leave,
                job,
            } => self.create_extra(symbol, engines, way, *leave, job.as_deref())?,
            Command::AnnulTrain { train, why } => {
                let at = self.state.train_at(train)?;
                let now = &self.state.sheet.trains[at];
                if now.at != At::Waiting {
                    return Err(Refused::not_now(
                        format!("{} {}", now.title(), where_is(&self.state, now)),
                        "only a train that has not left yet is annulled; combine it with another, or tie it up",
                    ));
                }
                let (train, why) = (train.clone(), text(why)?);
                self.happens(What::Annulled { train, why });
            }
            Command::Combine { train, into } => self.combine(train, into)?,
            Command::ChangeEngines {
                train,
                engines,
                why,
            } => {
                let at = self.state.active(train, "")?;
                self.engines_are_free(engines, Some(at))?;
                let (train, engines, why) = (train.clone(), engines.clone(), text(why)?);
                self.happens(What::EnginesChanged {
                    train,
                    engines,
                    why,
                });
            }
            Command::TakeTrackOut { place, why } => {
                let place = self.track_place(place)?;
                let out = self
                    .state
                    .sheet
                    .tracks_out
                    .iter()
                    .find(|(one, _)| *one == place);
                if let Some((place, why)) = out {
                    return Err(Refused::not_now(
                        format!("{place} is out of service already: {why}"),
                        "",
                    ));
                }
                let why = text(why)?;
                self.happens(What::TrackOut { place, why });
            }
            Command::PutTrackBack { place } => {
                let place = self.track_place(place)?;
                if !self
                    .state
                    .sheet
                    .tracks_out
                    .iter()
                    .any(|(one, _)| *one == place)
                {
                    return Err(Refused::not_now(format!("{place} is in service"), ""));
                }
                self.happens(What::TrackBack { place });
            }
            Command::Drawbridge { name, open } => self.bridge(name, *open)?,
            Command::StopEverything { why } => {
                if let Some(why) = &self.state.sheet.stopped {
                    return Err(Refused::not_now(
                        format!("everything is stopped already: {why}"),
                        "",
                    ));
                }
                let why = text(why)?;
                self.happens(What::AllStopped { why });
            }
            Command::GoAhead => {
                if self.state.sheet.stopped.is_none() {
                    return Err(Refused::not_now("nothing is stopped", ""));
                }
                self.happens(What::WentAhead);
            }
            Command::Note { train, text: said } => {
                if let Some(train) = train {
                    self.state.train_at(train)?;
                }
                let (train, text) = (train.clone(), text(said)?);
                if text.is_empty() {
                    return Err(Refused::not_now("the note is empty", "say something"));
                }
                self.happens(What::Noted { train, text });
            }
            Command::Delay {
                train,
                cause,
                minutes,
                text: said,
            } => {
                let now = &self.state.sheet.trains[self.state.active(train, "")?];
                let station = now.calls.get(now.call()).map(|call| call.plan.station);
                let station = station.map(|at| self.state.opening.stations[at].name.clone());
                let (train, text) = (train.clone(), text(said)?);
                self.happens(What::Delayed {
                    train,
                    station,
                    cause: *cause,
                    minutes: (*minutes).min(10_000),
                    text,
                });
            }
            Command::TakePlan { plan } => self.take_plan(plan)?,
            Command::Undo { revision } => self.take_back(*revision)?,
            Command::Found { car, place } => self.found(car, place)?,
            Command::WalkTrack {
                station,
                track,
                cars,
            } => self.walk(station, track, cars)?,
            Command::Join { device, name } => {
                let name = text(name)?;
                if device.is_empty() || name.is_empty() {
                    return Err(Refused::not_now(
                        "a device joins with a name",
                        "say who you are",
                    ));
                }
                if self.who.role < Role::Superintendent && self.who.device != *device {
                    return Err(Refused::new(
                        Why::NotAllowed,
                        "a device joins for itself only",
                        "",
                    ));
                }
                let device = text(device)?;
                self.happens(What::Joined { device, name });
            }
            Command::Grant { device, role } => {
                self.device(device)?;
                let (device, role) = (device.clone(), *role);
                self.happens(What::Granted { device, role });
            }
            Command::Leave { device } => {
                self.device(device)?;
                let device = device.clone();
                self.happens(What::LeftRoom { device });
            }
            Command::CloseOut => self.close()?,
        }
        Ok(())
    }

    fn device(&self, device: &str) -> Result<(), Refused> {
        if self.state.sheet.devices.contains_key(device) {
            return Ok(());
        }
        let known = self.state.sheet.devices.keys().map(String::as_str);
        Err(super::named::unknown("device", device, known))
    }

    /// A crew speaks of its own people only.
    fn own(&self, person: &str) -> Result<(), Refused> {
        if self.who.role < Role::Dispatcher && self.who.name != person {
            return Err(Refused::new(
                Why::NotAllowed,
                format!("{} cannot say this for {person}", self.who.name),
                "each marks up for themselves, or the dispatcher does it",
            ));
        }
        Ok(())
    }

    fn on_duty(&mut self, person: &str, job: Option<&str>) -> Result<(), Refused> {
        self.own(person)?;
        let person = text(person)?;
        if person.is_empty() {
            return Err(Refused::not_now("nobody was named", "say who goes on duty"));
        }
        let people = &self.state.sheet.people;
        if let Some(now) = people.get(&person).filter(|one| !one.off)
            && now.job.as_deref() == job
        {
            return Err(Refused::not_now(
                match job {
                    Some(job) => format!("{person} is on duty on {job} already"),
                    None => format!("{person} is on the extra board already"),
                },
                "",
            ));
        }
        if let Some(job) = job {
            let Some(sheet) = self.state.opening.find_job(job) else {
                let names = self.state.opening.jobs.iter().map(|one| one.name.as_str());
                return Err(super::named::unknown("job", job, names));
            };
            let there: Vec<&str> = people
                .iter()
                .filter(|(name, one)| {
                    !one.off && one.job.as_deref() == Some(job) && **name != person
                })
                .map(|(name, _)| name.as_str())
                .collect();
            if there.len() >= sheet.people.max(1) as usize {
                return Err(Refused::not_now(
                    format!("{job} has its people: {}", there.join(", ")),
                    "take another job, or have one of them go off duty",
                ));
            }
        }
        let job = job.map(str::to_owned);
        self.happens(What::OnDuty { person, job });
        Ok(())
    }

    /// A train that stands at a station: its index and call.
    pub(super) fn stands(&self, train: &str, station: &str) -> Result<(usize, usize), Refused> {
        let at = self.state.train_at(train)?;
        let station_at = self.state.station_at(station)?;
        let now = &self.state.sheet.trains[at];
        let call = now.stands_at();
        match call {
            Some(call) if now.calls[call].plan.station == station_at => Ok((at, call)),
            _ => Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(&self.state, now)),
                format!("it would have to stand at {station}"),
            )),
        }
    }

    fn arrived(&mut self, train: &str, station: &str, track: Option<&str>) -> Result<(), Refused> {
        let at = self.state.train_at(train)?;
        let station_at = self.state.station_at(station)?;
        let now = &self.state.sheet.trains[at];
        let At::Line { call } = now.at else {
            return Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(&self.state, now)),
                format!("it would have to be on its way to {station}"),
            ));
        };
        let call = call + 1;
        let next = now.calls.get(call).map(|one| one.plan.station);
        if next != Some(station_at) {
            let there = next.map_or("", |one| &self.state.opening.stations[one].name);
            return Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(&self.state, now)),
                format!("the next station of its way is {there}"),
            ));
        }
        let track = match track {
            Some(track) => Some(track.to_owned()),
            None => now.calls[call].plan.track.clone(),
        };
        if let Some(track) = &track {
            self.state.track_at(station_at, track)?;
            if let Some(why) = self.state.out_of_service(station, track) {
                return Err(Refused::not_now(
                    format!("{station} / {track} is out of service: {why}"),
                    "say on which other track it stands, or have the track put back first",
                ));
            }
        }
        let (train, station) = (train.to_owned(), station.to_owned());
        self.happens(What::Arrived {
            train,
            station,
            call,
            track,
        });
        Ok(())
    }

    fn departed(&mut self, train: &str, station: &str) -> Result<(), Refused> {
        let (at, call) = self.stands(train, station)?;
        let now = &self.state.sheet.trains[at];
        if call + 1 >= now.calls.len() {
            return Err(Refused::not_now(
                format!("the run of {} ends at {station}", now.title()),
                "tie it up, or create an extra to go on",
            ));
        }
        self.state.may_leave(at, call, self.rail())?;
        self.leave_work(at, call, station);
        let (train, station) = (train.to_owned(), station.to_owned());
        self.happens(What::Departed {
            train,
            station,
            call,
        });
        Ok(())
    }

    fn passed(&mut self, train: &str, station: &str) -> Result<(), Refused> {
        let at = self.state.train_at(train)?;
        let station_at = self.state.station_at(station)?;
        let now = &self.state.sheet.trains[at];
        let At::Line { call } = now.at else {
            return Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(&self.state, now)),
                format!("it would have to be on its way to {station}"),
            ));
        };
        let call = call + 1;
        if now.calls.get(call).map(|one| one.plan.station) != Some(station_at) {
            return Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(&self.state, now)),
                "report it at the next station of its way",
            ));
        }
        if call + 1 >= now.calls.len() {
            return Err(Refused::not_now(
                format!("the run of {} ends at {station}", now.title()),
                "report it arrived",
            ));
        }
        self.state.may_leave(at, call, self.rail())?;
        let (train, station) = (train.to_owned(), station.to_owned());
        self.happens(What::Passed {
            train,
            station,
            call,
        });
        Ok(())
    }

    fn track_place(&self, place: &TrackPlace) -> Result<TrackPlace, Refused> {
        match place {
            TrackPlace::Station { station, track } => {
                let at = self.state.station_at(station)?;
                self.state.track_at(at, track)?;
            }
            TrackPlace::Line { from, to } => {
                let (a, b) = (self.state.station_at(from)?, self.state.station_at(to)?);
                let Some((_, up)) = self.state.opening.district_between(a, b) else {
                    return Err(Refused::new(
                        Why::Unknown,
                        format!("no line runs straight from {from} to {to}"),
                        "name two stations that are next to each other",
                    ));
                };
                // One name for one piece: from lower to higher miles.
                if !up {
                    return Ok(TrackPlace::Line {
                        from: to.clone(),
                        to: from.clone(),
                    });
                }
            }
        }
        Ok(place.clone())
    }

    fn bridge(&mut self, name: &str, open: bool) -> Result<(), Refused> {
        let district = self
            .state
            .opening
            .districts
            .iter()
            .position(|one| one.bridges.iter().any(|bridge| bridge == name));
        let Some(district) = district else {
            let names = self.state.opening.districts.iter();
            let names = names.flat_map(|one| one.bridges.iter().map(String::as_str));
            return Err(super::named::unknown("bridge", name, names));
        };
        if self.state.sheet.bridges_open.contains(name) == open {
            let word = if open { "open" } else { "closed" };
            return Err(Refused::not_now(format!("{name} is {word} already"), ""));
        }
        if open {
            let stretch = self.state.opening.stretch(district);
            if let Some((train, _)) = self.state.on_line(district).first() {
                let title = self.state.sheet.trains[*train].title();
                return Err(Refused::not_now(
                    format!("{title} is on the track {stretch}"),
                    format!("{name} is not opened with a train there: wait until it is in"),
                ));
            }
            let territory = self.state.territory(self.rail());
            let held = self.state.authorities().into_iter().find(|one| {
                let done = one.clear.iter().map(|(at, _)| *at).max().unwrap_or(0);
                (one.from.max(done)..one.to).any(|at| {
                    territory.run(one.train).visits[at].next.map(|d| d.index()) == Some(district)
                })
            });
            if let Some(held) = held {
                return Err(Refused::not_now(
                    format!("authority {} is out {stretch}", held.number),
                    format!("have it given back before {name} is opened"),
                ));
            }
        }
        let name = name.to_owned();
        self.happens(What::Bridge { name, open });
        Ok(())
    }

    fn issue(&mut self, text: &OrderText, to: &[String]) -> Result<(), Refused> {
        let authority = matches!(text, OrderText::Authority { .. });
        let method = self.state.opening.method;
        let fits = match method {
            Method::TimetableAndTrainOrder => !authority,
            Method::VerbalAuthority | Method::TrackWarrant | Method::Signals => authority,
            Method::Sequence => false,
        };
        if !fits {
            let what = if authority {
                "an authority"
            } else {
                "a train order"
            };
            return Err(Refused::not_now(
                format!("this railroad runs by {method}, and this is {what}"),
                match method {
                    Method::TimetableAndTrainOrder => "give a train order",
                    Method::Sequence => "trains go in the order of the list",
                    _ => "give an authority from station to station",
                },
            ));
        }
        let to = self.addressees(text, to)?;
        let number = self.state.sheet.orders.iter().map(|one| one.number).max();
        let number = number.unwrap_or(0) + 1;
        self.state.may_issue(number, text, &to, self.rail())?;
        let text = text.clone();
        self.happens(What::OrderIssued { number, text, to });
        Ok(())
    }

    fn addressees(&self, text: &OrderText, to: &[String]) -> Result<Vec<String>, Refused> {
        for train in to {
            self.state.active(train, "address trains that run")?;
        }
        let mut all: Vec<String> = if to.is_empty() {
            match text {
                OrderText::AnnulSchedule { .. } => self
                    .state
                    .sheet
                    .trains
                    .iter()
                    .map(|train| train.sheet.symbol.clone())
                    .collect(),
                OrderText::AnnulOrder { number } => self
                    .state
                    .sheet
                    .orders
                    .iter()
                    .filter(|order| order.number == *number)
                    .flat_map(|order| order.copies.iter().map(|copy| copy.train.clone()))
                    .collect(),
                _ => text.trains().into_iter().map(str::to_owned).collect(),
            }
        } else {
            to.to_vec()
        };
        all.retain(|symbol| self.state.train(symbol).is_some_and(TrainNow::active));
        let mut seen = std::collections::BTreeSet::new();
        all.retain(|symbol| seen.insert(symbol.clone()));
        if all.is_empty() {
            for symbol in text.trains() {
                self.state.train_at(symbol)?;
            }
            return Err(Refused::not_now(
                "no train that runs would get this order",
                "address a train that runs",
            ));
        }
        Ok(all)
    }

    fn repeat(&mut self, number: u32, train: &str) -> Result<(), Refused> {
        let copy = self.copy(number, train)?;
        if let Some(repeated) = copy.repeated {
            let time = self.state.opening.time(repeated);
            return Err(Refused::not_now(
                format!("{} repeated {number} at {time}", self.state.title(train)),
                "",
            ));
        }
        let train = train.to_owned();
        self.happens(What::OrderRepeated { number, train });
        Ok(())
    }

    fn complete(&mut self, number: u32, train: &str) -> Result<(), Refused> {
        let copy = self.copy(number, train)?;
        let title = self.state.title(train);
        if let Some(completed) = copy.completed {
            let time = self.state.opening.time(completed);
            return Err(Refused::not_now(
                format!("{number} was made complete to {title} at {time}"),
                "",
            ));
        }
        if copy.repeated.is_none() {
            return Err(Refused::not_now(
                format!("{title} has not repeated {number}"),
                "an order is complete only when it has been repeated right",
            ));
        }
        let order = self
            .state
            .sheet
            .orders
            .iter()
            .find(|one| one.number == number);
        if let Some(text) = order.map(|order| order.text.clone())
            && !matches!(text, OrderText::AnnulOrder { .. })
        {
            self.state.names_places_ahead(&text)?;
        }
        let train = train.to_owned();
        self.happens(What::OrderCompleted { number, train });
        Ok(())
    }

    fn copy(&self, number: u32, train: &str) -> Result<&super::sheet::CopyNow, Refused> {
        self.state.train_at(train)?;
        let order = self
            .state
            .sheet
            .orders
            .iter()
            .find(|one| one.number == number);
        let Some(order) = order else {
            return Err(Refused::new(
                Why::Unknown,
                format!("there is no order {number}"),
                "say the number of one that is out",
            ));
        };
        if order.over {
            return Err(Refused::not_now(
                format!("{number} is not in effect any more"),
                "",
            ));
        }
        order
            .copies
            .iter()
            .find(|copy| copy.train == train)
            .ok_or_else(|| {
                Refused::not_now(
                    format!("{} has no copy of {number}", self.state.title(train)),
                    "",
                )
            })
    }

    fn give_back(&mut self, number: u32) -> Result<(), Refused> {
        let order = self
            .state
            .sheet
            .orders
            .iter()
            .find(|one| one.number == number);
        let Some(OrderText::Authority {
            train, from, to, ..
        }) = order.filter(|one| !one.over).map(|one| &one.text)
        else {
            return Err(Refused::not_now(
                format!("no authority {number} is out"),
                "a train order is annulled by another order",
            ));
        };
        let at = self.state.train_at(train)?;
        let now = &self.state.sheet.trains[at];
        if let At::Line { call } = now.at {
            let ends = [from, to].map(|one| self.state.visit(now, one, 0));
            if let [Some(from), Some(to)] = ends
                && (from..to).contains(&call)
            {
                return Err(Refused::not_now(
                    format!("{} is on its way by authority {number}", now.title()),
                    "it can be given back when the train stands at a station",
                ));
            }
        }
        self.happens(What::GivenBack { number });
        Ok(())
    }

    fn engines_are_free(&self, engines: &[String], but: Option<usize>) -> Result<(), Refused> {
        if engines.is_empty() || engines.iter().any(|one| one.trim().is_empty()) {
            return Err(Refused::not_now(
                "no engine was named",
                "a train has an engine",
            ));
        }
        for (at, train) in self.state.sheet.trains.iter().enumerate() {
            let under_way = matches!(train.at, At::Station { .. } | At::Line { .. });
            if Some(at) == but || !under_way {
                continue;
            }
            if let Some(engine) = engines.iter().find(|one| train.sheet.engines.contains(one)) {
                return Err(Refused::not_now(
                    format!("engine {engine} is on {}, under way", train.title()),
                    "take one that is free",
                ));
            }
        }
        Ok(())
    }

    fn create_extra(
        &mut self,
        symbol: &str,
        engines: &[String],
        way: &[String],
        leave: RailTime,
        job: Option<&str>,
    ) -> Result<(), Refused> {
        let symbol = text(symbol)?;
        if symbol.is_empty() || way.len() < 2 {
            return Err(Refused::not_now(
                "an extra has a symbol and at least two stations",
                "",
            ));
        }
        let taken = self.state.train(&symbol).is_some()
            || self
                .state
                .opening
                .not_today
                .iter()
                .any(|one| one.symbol == symbol);
        if taken {
            return Err(Refused::not_now(
                format!("there is a train {symbol} already"),
                "give it a symbol that no train has",
            ));
        }
        self.engines_are_free(engines, None)?;
        if let Some(job) = job
            && self.state.opening.find_job(job).is_none()
        {
            let names = self.state.opening.jobs.iter().map(|one| one.name.as_str());
            return Err(super::named::unknown("job", job, names));
        }
        if leave < self.rail() {
            return Err(Refused::not_now(
                format!("it is past {}", self.state.opening.time(leave)),
                "say a time that is to come",
            ));
        }
        let stations = way
            .iter()
            .map(|name| self.state.station_at(name))
            .collect::<Result<Vec<_>, _>>()?;
        let mut calls: Vec<CallSheet> = Vec::new();
        let mut time = leave;
        for (at, &station) in stations.iter().enumerate() {
            if stations[..at].contains(&station) {
                return Err(Refused::not_now(
                    format!("the way comes by {} twice", way[at]),
                    "a train comes by a station once",
                ));
            }
            let next = match stations.get(at + 1) {
                Some(&to) => match self.state.opening.district_between(station, to) {
                    Some((district, _)) => Some((district, to)),
                    None => {
                        return Err(Refused::not_now(
                            format!("no line runs straight from {} to {}", way[at], way[at + 1]),
                            "name every station of the way",
                        ));
                    }
                },
                None => None,
            };
            calls.push(CallSheet {
                station,
                track: None,
                next: next.map(|(district, _)| district),
                arrive: time,
                leave: time,
                due_arrive: None,
                due_leave: None,
                stops: at == 0 || next.is_none(),
                meets: Vec::new(),
                work_seconds: None,
                work: Vec::new(),
            });
            if let Some((_, to)) = next {
                time += self.state.usual_run(station, to);
            }
        }
        let up = stations
            .first()
            .zip(stations.get(1))
            .and_then(|(&a, &b)| self.state.opening.district_between(a, b))
            .map(|(_, up)| up);
        let direction = self.state.direction(up);
        let train = TrainSheet {
            symbol,
            name: None,
            class: None,
            kind: String::new(),
            direction,
            engines: engines.to_vec(),
            job: job.map(str::to_owned),
            calls,
        };
        self.happens(What::ExtraCreated { train });
        Ok(())
    }

    fn combine(&mut self, train: &str, into: &str) -> Result<(), Refused> {
        let (a, b) = (self.state.train_at(train)?, self.state.train_at(into)?);
        let (one, other) = (&self.state.sheet.trains[a], &self.state.sheet.trains[b]);
        let place = |train: &TrainNow| Some(train.calls[train.stands_at()?].plan.station);
        let station = match (place(one), place(other)) {
            (Some(here), Some(there)) if here == there && a != b => here,
            _ => {
                return Err(Refused::not_now(
                    format!(
                        "{} {}, and {} {}",
                        one.title(),
                        where_is(&self.state, one),
                        other.title(),
                        where_is(&self.state, other)
                    ),
                    "both would have to stand at the same station",
                ));
            }
        };
        let station = self.state.opening.stations[station].name.clone();
        let (train, into) = (train.to_owned(), into.to_owned());
        self.happens(What::Combined {
            train,
            into,
            station,
        });
        Ok(())
    }

    fn take_plan(&mut self, plan: &NewPlan) -> Result<(), Refused> {
        if plan.trains.is_empty() {
            return Err(Refused::not_now("the plan changes nothing", ""));
        }
        for (symbol, calls) in &plan.trains {
            let at = self.state.train_at(symbol)?;
            let now = &self.state.sheet.trains[at];
            let same = calls.len() == now.calls.len()
                && calls
                    .iter()
                    .zip(&now.calls)
                    .all(|(new, old)| new.station == old.plan.station && new.next == old.plan.next);
            let forward = calls.iter().all(|call| call.arrive <= call.leave)
                && calls.windows(2).all(|pair| pair[0].leave <= pair[1].arrive);
            if !same || !forward {
                return Err(Refused::not_now(
                    format!(
                        "the plan for {} does not fit its way, or runs back in time",
                        now.title()
                    ),
                    "make a new plan from the state as it is",
                ));
            }
            let gone = calls.iter().zip(&now.calls).find(|(new, old)| {
                old.left
                    .is_some_and(|left| left + RailSpan::from_minutes(1) < new.leave)
            });
            if let Some((new, _)) = gone {
                let place = &self.state.opening.stations[new.station].name;
                let mut refused = Refused::new(
                    Why::Meanwhile,
                    format!("{} has left {place} meanwhile", now.title()),
                    "make a new plan from the state as it is",
                );
                let subject = Subject::Train(symbol.clone());
                let meanwhile = self.state.about(&[subject], plan.made_at);
                refused.meanwhile = meanwhile.into_iter().cloned().collect();
                return Err(refused);
            }
        }
        let plan = plan.clone();
        self.happens(What::PlanTaken { plan });
        Ok(())
    }

    fn take_back(&mut self, revision: u64) -> Result<(), Refused> {
        let Some(before) = self.state.kept(revision).cloned() else {
            let recent = self.state.sheet.recent.iter();
            let known = recent
                .map(|(brief, _)| brief)
                .find(|one| one.revision == revision);
            return Err(match known {
                Some(brief) => Refused::not_now(
                    format!("line {revision} cannot be taken back: {}", brief.sentence),
                    "say the opposite by a command of its own",
                ),
                None => Refused::new(
                    Why::Unknown,
                    format!("line {revision} is not among the latest"),
                    format!(
                        "only the latest {} reports can be taken back",
                        super::TAKEN_BACK
                    ),
                ),
            });
        };
        if self.who.role < Role::Dispatcher && before.device != self.who.device {
            return Err(Refused::new(
                Why::NotAllowed,
                format!("line {revision} was said by another device"),
                "ask them, or the dispatcher, to take it back",
            ));
        }
        let later: Vec<Subject> = before
            .subjects
            .iter()
            .filter(|one| {
                self.state
                    .sheet
                    .touched
                    .get(one)
                    .is_some_and(|at| *at > revision)
            })
            .cloned()
            .collect();
        if !later.is_empty() {
            let mut refused = Refused::new(
                Why::Meanwhile,
                format!(
                    "line {revision} cannot be taken back any more: {}",
                    before.sentence
                ),
                "take back what came after it first",
            );
            let since = self.state.about(&later, revision);
            refused.meanwhile = since.into_iter().cloned().collect();
            return Err(refused);
        }
        let rail = self.rail();
        let known = self.state.conflicts(rail);
        let mut trial = self.state.clone();
        let free = trial.take_back(&before, rail);
        if !free {
            return Err(Refused::not_now(
                format!(
                    "line {revision} cannot be taken back: the place where the car was is taken now ({})",
                    before.sentence
                ),
                "say where the car is instead",
            ));
        }
        if let Some(conflict) = trial
            .conflicts(rail)
            .into_iter()
            .find(|one| !known.contains(one))
        {
            return Err(Refused::new(
                Why::Authority,
                format!("line {revision} cannot be taken back: {conflict}"),
                "stop the other train first",
            ));
        }
        self.happens(What::Undone {
            of: revision,
            sentence: before.sentence.clone(),
        });
        Ok(())
    }

    fn close(&mut self) -> Result<(), Refused> {
        let mut open = Vec::new();
        for train in &self.state.sheet.trains {
            if matches!(train.at, At::Line { .. }) {
                open.push(format!(
                    "{} {}",
                    train.title(),
                    where_is(&self.state, train)
                ));
            } else if !train.consist.is_empty() {
                open.push(format!(
                    "{} still has {} cars",
                    train.title(),
                    train.consist.len()
                ));
            }
        }
        if !open.is_empty() {
            return Err(Refused::not_now(
                open.join("; "),
                "tie these trains up first, so that every car stands on a track",
            ));
        }
        self.happens(What::Closed);
        Ok(())
    }
}

impl State {
    /// How long trains of the plan take between two stations: the longest of them.
    fn usual_run(&self, from: usize, to: usize) -> RailSpan {
        self.sheet
            .trains
            .iter()
            .flat_map(|train| train.calls.windows(2))
            .filter(|pair| {
                let pair = (pair[0].plan.station, pair[1].plan.station);
                pair == (from, to) || pair == (to, from)
            })
            .map(|pair| pair[1].plan.arrive - pair[0].plan.leave)
            .max()
            .unwrap_or(RailSpan::from_minutes(15))
    }

    /// What the timetable calls a direction: as the plan's trains that run so.
    fn direction(&self, up: Option<bool>) -> String {
        self.opening
            .trains
            .iter()
            .find(|train| {
                train.calls.first().is_some_and(|call| {
                    call.next
                        .map(|d| self.opening.districts[d].ends[0] == call.station)
                        == up
                })
            })
            .map_or_else(String::new, |train| train.direction.clone())
    }
}

impl State {
    /// A train that still runs, or where it is instead and what to do then.
    pub(super) fn active(&self, symbol: &str, instead: &str) -> Result<usize, Refused> {
        let at = self.train_at(symbol)?;
        let now = &self.sheet.trains[at];
        if !now.active() {
            return Err(Refused::not_now(
                format!("{} {}", now.title(), where_is(self, now)),
                instead,
            ));
        }
        Ok(at)
    }
}

/// Where a train is, to stand behind its title.
pub(super) fn where_is(state: &State, train: &TrainNow) -> String {
    let name = |call: usize| &state.opening.stations[train.calls[call].plan.station].name;
    match &train.at {
        At::Waiting => format!("has not left {}", name(0)),
        At::Station { call, .. } => {
            let since = train.calls[*call].arrived;
            let since = since.map_or_else(String::new, |at| {
                format!(" since {}", state.opening.time(at))
            });
            format!("stands at {}{since}", name(*call))
        }
        At::Line { call } => {
            let left = train.calls[*call].left;
            let left =
                left.map_or_else(String::new, |at| format!(" at {}", state.opening.time(at)));
            format!("left {} for {}{left}", name(*call), name(call + 1))
        }
        At::Ended => "has ended its run".to_owned(),
        At::Annulled => "is annulled".to_owned(),
        At::Combined { into } => format!("goes on as part of {}", state.title(into)),
    }
}

/// A text as it is kept: without surrounding blanks, of bearable length, on one line.
pub(super) fn text(said: &str) -> Result<String, Refused> {
    if said.len() > LONGEST {
        return Err(Refused::not_now(
            format!("the text is {} bytes long", said.len()),
            format!("say it in {LONGEST}"),
        ));
    }
    let line: String = said
        .trim()
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    Ok(line)
}

impl State {
    /// Whether a line of the journal can still be taken back, as far as its kind and age go.
    pub fn can_be_taken_back(&self, event: &Event) -> bool {
        undo::can_be_taken_back(&event.what) && self.kept(event.revision).is_some()
    }
}
