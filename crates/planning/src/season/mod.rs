//! A season: many sessions played end to end before a single car is moved.
//!
//! [`season()`] plays the railroad's own trains, shippers and cars for as many sessions as are asked for,
//! several times over with other dice, and says how full its tracks were, who waited for cars, which
//! trains were full or light, and what broke first. Every run is a pure function of the railroad and a
//! seed; runs go on as many threads as there are and are merged in order, so that the answer does not
//! depend on how many those are.

mod advice;
mod balance;
mod pace;
mod plan;
mod play;
mod report;
mod tally;
mod ways;

pub use advice::{Advice, Change, advice};
pub use balance::{Balance, FlowBalance, Limit, LimitUse, balance};
pub use pace::{EACH, FIXED};
pub use report::{
    Broken, Estimate, KindUse, LaneUse, PlaceUse, Report, Share, StationUse, TrackUse, TrainUse,
    quantile,
};
pub use tally::{Fault, ON_END, STARVED, Tally};
pub use ways::{Call, Ways};

use std::sync::atomic::{AtomicUsize, Ordering};

use model::time::RailSpan;
use railroad::Railroad;
use traffic::{
    FlowId,
    books::{Books, Movement},
};

use plan::Plan;
use play::Play;

/// How a season is played.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// How many sessions in a run.
    pub sessions: u32,
    /// How many runs, each with dice of its own.
    pub runs: u32,
    /// The dice of the first run; the next ones follow.
    pub seed: u64,
    /// On how many threads.
    pub threads: usize,
    /// How long a car needs from one train to the next.
    pub connection: RailSpan,
    /// How many sessions ahead cars are ordered.
    pub order_ahead: u32,
    /// Whether the calendar's months move on with the sessions; days of the week always do.
    pub calendar_moves: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            sessions: 200,
            runs: 5,
            seed: 1,
            threads: 2,
            connection: RailSpan::from_minutes(60),
            order_ahead: 2,
            calendar_moves: false,
        }
    }
}

/// One run of sessions with what is needed to look at it closely: the books after each, and what
/// happened.
pub struct Sessions<'a> {
    play: Play<'a>,
}

/// A railroad made ready for playing sessions.
pub struct Ready {
    plan: Plan,
    options: Options,
    books: Books,
}

impl Ready {
    /// Makes a railroad ready, with the books as its folder leaves them.
    pub fn new(railroad: &Railroad, options: &Options) -> Self {
        Self::with_books(railroad, options, railroad::books::open(railroad).0)
    }

    /// Makes a railroad ready with other books.
    pub fn with_books(railroad: &Railroad, options: &Options, books: Books) -> Self {
        Self {
            plan: Plan::new(railroad, options),
            options: options.clone(),
            books,
        }
    }

    /// Sessions to be played one by one.
    pub fn sessions(&self) -> Sessions<'_> {
        Sessions {
            play: Play::new(
                &self.plan,
                self.books.clone(),
                &self.options,
                self.options.seed,
                true,
            ),
        }
    }

    fn run(&self, at: usize) -> Tally {
        let seed = self.options.seed.wrapping_add(at as u64);
        let mut play = Play::new(&self.plan, self.books.clone(), &self.options, seed, false);
        for _ in 0..self.options.sessions {
            play.session();
        }
        play.tally
    }
}

impl Sessions<'_> {
    /// Plays the next session; what happened in it.
    pub fn play(&mut self) -> Vec<Movement> {
        self.play.session();
        self.play.log.replace(vec![]).unwrap_or_default()
    }

    /// The books after the last session.
    pub fn books(&self) -> &Books {
        &self.play.books
    }

    /// What has been counted so far.
    pub fn tally(&self) -> &Tally {
        &self.play.tally
    }
}

/// What a season came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// What it came to, over all runs.
    pub report: Report,
    /// The counts of each run.
    pub runs: Vec<Tally>,
    /// For each lane the row of the shippers' page by which it is known.
    pub flows: Vec<FlowId>,
    /// For each lane the number of the shipper's place where it is loaded, if it is on the railroad.
    pub origins: Vec<Option<usize>>,
}

/// Plays a season. `told` is told how many runs are done, from whichever thread.
pub fn season(railroad: &Railroad, options: &Options, told: &(dyn Fn(usize) + Sync)) -> Season {
    let ready = Ready::new(railroad, options);
    let runs = ready.play(told);
    Season {
        report: report::report(railroad, &ready.plan, options, &runs),
        runs,
        flows: ready.plan.lanes.iter().map(|one| one.lane.flow).collect(),
        origins: ready.plan.lanes.iter().map(|one| one.from.place).collect(),
    }
}

impl Ready {
    /// Plays all runs, on the threads there are.
    fn play(&self, told: &(dyn Fn(usize) + Sync)) -> Vec<Tally> {
        let count = self.options.runs.max(1) as usize;
        let threads = self.options.threads.clamp(1, count);
        let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let mut runs: Vec<Option<Tally>> = vec![None; count];
        std::thread::scope(|scope| {
            let work = || {
                let mut mine = vec![];
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    if at >= count {
                        return mine;
                    }
                    mine.push((at, self.run(at)));
                    told(done.fetch_add(1, Ordering::Relaxed) + 1);
                }
            };
            let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
            for worker in workers {
                let mine = worker
                    .join()
                    .unwrap_or_else(|panic| std::panic::resume_unwind(panic));
                for (at, tally) in mine {
                    runs[at] = Some(tally);
                }
            }
        });
        runs.into_iter().flatten().collect()
    }
}
