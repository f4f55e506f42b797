//! Work that takes longer than a page may: done on threads of its own, watched from any page, and kept
//! when it is finished.

use std::{
    sync::{Arc, Condvar, Mutex, PoisonError},
    time::{Duration, Instant},
};

use crate::services::{Progress, Sorry};

/// What came of it, and after what time.
type Came<T> = (Result<Arc<T>, Sorry>, Duration);

/// One piece of work.
#[derive(Debug)]
pub struct Work<T> {
    /// The version of the railroad it is done for.
    pub version: u64,
    /// How far it is.
    pub progress: Progress,
    begun: Instant,
    result: Mutex<Option<Came<T>>>,
    finished: Condvar,
}

impl<T: Send + Sync + 'static> Work<T> {
    /// Begins a work on a thread of its own.
    pub fn begin(
        version: u64,
        work: impl FnOnce(&Progress) -> Result<T, Sorry> + Send + 'static,
    ) -> Arc<Self> {
        let this = Arc::new(Self {
            version,
            progress: Progress::default(),
            begun: Instant::now(),
            result: Mutex::new(None),
            finished: Condvar::new(),
        });
        let worker = this.clone();
        let spawned = std::thread::Builder::new().spawn(move || {
            let result =
                std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(&worker.progress)));
            worker.finish(result.unwrap_or_else(|_| {
                Err(Sorry {
                    what: "The work broke off: a mistake in the program".into(),
                    help: Some("The railroad is unharmed.".into()),
                })
            }));
        });
        if let Err(error) = spawned {
            this.finish(Err(Sorry {
                what: format!("No thread for the work: {error}"),
                help: None,
            }));
        }
        this
    }

    fn finish(&self, result: Result<T, Sorry>) {
        let took = self.begun.elapsed();
        let mut slot = self.result.lock().unwrap_or_else(PoisonError::into_inner);
        *slot = Some((result.map(Arc::new), took));
        self.finished.notify_all();
    }

    /// What came of it, if it is finished.
    pub fn result(&self) -> Option<Result<Arc<T>, Sorry>> {
        let slot = self.result.lock().unwrap_or_else(PoisonError::into_inner);
        slot.as_ref().map(|(result, _)| result.clone())
    }

    /// What came of it, waiting for it a while.
    pub fn wait(&self, most: Duration) -> Option<Result<Arc<T>, Sorry>> {
        let slot = self.result.lock().unwrap_or_else(PoisonError::into_inner);
        let (slot, _) = self
            .finished
            .wait_timeout_while(slot, most, |result| result.is_none())
            .unwrap_or_else(PoisonError::into_inner);
        slot.as_ref().map(|(result, _)| result.clone())
    }

    /// How long it has taken, or took.
    pub fn took(&self) -> Duration {
        let slot = self.result.lock().unwrap_or_else(PoisonError::into_inner);
        slot.as_ref()
            .map_or_else(|| self.begun.elapsed(), |(_, took)| *took)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_work_is_watched_stopped_and_its_answer_kept() {
        let work = Work::begin(1, |progress: &Progress| {
            progress.done(0.25);
            while !progress.stopped() {
                std::thread::yield_now();
            }
            Ok(41 + 1)
        });
        assert!(work.result().is_none());
        work.progress.stop();
        assert_eq!(*work.wait(Duration::from_secs(60)).unwrap().unwrap(), 42);
        assert_eq!(*work.result().unwrap().unwrap(), 42);
        assert!((work.progress.part() - 0.25).abs() < 1e-9);
    }

    #[test]
    fn a_work_that_breaks_off_says_so() {
        let work = Work::<u8>::begin(1, |_| panic!("on purpose"));
        let sorry = work.wait(Duration::from_secs(60)).unwrap().unwrap_err();
        assert!(sorry.what.contains("mistake in the program"));
    }
}
