//! A season: many sessions played end to end before a single car is moved.
//!
//! [`season()`] plays the railroad's own trains, shippers and cars for as many sessions as are asked for,
//! several times over with other dice, and says how full its tracks were, who waited for cars, which
//! trains were full or light, and what broke first. Every run is a pure function of the railroad and a
//! seed; runs go on as many threads as there are and are merged in order, so that the answer does not
//! depend on how many those are.

mod pace;
mod plan;
mod play;
mod tally;
mod ways;

pub use pace::{EACH, FIXED};
pub use tally::{Fault, ON_END, STARVED, Tally};
pub use ways::{Call, Ways};

use std::sync::atomic::{AtomicUsize, Ordering};

use model::time::RailSpan;
use railroad::Railroad;
use traffic::books::{Books, Movement};

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
            play: Play::new(&self.plan, self.books.clone(), &self.options, true),
        }
    }

    fn run(&self) -> Tally {
        let mut play = Play::new(&self.plan, self.books.clone(), &self.options, false);
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
    /// The counts of each run.
    pub runs: Vec<Tally>,
}

/// Plays a season. `told` is told how many runs are done, from whichever thread.
pub fn season(railroad: &Railroad, options: &Options, told: &(dyn Fn(usize) + Sync)) -> Season {
    let count = options.runs.max(1) as usize;
    let next = AtomicUsize::new(0);
    let done = AtomicUsize::new(0);
    let run = |at: usize| {
        let options = Options {
            seed: options.seed.wrapping_add(at as u64),
            ..options.clone()
        };
        let tally = Ready::new(railroad, &options).run();
        told(done.fetch_add(1, Ordering::Relaxed) + 1);
        tally
    };
    let mut runs: Vec<Option<Tally>> = vec![None; count];
    let threads = options.threads.clamp(1, count);
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|_| {
                scope.spawn(|| {
                    let mut mine = vec![];
                    loop {
                        let at = next.fetch_add(1, Ordering::Relaxed);
                        if at >= count {
                            return mine;
                        }
                        mine.push((at, run(at)));
                    }
                })
            })
            .collect();
        for worker in workers {
            for (at, tally) in worker
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
            {
                runs[at] = Some(tally);
            }
        }
    });
    Season {
        runs: runs.into_iter().flatten().collect(),
    }
}
impl Ready {
    /// debug
    pub fn words(&self, fault: Fault) -> String {
        match fault {
            Fault::NoRoom(s) => format!("station {}", s.index()),
            Fault::Starved(l) => format!(
                "{:?} {} {}",
                self.plan.lanes[l].lane.kind,
                self.plan.lanes[l].lane.commodity,
                self.plan.lanes[l].lane.rate
            ),
            Fault::Flooded(p) => self.plan.places[p].name.clone(),
            Fault::Full(t) | Fault::NoTime(t) => self.plan.trains[t].symbol.clone(),
        }
    }
    /// debug
    #[allow(clippy::print_stdout)]
    pub fn look(&self, t: &Tally) {
        let n = f64::from(t.sessions);
        for (at, l) in self.plan.lanes.iter().enumerate() {
            println!(
                "{:?} {} off {} load {} del {} late {:.1} open {:.2} starved {}",
                l.lane.kind,
                l.lane.commodity,
                t.offered[at],
                t.loaded[at],
                t.delivered[at],
                t.late[at] / t.loaded[at].max(1) as f64,
                t.open[at] / n,
                t.starved[at]
            );
        }
        for (at, p) in self.plan.places.iter().enumerate() {
            println!(
                "{} holds {} held {:.2} flooded {}",
                p.name,
                p.holds,
                t.held[at] / n,
                t.flooded[at]
            );
        }
        for (at, p) in self.plan.trains.iter().enumerate() {
            println!(
                "train {} len {:.0} cars {} runs {} light {} carried {:.1} full {:.1} notime {:.1} nocab {}",
                p.symbol,
                p.length.inches(),
                p.cars,
                t.runs[at],
                t.light[at],
                t.carried[at] as f64 / n,
                f64::from(t.full[at]) / n,
                f64::from(t.no_time[at]) / n,
                t.no_caboose[at]
            );
        }
        for at in 0..t.stations.len() {
            let mut v = t.stations[at].clone();
            v.sort_by(f32::total_cmp);
            println!(
                "{} med {:.2} p95 {:.2} max {:.2} noroom {}",
                self.plan.ground.tracks[at].first().map_or("", |t| &t.name),
                v[v.len() / 2],
                v[v.len() * 95 / 100],
                v[v.len() - 1],
                t.no_room[at]
            );
        }
        println!(
            "idle {:?} short {:?}",
            t.idle.iter().map(|x| x / n).collect::<Vec<_>>(),
            t.short.iter().map(|x| x / n).collect::<Vec<_>>()
        );
    }
}
impl Sessions<'_> {
    /// debug
    #[allow(clippy::print_stdout)]
    pub fn standing(&self, railroad: &Railroad, only: &str) {
        for (s, tracks) in self.play.plan.ground.tracks.iter().enumerate() {
            for (t, g) in tracks.iter().enumerate() {
                if !g.name.starts_with(only) {
                    continue;
                }
                let track = engineering::ids::TrackRef {
                    station: engineering::ids::StationId(s as u32),
                    track: engineering::ids::TrackId(t as u32),
                };
                for &c in self.play.books.standing(track) {
                    let j = &self.play.jobs[c.index()];
                    println!(
                        "{} {} {:?} {:?} to {:?} ready {} spot {:?} dirty {}",
                        g.name,
                        railroad.roster.car(c).name.value,
                        self.play.plan.wagons[c.index()].kind,
                        j.task,
                        j.to,
                        j.ready as f64 / 86400.0,
                        self.play.books.car(c).at,
                        j.dirty
                    );
                }
            }
        }
    }
}
