//! The journal: every event of every session of a railroad, in one SQLite file.
//!
//! One thread writes. It takes the commands that have come in meanwhile, decides them one after the other,
//! puts their events on disk together, and answers only when they are there (write-ahead log, synchronous
//! `FULL`). What cannot be put on disk has not happened: the state is then as it was. A command sent again
//! under its key is answered as it was the first time.

mod schema;
mod transfer;
mod writer;

use std::{
    fs::File,
    io::{BufRead, Write},
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex, MutexGuard, PoisonError, RwLock,
        mpsc::{Sender, channel, sync_channel},
    },
    thread::JoinHandle,
};

use rusqlite::{Connection, ErrorCode, OptionalExtension};

use crate::{
    clock::RealMillis,
    command::Request,
    event::Event,
    opening::Opening,
    refused::Refused,
    state::{Saved, State},
    who::Who,
};
use writer::{Job, Writer};

/// Tells the real time: milliseconds since the beginning of 1970.
pub type Watch = Arc<dyn Fn() -> RealMillis + Send + Sync>;

/// The computer's own watch: its time of day when first asked, and what has passed since by a clock that is
/// never set. So a time server that sets the computer back does not stop the railroad's clock.
pub fn wall_watch() -> Watch {
    let begun = std::time::Instant::now();
    let since_1970 = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    let base = since_1970.map_or(0, |passed| i64::try_from(passed.as_millis()).unwrap_or(0));
    Arc::new(move || base + i64::try_from(begun.elapsed().as_millis()).unwrap_or(0))
}

/// A watch that never goes back, whatever the one in it does.
fn never_back(watch: Watch) -> Watch {
    let last = std::sync::atomic::AtomicI64::new(i64::MIN);
    Arc::new(move || {
        let now = watch();
        last.fetch_max(now, std::sync::atomic::Ordering::SeqCst)
            .max(now)
    })
}

/// What is told of every commit: its events, and the state after them.
pub type Listener = Box<dyn Fn(&[Arc<Event>], &Arc<State>) + Send>;

/// What is done with an answer.
pub type Done = Box<dyn FnOnce(Result<Receipt, Answer>) + Send>;

/// A command is carried out, and on disk.
#[derive(Debug, Clone)]
pub struct Receipt {
    /// The revision after it.
    pub revision: u64,
    /// What it came to. Empty for one that was carried out before the program was started again.
    pub events: Vec<Arc<Event>>,
    /// Whether it had been carried out before, under the same key.
    pub repeated: bool,
}

/// Why a command was not carried out.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Answer {
    /// It cannot be as things stand.
    #[error("{0}")]
    Refused(Box<Refused>),
    /// The journal cannot take it.
    #[error("{0}")]
    Trouble(Trouble),
}

impl From<Trouble> for Answer {
    fn from(trouble: Trouble) -> Self {
        Self::Trouble(trouble)
    }
}

/// What keeps the journal from working.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    /// Another program has it.
    #[error("{0} is kept by another sawby that runs: close that one first")]
    InUse(String),
    /// The disk is full.
    #[error(
        "the disk is full: nothing was written to {0}, and what was said last has not happened. Make room, then say it again"
    )]
    Full(String),
    /// It cannot be written.
    #[error(
        "{0} cannot be written: the disk or the folder is read-only. Nothing was changed; make it writable, or keep the railroad elsewhere"
    )]
    ReadOnly(String),
    /// A newer program wrote it.
    #[error("{path} is of version {found}, and this sawby reads up to {known}: use the newer one")]
    Newer {
        /// The file.
        path: String,
        /// Its version.
        found: i64,
        /// The highest version known.
        known: i64,
    },
    /// It is no journal, or damaged.
    #[error(
        "{path} cannot be read as a journal: {what}. It is left as it is; put a copy in its place"
    )]
    Damaged {
        /// The file.
        path: String,
        /// What is wrong.
        what: String,
    },
    /// There is no session.
    #[error("no session is open")]
    NoSession,
    /// There is one already.
    #[error("the session `{0}` is still open: close it out first")]
    Open(String),
    /// A session asked for that there is not.
    #[error("the journal has no session {0}")]
    Unknown(u64),
    /// What was to be read in is no session.
    #[error("line {line}: {what}")]
    Import {
        /// Which line, from 1.
        line: usize,
        /// What is wrong.
        what: String,
    },
    /// The disk does not do as it should.
    #[error("the journal {path} cannot be kept: {what}")]
    Disk {
        /// The file.
        path: String,
        /// What is wrong.
        what: String,
    },
    /// The program is about to end.
    #[error("the journal is closed")]
    Gone,
}

impl Trouble {
    fn of(path: &Path, error: &rusqlite::Error) -> Self {
        let name = path.display().to_string();
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full(name),
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => {
                Self::ReadOnly(name)
            }
            Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => Self::Damaged {
                path: name,
                what: error.to_string(),
            },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::InUse(name),
            _ => Self::Disk {
                path: name,
                what: error.to_string(),
            },
        }
    }
}

/// A session of the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SessionInfo {
    /// Its number.
    pub id: u64,
    /// What it is called.
    pub name: String,
    /// The railroad.
    pub railroad: String,
    /// When it was opened, in real time.
    pub opened: RealMillis,
    /// When it was put into the archive; nothing for the one that is open.
    pub archived: Option<RealMillis>,
    /// How many events it has.
    pub revision: u64,
}

/// How the journal is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Health {
    /// The revision of the session that is open.
    pub revision: u64,
    /// Commits since the program was started.
    pub commits: u64,
    /// Commands carried out.
    pub carried_out: u64,
    /// Commands refused.
    pub refused: u64,
    /// Most commands put on disk together.
    pub largest_group: usize,
    /// How long the last commit took, in microseconds.
    pub last_commit_micros: u64,
    /// How long the slowest took.
    pub slowest_commit_micros: u64,
    /// What is wrong with the disk, since the last commit that went through.
    pub trouble: Option<Trouble>,
}

/// Limits of the file, for an owner who wants one and for tests of a full disk.
#[derive(Debug, Clone, Copy, Default)]
pub struct Bounds {
    /// The most pages (of 4096 bytes) that the file may have.
    pub pages: Option<u32>,
}

#[derive(Default)]
pub(crate) struct Shared {
    state: RwLock<Option<Arc<State>>>,
    health: Mutex<Health>,
}

struct Inner {
    path: PathBuf,
    shared: Arc<Shared>,
    watch: Watch,
    jobs: Sender<Job>,
    reader: Mutex<Connection>,
    thread: Mutex<Option<JoinHandle<()>>>,
    /// Held while the program runs; the system lets it go, however the program ends.
    _lock: File,
}

/// A railroad's journal. A clone is another handle on the same.
#[derive(Clone)]
pub struct Journal {
    inner: Arc<Inner>,
}

impl std::fmt::Debug for Journal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Journal")
            .field("path", &self.inner.path)
            .finish_non_exhaustive()
    }
}

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Journal {
    /// Opens a journal, and makes it if there is none. A session that was open is open again, as its events
    /// left it; its clock stands at the last time it is known to have shown.
    ///
    /// # Errors
    /// [`Trouble`] if it cannot be read or written, or another program has it.
    pub fn open(path: &Path, watch: Watch) -> Result<Self, Trouble> {
        Self::open_within(path, watch, Bounds::default())
    }

    /// The same, with limits.
    ///
    /// # Errors
    /// As [`Journal::open`].
    pub fn open_within(path: &Path, watch: Watch, bounds: Bounds) -> Result<Self, Trouble> {
        let lock = schema::lock(path)?;
        let writing = schema::connect(path, bounds)?;
        let reader = schema::read_only(path)?;
        let shared = Arc::new(Shared::default());
        let watch = never_back(watch);
        let mut writer = Writer::new(
            path.to_owned(),
            writing,
            Arc::clone(&watch),
            Arc::clone(&shared),
        )?;
        let (jobs, incoming) = channel();
        let thread = std::thread::Builder::new()
            .name("journal".into())
            .spawn(move || writer.run(&incoming))
            .map_err(|error| Trouble::Disk {
                path: path.display().to_string(),
                what: error.to_string(),
            })?;
        Ok(Self {
            inner: Arc::new(Inner {
                path: path.to_owned(),
                shared,
                watch,
                jobs,
                reader: Mutex::new(reader),
                thread: Mutex::new(Some(thread)),
                _lock: lock,
            }),
        })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.inner.path
    }

    /// The sessions, the first first.
    ///
    /// # Errors
    /// [`Trouble`] if they cannot be read.
    pub fn sessions(&self) -> Result<Vec<SessionInfo>, Trouble> {
        let db = held(&self.inner.reader);
        self.sql(schema::sessions(&db))
    }

    /// Opens a session. One that is closed out but not archived yet is put into the archive.
    ///
    /// # Errors
    /// [`Trouble::Open`] while one is open; other trouble with the disk.
    pub fn begin(&self, opening: Opening, who: &Who) -> Result<u64, Trouble> {
        let (done, answer) = sync_channel(1);
        self.send(Job::Begin {
            opening: Box::new(opening),
            who: who.clone(),
            done,
        })?;
        answer.recv().map_err(|_| Trouble::Gone)?
    }

    /// Puts the closed session into the archive.
    ///
    /// # Errors
    /// [`Trouble`] if none is open, it is not closed out, or it cannot be written.
    pub fn archive(&self) -> Result<(), Trouble> {
        let (done, answer) = sync_channel(1);
        self.send(Job::Archive { done })?;
        answer.recv().map_err(|_| Trouble::Gone)?
    }

    /// The state of the session that is open, if one is: always one that is on disk.
    pub fn state(&self) -> Option<Arc<State>> {
        self.inner
            .shared
            .state
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// Real time by the journal's watch, which never goes back: what [`State::rail`] is to be asked with.
    pub fn now(&self) -> RealMillis {
        (self.inner.watch)()
    }

    /// Gives a command and waits until it is carried out and on disk, or refused.
    ///
    /// # Errors
    /// [`Answer`]: why it was not carried out.
    pub fn submit(&self, who: &Who, request: &Request) -> Result<Receipt, Answer> {
        let (done, answer) = sync_channel(1);
        self.submit_then(
            who.clone(),
            request.clone(),
            Box::new(move |result| {
                // Whoever asked may have gone.
                let _ = done.send(result);
            }),
        );
        answer.recv().map_err(|_| Answer::Trouble(Trouble::Gone))?
    }

    /// Gives a command without waiting; `done` gets the answer on the writer's thread and must not block.
    pub fn submit_then(&self, who: Who, request: Request, done: Done) {
        let job = Job::Submit {
            who,
            request: Box::new(request),
            done,
        };
        if let Err(failed) = self.inner.jobs.send(job)
            && let Job::Submit { done, .. } = failed.0
        {
            done(Err(Answer::Trouble(Trouble::Gone)));
        }
    }

    /// Has a listener told of every commit from now on, in order, on the writer's thread: it must not block.
    pub fn listen(&self, listener: Listener) {
        // A journal that is closed has nothing more to tell.
        let _ = self.inner.jobs.send(Job::Listen(listener));
    }

    /// Events of a session after a revision, at most so many: who did what.
    ///
    /// # Errors
    /// [`Trouble`] if they cannot be read.
    pub fn events(&self, session: u64, after: u64, limit: usize) -> Result<Vec<Event>, Trouble> {
        let db = held(&self.inner.reader);
        schema::events(&db, &self.inner.path, session, after, limit)
    }

    /// What a session began with.
    ///
    /// # Errors
    /// [`Trouble`] if there is no such session or it cannot be read.
    pub fn opening(&self, session: u64) -> Result<Opening, Trouble> {
        let db = held(&self.inner.reader);
        schema::opening(&db, &self.inner.path, session).map(|(_, opening)| opening)
    }

    /// The state of any session, from its opening and all its events: for the archive.
    ///
    /// # Errors
    /// [`Trouble`] if there is no such session or it cannot be read.
    pub fn replay(&self, session: u64) -> Result<State, Trouble> {
        let db = held(&self.inner.reader);
        schema::replay(&db, &self.inner.path, session)
    }

    /// Writes a session as lines of JSON: the opening, then its events with the keys of their commands.
    ///
    /// # Errors
    /// [`Trouble`] if it cannot be read, or the lines cannot be written.
    pub fn export(&self, session: u64, out: &mut dyn Write) -> Result<(), Trouble> {
        let db = held(&self.inner.reader);
        transfer::export(&db, &self.inner.path, session, out)
    }

    /// Reads a session from lines of JSON into the archive.
    ///
    /// # Errors
    /// [`Trouble::Import`] with the line that is wrong: nothing is then taken in.
    pub fn import(&self, lines: &mut dyn BufRead) -> Result<u64, Trouble> {
        let read = transfer::read(lines)?;
        let (done, answer) = sync_channel(1);
        self.send(Job::Import {
            read: Box::new(read),
            done,
        })?;
        answer.recv().map_err(|_| Trouble::Gone)?
    }

    /// How it is.
    pub fn health(&self) -> Health {
        held(&self.inner.shared.health).clone()
    }

    fn send(&self, job: Job) -> Result<(), Trouble> {
        self.inner.jobs.send(job).map_err(|_| Trouble::Gone)
    }

    fn sql<T>(&self, result: rusqlite::Result<T>) -> Result<T, Trouble> {
        result.map_err(|error| Trouble::of(&self.inner.path, &error))
    }
}

impl Drop for Inner {
    fn drop(&mut self) {
        // Everything acknowledged is on disk already; this only lets the thread end.
        let _ = self.jobs.send(Job::Stop);
        if let Some(thread) = held(&self.thread).take()
            && thread.thread().id() != std::thread::current().id()
        {
            let _ = thread.join();
        }
    }
}

/// A snapshot, if there is one that can be read: else everything is replayed.
fn snapshot(db: &Connection, session: u64) -> rusqlite::Result<Option<Saved>> {
    let body: Option<String> = db
        .query_row(
            "SELECT body FROM snapshot WHERE session = ?1",
            [session as i64],
            |row| row.get(0),
        )
        .optional()?;
    Ok(body.and_then(|body| serde_json::from_str(&body).ok()))
}
