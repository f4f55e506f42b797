//! What the line will carry, what holds it up, and what each improvement would be worth.
//!
//! Every figure comes from solving the day again. The day is pressed: trains may leave stations on the
//! way before their written times, and what is made small is how much longer each takes than it would
//! take alone, class by class. An improvement only adds to what trains may do, so no train can be worse
//! off by it: where a rerun found nothing better, it is worth nothing, and is said to be.

mod change;

use std::{
    collections::BTreeMap,
    sync::atomic::{AtomicUsize, Ordering},
};

use dispatching::{
    Cost, Plan, Problem,
    solver::{self, Status},
};
use engineering::{
    ids::{OpenRef, StationId, TrackRef},
    network::Network,
    station::{StationKind, TrackUse},
};
use model::{
    time::{RailSpan, RailTime},
    units::Actual,
};
use railroad::Railroad;

use crate::{
    day::{Draft, Made, NoDay, Options as DayOptions, Parts, Resource},
    parallel::in_parallel,
};

/// Something that could be built.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Improvement {
    /// A siding made longer.
    LongerSiding {
        /// Which.
        track: TrackRef,
        /// By how much.
        by: Actual,
    },
    /// A second track, each direction on its own.
    SecondTrack {
        /// Between which stations.
        open: OpenRef,
    },
    /// One more track in a staging yard.
    StagingTrack {
        /// Where.
        station: StationId,
    },
}

impl Improvement {
    /// What it is called.
    pub fn words(&self, railroad: &Railroad) -> String {
        let name = |station: StationId| railroad.way.station(station).name.value.as_str();
        match self {
            Self::LongerSiding { track, by } => format!(
                "{} of {} {} longer",
                railroad.way.track(*track).name.value,
                name(track.station),
                railroad.identity.units.show(*by)
            ),
            Self::SecondTrack { open } => {
                let end = |at: usize| {
                    railroad.way.open(*open).ends[at]
                        .id
                        .map_or("the end of track", name)
                };
                format!("a second track from {} to {}", end(0), end(1))
            }
            Self::StagingTrack { station } => format!("one more track at {}", name(*station)),
        }
    }
}

/// How the reruns are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Seed of all chance.
    pub seed: u64,
    /// Rounds of the solver for each rerun.
    pub rounds: u64,
    /// Reruns at the same time; the answer does not depend on it.
    pub threads: usize,
    /// By how much sidings are made longer.
    pub longer: Actual,
    /// More trains are tried up to so many.
    pub most_extra: u32,
    /// How much longer than alone a train that is added may take, on the average, before the line is
    /// said to be full.
    pub patience: RailSpan,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            seed: 1,
            rounds: 6,
            threads: 1,
            longer: Actual::from_feet(2.0),
            most_extra: 16,
            patience: RailSpan::from_minutes(60),
        }
    }
}

/// What an improvement is worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// The improvement.
    pub improvement: Improvement,
    /// By class, the highest first: what its trains wait for others less, altogether. It may be negative
    /// for a class when one above it gains.
    pub saved: Vec<(i64, RailSpan)>,
    /// Whether it is proven that no plan with it does better.
    pub proven: bool,
}

/// How much of the day a piece of track is taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// What it is called.
    pub what: String,
    /// How many trains use it.
    pub trains: usize,
    /// From the first train's coming to the last one's leaving: part of the time it is taken.
    pub taken: f64,
}

/// What the line will carry.
#[derive(Debug, Clone, PartialEq)]
pub struct Carries {
    /// Trains of the day as it is.
    pub trains: usize,
    /// How many more like the heaviest-used through trains were fitted in.
    pub extra: u32,
    /// Why no more.
    pub why: String,
}

/// The line and what could be made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Capacity {
    /// By class: how long its trains wait for others, altogether, as the line is.
    pub waits: Vec<(i64, RailSpan)>,
    /// Whether that is proven least.
    pub proven: bool,
    /// The most taken pieces of open line and tracks, the fullest first.
    pub loads: Vec<Load>,
    /// What the line will carry; nothing if it was not asked for.
    pub carries: Option<Carries>,
    /// The improvements, the most useful first.
    pub worth: Vec<Worth>,
    /// Those that were not tried to the end, because it was stopped.
    pub untried: Vec<Improvement>,
}

/// Every siding longer, a second track on every single-track district, one more track in every staging
/// yard.
pub fn candidates(railroad: &Railroad, longer: Actual) -> Vec<Improvement> {
    let way = &railroad.way;
    let mut all = Vec::new();
    for (station, page) in way.stations() {
        for (track, one) in page.tracks() {
            if one.usage == TrackUse::Siding {
                all.push(Improvement::LongerSiding {
                    track: TrackRef { station, track },
                    by: longer,
                });
            }
        }
        if page.kind == StationKind::Staging {
            all.push(Improvement::StagingTrack { station });
        }
    }
    for (open, page) in way.opens() {
        if page.tracks.value == 1 {
            all.push(Improvement::SecondTrack { open });
        }
    }
    all
}

/// A day solved.
struct Solved {
    problem: Problem,
    parts: Parts,
    plan: Plan,
    cost: Cost,
    proven: bool,
}

fn day_options(options: &Options) -> DayOptions {
    DayOptions {
        seed: options.seed,
        rounds: options.rounds,
        threads: 1,
        keeps_leaving: false,
        ..DayOptions::default()
    }
}

/// The day's problem, made to count every second beyond what a train would take alone.
fn pressed(
    railroad: &Railroad,
    options: &Options,
    made: &[Option<Made>],
) -> Result<(Problem, Parts), NoDay> {
    let draft = Draft::new(railroad, &day_options(options), made)?;
    let (mut problem, parts) = (draft.problem().clone(), draft.parts());
    change::press(&mut problem);
    Ok((problem, parts))
}

fn solve(
    problem: Problem,
    parts: Parts,
    warm: Option<&Plan>,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Solved, NoDay> {
    let how = solver::Options {
        seed: options.seed,
        rounds: Some(options.rounds),
        threads: 1,
        warm_start: warm.cloned(),
    };
    let outcome = solver::solve(&problem, &how, stop, &mut |_| {});
    match (outcome.plan, outcome.cost, outcome.status) {
        (Some(plan), Some(cost), status) => Ok(Solved {
            problem,
            parts,
            plan,
            cost,
            proven: matches!(status, Status::Optimal),
        }),
        (_, _, Status::Infeasible(impossible)) => {
            let names: Vec<&str> = impossible
                .trains
                .iter()
                .map(|&train| problem.trains[train].name.as_str())
                .collect();
            Err(NoDay::Impossible(names.join(", ")))
        }
        _ => Err(NoDay::NotFound(options.rounds)),
    }
}

/// Searches on from the best plan until as much search again finds nothing: what a rerun then saves is
/// due to what was changed, not to the search it got on top.
fn settled(
    mut solved: Solved,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Solved, NoDay> {
    for _ in 0..MOST_AGAIN {
        if solved.proven || stop() {
            break;
        }
        let before = solved.cost.clone();
        let warm = solved.plan.clone();
        solved = solve(solved.problem, solved.parts, Some(&warm), options, stop)?;
        if solved.cost == before {
            break;
        }
    }
    Ok(solved)
}

/// How often at most a search is taken up again.
const MOST_AGAIN: usize = 8;

/// By class: seconds of cost.
fn by_class(parts: &Parts, cost: &Cost) -> Vec<(i64, RailSpan)> {
    parts
        .classes
        .iter()
        .enumerate()
        .map(|(rank, class)| {
            let seconds = cost.rank(rank.min(200) as u8);
            (*class, RailSpan::from_seconds(seconds))
        })
        .collect()
}

/// Solves the day as it is and with each improvement; and if asked, with more trains. `told` is told how
/// many of how many reruns are done, from whichever thread. When `stop` says so, what is done comes back and
/// the rest is named in [`Capacity::untried`].
///
/// # Errors
/// If the day as it is has no plan.
pub fn capacity(
    railroad: &Railroad,
    made: &[Option<Made>],
    improvements: &[Improvement],
    more_trains: bool,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
    told: &(dyn Fn(usize, usize) + Sync),
) -> Result<Capacity, NoDay> {
    let (problem, parts) = pressed(railroad, options, made)?;
    let base = settled(solve(problem, parts, None, options, stop)?, options, stop)?;
    let done = AtomicUsize::new(0);
    let one = |improvement: &Improvement| {
        // A rerun that was cut short would be worth less than it is.
        let whole = (!stop())
            .then(|| worth(railroad, made, &base, improvement, options, stop))
            .filter(|_| !stop());
        told(done.fetch_add(1, Ordering::Relaxed) + 1, improvements.len());
        whole
    };
    let found = in_parallel(improvements, options.threads, &one);
    let untried = improvements
        .iter()
        .zip(&found)
        .filter(|(_, found)| found.is_none())
        .map(|(improvement, _)| *improvement)
        .collect();
    let mut worth: Vec<Worth> = found.into_iter().flatten().collect();
    let rank = |worth: &Worth| -> Vec<i64> {
        worth
            .saved
            .iter()
            .map(|(_, saved)| -saved.seconds())
            .collect()
    };
    worth.sort_by_key(rank);
    Ok(Capacity {
        waits: by_class(&base.parts, &base.cost),
        proven: base.proven,
        loads: loads(&base),
        carries: (more_trains && !stop()).then(|| carries(railroad, made, &base, options, stop)),
        worth,
        untried,
    })
}

fn worth(
    railroad: &Railroad,
    made: &[Option<Made>],
    base: &Solved,
    improvement: &Improvement,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Worth {
    let found = match improvement {
        Improvement::LongerSiding { track, by } => {
            let longer = lengthened(railroad, *track, *by);
            pressed(&longer, options, made)
                .and_then(|(problem, parts)| solve(problem, parts, None, options, stop))
                .and_then(|solved| settled(solved, options, stop))
                .ok()
        }
        Improvement::SecondTrack { open } => {
            let mut problem = base.problem.clone();
            change::second_track(&mut problem, &base.parts, *open);
            solve(problem, base.parts.clone(), Some(&base.plan), options, stop).ok()
        }
        Improvement::StagingTrack { station } => {
            let mut problem = base.problem.clone();
            change::another_stand(&mut problem, &base.parts, *station);
            solve(problem, base.parts.clone(), Some(&base.plan), options, stop).ok()
        }
    };
    // The plan of the line as it is can still be run.
    let better = found.as_ref().filter(|found| found.cost < base.cost);
    let (before, after) = (
        by_class(&base.parts, &base.cost),
        better.map(|found| by_class(&found.parts, &found.cost)),
    );
    let saved = before
        .iter()
        .map(|&(class, before)| {
            let after = after.as_ref().map_or(before, |after| {
                after
                    .iter()
                    .find(|(other, _)| *other == class)
                    .map_or(before, |(_, after)| *after)
            });
            (class, before - after)
        })
        .collect();
    Worth {
        improvement: *improvement,
        saved,
        proven: found.is_some_and(|found| found.proven),
    }
}

/// The railroad with a longer track.
fn lengthened(railroad: &Railroad, track: TrackRef, by: Actual) -> Railroad {
    let mut longer = railroad.clone();
    let limits = longer.identity.way_limits();
    let usable = longer.network.usable(&longer.way, track);
    let page = &mut longer.way.stations[track.station.index()].tracks[track.track.index()];
    // What the tape says overrules what the switches give; the way in and out stays as it is.
    let span = page.span;
    page.usable = Some(model::Spanned {
        value: usable.length + by,
        span,
    });
    longer.network = Network::new(&longer.way, &limits);
    longer
}

/// How full each piece of open line and each track is.
fn loads(base: &Solved) -> Vec<Load> {
    let mut ends: Vec<Option<(i64, i64)>> = vec![None; base.problem.trains.len()];
    let mut held: BTreeMap<&str, (Vec<usize>, i64)> = BTreeMap::new();
    let mut next: Vec<Option<i64>> = vec![None; base.problem.trains.len()];
    let (mut first, mut last) = (i64::MAX, i64::MIN);
    for event in base.plan.events.iter().rev() {
        let leaves = next[event.train].replace(event.time);
        let operation = &base.problem.trains[event.train].operations[event.operation];
        let Some(leaves) = leaves else {
            continue;
        };
        ends[event.train] = Some((event.time, leaves));
        for used in &operation.resources {
            if !matches!(base.parts.resources[used.resource], Resource::Open { .. }) {
                continue;
            }
            let name = base.problem.resources[used.resource].as_str();
            let (trains, time) = held.entry(name).or_default();
            if !trains.contains(&event.train) {
                trains.push(event.train);
            }
            *time += leaves - event.time;
            first = first.min(event.time);
            last = last.max(leaves);
        }
    }
    let day = (last - first).max(1);
    let mut loads: Vec<Load> = held
        .into_iter()
        .map(|(name, (trains, time))| Load {
            what: name.to_owned(),
            trains: trains.len(),
            taken: time as f64 / day as f64,
        })
        .collect();
    loads.sort_by(|a, b| {
        b.taken
            .total_cmp(&a.taken)
            .then_with(|| a.what.cmp(&b.what))
    });
    loads
}

/// Adds trains until the line is full: copies of the train that goes farthest in each direction, spread
/// over the day.
fn carries(
    railroad: &Railroad,
    made: &[Option<Made>],
    base: &Solved,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Carries {
    let trains = base.parts.ways.len();
    let mut why = format!("{} more were all that was tried", options.most_extra);
    let mut fits = 0;
    let mut count = 1;
    // Doubling, then halving back.
    let mut full_at: Option<u32> = None;
    while count <= options.most_extra {
        if stop() {
            why = format!("stopped before {count} more were tried");
            break;
        }
        let step = match with_extra(railroad, made, base, count, options, stop) {
            Ok(()) => {
                fits = count;
                full_at.map_or(count, |full| (full - fits) / 2)
            }
            Err(reason) => {
                full_at = Some(count);
                why = format!("with {count} more {reason}");
                (count - fits) / 2
            }
        };
        if step == 0 || full_at.is_some_and(|full| full == fits + 1) {
            break;
        }
        count = fits + step;
    }
    Carries {
        trains,
        extra: fits,
        why,
    }
}

/// A train keeps the track it ends on for the rest of the day: one that is this late found none.
const NO_TRACK: RailSpan = RailSpan::from_minutes(12 * 60);

/// Whether a number of trains more can be run.
fn with_extra(
    railroad: &Railroad,
    made: &[Option<Made>],
    base: &Solved,
    count: u32,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<(), String> {
    let mut fuller = railroad.clone();
    let added = add_trains(&mut fuller, count);
    if added == 0 {
        return Err("there is no through train to copy".to_owned());
    }
    let lowest = base.parts.classes.len().saturating_sub(1);
    let solved = pressed(&fuller, options, made)
        .and_then(|(problem, parts)| solve(problem, parts, None, options, stop))
        .and_then(|solved| settled(solved, options, stop))
        .map_err(|no_day| no_day.to_string())?;
    // The classes above the lowest lose nothing by them.
    for rank in 0..lowest {
        let (before, after) = (base.cost.rank(rank as u8), solved.cost.rank(rank as u8));
        if after > before {
            let class = base.parts.classes[rank];
            return Err(format!(
                "class {class} loses {}",
                RailSpan::from_seconds(after - before)
            ));
        }
    }
    let lost = solved.cost.rank(lowest as u8) - base.cost.rank(lowest as u8);
    let each = RailSpan::from_seconds(lost / i64::from(added));
    if each > NO_TRACK {
        return Err("there is no track left at the end of its way for each of them".to_owned());
    }
    if each > options.patience {
        return Err(format!("each of them costs the lowest class {each}"));
    }
    Ok(())
}

/// Adds trains like the one that goes farthest in each direction, of the lowest class, spread over the day.
fn add_trains(railroad: &mut Railroad, count: u32) -> u32 {
    let service = &railroad.service;
    let lowest = service
        .trains
        .iter()
        .filter_map(|train| train.class)
        .map(|class| class.value)
        .max();
    let span = |train: &transportation::Train| {
        let hours = train.hours();
        hours.map_or(RailSpan::ZERO, |(leave, arrive)| arrive - leave)
    };
    let mile = |name: &Option<model::Spanned<String>>| {
        let station = railroad.way.find_station(&name.as_ref()?.value)?;
        let page = railroad.way.station(station);
        page.mile(page.line()?)
    };
    let far = |train: &transportation::Train| match (mile(&train.from), mile(&train.to)) {
        (Some(from), Some(to)) => (from - to).abs(),
        _ => 0.0,
    };
    let mut models: Vec<transportation::Train> = Vec::new();
    let mut directions: Vec<&str> = service
        .trains
        .iter()
        .filter_map(|train| Some(train.direction.as_ref()?.value.as_str()))
        .collect();
    directions.sort_unstable();
    directions.dedup();
    for direction in directions {
        let mine = service.trains.iter().filter(|train| {
            train
                .direction
                .as_ref()
                .is_some_and(|one| one.value == direction)
                && train
                    .kind
                    .is_some_and(|kind| kind.value == transportation::TrainKind::ThroughFreight)
        });
        let farthest = mine.max_by(|a, b| {
            far(a)
                .total_cmp(&far(b))
                .then_with(|| span(b).cmp(&span(a)))
                .then_with(|| b.symbol.value.cmp(&a.symbol.value))
        });
        models.extend(farthest.cloned());
    }
    let leaves = service.trains.iter().filter_map(|train| train.leave);
    let (first, last) = leaves.fold((i64::MAX, i64::MIN), |(first, last), leave| {
        let seconds = leave.value.seconds();
        (first.min(seconds), last.max(seconds))
    });
    if models.is_empty() || first > last {
        return 0;
    }
    for number in 0..count {
        let mut train = models[number as usize % models.len()].clone();
        let Some(leave) = train.leave else {
            continue;
        };
        let at = first + (last - first) * i64::from(2 * number + 1) / i64::from(2 * count);
        let later = RailSpan::from_seconds(at - leave.value.seconds());
        let shift = |time: &mut Option<model::Spanned<RailTime>>| {
            if let Some(time) = time {
                time.value += later;
            }
        };
        shift(&mut train.leave);
        shift(&mut train.arrive);
        for stop in &mut train.stops {
            shift(&mut stop.arrive);
            shift(&mut stop.leave);
        }
        train.symbol.value = format!("{} again {}", train.symbol.value, number + 1);
        if let (Some(class), Some(lowest)) = (&mut train.class, lowest) {
            class.value = lowest;
        }
        // It has an engine and a crew of its own.
        train.from_track = None;
        train.to_track = None;
        train.engines.clear();
        train.helper = None;
        train.job = None;
        train.meets.clear();
        railroad.service.trains.push(train);
    }
    count
}

#[cfg(test)]
mod tests;
