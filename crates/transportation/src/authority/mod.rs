//! Authorities where trains do not run by timetable and orders: by the dispatcher's word, by track
//! warrant, by signals, or by a list with no clock; and the judge of each.
//!
//! The judge of limits needs no clock faith: two trains hold the same track only if one has reported it
//! clear before the other is given it, or the other's authority begins after the first has arrived.

pub mod judge;

use model::time::{RailTime, TimeStyle};

use crate::order::{PlaceNo, RunNo, Territory};

/// Leave to occupy the track between two stations of a train's way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Its number, from 1 each day.
    pub number: u32,
    /// The train.
    pub train: RunNo,
    /// From which of its stations.
    pub from: usize,
    /// To which.
    pub to: usize,
    /// When it is given.
    pub given: RailTime,
    /// It is not in effect until these trains have arrived at these places.
    pub after: Vec<(RunNo, PlaceNo)>,
    /// Reports of having come, whole, to a station: what lies behind is free from then on.
    pub clear: Vec<(usize, RailTime)>,
}

/// A step of a list that is worked without a clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Its number, from 1.
    pub number: u32,
    /// The train.
    pub train: RunNo,
    /// From which of its stations.
    pub from: usize,
    /// To which.
    pub to: usize,
    /// The steps that must be done before.
    pub after: Vec<u32>,
}

impl Limits {
    /// What is said or written, in our own wording.
    pub fn sentence(&self, territory: &Territory, style: TimeStyle) -> String {
        let run = territory.run(self.train);
        let name = |at: usize| &territory.place(run.visits[at].place).name;
        let after: Vec<String> = self
            .after
            .iter()
            .map(|(train, place)| {
                format!(
                    "{} has arrived at {}",
                    territory.run(*train).title(),
                    territory.place(*place).name
                )
            })
            .collect();
        let when = if after.is_empty() {
            String::new()
        } else {
            format!(", once {}", after.join(" and "))
        };
        format!(
            "{} may go from {} to {}{when}. Given {}.",
            run.title(),
            name(self.from),
            name(self.to),
            self.given.show(style)
        )
    }
}

impl Step {
    /// The line of the list, in our own wording.
    pub fn sentence(&self, territory: &Territory) -> String {
        let run = territory.run(self.train);
        let name = |at: usize| &territory.place(run.visits[at].place).name;
        let after: Vec<String> = self.after.iter().map(u32::to_string).collect();
        let when = match after.as_slice() {
            [] => String::new(),
            [one] => format!(", when {one} is done"),
            [init @ .., last] => format!(", when {} and {last} are done", init.join(", ")),
        };
        format!(
            "{} from {} to {}{when}.",
            run.title(),
            name(self.from),
            name(self.to)
        )
    }
}

#[cfg(test)]
mod tests;
