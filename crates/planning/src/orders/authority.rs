//! Authorities for the methods that are not timetable and orders.
//!
//! Each is made as long as it can be when it is given, which makes them the fewest: whatever others did
//! up to a station, none reaches farther than the longest, and a later one never has less behind it.

use model::time::RailTime;
use transportation::{
    Method,
    authority::{Limits, Step},
    order::{RunNo, Territory},
};

/// Authorities over a day, in the order in which they are given. With the dispatcher's word a train asks
/// again wherever it stops; a warrant reaches as far as the track is or will be free; signals clear one
/// district at a time.
pub fn limits(territory: &Territory, method: Method) -> Vec<Limits> {
    let mut all = Vec::new();
    for (train, run) in territory.numbered().filter(|(_, run)| run.runs) {
        let mut from = 0;
        while from + 1 < run.visits.len() {
            if run.visits[from].next.is_none() {
                from += 1;
                continue;
            }
            let longest = |given: RailTime, after: &[RunNo]| {
                let mut to = from;
                while to + 1 < run.visits.len()
                    && run.visits[to].next.is_some()
                    && free(territory, train, to, given, after)
                {
                    to += 1;
                    let ends = match method {
                        Method::Signals => true,
                        Method::VerbalAuthority => run.visits[to].stops,
                        _ => false,
                    };
                    if ends {
                        break;
                    }
                }
                to
            };
            let visit = run.visits[from];
            let late = longest(visit.leave, &[]);
            // On its arrival, if all it still waits for are trains that are to meet it here. A train that runs
            // through has its head beyond the station before its last car is in.
            let comes = visit.arrive.min(visit.leave);
            let meets = comes_here(territory, train, from);
            let early = longest(comes, &meets);
            let takes_conditions = matches!(method, Method::TrackWarrant);
            let (given, after, to) = if takes_conditions && from > 0 && early >= late {
                (comes, meets, early)
            } else {
                (visit.leave, Vec::new(), late)
            };
            // A plan in which trains are on each other's track gives nothing here; the judge says so.
            let to = to.max(from + 1);
            all.push(Limits {
                number: 0,
                train,
                from,
                to,
                given,
                after: after
                    .into_iter()
                    .map(|other| (other, visit.place))
                    .collect(),
                clear: (from + 1..=to)
                    .map(|at| (at, run.visits[at].arrive))
                    .collect(),
            });
            from = to;
        }
    }
    all.sort_by_key(|limits| (limits.given, limits.train, limits.from));
    for (at, limits) in all.iter_mut().enumerate() {
        limits.number = at as u32 + 1;
    }
    all
}

/// Trains on the same district as a train beyond its `at`-th station that cannot be there with it: the
/// other, and from which of its stations.
fn rivals(
    territory: &Territory,
    train: RunNo,
    at: usize,
) -> impl Iterator<Item = (RunNo, usize)> + '_ {
    let visit = territory.run(train).visits[at];
    territory
        .numbered()
        .filter(move |(other, run)| *other != train && run.runs)
        .flat_map(move |(other, run)| {
            (0..run.visits.len().saturating_sub(1)).filter_map(move |theirs| {
                let here = visit.next?;
                let district = territory.district(here);
                let same_way = run.visits[theirs].place == visit.place;
                let shares = if same_way {
                    district.blocks <= 1
                } else {
                    district.tracks == 1
                };
                (run.visits[theirs].next == Some(here) && shares).then_some((other, theirs))
            })
        })
}

/// Whether the track beyond a station can be given at a time: every train that has it before is off it
/// by then, or is to be waited for.
fn free(territory: &Territory, train: RunNo, at: usize, given: RailTime, after: &[RunNo]) -> bool {
    let visit = territory.run(train).visits[at];
    rivals(territory, train, at).all(|(other, theirs)| {
        let visits = &territory.run(other).visits;
        let first = visits[theirs].leave < visit.leave;
        !first || visits[theirs + 1].arrive <= given || after.contains(&other)
    })
}

/// Opposing trains that arrive where a train stands before it leaves, off the track it is to take.
fn comes_here(territory: &Territory, train: RunNo, at: usize) -> Vec<RunNo> {
    let visit = territory.run(train).visits[at];
    let mut trains: Vec<RunNo> = rivals(territory, train, at)
        .filter(|&(other, theirs)| {
            let arrives = territory.run(other).visits[theirs + 1];
            arrives.place == visit.place
                && arrives.arrive > visit.arrive
                && arrives.arrive <= visit.leave
        })
        .map(|(other, _)| other)
        .collect();
    trains.sort_unstable();
    trains.dedup();
    trains
}

/// A list to be worked without a clock: the moves of a day, each with the steps that must be done before
/// it; no step is named that follows from another.
pub fn steps(territory: &Territory) -> Vec<Step> {
    // A step ends where a train stops.
    let mut list: Vec<Step> = Vec::new();
    for (train, run) in territory.numbered().filter(|(_, run)| run.runs) {
        let mut from = 0;
        for to in 1..run.visits.len() {
            if run.visits[to].stops || to + 1 == run.visits.len() {
                list.push(Step {
                    number: 0,
                    train,
                    from,
                    to,
                    after: Vec::new(),
                });
                from = to;
            }
        }
    }
    let leave = |step: &Step| territory.run(step.train).visits[step.from].leave;
    let arrive = |step: &Step| territory.run(step.train).visits[step.to].arrive;
    list.sort_by_key(|step| (leave(step), arrive(step), step.train, step.from));
    let mut split = Vec::new();
    // Where two steps that share track overlap in time although the trains do not meet on it, the list
    // needs them shorter: station by station.
    for (at, step) in list.iter().enumerate() {
        let crowded = list.iter().enumerate().any(|(other, theirs)| {
            other != at
                && shares(territory, step, theirs)
                && leave(step) < arrive(theirs)
                && leave(theirs) < arrive(step)
        });
        if crowded {
            split.extend((step.from..step.to).map(|from| Step {
                from,
                to: from + 1,
                ..step.clone()
            }));
        } else {
            split.push(step.clone());
        }
    }
    let mut list = split;
    list.sort_by_key(|step| (leave(step), arrive(step), step.train, step.from));
    for (at, step) in list.iter_mut().enumerate() {
        step.number = at as u32 + 1;
    }
    // What is done before each, by those already found and by what they follow from.
    let mut before: Vec<Vec<bool>> = Vec::new();
    for at in 0..list.len() {
        let mut mine = vec![false; list.len()];
        let mut after = Vec::new();
        for other in (0..at).rev() {
            let same = list[other].train == list[at].train;
            if mine[other] || !(same || shares(territory, &list[other], &list[at])) {
                continue;
            }
            if !same {
                after.push(list[other].number);
            }
            mine[other] = true;
            for (mine, theirs) in mine.iter_mut().zip(&before[other]) {
                *mine |= theirs;
            }
        }
        after.reverse();
        list[at].after = after;
        before.push(mine);
    }
    list
}

/// Whether two steps use track that two trains cannot be on at once.
fn shares(territory: &Territory, one: &Step, other: &Step) -> bool {
    one.train != other.train
        && (one.from..one.to).any(|at| {
            rivals(territory, one.train, at).any(|(train, theirs)| {
                train == other.train && (other.from..other.to).contains(&theirs)
            })
        })
}
