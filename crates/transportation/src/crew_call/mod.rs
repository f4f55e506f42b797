//! Who works what, when: duties with their seats, the people who may take them, the call list, and the
//! judge of both.

pub mod judge;
pub mod service;

use model::time::{RailSpan, RailTime};

use crate::person::Role;

/// One crew's work, from going on duty to going off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Duty {
    /// What it is called on the board.
    pub name: String,
    /// Its trains in order, by number; none for a yard or a desk.
    pub trains: Vec<String>,
    /// When it goes on duty.
    pub begins: RailTime,
    /// When it is done.
    pub ends: RailTime,
    /// Where it goes on duty.
    pub at: String,
    /// The people it takes.
    pub seats: Vec<Seat>,
}

impl Duty {
    /// How long it is.
    pub fn length(&self) -> RailSpan {
        self.ends - self.begins
    }
}

/// A place for one person.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Seat {
    /// What the person must be qualified for, all of it; anyone if nothing is written.
    pub roles: Vec<Role>,
}

impl Seat {
    /// `engineer`, `engineer and conductor`, `anyone`.
    pub fn words(&self) -> String {
        match self.roles.as_slice() {
            [] => "anyone".to_owned(),
            roles => {
                let words: Vec<&str> = roles.iter().map(|role| role.word()).collect();
                words.join(" and ")
            }
        }
    }
}

/// A person who comes to the session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hand {
    /// Their name.
    pub name: String,
    /// What they are qualified for; anything, if nothing is written.
    pub qualified: Vec<Role>,
    /// When they come, if not at the beginning.
    pub comes: Option<RailTime>,
    /// When they leave, if not at the end.
    pub leaves: Option<RailTime>,
}

impl Hand {
    /// Whether they may take a seat.
    pub fn can(&self, seat: &Seat) -> bool {
        self.qualified.is_empty() || seat.roles.iter().all(|role| self.qualified.contains(role))
    }

    /// Whether they are there for the whole of a duty.
    pub fn there(&self, duty: &Duty) -> bool {
        self.comes.is_none_or(|comes| comes <= duty.begins)
            && self.leaves.is_none_or(|leaves| duty.ends <= leaves)
    }
}

/// What people may be asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Terms {
    /// Rest between two duties of one person.
    pub rest: RailSpan,
    /// How long a person may be on duty in one session, if there is a limit.
    pub hours: Option<RailSpan>,
}

/// A person in a seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Assigned {
    /// Index of the duty.
    pub duty: usize,
    /// Index of its seat.
    pub seat: usize,
    /// Index of the person.
    pub person: usize,
}

/// Someone who rides along to learn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Learner {
    /// Index of the duty.
    pub duty: usize,
    /// Index of the person who learns.
    pub person: usize,
    /// Index of the person who teaches.
    pub teacher: usize,
    /// What is learned.
    pub role: Role,
}

/// A call: who is to be where, when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// When to be there.
    pub time: RailTime,
    /// Index of the person.
    pub person: usize,
    /// Index of the duty.
    pub duty: usize,
    /// What they do.
    pub role: String,
    /// From whom they learn, if they do.
    pub teacher: Option<usize>,
}

/// The calls of a session in order of time.
pub fn calls(duties: &[Duty], assigned: &[Assigned], learners: &[Learner]) -> Vec<Call> {
    let mut calls: Vec<Call> = assigned
        .iter()
        .map(|one| Call {
            time: duties[one.duty].begins,
            person: one.person,
            duty: one.duty,
            role: duties[one.duty].seats[one.seat].words(),
            teacher: None,
        })
        .chain(learners.iter().map(|one| Call {
            time: duties[one.duty].begins,
            person: one.person,
            duty: one.duty,
            role: format!("learns {}", one.role),
            teacher: Some(one.teacher),
        }))
        .collect();
    calls.sort_by(|a, b| {
        (a.time, a.duty, a.teacher.is_some(), a.person).cmp(&(
            b.time,
            b.duty,
            b.teacher.is_some(),
            b.person,
        ))
    });
    calls
}

#[cfg(test)]
mod tests;
