//! Asking the engine, and setting aside what cannot be worked from this side.

use switching::{Answer, CarId, Goal, Options, Reason, Unusable};

use super::work::Compiled;

/// A car that is not worked, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// The car.
    pub car: CarId,
    /// Whether it came with the train and is carried on; else it is left standing.
    pub carried: bool,
    /// Why.
    pub why: Reason,
}

/// A plan for as much of the work as can be done.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// The work that was planned: that asked for, but for what was set aside.
    pub asked: Compiled,
    /// What was set aside, each with a proof that it cannot be worked so.
    pub left: Vec<Left>,
    /// What the engine answered in the end.
    pub answer: Answer,
    /// States generated, all questions together.
    pub nodes: u64,
}

/// How often work may be set aside.
const QUESTIONS: usize = 12;

/// Plans a town's work. What the engine proves impossible is set aside, car by car: what came with the
/// train is carried on, next to the engine; what stands is left.
///
/// # Errors
/// If the town or the work contradicts itself; all problems at once.
pub fn solve(
    compiled: &Compiled,
    options: &Options,
    stop: &dyn Fn() -> bool,
) -> Result<Planned, Vec<Unusable>> {
    let mut asked = compiled.clone();
    let mut left: Vec<Left> = vec![];
    let mut nodes = 0;
    for _ in 0..QUESTIONS {
        let answer = ask(&asked, options, stop, &mut nodes)?;
        let Answer::Impossible(reasons) = &answer else {
            return Ok(Planned {
                asked,
                left,
                answer,
                nodes,
            });
        };
        let before = left.len();
        for reason in reasons {
            let Some(car) = whom(&asked, reason) else {
                continue;
            };
            let Some(instead) = asked.instead[car.index()].take() else {
                continue;
            };
            let carried = asked.work.train.behind.contains(&car);
            asked.work.cars[car.index()].goal = instead;
            left.push(Left {
                car,
                carried,
                why: reason.clone(),
            });
        }
        if left.len() == before {
            return Ok(Planned {
                asked,
                left,
                answer,
                nodes,
            });
        }
    }
    let answer = ask(&asked, options, stop, &mut nodes)?;
    Ok(Planned {
        asked,
        left,
        answer,
        nodes,
    })
}

/// Asks the engine. Where it cannot prove its plan best, it is asked again with fewer places to set cars
/// down, which lets it look farther ahead: such a plan is a plan of the whole town too, and what was
/// proven of the whole town stays proven.
fn ask(
    asked: &Compiled,
    options: &Options,
    stop: &dyn Fn() -> bool,
    nodes: &mut u64,
) -> Result<Answer, Vec<Unusable>> {
    let count = |answer: &Answer| match answer {
        Answer::Solved(solved) => solved.nodes,
        Answer::GaveUp { nodes, .. } => *nodes,
        Answer::Impossible(_) => 0,
    };
    let mut best = switching::solve(&asked.town.town, &asked.work, options, stop)?;
    *nodes += count(&best);
    let half = Options {
        node_budget: options.node_budget / 2,
        ..options.clone()
    };
    for &places in &asked.town.prefixes {
        let (cost, bound) = match &best {
            Answer::Solved(solved) if !solved.proven => (solved.cost, solved.bound),
            Answer::GaveUp { bound, .. } => (u32::MAX, *bound),
            _ => break,
        };
        if stop() {
            break;
        }
        let mut town = asked.town.town.clone();
        town.places.truncate(places);
        let other = switching::solve(&town, &asked.work, &half, stop)?;
        *nodes += count(&other);
        if let Answer::Solved(mut solved) = other
            && solved.cost < cost
        {
            solved.bound = bound;
            solved.proven = solved.cost <= bound;
            best = Answer::Solved(solved);
        }
    }
    Ok(best)
}

/// The car that a reason is about; for a track too full, the last of those bound for it.
fn whom(asked: &Compiled, reason: &Reason) -> Option<CarId> {
    let named = |name: &str| {
        asked
            .work
            .cars
            .iter()
            .position(|car| car.name == name)
            .map(|at| CarId(at as u16))
    };
    match reason {
        Reason::WrongEnd { car, .. } | Reason::TooShort { car, .. } => named(car),
        Reason::TooFull { place, .. } => {
            let bound = |goal: &Goal| match goal {
                Goal::Track { places, .. } => places
                    .iter()
                    .any(|at| asked.town.town.places[at.index()].name == *place),
                Goal::Spot { place: at, .. } => asked.town.town.places[at.index()].name == *place,
                _ => false,
            };
            (0..asked.work.cars.len())
                .rev()
                .find(|&at| bound(&asked.work.cars[at].goal) && asked.instead[at].is_some())
                .map(|at| CarId(at as u16))
        }
        _ => None,
    }
}
