//! Who gets by whom, and where, as the times of a plan have it.

use std::collections::BTreeMap;

use engineering::{Way, ids::StationId, station::TrackUse};

use super::{Call, DayPlan, Encounter, EncounterKind, Holds, TrainIndex};

/// For each train and each of its calls the trains it meets or passes there.
///
/// Two trains meet at a station when they run over the open line on some side of it in opposite directions,
/// the one before and the other after both were there. One passes another when both leave by the same open
/// line and came by the same, and the first to arrive is the second to leave.
pub fn encounters(way: &Way, plan: &DayPlan) -> Vec<Vec<Vec<Encounter>>> {
    let mut found: Vec<Vec<Vec<Encounter>>> = plan
        .trains
        .iter()
        .map(|train| vec![Vec::new(); train.calls.len()])
        .collect();
    let mut at: BTreeMap<StationId, Vec<(usize, usize)>> = BTreeMap::new();
    for (train, page) in plan.trains.iter().enumerate() {
        for (call, page) in page.calls.iter().enumerate() {
            at.entry(page.station).or_default().push((train, call));
        }
    }
    for here in at.values() {
        for (i, &first) in here.iter().enumerate() {
            for &second in &here[i + 1..] {
                if let Some((kind, other)) = kind(plan, first, second) {
                    let mut note = |(train, call): (usize, usize), with: usize, kind| {
                        found[train][call].push(Encounter {
                            other: TrainIndex(with),
                            kind,
                            holds: holds(way, plan, train, call),
                        });
                    };
                    note(first, second.0, kind);
                    note(second, first.0, other);
                }
            }
        }
    }
    for calls in &mut found {
        for meets in calls {
            meets.sort_by_key(|meet| meet.other);
        }
    }
    found
}

fn beside(plan: &DayPlan, train: usize, call: usize) -> [Option<StationId>; 2] {
    let calls = &plan.trains[train].calls;
    [
        call.checked_sub(1).map(|at| calls[at].station),
        calls.get(call + 1).map(|call| call.station),
    ]
}

fn kind(
    plan: &DayPlan,
    first: (usize, usize),
    second: (usize, usize),
) -> Option<(EncounterKind, EncounterKind)> {
    let a = &plan.trains[first.0].calls[first.1];
    let b = &plan.trains[second.0].calls[second.1];
    let there = |call: &Call, one: &Call| call.arrive <= one.leave && one.arrive <= call.leave;
    if !there(a, b) {
        return None;
    }
    let [a_from, a_to] = beside(plan, first.0, first.1);
    let [b_from, b_to] = beside(plan, second.0, second.1);
    let opposite = (a_from.is_some() && a_from == b_to) || (a_to.is_some() && a_to == b_from);
    if opposite {
        return Some((EncounterKind::Meet, EncounterKind::Meet));
    }
    let same = a_to.is_some() && a_to == b_to && a_from.is_some() && a_from == b_from;
    if !same {
        return None;
    }
    if a.arrive < b.arrive && b.leave < a.leave {
        return Some((EncounterKind::Passed, EncounterKind::Passes));
    }
    if b.arrive < a.arrive && a.leave < b.leave {
        return Some((EncounterKind::Passes, EncounterKind::Passed));
    }
    None
}

fn holds(way: &Way, plan: &DayPlan, train: usize, call: usize) -> Holds {
    let page = &plan.trains[train].calls[call];
    let Some(track) = page.track else {
        return Holds::Clear;
    };
    match way.station(page.station).track(track).usage {
        TrackUse::Main => Holds::Main,
        TrackUse::Siding => Holds::Siding,
        _ => Holds::Other,
    }
}
