//! The state of a session: what its events make of its opening. Pure: no clock, no disk, no dice.
//!
//! [`State::decide`] looks at a command and gives the events it comes to, or refuses it; [`State::apply`]
//! enters an event. Nothing else changes a state, so the events replayed give the same state again.

mod apply;
mod cars;
mod decide;
mod named;
mod running;
mod saved;
pub mod sheet;
mod undo;

use std::{collections::VecDeque, sync::Arc};

use traffic::books::Books;

pub use saved::Saved;
pub use sheet::Sheet;

use crate::{
    event::Subject,
    opening::{Opening, title},
    refused::Brief,
    who::Role,
};
use sheet::{At, TrainNow};

/// How many events [`Sheet::recent`] keeps.
pub const RECENT: usize = 400;

/// How many events can be taken back, counted from the latest.
pub const TAKEN_BACK: usize = 200;

/// The state of a session.
#[derive(Debug, Clone)]
pub struct State {
    /// What it began with.
    pub opening: Arc<Opening>,
    /// Where every car is. Cars and tracks are numbered as in the opening.
    pub books: Books,
    /// All else.
    pub sheet: Sheet,
    /// What the latest events changed, so that they can be taken back.
    before: VecDeque<Arc<undo::Before>>,
}

impl State {
    /// How many events there have been.
    pub fn revision(&self) -> u64 {
        self.sheet.revision
    }

    /// A train by symbol.
    pub fn train(&self, symbol: &str) -> Option<&TrainNow> {
        self.sheet
            .trains
            .iter()
            .find(|train| train.sheet.symbol == symbol)
    }

    /// Until when a delay that was announced holds a train where it is, or on the line it is on. The latest
    /// word counts; once the train has moved on, no delay announced before does.
    pub fn held_until(&self, train: &TrainNow) -> Option<model::time::RailTime> {
        let on_line = matches!(train.at, At::Line { .. });
        self.sheet
            .delays
            .iter()
            .rev()
            .filter(|delay| delay.train == train.symbol())
            .find_map(|delay| delay.holds)
            .filter(|held| held.call == train.call() && held.on_line == on_line)
            .map(|held| held.until)
    }

    /// What people call a train of this symbol.
    pub fn title(&self, symbol: &str) -> String {
        match self.train(symbol) {
            Some(train) => train.title(),
            None => title(symbol, None),
        }
    }

    /// What a device may do: nothing but look if it has not joined.
    pub fn role_of(&self, device: &str) -> Role {
        self.sheet
            .devices
            .get(device)
            .map_or(Role::Visitor, |device| device.role)
    }

    /// The trains of the job that a person is on duty on.
    pub fn trains_of(&self, person: &str) -> Vec<&TrainNow> {
        let Some(job) = self
            .sheet
            .people
            .get(person)
            .filter(|person| !person.off)
            .and_then(|person| person.job.as_deref())
        else {
            return Vec::new();
        };
        self.sheet
            .trains
            .iter()
            .filter(|train| train.sheet.job.as_deref() == Some(job))
            .collect()
    }

    /// The people on duty on a train's job.
    pub fn crew_of(&self, train: &TrainNow) -> Vec<&str> {
        let Some(job) = &train.sheet.job else {
            return Vec::new();
        };
        self.sheet
            .people
            .iter()
            .filter(|(_, person)| !person.off && person.job.as_ref() == Some(job))
            .map(|(name, _)| name.as_str())
            .collect()
    }

    /// The latest events about a thing, after a revision, the oldest first.
    pub fn about(&self, subjects: &[Subject], after: u64) -> Vec<&Brief> {
        self.sheet
            .recent
            .iter()
            .filter(|(brief, about)| {
                brief.revision > after && about.iter().any(|one| subjects.contains(one))
            })
            .map(|(brief, _)| brief)
            .collect()
    }
}
