//! Proofs that some work cannot be done, found without looking at all of it.

use super::lone::{Look, lone_work, look};
use super::map::Maps;
use crate::answer::Reason;
use crate::town::Town;
use crate::work::{CarId, Goal, Work};

/// Everything that can be proven impossible at a glance: tracks overfull, and cars that could not
/// be brought home even if there were no other car and no train but the engine. Taking other cars
/// away only ever makes room, so what fails then fails always.
pub(crate) fn impossible(town: &Town, work: &Work, maps: &Maps) -> Vec<Reason> {
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
    // The same car in the same place with the same goal need not be looked at twice.
    let mut seen: Vec<(u32, &Goal, Option<usize>, bool)> = vec![];
    for (i, car) in work.cars.iter().enumerate() {
        if car.immovable || car.goal == Goal::Anywhere {
            continue;
        }
        let id = CarId(i as u16);
        let place = work
            .standing
            .iter()
            .position(|s| s.cars.iter().any(|c| c.car == id));
        let key = (car.length, &car.goal, place, work.train.ahead.contains(&id));
        if seen.contains(&key) {
            continue;
        }
        seen.push(key);
        let alone = lone_work(work, Some(id));
        if !matches!(look(town, &alone, maps), Look::No) {
            continue;
        }
        let goal = goal_words(town, &car.goal);
        out.push(
            match look(&stretched(town, &alone), &alone, &Maps::default()) {
                Look::No => Reason::WrongEnd {
                    car: car.name.clone(),
                    goal,
                },
                _ => Reason::TooShort {
                    car: car.name.clone(),
                    goal,
                },
            },
        );
    }
    if out.is_empty()
        && let Some(d) = &work.departure
        && matches!(look(town, &lone_work(work, None), maps), Look::No)
    {
        let boundary = town.nodes[d.boundary.index()].name.clone();
        out.push(Reason::CannotLeave { boundary });
    }
    out
}

fn goal_words(town: &Town, goal: &Goal) -> String {
    let name = |p: crate::town::PlaceId| town.places[p.index()].name.clone();
    match goal {
        Goal::Anywhere => "anywhere".into(),
        Goal::Track { places, .. } => {
            format!(
                "to {}",
                places
                    .iter()
                    .map(|&p| name(p))
                    .collect::<Vec<_>>()
                    .join(" or ")
            )
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

/// The same town with every track much longer. Marks keep their distance from end 0.
fn stretched(town: &Town, work: &Work) -> Town {
    let mut t = town.clone();
    let total: u32 = work.train.engine.length + work.cars.iter().map(|c| c.length).sum::<u32>();
    for x in &mut t.tracks {
        x.length += 2 * total;
    }
    t
}
