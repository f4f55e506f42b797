//! One timed run of the solver.

use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::time::Instant;

use dispatching::check::check;
use dispatching::solver::{Options, Outcome, solve};
use dispatching::{Plan, Problem};

/// How to run.
#[derive(Clone, Copy)]
pub(crate) struct Effort {
    /// Seed of all chance.
    pub(crate) seed: u64,
    /// Engines at the same time.
    pub(crate) threads: usize,
    /// Seconds are those of the processor, which a shared machine does not lengthen.
    pub(crate) processor: bool,
}

/// A clock that can be asked often.
struct Clock {
    begin: Instant,
    /// Processor time at the beginning, if that is what counts.
    processor: Option<f64>,
    /// When it was read last, in milliseconds, and what it said then, in hundredths of a second.
    read: AtomicU64,
    said: AtomicU64,
}

impl Clock {
    fn new(effort: Effort) -> Self {
        Self {
            begin: Instant::now(),
            processor: effort.processor.then(processor_seconds).flatten(),
            read: AtomicU64::new(0),
            said: AtomicU64::new(0),
        }
    }

    /// Seconds since the beginning; those of the processor to a hundredth.
    fn seconds(&self) -> f64 {
        let wall = self.begin.elapsed();
        let Some(before) = self.processor else {
            return wall.as_secs_f64();
        };
        let milliseconds = u64::try_from(wall.as_millis()).unwrap_or(u64::MAX);
        if milliseconds >= self.read.load(Relaxed) + 5 {
            self.read.store(milliseconds, Relaxed);
            let now = processor_seconds().unwrap_or(before) - before;
            self.said.store((now * 100.0).round() as u64, Relaxed);
        }
        self.said.load(Relaxed) as f64 / 100.0
    }
}

/// A timed run.
pub(crate) struct Run {
    /// What the solver says.
    pub(crate) outcome: Outcome,
    /// Every improvement: seconds from the start, and the objective.
    pub(crate) improvements: Vec<(f64, i64)>,
    /// Seconds in all.
    pub(crate) seconds: f64,
    /// Seconds of processor time; less than the others if the machine was shared.
    pub(crate) processor: Option<f64>,
}

impl Run {
    /// The objective of the plan found.
    pub(crate) fn objective(&self) -> Option<i64> {
        self.outcome.cost.as_ref().map(dispatching::Cost::total)
    }

    /// Seconds to the first plan.
    pub(crate) fn first(&self) -> Option<f64> {
        self.improvements.first().map(|&(t, _)| t)
    }

    /// Seconds until the objective was within a hundredth of a value.
    pub(crate) fn within_one_percent(&self, of: i64) -> Option<f64> {
        let near = |v: i64| v as f64 <= of as f64 * 1.01;
        self.improvements
            .iter()
            .find(|&&(_, v)| near(v))
            .map(|&(t, _)| t)
    }
}

/// Solves for so many seconds, or so many rounds.
pub(crate) fn timed(
    problem: &Problem,
    effort: Effort,
    seconds: f64,
    rounds: Option<u64>,
    warm_start: Option<Plan>,
) -> Run {
    let clock = Clock::new(effort);
    let processor = processor_seconds();
    let mut improvements: Vec<(f64, i64)> = Vec::new();
    let options = Options {
        seed: effort.seed,
        threads: effort.threads,
        rounds,
        warm_start,
    };
    let outcome = solve(
        problem,
        &options,
        &|| clock.seconds() >= seconds,
        &mut |progress| {
            if let Some((_, cost)) = progress.incumbent {
                let value = cost.total();
                if improvements.last().is_none_or(|&(_, last)| value != last) {
                    improvements.push((clock.seconds(), value));
                }
            }
        },
    );
    let seconds = clock.begin.elapsed().as_secs_f64();
    let processor = processor_seconds()
        .zip(processor)
        .map(|(after, before)| after - before);
    if let Some(plan) = &outcome.plan {
        let cost = check(problem, plan);
        assert!(
            cost.is_ok() && cost.ok() == outcome.cost,
            "the solver's plan fails the check"
        );
    }
    Run {
        outcome,
        improvements,
        seconds,
        processor,
    }
}

/// Processor time of this process so far, where the kernel says it.
fn processor_seconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    // After the name in brackets, user and system time are the 12th and 13th field, in hundredths.
    let fields: Vec<&str> = text.rsplit(')').next()?.split_whitespace().collect();
    let ticks: f64 = fields.get(11)?.parse::<f64>().ok()? + fields.get(12)?.parse::<f64>().ok()?;
    Some(ticks / 100.0)
}

/// A line on the machine, for the head of a table.
pub(crate) fn machine() -> String {
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load: Vec<&str> = load.split_whitespace().take(3).collect();
    format!("{cores} cores, load before the run {}", load.join(" "))
}

/// A number of seconds for a table.
pub(crate) fn seconds(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |s| format!("{s:.2}"))
}

/// A value for a table.
pub(crate) fn value(value: Option<i64>) -> String {
    value.map_or_else(|| "-".to_owned(), |v| v.to_string())
}

/// How much more `value` is than `reference`, for a table.
pub(crate) fn gap(value: Option<i64>, reference: i64) -> String {
    match value {
        None => "-".to_owned(),
        Some(v) if v == reference => "0".to_owned(),
        Some(v) if reference == 0 => format!("+{v}"),
        Some(v) => format!(
            "{:+.2} %",
            100.0 * (v - reference) as f64 / reference as f64
        ),
    }
}

/// The value below which a share of the sorted values lies.
pub(crate) fn percentile(sorted: &[f64], share: f64) -> f64 {
    if sorted.is_empty() {
        return f64::NAN;
    }
    let at = (share * (sorted.len() - 1) as f64).ceil() as usize;
    sorted[at.min(sorted.len() - 1)]
}
