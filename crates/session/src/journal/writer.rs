//! The thread that writes.

use std::{
    collections::HashMap,
    path::PathBuf,
    sync::{
        Arc, PoisonError,
        mpsc::{Receiver, RecvTimeoutError, SyncSender},
    },
    time::{Duration, Instant},
};

use rusqlite::{Connection, Transaction, params};

use super::{
    Answer, Done, Listener, Receipt, Shared, Trouble, Watch, held, schema, snapshot, transfer::Read,
};
use crate::{
    command::Request,
    event::{Event, What},
    opening::Opening,
    refused::{Refused, Why},
    state::State,
    who::{Role, Who},
};

/// Most commands put on disk together.
const GROUP: usize = 256;

/// Events after which a snapshot is written.
const SNAPSHOT: u64 = 500;

/// How often what the running clock shows is noted, in real time.
const PULSE: Duration = Duration::from_secs(2);

/// The longest key, in bytes.
const KEY: usize = 64;

pub(super) enum Job {
    Submit {
        who: Who,
        request: Box<Request>,
        done: Done,
    },
    Begin {
        opening: Box<Opening>,
        who: Who,
        done: SyncSender<Result<u64, Trouble>>,
    },
    Archive {
        done: SyncSender<Result<(), Trouble>>,
    },
    Import {
        read: Box<Read>,
        done: SyncSender<Result<u64, Trouble>>,
    },
    Listen(Listener),
    Stop,
}

/// The session that is open.
struct Current {
    id: u64,
    state: Arc<State>,
    /// The revisions of each command that was carried out, by its key.
    answered: HashMap<String, (u64, u64)>,
    snapshot_at: u64,
}

pub(super) struct Writer {
    path: PathBuf,
    db: Connection,
    watch: Watch,
    shared: Arc<Shared>,
    current: Option<Current>,
    listeners: Vec<Listener>,
    pulsed: Instant,
}

/// A command on its way: what it is answered when the group is on disk.
struct Waiting {
    done: Done,
    answer: Result<Receipt, Answer>,
}

impl Writer {
    pub(super) fn new(
        path: PathBuf,
        db: Connection,
        watch: Watch,
        shared: Arc<Shared>,
    ) -> Result<Self, Trouble> {
        let mut writer = Self {
            path,
            db,
            watch,
            shared,
            current: None,
            listeners: Vec::new(),
            pulsed: Instant::now(),
        };
        writer.take_up()?;
        Ok(writer)
    }

    fn trouble(&self, error: &rusqlite::Error) -> Trouble {
        Trouble::of(&self.path, error)
    }

    /// Takes up the session that was open when the program ended.
    fn take_up(&mut self) -> Result<(), Trouble> {
        let sessions = schema::sessions(&self.db).map_err(|error| self.trouble(&error))?;
        let Some(open) = sessions
            .into_iter()
            .rev()
            .find(|one| one.archived.is_none())
        else {
            return Ok(());
        };
        let (opened, opening) = schema::opening(&self.db, &self.path, open.id)?;
        let opening = Arc::new(opening);
        let saved = snapshot(&self.db, open.id).map_err(|error| self.trouble(&error))?;
        let mut state = match saved {
            Some(saved) => State::restore(Arc::clone(&opening), saved),
            None => State::new(opening, opened),
        };
        let snapshot_at = state.revision();
        schema::enter_all(&mut state, &self.db, &self.path, open.id)?;
        let answered = self.keys(open.id).map_err(|error| self.trouble(&error))?;
        let stopped = self.stop_clock(&state, open.id)?;
        if let Some(event) = &stopped {
            state.apply(event);
        }
        self.current = Some(Current {
            id: open.id,
            state: Arc::new(state),
            answered,
            snapshot_at,
        });
        self.publish();
        Ok(())
    }

    fn keys(&self, session: u64) -> rusqlite::Result<HashMap<String, (u64, u64)>> {
        let mut all = self
            .db
            .prepare("SELECT key, first, last FROM answered WHERE session = ?1")?;
        let rows = all.query_map([session as i64], |row| {
            let (first, last) = (row.get::<_, i64>(1)? as u64, row.get::<_, i64>(2)? as u64);
            Ok((row.get(0)?, (first, last)))
        })?;
        rows.collect()
    }

    /// While the program was not running nobody saw the clock: it stands at the last time known to have been
    /// shown, until somebody starts it.
    fn stop_clock(&mut self, state: &State, session: u64) -> Result<Option<Event>, Trouble> {
        if !state.sheet.clock.runs {
            return Ok(None);
        }
        let pulse: Option<i64> = self
            .db
            .query_row(
                "SELECT rail FROM pulse WHERE session = ?1",
                [session as i64],
                |row| row.get(0),
            )
            .ok();
        let shown = state.sheet.clock.shown;
        let rail = pulse.map_or(shown, |seconds| {
            shown.max(model::time::RailTime::from_seconds(seconds))
        });
        let event = Event {
            revision: state.revision() + 1,
            real: (self.watch)(),
            rail,
            who: Who::office(),
            what: What::ClockStopped {
                why: "sawby was started again".into(),
            },
        };
        let result = (|| {
            let all = self.db.transaction()?;
            insert(&all, session, &event)?;
            all.commit()
        })();
        result.map_err(|error| Trouble::of(&self.path, &error))?;
        Ok(Some(event))
    }

    fn publish(&self) {
        let state = self.current.as_ref().map(|one| Arc::clone(&one.state));
        held(&self.shared.health).revision = state.as_ref().map_or(0, |state| state.revision());
        *self
            .shared
            .state
            .write()
            .unwrap_or_else(PoisonError::into_inner) = state;
    }

    /// Works until the journal is dropped.
    pub(super) fn run(&mut self, jobs: &Receiver<Job>) {
        loop {
            let job = match jobs.recv_timeout(PULSE) {
                Ok(job) => job,
                Err(RecvTimeoutError::Timeout) => {
                    self.pulse();
                    continue;
                }
                Err(RecvTimeoutError::Disconnected) => return,
            };
            let mut group = Vec::new();
            let mut next = Some(job);
            while let Some(job) = next.take() {
                match job {
                    Job::Submit { who, request, done } => {
                        group.push((who, request, done));
                        if group.len() < GROUP {
                            next = jobs.try_recv().ok();
                        }
                    }
                    other => {
                        self.submit(std::mem::take(&mut group));
                        if self.other(other) {
                            return;
                        }
                    }
                }
            }
            self.submit(group);
            if self.pulsed.elapsed() >= PULSE {
                self.pulse();
            }
        }
    }

    /// Whether it was the last.
    fn other(&mut self, job: Job) -> bool {
        match job {
            Job::Stop => return true,
            Job::Listen(listener) => self.listeners.push(listener),
            Job::Begin { opening, who, done } => {
                let begun = self.begin(*opening, &who);
                let _ = done.send(begun);
            }
            Job::Archive { done } => {
                let archived = self.archive();
                let _ = done.send(archived);
            }
            Job::Import { read, done } => {
                let taken = self.import(&read);
                let _ = done.send(taken);
            }
            Job::Submit { .. } => {}
        }
        false
    }

    fn begin(&mut self, opening: Opening, who: &Who) -> Result<u64, Trouble> {
        if let Some(current) = &self.current {
            if current.state.sheet.closed.is_none() {
                return Err(Trouble::Open(current.state.opening.name.clone()));
            }
            self.archive()?;
        }
        let now = (self.watch)();
        let body = serde_json::to_string(&opening).map_err(|error| Trouble::Disk {
            path: self.path.display().to_string(),
            what: error.to_string(),
        })?;
        let result = (|| {
            let all = self.db.transaction()?;
            all.execute(
                "INSERT INTO session (railroad, name, opened, opening) VALUES (?1, ?2, ?3, ?4)",
                params![opening.railroad, opening.name, now, body],
            )?;
            let id = all.last_insert_rowid() as u64;
            all.commit()?;
            Ok(id)
        })();
        let id = result.map_err(|error| self.trouble(&error))?;
        let mut state = State::new(Arc::new(opening), now);
        // The first line says who opened it.
        let event = Event {
            revision: 1,
            real: now,
            rail: state.rail(now),
            who: who.clone(),
            what: What::Noted {
                train: None,
                text: "the session is open".into(),
            },
        };
        let first = (|| {
            let all = self.db.transaction()?;
            insert(&all, id, &event)?;
            all.commit()
        })();
        first.map_err(|error| self.trouble(&error))?;
        state.apply(&event);
        self.current = Some(Current {
            id,
            state: Arc::new(state),
            answered: HashMap::new(),
            snapshot_at: 0,
        });
        self.publish();
        Ok(id)
    }

    fn archive(&mut self) -> Result<(), Trouble> {
        let Some(current) = &self.current else {
            return Err(Trouble::NoSession);
        };
        if current.state.sheet.closed.is_none() {
            return Err(Trouble::Open(current.state.opening.name.clone()));
        }
        self.db
            .execute(
                "UPDATE session SET archived = ?1 WHERE id = ?2",
                params![(self.watch)(), current.id as i64],
            )
            .map_err(|error| Trouble::of(&self.path, &error))?;
        self.current = None;
        self.publish();
        Ok(())
    }

    fn import(&mut self, read: &Read) -> Result<u64, Trouble> {
        let now = (self.watch)();
        let result = (|| {
            let all = self.db.transaction()?;
            all.execute(
                "INSERT INTO session (railroad, name, opened, archived, opening)
                VALUES (?1, ?2, ?3, ?4, ?5)",
                params![
                    read.opening.railroad,
                    read.opening.name,
                    read.opened,
                    now,
                    read.body
                ],
            )?;
            let id = all.last_insert_rowid() as u64;
            for event in &read.events {
                insert(&all, id, event)?;
            }
            for (key, first, last) in &read.answered {
                answered(&all, id, key, *first, *last)?;
            }
            all.commit()?;
            Ok(id)
        })();
        result.map_err(|error| self.trouble(&error))
    }

    /// Decides a group of commands one after the other, puts them on disk together, then answers them.
    fn submit(&mut self, group: Vec<(Who, Box<Request>, Done)>) {
        if group.is_empty() {
            return;
        }
        let Some(current) = &self.current else {
            for (_, _, done) in group {
                done(Err(Trouble::NoSession.into()));
            }
            return;
        };
        let id = current.id;
        let before = Arc::clone(&current.state);
        let mut state = Arc::clone(&current.state);
        let mut keys: HashMap<String, (u64, u64)> = HashMap::new();
        let mut waiting: Vec<Waiting> = Vec::with_capacity(group.len());
        let mut news: Vec<Arc<Event>> = Vec::new();
        for (who, request, done) in group {
            let answer = self.decide(&mut state, &keys, &who, &request, &news);
            if let Ok(receipt) = &answer
                && !receipt.repeated
            {
                let first = receipt
                    .events
                    .first()
                    .map_or(receipt.revision, |one| one.revision);
                keys.insert(request.key.clone(), (first, receipt.revision));
                news.extend(receipt.events.iter().cloned());
            }
            waiting.push(Waiting { done, answer });
        }
        if news.is_empty() {
            self.answer(waiting);
            return;
        }
        let begun = Instant::now();
        match self.commit(id, &news, &keys, &state) {
            Ok(snapshot) => {
                self.note_commit(begun, waiting.len());
                if let Some(current) = &mut self.current {
                    current.state = state;
                    current.answered.extend(keys);
                    if snapshot {
                        current.snapshot_at = current.state.revision();
                    }
                }
                self.publish();
                if let Some(current) = &self.current {
                    for listener in &self.listeners {
                        listener(&news, &current.state);
                    }
                }
                self.answer(waiting);
            }
            Err(error) => {
                // Nothing of the group has happened.
                let trouble = self.trouble(&error);
                debug_assert!(
                    self.current
                        .as_ref()
                        .is_some_and(|current| Arc::ptr_eq(&current.state, &before))
                );
                held(&self.shared.health).trouble = Some(trouble.clone());
                for one in waiting {
                    (one.done)(Err(trouble.clone().into()));
                }
            }
        }
    }

    fn decide(
        &self,
        state: &mut Arc<State>,
        keys: &HashMap<String, (u64, u64)>,
        who: &Who,
        request: &Request,
        news: &[Arc<Event>],
    ) -> Result<Receipt, Answer> {
        if request.key.is_empty() || request.key.len() > KEY {
            let refused = Refused::new(
                Why::NotNow,
                format!("the key of the command is {} bytes long", request.key.len()),
                format!("a key has from 1 to {KEY}"),
            );
            return Err(Answer::Refused(Box::new(refused)));
        }
        let known = keys.get(&request.key).copied().or_else(|| {
            let current = self.current.as_ref()?;
            current.answered.get(&request.key).copied()
        });
        if let Some((first, last)) = known {
            let events: Vec<Arc<Event>> = news
                .iter()
                .filter(|event| (first..=last).contains(&event.revision))
                .cloned()
                .collect();
            return Ok(Receipt {
                revision: last,
                events,
                repeated: true,
            });
        }
        // The role is the journal's, whatever the device says; only the program itself is not of the journal.
        let office = who.device == Who::office().device && who.role == Role::Superintendent;
        let who = Who {
            role: if office {
                who.role
            } else {
                state.role_of(&who.device)
            },
            ..who.clone()
        };
        match state.decide_anew(&request.command, &who, request.seen, (self.watch)()) {
            Ok((events, new)) => {
                *state = Arc::new(new);
                Ok(Receipt {
                    revision: state.revision(),
                    events: events.into_iter().map(Arc::new).collect(),
                    repeated: false,
                })
            }
            Err(refused) => Err(Answer::Refused(Box::new(refused))),
        }
    }

    /// Whether a snapshot was written.
    fn commit(
        &mut self,
        session: u64,
        news: &[Arc<Event>],
        keys: &HashMap<String, (u64, u64)>,
        state: &State,
    ) -> rusqlite::Result<bool> {
        let due = self
            .current
            .as_ref()
            .is_some_and(|one| state.revision() >= one.snapshot_at + SNAPSHOT);
        let all = self.db.transaction()?;
        for event in news {
            insert(&all, session, event)?;
        }
        for (key, (first, last)) in keys {
            answered(&all, session, key, *first, *last)?;
        }
        if due && let Ok(body) = serde_json::to_string(&state.save()) {
            all.execute(
                "INSERT INTO snapshot (session, revision, body) VALUES (?1, ?2, ?3)
                ON CONFLICT (session) DO UPDATE SET revision = ?2, body = ?3",
                params![session as i64, state.revision() as i64, body],
            )?;
        }
        all.commit()?;
        Ok(due)
    }

    fn note_commit(&self, begun: Instant, group: usize) {
        let micros = u64::try_from(begun.elapsed().as_micros()).unwrap_or(u64::MAX);
        let mut health = held(&self.shared.health);
        health.commits += 1;
        health.largest_group = health.largest_group.max(group);
        health.last_commit_micros = micros;
        health.slowest_commit_micros = health.slowest_commit_micros.max(micros);
        health.trouble = None;
    }

    fn answer(&self, waiting: Vec<Waiting>) {
        {
            let mut health = held(&self.shared.health);
            for one in &waiting {
                match &one.answer {
                    Ok(_) => health.carried_out += 1,
                    Err(_) => health.refused += 1,
                }
            }
        }
        for one in waiting {
            (one.done)(one.answer);
        }
    }

    /// Notes what the clock shows, so that a cut does not lose the minutes since the last event.
    fn pulse(&mut self) {
        self.pulsed = Instant::now();
        let Some(current) = self
            .current
            .as_ref()
            .filter(|one| one.state.sheet.clock.runs)
        else {
            return;
        };
        let now = (self.watch)();
        let rail = current.state.rail(now).seconds();
        let noted = self.db.execute(
            "INSERT INTO pulse (session, real, rail) VALUES (?1, ?2, ?3)
            ON CONFLICT (session) DO UPDATE SET real = ?2, rail = ?3",
            params![current.id as i64, now, rail],
        );
        if let Err(error) = noted {
            held(&self.shared.health).trouble = Some(self.trouble(&error));
        }
    }
}

fn insert(all: &Transaction<'_>, session: u64, event: &Event) -> rusqlite::Result<()> {
    let body = serde_json::to_value(event).and_then(|body| {
        let what = body
            .get("what")
            .and_then(|what| what.as_str())
            .unwrap_or("");
        Ok((what.to_owned(), serde_json::to_string(&body)?))
    });
    let (what, body) =
        body.map_err(|error| rusqlite::Error::ToSqlConversionFailure(error.into()))?;
    let who = format!(
        "{} ({}, {})",
        event.who.name, event.who.role, event.who.device
    );
    all.prepare_cached(
        "INSERT INTO event (session, revision, real, rail, who, what, body)
        VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?
    .execute(params![
        session as i64,
        event.revision as i64,
        event.real,
        event.rail.seconds(),
        who,
        what,
        body
    ])?;
    Ok(())
}

fn answered(
    all: &Transaction<'_>,
    session: u64,
    key: &str,
    first: u64,
    last: u64,
) -> rusqlite::Result<()> {
    all.prepare_cached("INSERT INTO answered (session, key, first, last) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![session as i64, key, first as i64, last as i64])?;
    Ok(())
}
