//! Trains strung into jobs.
//!
//! A crew can work one train after another if the second begins where the first ended, late enough to
//! turn, and the whole job is no longer than the law or the owner allows. The fewest jobs are at least
//! the trains less the largest matching of trains with trains that can follow them; the search looks for
//! a set of jobs of that number.

use model::time::{RailSpan, RailTime};

use super::{Goal, matching};

/// A train, as far as crews are concerned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trip {
    /// Its number.
    pub train: String,
    /// Where it begins.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// When it leaves.
    pub leaves: RailTime,
    /// When it arrives.
    pub arrives: RailTime,
}

/// What a job may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// Least time between two trains.
    pub between: RailSpan,
    /// Longest job, if there is a limit.
    pub longest: Option<RailSpan>,
}

/// Jobs made of trains.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Jobs {
    /// Per job the indices of its trips, in order; jobs by their first trip.
    pub jobs: Vec<Vec<usize>>,
    /// No set of jobs is smaller: proven.
    pub at_least: usize,
    /// The longest job.
    pub longest: RailSpan,
    /// No set of as many jobs has a shorter longest one: proven. Only asked for the fairest.
    pub longest_at_least: RailSpan,
}

/// Strings trips into jobs.
pub fn build(trips: &[Trip], turn: &Turn, goal: Goal, steps: u64) -> Jobs {
    let mut order: Vec<usize> = (0..trips.len()).collect();
    order.sort_by_key(|&at| (trips[at].leaves, trips[at].arrives, at));
    let follows: Vec<Vec<usize>> = trips
        .iter()
        .map(|first| {
            order
                .iter()
                .copied()
                .filter(|&second| can_follow(first, &trips[second], turn))
                .collect()
        })
        .collect();
    let next = matching(&follows, trips.len());
    let at_least = trips.len() - next.iter().flatten().count();
    let mut search = Search {
        trips,
        turn,
        order: &order,
        ends: Vec::new(),
        best: None,
        most: trips.len(),
        fair: false,
        bound: RailSpan::ZERO,
        steps,
        finished: true,
    };
    // The matching's own jobs, if none is too long, are already the fewest.
    let mut jobs = strings(&next, &order);
    if jobs.iter().any(|job| too_long(trips, job, turn)) {
        for most in at_least..=trips.len() {
            search.most = most;
            search.run();
            if search.best.is_some() {
                break;
            }
        }
        jobs = search
            .best
            .take()
            .unwrap_or_else(|| order.iter().map(|&trip| vec![trip]).collect());
    }
    let longest = |jobs: &[Vec<usize>]| {
        jobs.iter()
            .map(|job| length(trips, job))
            .max()
            .unwrap_or_default()
    };
    let mut longest_at_least = RailSpan::ZERO;
    if goal == Goal::Fairest && !jobs.is_empty() {
        let single = trips.iter().map(|trip| trip.arrives - trip.leaves);
        let sum: RailSpan = single.clone().sum();
        let mean = RailSpan::from_seconds(sum.seconds() / jobs.len() as i64);
        longest_at_least = single.max().unwrap_or_default().max(mean);
        search.fair = true;
        search.bound = longest_at_least;
        search.most = jobs.len();
        search.steps = steps;
        search.finished = true;
        search.best = Some(jobs.clone());
        search.run();
        jobs = search.best.take().unwrap_or(jobs);
        if search.finished {
            longest_at_least = longest(&jobs);
        }
    }
    for job in &mut jobs {
        job.sort_by_key(|&trip| trips[trip].leaves);
    }
    jobs.sort_by_key(|job| job.first().map(|&trip| (trips[trip].leaves, trip)));
    Jobs {
        at_least,
        longest: longest(&jobs),
        longest_at_least,
        jobs,
    }
}

fn can_follow(first: &Trip, second: &Trip, turn: &Turn) -> bool {
    first.to == second.from && first.arrives + turn.between <= second.leaves
}

fn length(trips: &[Trip], job: &[usize]) -> RailSpan {
    let begins = job.iter().map(|&trip| trips[trip].leaves).min();
    let ends = job.iter().map(|&trip| trips[trip].arrives).max();
    match (begins, ends) {
        (Some(begins), Some(ends)) => ends - begins,
        _ => RailSpan::ZERO,
    }
}

fn too_long(trips: &[Trip], job: &[usize], turn: &Turn) -> bool {
    job.len() > 1
        && turn
            .longest
            .is_some_and(|longest| length(trips, job) > longest)
}

fn strings(next: &[Option<usize>], order: &[usize]) -> Vec<Vec<usize>> {
    let mut follows = vec![false; next.len()];
    for &second in next.iter().flatten() {
        follows[second] = true;
    }
    order
        .iter()
        .filter(|&&trip| !follows[trip])
        .map(|&first| std::iter::successors(Some(first), |&trip| next[trip]).collect())
        .collect()
}

struct Search<'a> {
    trips: &'a [Trip],
    turn: &'a Turn,
    order: &'a [usize],
    /// The jobs so far.
    ends: Vec<Vec<usize>>,
    best: Option<Vec<Vec<usize>>>,
    most: usize,
    fair: bool,
    bound: RailSpan,
    steps: u64,
    finished: bool,
}

impl Search<'_> {
    fn run(&mut self) {
        self.ends.clear();
        self.go(0);
    }

    /// What is to be small: the longest job, then how unlike they are.
    fn weight(&self, jobs: &[Vec<usize>]) -> (RailSpan, i128) {
        let lengths: Vec<RailSpan> = jobs.iter().map(|job| length(self.trips, job)).collect();
        let square =
            |length: &RailSpan| i128::from(length.seconds()) * i128::from(length.seconds());
        (
            lengths.iter().copied().max().unwrap_or_default(),
            lengths.iter().map(square).sum(),
        )
    }

    /// Whether nothing more need be looked for.
    fn content(&self) -> bool {
        match (&self.best, self.fair) {
            (None, _) => false,
            (Some(_), false) => true,
            // The bound is of the longest job only; how the others share the rest is then left.
            (Some(best), true) => self.weight(best).0 <= self.bound,
        }
    }

    fn go(&mut self, at: usize) {
        if self.content() {
            return;
        }
        if self.steps == 0 {
            self.finished = false;
            return;
        }
        self.steps -= 1;
        if self.fair
            && let Some(best) = &self.best
            && self.weight(&self.ends) >= self.weight(best)
        {
            return;
        }
        let Some(&trip) = self.order.get(at) else {
            let better = self
                .best
                .as_ref()
                .is_none_or(|best| self.weight(&self.ends) < self.weight(best));
            if better {
                self.best = Some(self.ends.clone());
            }
            return;
        };
        let mut choices: Vec<usize> = (0..self.ends.len())
            .filter(|&job| {
                let last = *self.ends[job].last().expect("a job has a trip");
                can_follow(&self.trips[last], &self.trips[trip], self.turn) && {
                    let first = &self.trips[self.ends[job][0]];
                    let longest = self.turn.longest;
                    longest.is_none_or(|most| self.trips[trip].arrives - first.leaves <= most)
                }
            })
            .collect();
        // The job that has waited least first; fairly, the one that would be shortest.
        choices.sort_by_key(|&job| {
            let first = self.trips[self.ends[job][0]].leaves.seconds();
            let last = *self.ends[job].last().expect("a job has a trip");
            let arrived = self.trips[last].arrives.seconds();
            (if self.fair { -first } else { -arrived }, job)
        });
        let opens = self.ends.len() < self.most;
        for job in choices {
            self.ends[job].push(trip);
            self.go(at + 1);
            self.ends[job].pop();
        }
        if opens {
            self.ends.push(vec![trip]);
            self.go(at + 1);
            self.ends.pop();
        }
    }
}
