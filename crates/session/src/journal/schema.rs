//! The file: its tables, and how older ones are brought up to date.

use std::{
    ffi::OsString,
    fs::{File, OpenOptions, TryLockError},
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use rusqlite::{Connection, OpenFlags, OptionalExtension, params};

use super::{Bounds, SessionInfo, Trouble};
use crate::{event::Event, opening::Opening, state::State};

/// Each step brings a file from one version to the next. A step that has been in use is never changed.
const STEPS: [&str; 3] = [
    // 1: sessions and their events; the key of a command stands beside its first event.
    "CREATE TABLE session (
        id INTEGER PRIMARY KEY,
        railroad TEXT NOT NULL,
        name TEXT NOT NULL,
        opened INTEGER NOT NULL,
        archived INTEGER,
        opening TEXT NOT NULL
    ) STRICT;
    CREATE TABLE event (
        session INTEGER NOT NULL REFERENCES session (id),
        revision INTEGER NOT NULL,
        real INTEGER NOT NULL,
        rail INTEGER NOT NULL,
        who TEXT NOT NULL,
        key TEXT,
        body TEXT NOT NULL,
        PRIMARY KEY (session, revision)
    ) STRICT, WITHOUT ROWID;",
    // 2: keys in a table of their own, so that a command of several events is answered whole and a key is
    // found at once.
    "CREATE TABLE answered (
        session INTEGER NOT NULL REFERENCES session (id),
        key TEXT NOT NULL,
        first INTEGER NOT NULL,
        last INTEGER NOT NULL,
        PRIMARY KEY (session, key)
    ) STRICT, WITHOUT ROWID;
    INSERT INTO answered (session, key, first, last)
        SELECT session, key, revision, coalesce(
            (SELECT min(next.revision) - 1 FROM event AS next
                WHERE next.session = event.session AND next.revision > event.revision
                AND next.key IS NOT NULL),
            (SELECT max(last.revision) FROM event AS last WHERE last.session = event.session))
        FROM event WHERE key IS NOT NULL;
    ALTER TABLE event DROP COLUMN key;",
    // 3: snapshots, so that a long session opens at once; what the clock showed between events; who did
    // what, to be asked for without reading the bodies.
    "CREATE TABLE snapshot (
        session INTEGER PRIMARY KEY REFERENCES session (id),
        revision INTEGER NOT NULL,
        body TEXT NOT NULL
    ) STRICT;
    CREATE TABLE pulse (
        session INTEGER PRIMARY KEY REFERENCES session (id),
        real INTEGER NOT NULL,
        rail INTEGER NOT NULL
    ) STRICT;
    ALTER TABLE event ADD COLUMN what TEXT NOT NULL DEFAULT '';
    UPDATE event SET what = coalesce(json_extract(body, '$.what'), '');
    CREATE INDEX event_by_who ON event (session, who);",
];

/// The version that this program writes.
pub const VERSION: i64 = STEPS.len() as i64;

/// Holds the journal against other programs.
pub(super) fn lock(path: &Path) -> Result<File, Trouble> {
    let mut name = OsString::from(path);
    name.push(".lock");
    let beside = PathBuf::from(name);
    let file = OpenOptions::new()
        .create(true)
        .append(true)
        .open(&beside)
        .map_err(|error| io(path, &error))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(Trouble::InUse(path.display().to_string())),
        Err(TryLockError::Error(error)) => Err(io(path, &error)),
    }
}

fn io(path: &Path, error: &std::io::Error) -> Trouble {
    let name = path.display().to_string();
    match error.kind() {
        std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => Trouble::Full(name),
        std::io::ErrorKind::ReadOnlyFilesystem | std::io::ErrorKind::PermissionDenied => {
            Trouble::ReadOnly(name)
        }
        _ => Trouble::Disk {
            path: name,
            what: error.to_string(),
        },
    }
}

pub(super) fn connect(path: &Path, bounds: Bounds) -> Result<Connection, Trouble> {
    let sql = |error: rusqlite::Error| Trouble::of(path, &error);
    let mut db = Connection::open(path).map_err(sql)?;
    db.busy_timeout(Duration::from_secs(5)).map_err(sql)?;
    let found: i64 = db
        .pragma_query_value(None, "user_version", |row| row.get(0))
        .map_err(sql)?;
    if found > VERSION {
        return Err(Trouble::Newer {
            path: path.display().to_string(),
            found,
            known: VERSION,
        });
    }
    let foreign: i64 = db
        .query_row(
            "SELECT count(*) FROM sqlite_schema WHERE type = 'table'",
            [],
            |row| row.get(0),
        )
        .map_err(sql)?;
    if found == 0 && foreign > 0 {
        return Err(Trouble::Damaged {
            path: path.display().to_string(),
            what: "it is another program's database".into(),
        });
    }
    // Every commit is on the disk when it returns, power cut or not.
    db.pragma_update(None, "journal_mode", "wal").map_err(sql)?;
    db.pragma_update(None, "synchronous", "full").map_err(sql)?;
    db.pragma_update(None, "foreign_keys", true).map_err(sql)?;
    if let Some(pages) = bounds.pages {
        db.pragma_update(None, "max_page_count", pages)
            .map_err(sql)?;
    }
    let sound: String = db
        .query_row("PRAGMA quick_check(1)", [], |row| row.get(0))
        .map_err(sql)?;
    if sound != "ok" {
        return Err(Trouble::Damaged {
            path: path.display().to_string(),
            what: sound,
        });
    }
    migrate(&mut db, found).map_err(sql)?;
    Ok(db)
}

/// Brings a file up to date, all steps or none.
fn migrate(db: &mut Connection, found: i64) -> rusqlite::Result<()> {
    if found == VERSION {
        return Ok(());
    }
    let steps = db.transaction()?;
    for step in &STEPS[found as usize..] {
        steps.execute_batch(step)?;
    }
    steps.pragma_update(None, "user_version", VERSION)?;
    steps.commit()
}

pub(super) fn read_only(path: &Path) -> Result<Connection, Trouble> {
    let sql = |error: rusqlite::Error| Trouble::of(path, &error);
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags).map_err(sql)?;
    db.busy_timeout(Duration::from_secs(5)).map_err(sql)?;
    Ok(db)
}

pub(super) fn sessions(db: &Connection) -> rusqlite::Result<Vec<SessionInfo>> {
    let mut all = db.prepare_cached(
        "SELECT id, name, railroad, opened, archived,
            (SELECT coalesce(max(revision), 0) FROM event WHERE session = session.id)
        FROM session ORDER BY id",
    )?;
    let rows = all.query_map([], |row| {
        Ok(SessionInfo {
            id: row.get::<_, i64>(0)? as u64,
            name: row.get(1)?,
            railroad: row.get(2)?,
            opened: row.get(3)?,
            archived: row.get(4)?,
            revision: row.get::<_, i64>(5)? as u64,
        })
    })?;
    rows.collect()
}

/// When a session was opened, in real time, and with what.
pub(super) fn opening(
    db: &Connection,
    path: &Path,
    session: u64,
) -> Result<(i64, Opening), Trouble> {
    let row: Option<(i64, String)> = db
        .query_row(
            "SELECT opened, opening FROM session WHERE id = ?1",
            [session as i64],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()
        .map_err(|error| Trouble::of(path, &error))?;
    let (opened, text) = row.ok_or(Trouble::Unknown(session))?;
    let opening = serde_json::from_str(&text).map_err(|error| damaged(path, session, 0, &error))?;
    Ok((opened, opening))
}

fn damaged(path: &Path, session: u64, revision: u64, error: &serde_json::Error) -> Trouble {
    Trouble::Damaged {
        path: path.display().to_string(),
        what: format!("session {session}, line {revision}: {error}"),
    }
}

pub(super) fn events(
    db: &Connection,
    path: &Path,
    session: u64,
    after: u64,
    limit: usize,
) -> Result<Vec<Event>, Trouble> {
    let sql = |error: rusqlite::Error| Trouble::of(path, &error);
    let limit = i64::try_from(limit).unwrap_or(i64::MAX);
    let mut all = db
        .prepare_cached(
            "SELECT revision, body FROM event WHERE session = ?1 AND revision > ?2
            ORDER BY revision LIMIT ?3",
        )
        .map_err(sql)?;
    let rows = all
        .query_map(params![session as i64, after as i64, limit], |row| {
            Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?))
        })
        .map_err(sql)?;
    let mut found = Vec::new();
    for row in rows {
        let (revision, body) = row.map_err(sql)?;
        let event: Event = serde_json::from_str(&body)
            .map_err(|error| damaged(path, session, revision as u64, &error))?;
        found.push(event);
    }
    Ok(found)
}

/// A session from its opening and all its events.
pub(super) fn replay(db: &Connection, path: &Path, session: u64) -> Result<State, Trouble> {
    let (opened, opening) = opening(db, path, session)?;
    let mut state = State::new(Arc::new(opening), opened);
    enter_all(&mut state, db, path, session)?;
    Ok(state)
}

/// The events after those that a state has.
pub(super) fn enter_all(
    state: &mut State,
    db: &Connection,
    path: &Path,
    session: u64,
) -> Result<(), Trouble> {
    for event in events(db, path, session, state.revision(), usize::MAX)? {
        if event.revision != state.revision() + 1 {
            return Err(Trouble::Damaged {
                path: path.display().to_string(),
                what: format!(
                    "session {session}: line {} is missing",
                    state.revision() + 1
                ),
            });
        }
        state.apply(&event);
    }
    Ok(())
}
