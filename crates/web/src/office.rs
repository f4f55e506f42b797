//! What all pages share: the railroad as it is now, the desk where it is changed, the services.

use std::{
    path::Path,
    sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, RwLock},
};

use railroad::{Folder, FolderError, Loaded, edit::Desk};
use tokio::sync::watch;

use crate::{
    Services,
    live::Room,
    services::{DayAnswer, DayAsk, Report, SessionBooks, Study},
    works::Work,
};

/// The railroad at one moment. Pages hold on to it while they are written.
#[derive(Debug, Clone)]
pub struct Snapshot {
    /// The railroad and its diagnostics.
    pub loaded: Arc<Loaded>,
    /// Its files.
    pub folder: Arc<Folder>,
    /// Counts every change, wherever it was made.
    pub version: u64,
    /// Whether it is on disk, so that changes last.
    pub lasting: bool,
    /// The file whose change can be taken back.
    pub undo: Option<String>,
    /// The file whose change can be made again.
    pub redo: Option<String>,
}

/// The plans of the day: that of the railroad as it is, and the one before.
#[derive(Debug, Default)]
struct Days {
    current: Option<Arc<Work<DayAnswer>>>,
    before: Option<Arc<DayAnswer>>,
}

/// A study that was begun here.
#[derive(Debug, Clone)]
pub struct StudyUnderWay {
    /// Its number among those begun here, from 1.
    pub number: u64,
    /// Which.
    pub study: Study,
    /// With which numbers.
    pub numbers: Vec<u64>,
    /// The work.
    pub work: Arc<Work<Report>>,
}

/// How many finished studies are kept.
const KEPT: usize = 12;

/// The office.
#[derive(Debug)]
pub struct Office {
    desk: Mutex<Desk>,
    now: RwLock<Arc<Snapshot>>,
    news: watch::Sender<u64>,
    days: Mutex<Days>,
    books: Mutex<Option<Arc<Work<SessionBooks>>>>,
    studies: Mutex<Vec<StudyUnderWay>>,
    room: OnceLock<Arc<Room>>,
    /// What it can have done.
    pub services: Services,
}

/// The plan of a day, finished or under way, and the plan before it.
type DayAndBefore = (Arc<Work<DayAnswer>>, Option<Arc<DayAnswer>>);

impl Office {
    /// The office of a folder on disk.
    ///
    /// # Errors
    /// What the disk says.
    pub fn open(path: &Path, services: Services) -> Result<Arc<Self>, FolderError> {
        Ok(Self::of(Desk::open(path)?, services))
    }

    /// The office of a railroad that is not on disk: changes last as long as the office.
    pub fn in_memory(folder: Folder, services: Services) -> Arc<Self> {
        Self::of(Desk::in_memory(folder), services)
    }

    fn of(desk: Desk, services: Services) -> Arc<Self> {
        let now = RwLock::new(Arc::new(snapshot(&desk, 1)));
        Arc::new(Self {
            desk: Mutex::new(desk),
            now,
            news: watch::Sender::new(1),
            days: Mutex::default(),
            books: Mutex::default(),
            studies: Mutex::default(),
            room: OnceLock::new(),
            services,
        })
    }

    /// Has sessions held here, by this journal and behind this door. Once; later rooms are not taken.
    pub fn hold_sessions(self: &Arc<Self>, room: Arc<Room>) {
        if self.room.set(room).is_ok() {
            crate::live::watch_the_day(self);
        }
    }

    /// Where sessions are held, if they are.
    pub(crate) fn room(&self) -> Option<&Arc<Room>> {
        self.room.get()
    }

    /// Who asks, by the badge of a request; nobody, if one has to come in first. An office without a
    /// door is open to this machine alone, and whoever sits at it may do everything.
    pub(crate) fn who(&self, headers: &axum::http::HeaderMap) -> Option<session::Who> {
        match self.room.get() {
            Some(room) => room.who(headers),
            None => Some(session::Who::office()),
        }
    }

    /// The railroad's name.
    pub fn name(&self) -> String {
        self.now().loaded.railroad.identity.name.clone()
    }

    /// Counts every change, from 1.
    pub fn now_version(&self) -> u64 {
        self.now().version
    }

    /// The railroad as it is now.
    pub(crate) fn now(&self) -> Arc<Snapshot> {
        self.now
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// Waits for the next change after a version.
    pub(crate) fn news(&self) -> watch::Receiver<u64> {
        self.news.subscribe()
    }

    /// Works at the desk; whatever was changed there is seen by the next page.
    pub(crate) fn at_desk<T>(&self, work: impl FnOnce(&mut Desk) -> T) -> T {
        let mut desk = self.desk();
        let result = work(&mut desk);
        let now = self.now();
        if !Arc::ptr_eq(&now.loaded, desk.loaded()) {
            let next = Arc::new(snapshot(&desk, now.version + 1));
            let version = next.version;
            *self.now.write().unwrap_or_else(PoisonError::into_inner) = next;
            let _ = self.news.send_replace(version);
        }
        result
    }

    fn desk(&self) -> MutexGuard<'_, Desk> {
        // Whoever panicked there left the desk whole: it swaps a file at once or not at all.
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Reads the folder again if another program changed it. Whether it did.
    pub fn look_outside(&self) -> bool {
        let path = match self.desk().path() {
            Some(path) => path.to_owned(),
            None => return false,
        };
        // Read aside, so that nobody waits for the disk.
        let Ok(found) = Folder::from_disk(&path) else {
            return false;
        };
        if found == *self.now().folder {
            return false;
        }
        self.at_desk(|desk| desk.folder() != &found && desk.reload().is_ok())
    }

    /// The plan of the day as the railroad is now, finished or under way, and the plan before it.
    /// Nothing if nobody plans here.
    pub(crate) fn day(self: &Arc<Self>) -> Option<DayAndBefore> {
        self.services.day.as_ref()?;
        let now = self.now();
        let mut days = self.days.lock().unwrap_or_else(PoisonError::into_inner);
        let fresh = days
            .current
            .as_ref()
            .is_some_and(|work| work.version == now.version);
        if !fresh {
            if let Some(old) = days.current.take() {
                old.progress.stop();
                if let Some(Ok(plan)) = old.result() {
                    days.before = Some(plan);
                }
            }
            let office = self.clone();
            let version = now.version;
            days.current = Some(Work::begin(version, move |progress| {
                let ask = DayAsk {
                    seed: 1,
                    quick: false,
                };
                match &office.services.day {
                    Some(day) => day(&now.loaded.railroad, &ask, progress),
                    None => unreachable!("asked above"),
                }
            }));
        }
        Some((days.current.clone()?, days.before.clone()))
    }

    /// The session that comes next as the railroad is now, billed or being billed. Nothing if nobody
    /// bills here.
    pub(crate) fn books(self: &Arc<Self>) -> Option<Arc<Work<SessionBooks>>> {
        self.services.books.as_ref()?;
        let now = self.now();
        let mut books = self.books.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(work) = books.as_ref().filter(|work| work.version == now.version) {
            return Some(work.clone());
        }
        if let Some(old) = books.take() {
            old.progress.stop();
        }
        let office = self.clone();
        let work = Work::begin(now.version, move |progress| match &office.services.books {
            Some(books) => books(&now.loaded.railroad, &0, progress),
            None => unreachable!("asked above"),
        });
        *books = Some(work.clone());
        Some(work)
    }

    /// Has the day planned and the session billed before anyone asks for them.
    pub fn prepare(self: &Arc<Self>) {
        let _ = self.day();
        let _ = self.books();
    }

    /// Begins a study of the railroad as it is now.
    pub(crate) fn study(self: &Arc<Self>, name: &str, numbers: Vec<u64>) -> Option<u64> {
        let (study, work) = self
            .services
            .studies
            .iter()
            .find(|(study, _)| study.name == name)?;
        let now = self.now();
        let (asked, work) = (numbers.clone(), *work);
        let mut studies = self.studies.lock().unwrap_or_else(PoisonError::into_inner);
        let number = studies.last().map_or(1, |last| last.number + 1);
        studies.push(StudyUnderWay {
            number,
            study: study.clone(),
            numbers,
            work: Work::begin(now.version, move |progress| {
                work(&now.loaded.railroad, &asked, progress)
            }),
        });
        while studies.len() > KEPT
            && let Some(old) = studies.iter().position(|one| one.work.result().is_some())
        {
            studies.remove(old);
        }
        Some(number)
    }

    /// The studies begun here, the latest first.
    pub(crate) fn studies(&self) -> Vec<StudyUnderWay> {
        let studies = self.studies.lock().unwrap_or_else(PoisonError::into_inner);
        studies.iter().rev().cloned().collect()
    }

    /// Tells those who wait for news that there will be none.
    pub fn close(&self) {
        let _ = self.news.send_replace(u64::MAX);
        for one in self.studies() {
            one.work.progress.stop();
        }
        let days = self.days.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(work) = &days.current {
            work.progress.stop();
        }
    }
}

fn snapshot(desk: &Desk, version: u64) -> Snapshot {
    Snapshot {
        loaded: desk.loaded().clone(),
        folder: Arc::new(desk.folder().clone()),
        version,
        lasting: desk.path().is_some(),
        undo: desk.last_done().map(str::to_owned),
        redo: desk.last_undone().map(str::to_owned),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_changed_outside_is_seen() {
        let dir = tempfile::tempdir().unwrap();
        for (path, bytes) in Folder::built_in("smallest").unwrap().iter() {
            let file = dir.path().join(path);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, bytes).unwrap();
        }
        let office = Office::open(dir.path(), Services::default()).unwrap();
        assert!(!office.look_outside());
        let before = office.now();
        let cars = dir.path().join("cars.csv");
        let text = std::fs::read_to_string(&cars).unwrap() + "XYZX,77,,boxcar,6 in\n";
        std::fs::write(&cars, text).unwrap();
        let news = office.news();
        assert!(office.look_outside());
        assert!(news.has_changed().unwrap());
        let after = office.now();
        assert_eq!(after.version, before.version + 1);
        assert_eq!(
            after.loaded.railroad.roster.cars.len(),
            before.loaded.railroad.roster.cars.len() + 1
        );
    }
}
