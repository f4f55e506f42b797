//! The call board: who works what, from when, where.

use serde::Serialize;
use transportation::Job;

use crate::{
    form::{Form, Sheet},
    session::{Called, Session},
};

/// A call board.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CallBoard {
    /// Jobs by when they go on duty.
    pub jobs: Vec<Row>,
}

/// A job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Its name.
    pub job: String,
    /// When it goes on duty.
    pub on_duty: String,
    /// Where.
    pub at: String,
    /// Its trains.
    pub trains: String,
    /// Who is called; empty lines where nobody is yet.
    pub people: Vec<String>,
    /// What they must be able to do.
    pub roles: String,
}

impl Form for CallBoard {
    const SHEET: Sheet = Sheet {
        path: "call-board.typ",
        text: include_str!("../../forms/call-board.typ"),
    };
    const TITLE: &'static str = "call-board-title";

    fn page(&self) -> String {
        "/crews".into()
    }
}

impl CallBoard {
    /// The board of a session.
    pub fn new(session: &Session<'_>) -> Self {
        let mut jobs: Vec<&Job> = session.railroad.service.jobs.iter().collect();
        jobs.sort_by_key(|job| (job.on_duty.map(|time| time.value), job.name.value.clone()));
        let jobs = jobs
            .into_iter()
            .map(|job| {
                let mut people = session
                    .called
                    .iter()
                    .find(|called| called.job == job.name.value)
                    .map_or_else(Vec::new, Called::words);
                let needed = usize::try_from(job.people.value).unwrap_or(0).min(8);
                if people.len() < needed {
                    people.resize(needed, String::new());
                }
                let list = |words: Vec<String>| words.join(", ");
                Row {
                    job: job.name.value.clone(),
                    on_duty: job
                        .on_duty
                        .map_or_else(String::new, |time| session.time(time.value)),
                    at: job
                        .at
                        .as_ref()
                        .map_or_else(String::new, |at| at.value.clone()),
                    trains: list(job.trains.iter().map(|train| train.value.clone()).collect()),
                    people,
                    roles: list(
                        job.roles
                            .iter()
                            .map(|role| role.value.word().to_owned())
                            .collect(),
                    ),
                }
            })
            .collect();
        Self { jobs }
    }
}
