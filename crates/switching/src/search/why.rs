//! Proofs that some work cannot be done, found without looking at all of it.

use super::problem::Problem;
use super::step::{Measure, Stepper};
use super::store::Store;
use crate::answer::Reason;
use crate::town::Town;
use crate::work::{CarId, Goal, Standing, Work};

/// Everything that can be proven impossible at a glance: tracks overfull, and cars that could not
/// be brought home even if there were no other car and no train but the engine. Taking other cars
/// away only ever makes room, so what fails then fails always.
pub(crate) fn impossible(town: &Town, work: &Work) -> Vec<Reason> {
    let mut out = vec![];
    for (i, p) in town.places.iter().enumerate() {
        let needed: u32 = work
            .cars
            .iter()
            .filter(|c| match &c.goal {
                Goal::Track { places, .. } => places.len() == 1 && places[0].index() == i,
                Goal::Spot { place, .. } => place.index() == i,
                _ => false,
            })
            .map(|c| c.length)
            .sum();
        let capacity = town.place_length(crate::town::PlaceId(i as u16));
        if needed > capacity {
            out.push(Reason::TooFull {
                place: p.name.clone(),
                capacity,
                needed,
                over: needed - capacity,
            });
        }
    }
    // A second engine makes too many things possible for this simple argument.
    if work.spare.is_some() || !out.is_empty() {
        return out;
    }
    // The same car in the same spot with the same goal need not be looked at twice.
    for (i, car) in work.cars.iter().enumerate() {
        if car.immovable || car.goal == Goal::Anywhere {
            continue;
        }
        let alone = lone(work, CarId(i as u16));
        if reachable(town, &alone) {
            continue;
        }
        let goal = goal_words(town, &car.goal);
        out.push(if reachable(&stretched(town, &alone), &alone) {
            Reason::TooShort { car: car.name.clone(), goal }
        } else {
            Reason::WrongEnd { car: car.name.clone(), goal }
        });
    }
    if out.is_empty()
        && let Some(d) = &work.departure
    {
        let mut empty = lone(work, CarId(u16::MAX));
        empty.departure.clone_from(&work.departure);
        if let Some(x) = &mut empty.departure {
            x.caboose = None;
        }
        if !reachable(town, &empty) {
            let boundary = town.nodes[d.boundary.index()].name.clone();
            out.push(Reason::CannotLeave { boundary });
        }
    }
    out
}

fn goal_words(town: &Town, goal: &Goal) -> String {
    let name = |p: crate::town::PlaceId| town.places[p.index()].name.clone();
    match goal {
        Goal::Anywhere => "anywhere".into(),
        Goal::Track { places, .. } => {
            format!("to {}", places.iter().map(|&p| name(p)).collect::<Vec<_>>().join(" or "))
        }
        Goal::Spot { place, spots } => {
            let all: Vec<_> = spots
                .iter()
                .map(|&s| town.places[place.index()].spots[s as usize].name.clone())
                .collect();
            format!("to {} at {}", all.join(" or "), name(*place))
        }
        Goal::Leave { .. } => "along with the train".into(),
    }
}

/// The work with one movable car only; immovable cars stay, for they are always in the way.
fn lone(work: &Work, car: CarId) -> Work {
    let keep: Vec<CarId> = (0..work.cars.len() as u16)
        .map(CarId)
        .filter(|&c| c == car || work.cars[c.index()].immovable)
        .collect();
    let new = |c: CarId| keep.iter().position(|&k| k == c).map(|i| CarId(i as u16));
    let mut w = work.clone();
    w.cars = keep.iter().map(|c| work.cars[c.index()].clone()).collect();
    for c in &mut w.cars {
        if let Goal::Track { rank, .. } = &mut c.goal {
            *rank = None;
        }
        if let Goal::Leave { block } = &mut c.goal {
            *block = 0;
        }
    }
    w.standing = work
        .standing
        .iter()
        .map(|s| Standing {
            place: s.place,
            cars: s
                .cars
                .iter()
                .filter_map(|x| {
                    new(x.car).map(|car| crate::work::StandingCar { car, at: x.at })
                })
                .collect(),
        })
        .filter(|s| !s.cars.is_empty())
        .collect();
    w.train.ahead = work.train.ahead.iter().filter_map(|&c| new(c)).collect();
    w.train.behind = work.train.behind.iter().filter_map(|&c| new(c)).collect();
    w.trains_due.clear();
    w.departure = None;
    w
}

/// The same town with every track much longer. Marks keep their distance from end 0.
fn stretched(town: &Town, work: &Work) -> Town {
    let mut t = town.clone();
    let total: u32 = work.train.engine.length + work.cars.iter().map(|c| c.length).sum::<u32>();
    for x in &mut t.tracks {
        x.length += 2 * total;
    }
    t
}

/// Whether the car can be brought home at all: complete search, which is tiny for one car.
fn reachable(town: &Town, work: &Work) -> bool {
    if !work.check(town).is_empty() {
        // Positions that only made sense with the other cars; claim nothing.
        return true;
    }
    // What must be clear in the end must also be clear with one car: keep that out of it.
    let mut town = town.clone();
    for p in &mut town.places {
        p.clear_at_end = false;
    }
    let problem = Problem::new(&town, work, false);
    let Some(mut s) = Stepper::new(problem, work, Measure::Moves) else { return true };
    let mut store = Store::new(s.stride());
    let start = s.start_state();
    store.add(&start);
    let mut i = 0;
    while i < store.len() {
        let state = store.get(i).to_vec();
        if s.is_goal(&state) {
            return true;
        }
        s.successors(&state, 0, &mut |_, next, _, _| {
            store.add(next);
        });
        if store.len() > 20_000 {
            return true;
        }
        i += 1;
    }
    false
}
