//! Shows that no two trains hold the same track at the same time, and that every train holds the track
//! it is to run on. Shares no code with what gives the authorities.

use std::collections::HashSet;

use model::time::TimeStyle;

use super::{Limits, Step};
use crate::order::{
    PlaceNo, RunNo, Territory,
    judge::{Fault, Finding},
};

/// A train on a district: from which of its stations.
type Use = (RunNo, usize);

/// Whether two trains on the same district cannot be there together.
fn conflict(territory: &Territory, one: Use, other: Use) -> bool {
    let visit = |(run, at): Use| territory.run(run).visits[at];
    let (a, b) = (visit(one), visit(other));
    let (Some(district), true) = (a.next, a.next == b.next && one.0 != other.0) else {
        return false;
    };
    let district = territory.district(district);
    if a.place == b.place {
        district.blocks <= 1
    } else {
        district.tracks == 1
    }
}

fn stretch(territory: &Territory, (run, at): Use) -> String {
    let visits = &territory.run(run).visits;
    format!(
        "between {} and {}",
        territory.place(visits[at].place).name,
        territory.place(visits[at + 1].place).name
    )
}

fn finding(fault: Fault, trains: &[RunNo], number: Option<u32>, sentence: String) -> Finding {
    Finding {
        fault,
        trains: trains.to_vec(),
        order: number,
        sentence,
    }
}

/// Judges authorities to occupy track.
pub fn limits(territory: &Territory, all: &[Limits], style: TimeStyle) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut numbers = HashSet::new();
    for given in all {
        let run = territory.run(given.train);
        let number = given.number;
        if !numbers.insert(number) {
            let sentence = format!("authority {number} is given twice");
            found.push(finding(
                Fault::Garbled,
                &[given.train],
                Some(number),
                sentence,
            ));
        }
        if given.from >= given.to || given.to >= run.visits.len() {
            let sentence = format!("authority {number} leads {} nowhere", run.title());
            found.push(finding(
                Fault::Garbled,
                &[given.train],
                Some(number),
                sentence,
            ));
            return found;
        }
        for &(at, time) in &given.clear {
            if run.visits.get(at).is_none_or(|visit| time < visit.arrive) {
                let place = run
                    .visits
                    .get(at)
                    .map(|visit| &territory.place(visit.place).name);
                let sentence = format!(
                    "under authority {number} {} reports clear at {} at {}, before it is there",
                    run.title(),
                    place.map_or("nowhere", String::as_str),
                    time.show(style)
                );
                found.push(finding(
                    Fault::Garbled,
                    &[given.train],
                    Some(number),
                    sentence,
                ));
            }
        }
    }
    for (at, one) in all.iter().enumerate() {
        for other in &all[at + 1..] {
            if let Some((a, b)) = overlap(territory, one, other) {
                let sentence = format!(
                    "{} by authority {} and {} by authority {} may both be on the track {}",
                    territory.run(a.0).title(),
                    one.number,
                    territory.run(b.0).title(),
                    other.number,
                    stretch(territory, a)
                );
                found.push(finding(
                    Fault::BothAuthorized,
                    &[a.0, b.0],
                    Some(other.number),
                    sentence,
                ));
            }
        }
    }
    found.extend(uncovered(territory, all, style));
    found
}

/// A piece of track that two authorities give at the same time.
fn overlap(territory: &Territory, one: &Limits, other: &Limits) -> Option<(Use, Use)> {
    for a in one.from..one.to {
        for b in other.from..other.to {
            let (first, second) = ((one.train, a), (other.train, b));
            if conflict(territory, first, second)
                && !before(territory, one, a, other)
                && !before(territory, other, b, one)
            {
                return Some((first, second));
            }
        }
    }
    None
}

/// Whether a train is off the piece beyond its `at`-th station before another authority takes effect.
fn before(territory: &Territory, one: &Limits, at: usize, other: &Limits) -> bool {
    let reported = one
        .clear
        .iter()
        .any(|&(reached, time)| reached > at && time <= other.given);
    let run = territory.run(one.train);
    let waits = other.after.iter().any(|&(train, place)| {
        train == one.train && run.visit_at(place, 0).is_some_and(|reached| reached > at)
    });
    reported || waits
}

/// Pieces of track that the plan has a train on without authority.
fn uncovered(territory: &Territory, all: &[Limits], style: TimeStyle) -> Vec<Finding> {
    let mut found = Vec::new();
    for (no, run) in territory.numbered().filter(|(_, run)| run.runs) {
        for (at, visit) in run.visits.iter().enumerate() {
            if visit.next.is_none() || at + 1 == run.visits.len() {
                continue;
            }
            let arrived = |(train, place): &(RunNo, PlaceNo)| {
                let other = territory.run(*train);
                other
                    .visit_at(*place, 0)
                    .is_some_and(|reached| other.visits[reached].arrive <= visit.leave)
            };
            let held = all.iter().any(|given| {
                given.train == no
                    && (given.from..given.to).contains(&at)
                    && given.given <= visit.leave
                    && given.after.iter().all(arrived)
            });
            if !held {
                let sentence = format!(
                    "{} has no authority to leave {} at {}",
                    run.title(),
                    territory.place(visit.place).name,
                    visit.leave.show(style)
                );
                found.push(finding(Fault::NoAuthority, &[no], None, sentence));
            }
        }
    }
    found
}

/// Judges a list worked without a clock: whatever the pace of the crews, of two steps over the same
/// track one has to be done before the other begins.
pub fn steps(territory: &Territory, list: &[Step]) -> Vec<Finding> {
    let mut found = Vec::new();
    let count = list.len();
    let index = |number: u32| list.iter().position(|step| step.number == number);
    // `done[b]` holds the steps that are done before b begins.
    let mut earlier: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (at, step) in list.iter().enumerate() {
        for &after in &step.after {
            match index(after) {
                Some(before) => earlier[at].push(before),
                None => {
                    let sentence = format!(
                        "step {} waits for step {after}, which there is not",
                        step.number
                    );
                    found.push(finding(
                        Fault::Garbled,
                        &[step.train],
                        Some(step.number),
                        sentence,
                    ));
                }
            }
        }
        for (before, other) in list.iter().enumerate() {
            if other.train == step.train && other.to <= step.from {
                earlier[at].push(before);
            }
        }
    }
    let mut done: Vec<Option<Vec<bool>>> = vec![None; count];
    loop {
        let ready = (0..count).find(|&at| {
            done[at].is_none() && earlier[at].iter().all(|&before| done[before].is_some())
        });
        let Some(at) = ready else {
            break;
        };
        let mut before = vec![false; count];
        for &other in &earlier[at] {
            before[other] = true;
            if let Some(theirs) = &done[other] {
                for (mine, theirs) in before.iter_mut().zip(theirs) {
                    *mine |= theirs;
                }
            }
        }
        done[at] = Some(before);
    }
    let stuck: Vec<String> = (0..count)
        .filter(|&at| done[at].is_none())
        .map(|at| list[at].number.to_string())
        .collect();
    if !stuck.is_empty() {
        let sentence = format!(
            "steps {} wait for each other and are never done",
            stuck.join(", ")
        );
        found.push(finding(Fault::NoAuthority, &[], None, sentence));
        return found;
    }
    let precedes = |a: usize, b: usize| done[b].as_ref().is_some_and(|before| before[a]);
    for (a, one) in list.iter().enumerate() {
        for (b, other) in list.iter().enumerate().skip(a + 1) {
            let shared = (one.from..one.to)
                .flat_map(|at| (other.from..other.to).map(move |theirs| (at, theirs)))
                .find(|&(at, theirs)| conflict(territory, (one.train, at), (other.train, theirs)));
            if let Some((at, _)) = shared
                && !precedes(a, b)
                && !precedes(b, a)
            {
                let sentence = format!(
                    "steps {} and {} may be under way at once, and both use the track {}",
                    one.number,
                    other.number,
                    stretch(territory, (one.train, at))
                );
                found.push(finding(
                    Fault::BothAuthorized,
                    &[one.train, other.train],
                    Some(other.number),
                    sentence,
                ));
            }
        }
    }
    for (no, run) in territory.numbered().filter(|(_, run)| run.runs) {
        let mut at = 0;
        let mut mine: Vec<&Step> = list.iter().filter(|step| step.train == no).collect();
        mine.sort_by_key(|step| step.from);
        for step in mine {
            if step.from != at {
                break;
            }
            at = step.to;
        }
        if at + 1 < run.visits.len() {
            let sentence = format!(
                "the list takes {} no farther than {}",
                run.title(),
                territory.place(run.visits[at].place).name
            );
            found.push(finding(Fault::NoAuthority, &[no], None, sentence));
        }
    }
    found
}
