//! What events changed, kept so that they can be taken back.

use model::time::RailTime;
use serde::{Deserialize, Serialize};

use super::{
    State,
    saved::SavedCar,
    sheet::{OrderNow, PersonNow, TrainNow},
};
use crate::{
    command::TrackPlace,
    event::{Event, Subject, What},
    opening::CarPlace,
};

/// What the things that an event is about were before it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Before {
    /// The event.
    pub revision: u64,
    /// What it said.
    pub sentence: String,
    /// By which device.
    pub device: String,
    /// What it is about.
    pub subjects: Vec<Subject>,
    trains: Vec<(usize, TrainNow)>,
    cars: Vec<(usize, SavedCar)>,
    orders: Vec<OrderNow>,
    people: Vec<(String, Option<PersonNow>)>,
    tracks_out: Vec<(TrackPlace, Option<String>)>,
    bridges: Vec<(String, bool)>,
    bad_orders: Vec<(String, Option<String>)>,
    touched: Vec<(Subject, Option<u64>)>,
}

/// Whether such an event can be taken back. Clock, stops, roles, plans and issued orders cannot: they are
/// followed by another of their kind, which everyone sees.
pub(super) fn can_be_taken_back(what: &What) -> bool {
    matches!(
        what,
        What::OnDuty { .. }
            | What::OffDuty { .. }
            | What::Called { .. }
            | What::Arrived { .. }
            | What::Departed { .. }
            | What::Passed { .. }
            | What::InClear { .. }
            | What::TiedUp { .. }
            | What::PickedUp { .. }
            | What::SetOut { .. }
            | What::Shifted { .. }
            | What::Left { .. }
            | What::BadOrdered { .. }
            | What::Repaired { .. }
            | What::WorkAdded { .. }
            | What::WorkDropped { .. }
            | What::OrderRepeated { .. }
            | What::OrderCompleted { .. }
            | What::GivenBack { .. }
            | What::Annulled { .. }
            | What::EnginesChanged { .. }
            | What::TrackOut { .. }
            | What::TrackBack { .. }
            | What::Bridge { .. }
            | What::Noted { .. }
            | What::Delayed { .. }
            | What::Found { .. }
    )
}

impl State {
    /// Notes what the things that an event is about are now, before it is entered.
    pub(super) fn before(&self, event: &Event, sentence: String) -> Before {
        let subjects = self.subjects_of(&event.what);
        let mut before = Before {
            revision: event.revision,
            sentence,
            device: event.who.device.clone(),
            trains: Vec::new(),
            cars: Vec::new(),
            orders: Vec::new(),
            people: Vec::new(),
            tracks_out: Vec::new(),
            bridges: Vec::new(),
            bad_orders: Vec::new(),
            touched: subjects
                .iter()
                .map(|one| (one.clone(), self.sheet.touched.get(one).copied()))
                .collect(),
            subjects: Vec::new(),
        };
        for subject in &subjects {
            match subject {
                Subject::Train(symbol) => {
                    if let Ok(at) = self.train_at(symbol) {
                        before.trains.push((at, self.sheet.trains[at].clone()));
                    }
                }
                Subject::Car(name) => {
                    if let Some(at) = self.opening.find_car(name) {
                        before.cars.push((at, self.saved_car(at)));
                    }
                    let bad = self.sheet.bad_orders.get(name).cloned();
                    before.bad_orders.push((name.clone(), bad));
                }
                Subject::Order(number) => before.orders.extend(
                    self.sheet
                        .orders
                        .iter()
                        .find(|one| one.number == *number)
                        .cloned(),
                ),
                Subject::Person(name) => before
                    .people
                    .push((name.clone(), self.sheet.people.get(name).cloned())),
                Subject::Track(place) => {
                    let out = self.sheet.tracks_out.iter().find(|(one, _)| one == place);
                    let why = out.map(|(_, why)| why.clone());
                    before.tracks_out.push((place.clone(), why));
                }
                Subject::Bridge(name) => {
                    let open = self.sheet.bridges_open.contains(name);
                    before.bridges.push((name.clone(), open));
                }
                Subject::Clock | Subject::Device(_) | Subject::Stop | Subject::Plan => {}
            }
        }
        before.subjects = subjects;
        before
    }

    /// What an event is about as things stand before it: a car that is found elsewhere leaves the train that
    /// carried it, and that train is changed by it, too.
    pub(super) fn subjects_of(&self, what: &What) -> Vec<Subject> {
        let mut subjects = what.subjects();
        if let What::Found { car, place } = what {
            let carried = self.sheet.trains.iter().filter(|train| {
                train.consist.contains(car)
                    || matches!(place, CarPlace::Train { train: into, .. } if into == train.symbol())
            });
            subjects.extend(carried.map(|train| Subject::Train(train.sheet.symbol.clone())));
        }
        subjects
    }

    /// The note of an event that may still be taken back.
    pub(super) fn kept(&self, revision: u64) -> Option<&Before> {
        self.before
            .iter()
            .map(|before| &**before)
            .find(|before| before.revision == revision)
    }

    /// Sets things back to what they were before an event. Whether a car found its old place free.
    pub(super) fn take_back(&mut self, before: &Before, rail: RailTime) -> bool {
        let sheet = &mut self.sheet;
        for (at, was) in &before.trains {
            if let Some(train) = sheet.trains.get_mut(*at) {
                *train = was.clone();
            }
        }
        for was in &before.orders {
            if let Some(order) = sheet.orders.iter_mut().find(|one| one.number == was.number) {
                *order = was.clone();
            }
        }
        for (name, was) in &before.people {
            match was {
                Some(was) => sheet.people.insert(name.clone(), was.clone()),
                None => sheet.people.remove(name),
            };
        }
        for (name, was) in &before.bad_orders {
            match was {
                Some(was) => sheet.bad_orders.insert(name.clone(), was.clone()),
                None => sheet.bad_orders.remove(name),
            };
        }
        for (place, was) in &before.tracks_out {
            sheet.tracks_out.retain(|(one, _)| one != place);
            sheet
                .tracks_out
                .extend(was.iter().map(|why| (place.clone(), why.clone())));
        }
        for (name, open) in &before.bridges {
            if *open {
                sheet.bridges_open.insert(name.clone());
            } else {
                sheet.bridges_open.remove(name);
            }
        }
        for (subject, was) in &before.touched {
            match was {
                Some(was) => sheet.touched.insert(subject.clone(), *was),
                None => sheet.touched.remove(subject),
            };
        }
        sheet.remarks.retain(|one| one.revision != before.revision);
        sheet.delays.retain(|one| one.revision != before.revision);
        sheet.notes.retain(|one| one.revision != before.revision);
        before
            .cars
            .iter()
            .all(|(at, saved)| self.put_car(*at, saved, rail))
    }
}
