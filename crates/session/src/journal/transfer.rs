//! A session as lines of JSON: to keep, to send, to read with other tools.

use std::{
    io::{BufRead, Write},
    path::Path,
    sync::Arc,
};

use rusqlite::{Connection, params};
use serde::{Deserialize, Serialize};

use super::{Trouble, schema};
use crate::{clock::RealMillis, event::Event, opening::Opening, state::State};

/// The version of the lines.
const LINES: u32 = 1;

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
enum Line {
    /// The first.
    Session {
        lines: u32,
        opened: RealMillis,
        opening: Box<Opening>,
    },
    /// One for each event.
    Event(Box<Event>),
    /// One for each command that was carried out.
    Answered { key: String, first: u64, last: u64 },
}

/// A session as read in.
pub(super) struct Read {
    pub(super) opening: Opening,
    pub(super) body: String,
    pub(super) opened: RealMillis,
    pub(super) events: Vec<Event>,
    pub(super) answered: Vec<(String, u64, u64)>,
}

pub(super) fn export(
    db: &Connection,
    path: &Path,
    session: u64,
    out: &mut dyn Write,
) -> Result<(), Trouble> {
    let sql = |error: rusqlite::Error| Trouble::of(path, &error);
    let mut put = |line: &Line| {
        let text = serde_json::to_string(line).map_err(std::io::Error::other)?;
        writeln!(out, "{text}")
    };
    let mut write = |line: &Line| {
        put(line).map_err(|error| Trouble::Disk {
            path: "the lines".into(),
            what: error.to_string(),
        })
    };
    let (opened, opening) = schema::opening(db, path, session)?;
    write(&Line::Session {
        lines: LINES,
        opened,
        opening: Box::new(opening),
    })?;
    for event in schema::events(db, path, session, 0, usize::MAX)? {
        write(&Line::Event(Box::new(event)))?;
    }
    let mut keys = db
        .prepare("SELECT key, first, last FROM answered WHERE session = ?1 ORDER BY first")
        .map_err(sql)?;
    let rows = keys
        .query_map(params![session as i64], |row| {
            Ok(Line::Answered {
                key: row.get(0)?,
                first: row.get::<_, i64>(1)? as u64,
                last: row.get::<_, i64>(2)? as u64,
            })
        })
        .map_err(sql)?;
    for row in rows {
        write(&row.map_err(sql)?)?;
    }
    Ok(())
}

pub(super) fn read(lines: &mut dyn BufRead) -> Result<Read, Trouble> {
    let mut session: Option<(Opening, RealMillis)> = None;
    let mut state: Option<State> = None;
    let mut events: Vec<Event> = Vec::new();
    let mut answered = Vec::new();
    for (at, text) in lines.lines().enumerate() {
        let wrong = |what: String| Trouble::Import { line: at + 1, what };
        let text = text.map_err(|error| wrong(error.to_string()))?;
        if text.trim().is_empty() {
            continue;
        }
        let line: Line = serde_json::from_str(&text).map_err(|error| wrong(error.to_string()))?;
        match (line, &session) {
            (Line::Session { lines, .. }, None) if lines != LINES => {
                return Err(wrong(format!(
                    "these are lines of version {lines}, expected {LINES}"
                )));
            }
            (
                Line::Session {
                    opened, opening, ..
                },
                None,
            ) => {
                if let Some(fault) = opening.fault() {
                    return Err(wrong(fault));
                }
                state = Some(State::new(Arc::new((*opening).clone()), opened));
                session = Some((*opening, opened));
            }
            (Line::Session { .. }, Some(_)) => {
                return Err(wrong("a second session begins; one file holds one".into()));
            }
            (_, None) => {
                return Err(wrong(
                    "the first line would have to be that of the session".into(),
                ));
            }
            (Line::Event(event), Some(_)) => {
                let next = events.len() as u64 + 1;
                if event.revision != next {
                    return Err(wrong(format!(
                        "event {} was found, expected {next}",
                        event.revision
                    )));
                }
                if events.last().is_some_and(|last| last.rail > event.rail) {
                    return Err(wrong("the railroad's clock goes back".into()));
                }
                if let Some(state) = &mut state {
                    state.apply(&event);
                }
                events.push(*event);
            }
            (Line::Answered { key, first, last }, Some(_)) => {
                if first == 0 || first > last || last > events.len() as u64 {
                    return Err(wrong(format!(
                        "a command came to events {first} to {last}, and there are {}",
                        events.len()
                    )));
                }
                answered.push((key, first, last));
            }
        }
    }
    let Some((opening, opened)) = session else {
        return Err(Trouble::Import {
            line: 1,
            what: "there is nothing in it".into(),
        });
    };
    let body = serde_json::to_string(&opening).map_err(|error| Trouble::Import {
        line: 1,
        what: error.to_string(),
    })?;
    Ok(Read {
        opening,
        body,
        opened,
        events,
        answered,
    })
}
