//! A plan in plain words, for someone who has never seen the town.

use crate::plan::{Handling, Leg, Plan, Side};
use crate::rates::{Estimate, Rates};
use crate::replay::{Picture, Refusal, replay};
use crate::town::{NodeId, NodeKind, PlaceId, Port, Town, TrackEnd, TrackId};
use crate::work::{CarId, Work};

/// One move in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// What is done, in a few words ("Set out 2 cars at elevator spur").
    pub title: String,
    /// Step by step.
    pub steps: Vec<String>,
    /// How long it takes.
    pub time: Estimate,
}

/// The whole plan in words: one entry for each move, then one for the departure.
///
/// # Errors
/// If the plan is not legal: nothing is described that cannot be done.
pub fn describe(
    town: &Town,
    work: &Work,
    plan: &Plan,
    rates: &Rates,
) -> Result<Vec<Words>, Refusal> {
    let pictures = replay(town, work, plan)?;
    let mut out = vec![];
    for (m, before) in plan.moves.iter().zip(&pictures) {
        let mut steps = runs(town, work, before, &m.legs);
        let title = handling(town, work, before, &m.handling, &mut steps);
        out.push(Words {
            title,
            steps,
            time: rates.estimate(&m.effort, 1),
        });
    }
    if let (Some(l), [.., before, _]) = (&plan.leaving, pictures.as_slice()) {
        let mut steps = runs(town, work, before, &l.legs);
        let where_to = &town.nodes[l.boundary.index()].name;
        let n = before.train.len() - 1;
        let with = if n == 0 {
            "without cars".into()
        } else {
            format!("with {}", count(n))
        };
        steps.push(format!("The work is done. Leave by the {where_to} {with}."));
        out.push(Words {
            title: format!("Leave by the {where_to}"),
            steps,
            time: rates.estimate(&l.effort, 1),
        });
    }
    Ok(out)
}

fn count(n: usize) -> String {
    if n == 1 {
        "1 car".into()
    } else {
        format!("{n} cars")
    }
}

/// "A", "A and B", "A, B and C".
fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [head @ .., last] => format!("{} and {last}", head.join(", ")),
    }
}

fn names(work: &Work, cars: &[CarId]) -> String {
    list(
        &cars
            .iter()
            .map(|c| work.cars[c.index()].name.clone())
            .collect::<Vec<_>>(),
    )
}

/// Orients a line of tracks from front to rear: the end towards the front of each, and the other.
fn orient(town: &Town, line: &[TrackId], front: Option<TrackEnd>) -> Vec<(TrackEnd, TrackEnd)> {
    for first in 0..2 {
        let t = &town.tracks[line[0].index()];
        if line.len() == 1 && front.is_some_and(|f| f != t.ends[first]) {
            continue;
        }
        let mut row = vec![(t.ends[first], t.ends[1 - first])];
        for x in &line[1..] {
            let t = &town.tracks[x.index()];
            let near = row[row.len() - 1].1;
            match (0..2).find(|&n| town.joined(near, t.ends[n])) {
                Some(n) => row.push((t.ends[n], t.ends[1 - n])),
                None => break,
            }
        }
        if row.len() == line.len() {
            return row;
        }
    }
    vec![]
}

/// Hand-thrown switches between the tracks of a row that lie under it on their reverse leg, from
/// front to rear, with the track of that leg.
fn reversed(town: &Town, line: &[TrackId], front: Option<TrackEnd>) -> Vec<(NodeId, TrackId)> {
    let row = orient(town, line, front);
    let mut out = vec![];
    for i in 1..row.len() {
        let (a, b) = (row[i - 1].1, row[i].0);
        let hand = town.nodes[a.node.index()].kind == NodeKind::Switch { by_hand: true };
        if hand && a.port == Port::Reverse {
            out.push((a.node, line[i - 1]));
        } else if hand && b.port == Port::Reverse {
            out.push((a.node, line[i]));
        }
    }
    out
}

fn runs(town: &Town, work: &Work, before: &Picture, legs: &[Leg]) -> Vec<String> {
    let mut out = vec![];
    let at = before
        .train
        .iter()
        .position(|&i| i == before.engine)
        .unwrap_or(0);
    let ahead = at;
    let behind = before.train.len() - 1 - at;
    // Switches under the train; anything newly run over must be lined first, anything cleared is
    // lined back.
    let alone = (before.tracks.len() == 1).then_some(before.ahead);
    let mut under = reversed(town, &before.tracks, alone);
    for (i, leg) in legs.iter().enumerate() {
        let pushed = if leg.leading == Side::Front {
            ahead
        } else {
            behind
        };
        let pulled = ahead + behind - pushed;
        let verb = match (pushed, pulled) {
            (0, 0) => "Run light",
            (0, _) => "Pull",
            (_, _) => "Shove",
        };
        let front = (leg.line.len() == 1).then_some(before.ahead);
        let mut passed = reversed(town, &leg.line, front);
        if leg.leading == Side::Front {
            passed.reverse();
        }
        let name = |n: NodeId| format!("the {}", town.nodes[n.index()].name);
        let lined: Vec<String> = passed
            .iter()
            .filter(|s| !under.contains(s))
            .map(|s| format!("{} for the {}", name(s.0), town.tracks[s.1.index()].name))
            .collect();
        let single = (leg.stop.tracks.len() == 1)
            .then(|| facing(town, before, leg))
            .flatten();
        let now = reversed(town, &leg.stop.tracks, single);
        let back: Vec<String> = passed
            .iter()
            .filter(|s| !now.contains(s))
            .map(|s| name(s.0))
            .collect();
        under = now;
        let lead = if leg.leading == Side::Front {
            leg.stop.tracks.first()
        } else {
            leg.stop.tracks.last()
        };
        let onto = lead.map_or(String::new(), |t| town.tracks[t.index()].name.clone());
        let mut text = String::new();
        if !lined.is_empty() {
            text = format!("Line {}. ", list(&lined));
        }
        let last = i + 1 == legs.len();
        let stop = if last {
            String::new()
        } else {
            match clear_of(town, work, before, leg) {
                Some(node) => format!(
                    ", and stop with the whole train clear of the {}",
                    town.nodes[node.index()].name
                ),
                None => ", and stop".into(),
            }
        };
        text += &format!("{verb} to the {onto}{stop}.");
        if !back.is_empty() {
            text += &format!(" Line {} back.", list(&back));
        }
        out.push(text);
    }
    out
}

/// The switch that the train has just cleared when it stops.
fn clear_of(town: &Town, work: &Work, before: &Picture, leg: &Leg) -> Option<NodeId> {
    let row = orient(
        town,
        &leg.stop.tracks,
        (leg.stop.tracks.len() == 1)
            .then(|| facing(town, before, leg))
            .flatten(),
    );
    let total: u32 = leg
        .stop
        .tracks
        .iter()
        .map(|t| town.tracks[t.index()].length)
        .sum();
    let length: u32 = before
        .train
        .iter()
        .map(|&i| match work.cars.get(i as usize) {
            Some(c) => c.length,
            None if i as usize == work.cars.len() => work.train.engine.length,
            None => work.spare.as_ref().map_or(0, |s| s.engine.length),
        })
        .sum();
    let gap = if leg.leading == Side::Front {
        total.checked_sub(leg.stop.front_at + length)?
    } else {
        leg.stop.front_at
    };
    let end = if leg.leading == Side::Front {
        row.last()?.1
    } else {
        row.first()?.0
    };
    let switch = matches!(town.nodes[end.node.index()].kind, NodeKind::Switch { .. });
    (gap == 0 && switch).then_some(end.node)
}

/// Which end of a single track the front looks to, from the line of the run.
fn facing(town: &Town, before: &Picture, leg: &Leg) -> Option<TrackEnd> {
    let front = (leg.line.len() == 1).then_some(before.ahead);
    let row = orient(town, &leg.line, front);
    let i = leg
        .line
        .iter()
        .position(|t| Some(t) == leg.stop.tracks.first())?;
    row.get(i).map(|r| r.0)
}

fn place_name(town: &Town, p: PlaceId) -> &str {
    &town.places[p.index()].name
}

fn handling(
    town: &Town,
    work: &Work,
    before: &Picture,
    h: &Handling,
    steps: &mut Vec<String>,
) -> String {
    match h {
        Handling::Couple { place, cars, .. } => {
            let name = place_name(town, *place);
            let standing = before.places[place.index()].len();
            let them = names(work, cars);
            if town.places[place.index()].on_grade {
                steps.push(format!("Release the hand brakes on {them}."));
            }
            if standing > cars.len() {
                let last = &work.cars[cars[cars.len() - 1].index()].name;
                steps.push(format!(
                    "Couple to {them}. Cut behind {last} and leave the other {} standing.",
                    count(standing - cars.len())
                ));
            } else {
                let all = if cars.len() == 1 { "it" } else { "them all" };
                steps.push(format!("Couple to {them} and take {all} along."));
            }
            format!("Couple to {} on the {name}", count(cars.len()))
        }
        Handling::SetOut {
            place,
            cars,
            at,
            brakes,
            ..
        } => {
            let name = place_name(town, *place);
            let standing = before.places[place.index()].len();
            let spots: Vec<String> = cars
                .iter()
                .zip(at)
                .map(|(c, at)| {
                    let car = &work.cars[c.index()];
                    let spot = at.and_then(|a| spot_name(town, *place, a, car.length));
                    match spot {
                        Some(s) => format!("{} at {s}", car.name),
                        None => car.name.clone(),
                    }
                })
                .collect();
            let shove = if standing > 0 && at.iter().all(Option::is_none) {
                let n = count(standing);
                format!("Couple to the {n} standing there, shove in until there is room. ")
            } else {
                String::new()
            };
            steps.push(format!(
                "{shove}Set out {} on the {name} and cut off.",
                list(&spots)
            ));
            if *brakes > 0 {
                steps.push(format!(
                    "The {name} is on a grade: set {} before cutting off.",
                    if *brakes == 1 {
                        "the hand brake".into()
                    } else {
                        format!("all {brakes} hand brakes")
                    }
                ));
            }
            format!("Set out {} on the {name}", count(cars.len()))
        }
        Handling::ChangeEngine {
            place, to_place, ..
        } => {
            let own = work.cars.len();
            let other = if before.engine as usize == own {
                work.spare
                    .as_ref()
                    .map_or("the other engine", |s| &s.engine.name)
            } else {
                &work.train.engine.name
            };
            let (here, there) = (place_name(town, *place), place_name(town, *to_place));
            steps.push(format!(
                "Leave the engine with its cars on the {here}, walk to the {there} and take {other}."
            ));
            format!("Change to {other}")
        }
        Handling::Wait { due, until_s } => {
            let train = &work.trains_due[*due].name;
            steps.push(format!(
                "Stay in the clear of the main until {train} has passed (minute {}).",
                until_s.div_ceil(60)
            ));
            format!("Wait for {train}")
        }
    }
}

/// The marked position at which a car stands.
fn spot_name(town: &Town, place: PlaceId, at: u32, length: u32) -> Option<&str> {
    town.places[place.index()]
        .spots
        .iter()
        .filter(|s| (2 * at + length).abs_diff(2 * s.centre) <= 2 * s.tolerance)
        .min_by_key(|s| (2 * at + length).abs_diff(2 * s.centre))
        .map(|s| s.name.as_str())
}
