//! A town's work over many typical sessions, and which change of track would save most.

use model::time::RailSpan;
use railroad::Railroad;
use switching::{Answer, Options};

use super::{
    change::{Change, candidates},
    compile::CompiledTown,
    session::{Dice, Facts, Sessions},
    solve::{Planned, solve},
    visit::Visit,
    work::work,
};

/// What came of one session's work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Came {
    /// A plan.
    Plan {
        /// Moves.
        moves: usize,
        /// Real seconds expected.
        seconds: f64,
        /// What was minimised, and what it is at least.
        cost: u32,
        /// Proven: no plan costs less.
        bound: u32,
        /// Whether the plan is proven best.
        proven: bool,
    },
    /// There is none, proven.
    Impossible,
    /// None was found within the budget.
    NotFound,
    /// There was nothing to do.
    Nothing,
}

/// One session of one train.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The dice it was drawn by.
    pub seed: u64,
    /// Cars to set out, pick up or move.
    pub to_do: usize,
    /// Cars that could not be worked from this side, and why.
    pub left: Vec<String>,
    /// What came of it.
    pub came: Came,
    /// States generated.
    pub nodes: u64,
}

/// A train's sessions at a town.
#[derive(Debug, Clone, PartialEq)]
pub struct Reviewed {
    /// The train.
    pub visit: Visit,
    /// Its sessions.
    pub cases: Vec<Case>,
}

/// A change of track and what it saves.
#[derive(Debug, Clone, PartialEq)]
pub struct Saving {
    /// The change.
    pub change: Change,
    /// Cars that can be worked with it and could not without, a hundred sessions.
    pub cars: f64,
    /// Moves saved in a session, on average over those that had a plan before and after.
    pub moves: f64,
    /// Real seconds saved in a session, the same way.
    pub seconds: f64,
    /// Sessions it was tried on.
    pub sessions: usize,
}

/// Plans one session; `change` is made to the town first.
///
/// # Errors
/// If the town contradicts itself, in words.
pub fn case(
    sessions: &Sessions<'_>,
    at: usize,
    seed: u64,
    change: Option<&Change>,
    options: &Options,
    stop: &dyn Fn() -> bool,
) -> Result<(Case, Option<Planned>), String> {
    let visit = sessions.visits[at];
    let facts = sessions.facts(at, Dice::typical(seed));
    let mut case = Case {
        seed,
        to_do: facts.to_do(),
        left: vec![],
        came: Came::Nothing,
        nodes: 0,
    };
    if facts.to_do() == 0 && visit.onward.is_none() {
        return Ok((case, None));
    }
    let town = changed(sessions, &visit, &facts, change);
    let compiled = work(&town, &visit, &facts).map_err(|wrong| wrong.to_string())?;
    let planned = solve(&compiled, options, stop).map_err(|wrong| {
        let all: Vec<String> = wrong.iter().map(ToString::to_string).collect();
        all.join("; ")
    })?;
    case.nodes = planned.nodes;
    case.left = planned
        .left
        .iter()
        .map(|left| left.why.to_string())
        .collect();
    case.came = match &planned.answer {
        Answer::Solved(solved) => Came::Plan {
            moves: solved.moves,
            seconds: solved.time.seconds,
            cost: solved.cost,
            bound: solved.bound,
            proven: solved.proven,
        },
        Answer::Impossible(reasons) => {
            case.left.extend(reasons.iter().map(ToString::to_string));
            Came::Impossible
        }
        Answer::GaveUp { .. } => Came::NotFound,
    };
    Ok((case, Some(planned)))
}

fn changed(
    sessions: &Sessions<'_>,
    visit: &Visit,
    facts: &Facts,
    change: Option<&Change>,
) -> CompiledTown {
    let mut town = sessions.town(visit, facts);
    if let Some(change) = change {
        change.make(&mut town);
    }
    town
}

/// Sessions on which every change is tried; the best are then tried on all.
const FIRST: usize = 15;

/// The changes that save most on the same sessions, the best first; those that save nothing are left
/// out. Each change of length is given in the smallest of its sizes that saves nine tenths of what the
/// largest does. `told` is told of every change before it is tried, with its number and how many there are.
///
/// # Errors
/// If the town contradicts itself, in words.
pub fn savings(
    railroad: &Railroad,
    sessions: &Sessions<'_>,
    reviewed: &[Reviewed],
    options: &Options,
    stop: &dyn Fn() -> bool,
    told: &mut dyn FnMut(usize, usize),
) -> Result<Vec<Saving>, String> {
    let Some(first) = reviewed.first() else {
        return Ok(vec![]);
    };
    let facts = sessions.facts(0, Dice::today(0));
    let town = sessions.town(&first.visit, &facts);
    let try_on =
        |change: &Change, most: usize| saving(sessions, reviewed, change, most, options, stop);
    let all = candidates(railroad, &town);
    let mut found = vec![];
    for (at, sizes) in all.iter().enumerate() {
        told(at + 1, all.len());
        if stop() {
            break;
        }
        let Some(largest) = sizes.last() else {
            continue;
        };
        let best = try_on(largest, FIRST)?;
        if best.worth() <= 0.0 {
            continue;
        }
        let mut chosen = best.clone();
        for size in &sizes[..sizes.len() - 1] {
            let smaller = try_on(size, FIRST)?;
            if smaller.worth() >= 0.9 * best.worth() {
                chosen = smaller;
                break;
            }
        }
        found.push(chosen);
    }
    let order = |found: &mut Vec<Saving>| {
        found.sort_by(|a, b| b.worth().total_cmp(&a.worth()));
    };
    order(&mut found);
    found.truncate(3);
    let mut found = found
        .into_iter()
        .map(|saving| try_on(&saving.change, usize::MAX))
        .collect::<Result<Vec<_>, _>>()?;
    found.retain(|saving| saving.worth() > 0.0);
    order(&mut found);
    Ok(found)
}

impl Saving {
    /// Seconds saved in a session; a car that can be worked at last counts as two minutes.
    fn worth(&self) -> f64 {
        self.seconds + self.cars / 100.0 * 120.0
    }
}

fn saving(
    sessions: &Sessions<'_>,
    reviewed: &[Reviewed],
    change: &Change,
    most: usize,
    options: &Options,
    stop: &dyn Fn() -> bool,
) -> Result<Saving, String> {
    let (mut cars, mut moves, mut seconds) = (0.0, 0.0, 0.0);
    let (mut both, mut count) = (0usize, 0usize);
    for (at, reviewed) in reviewed.iter().enumerate() {
        for before in reviewed.cases.iter().take(most) {
            count += 1;
            if before.came == Came::Nothing {
                both += 1;
                continue;
            }
            let (after, _) = case(sessions, at, before.seed, Some(change), options, stop)?;
            cars += before.left.len() as f64 - after.left.len() as f64;
            if let (
                Came::Plan {
                    moves: m0,
                    seconds: s0,
                    ..
                },
                Came::Plan {
                    moves: m1,
                    seconds: s1,
                    ..
                },
            ) = (before.came, after.came)
                && before.left.len() == after.left.len()
            {
                both += 1;
                moves += m0 as f64 - m1 as f64;
                seconds += s0 - s1;
            }
        }
    }
    Ok(Saving {
        change: change.clone(),
        cars: 100.0 * cars / count.max(1) as f64,
        moves: moves / both.max(1) as f64,
        seconds: seconds / both.max(1) as f64,
        sessions: count,
    })
}

/// The value below which a part of a sorted list lies: the nearest rank.
pub fn quantile(sorted: &[f64], part: f64) -> Option<f64> {
    let rank = (part * sorted.len() as f64).ceil() as usize;
    sorted.get(rank.max(1) - 1).copied()
}

/// How long the work of a train at a town takes, for those who plan its stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dwell {
    /// Mean of the expected time, by the railroad's clock.
    pub mean: RailSpan,
    /// Standard deviation: between sessions, and within what is known of the crew's pace.
    pub spread: RailSpan,
    /// Nine sessions of ten take no longer.
    pub most: RailSpan,
    /// Sessions it rests on.
    pub sessions: usize,
}

/// Estimates the minutes of a train's stop for switching from some typical sessions. `None` if none of
/// them could be planned.
///
/// # Errors
/// If the town contradicts itself, in words.
pub fn estimate(
    railroad: &Railroad,
    sessions: &Sessions<'_>,
    at: usize,
    count: u64,
    options: &Options,
) -> Result<Option<Dwell>, String> {
    let mut times = vec![];
    let mut within = 0.0;
    for seed in 0..count {
        let (case, planned) = case(sessions, at, seed, None, options, &|| false)?;
        match (case.came, planned.map(|planned| planned.answer)) {
            (Came::Nothing, _) => times.push(0.0),
            (_, Some(Answer::Solved(solved))) => {
                times.push(solved.time.seconds);
                within += solved.time.spread.powi(2);
            }
            _ => {}
        }
    }
    times.sort_by(f64::total_cmp);
    let n = times.len() as f64;
    let Some(most) = quantile(&times, 0.9) else {
        return Ok(None);
    };
    let mean = times.iter().sum::<f64>() / n;
    let between = times.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / n;
    let clock = railroad.identity.clock;
    let span = |seconds: f64| RailSpan::from_seconds((seconds * clock).round() as i64);
    Ok(Some(Dwell {
        mean: span(mean),
        spread: span((between + within / n).sqrt()),
        most: span(most),
        sessions: times.len(),
    }))
}
