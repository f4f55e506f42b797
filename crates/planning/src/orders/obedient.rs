//! Crews that obey the rules and are late by chance. Each knows the timetable and the orders it has been
//! given, and nothing of where the others are but whom it has met. Two of them on one piece of single
//! track is what must never happen, however late anybody is.
//!
//! Written apart from the judge and the planner: it goes by the clock, train by train.

use model::time::{RailSpan, RailTime};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use transportation::order::{Body, Order, PlaceNo, RunNo, Territory, To};

const STEP: RailSpan = RailSpan::from_minutes(1);

/// What became of a day.
pub(super) struct Ran {
    /// Two trains met on single track: who, and when.
    pub collisions: Vec<(RunNo, RunNo, RailTime)>,
    /// Trains that had not arrived a day and a half later: each waits for another, and only a new order
    /// would help.
    pub stuck: usize,
}

struct Crew {
    no: RunNo,
    /// At or beyond which of its stations.
    at: usize,
    /// On the way to the next one until then.
    until: Option<RailTime>,
    /// Not ready to leave before.
    ready: RailTime,
    done: bool,
}

pub(super) fn run(territory: &Territory, orders: &[Order], late_by: i64, seed: u64) -> Ran {
    let mut dice = Pcg64::seed_from_u64(seed);
    let mut crews: Vec<Crew> = territory
        .numbered()
        .filter(|(_, run)| run.runs)
        .map(|(no, run)| Crew {
            no,
            at: 0,
            until: None,
            ready: run.visits[0].leave + late(&mut dice, late_by),
            done: false,
        })
        .collect();
    let mut ran = Ran {
        collisions: Vec::new(),
        stuck: 0,
    };
    let mut now = RailTime::from_hm(4, 0);
    while now < RailTime::from_hm(60, 0) && crews.iter().any(|crew| !crew.done) {
        for at in 0..crews.len() {
            let run = territory.run(crews[at].no);
            if crews[at].until.is_some_and(|until| until <= now) {
                let crew = &mut crews[at];
                crew.until = None;
                crew.at += 1;
                let visit = run.visits[crew.at];
                let work = if visit.stops { 10 } else { 0 };
                crew.ready = now + RailSpan::from_minutes(work) + late(&mut dice, late_by);
                crew.done = crew.at + 1 == run.visits.len();
            }
            let crew = &crews[at];
            if crew.done || crew.until.is_some() || crew.ready > now {
                continue;
            }
            let visit = run.visits[crew.at];
            let held = held(territory, orders, crew.no, crew.at);
            if own_time(territory, &held, crew.no, crew.at).is_some_and(|time| now < time) {
                continue;
            }
            let takes = run.visits[crew.at + 1].arrive - visit.leave;
            let may = crews.iter().all(|other| {
                other.no == crew.no || goes(territory, &held, crew, other, now, takes)
            }) && same_way_clear(territory, &crews, crew, now);
            if may {
                for other in &crews {
                    if other.until.is_some() && head_on(territory, crew, other) {
                        ran.collisions.push((crew.no, other.no, now));
                    }
                }
                crews[at].until = Some(now + takes);
            }
        }
        now += STEP;
    }
    ran.stuck = crews.iter().filter(|crew| !crew.done).count();
    ran
}

fn late(dice: &mut Pcg64, most: i64) -> RailSpan {
    RailSpan::from_minutes(if dice.random_bool(0.3) {
        dice.random_range(0..=most)
    } else {
        0
    })
}

fn held<'a>(territory: &Territory, orders: &'a [Order], no: RunNo, at: usize) -> Vec<&'a Body> {
    let run = territory.run(no);
    orders
        .iter()
        .filter(|order| {
            order.copies.iter().any(|copy| {
                let station = run.visits.iter().position(|visit| visit.place == copy.at);
                copy.to == To::Train(no) && station.is_some_and(|station| station <= at)
            })
        })
        .map(|order| &order.body)
        .collect()
}

/// A train's time at a station by timetable and by what one has been told of it.
fn own_time(territory: &Territory, held: &[&Body], no: RunNo, at: usize) -> Option<RailTime> {
    let run = territory.run(no);
    run.class?;
    let find = |place: PlaceNo| run.visits.iter().position(|visit| visit.place == place);
    let shown = run.visits[..=at].iter().rev().find_map(|visit| visit.due)?;
    let mut time = shown.leave;
    for body in held {
        match body {
            Body::RunLate {
                train,
                late,
                from,
                to,
            } if *train == no && find(*from)? <= at && at < find(*to)? => {
                time = time.max(shown.leave + *late);
            }
            Body::Wait { train, at: places } if *train == no => {
                for (place, until) in places {
                    if find(*place)? <= at {
                        time = time.max(*until);
                    }
                }
            }
            _ => {}
        }
    }
    Some(time)
}

/// Where the other leaves for the track that this train is about to take, if they would meet on it.
fn against(territory: &Territory, crew: &Crew, other: &Crew) -> Option<usize> {
    let visit = territory.run(crew.no).visits[crew.at];
    let district = visit.next?;
    if territory.districts[district.index()].tracks > 1 {
        return None;
    }
    let theirs = &territory.run(other.no).visits;
    theirs
        .iter()
        .position(|other| other.next == Some(district) && other.place != visit.place)
}

fn head_on(territory: &Territory, crew: &Crew, other: &Crew) -> bool {
    against(territory, crew, other) == Some(other.at)
}

/// Whether a crew may leave as far as the other is concerned.
fn goes(
    territory: &Territory,
    held: &[&Body],
    crew: &Crew,
    other: &Crew,
    now: RailTime,
    takes: RailSpan,
) -> bool {
    let Some(entry) = against(territory, crew, other) else {
        return true;
    };
    // They have met: it has passed, or stands where this one does.
    if other.at > entry || (other.at == entry + 1 && other.until.is_none()) {
        return true;
    }
    let run = territory.run(crew.no);
    let find = |place: PlaceNo| run.visits.iter().position(|visit| visit.place == place);
    for body in held {
        match body {
            Body::Meet { train, others } => {
                let place = others.iter().find(|(second, _)| {
                    (*train, *second) == (crew.no, other.no)
                        || (*train, *second) == (other.no, crew.no)
                });
                if let Some((_, place)) = place {
                    return find(*place).is_some_and(|meet| crew.at < meet);
                }
            }
            Body::RightOver {
                first,
                over,
                from,
                to,
            } => {
                let between = |a: PlaceNo, b: PlaceNo| {
                    find(a).is_some_and(|a| a <= crew.at) && find(b).is_some_and(|b| crew.at < b)
                };
                if (*first, *over) == (crew.no, other.no) && between(*from, *to) {
                    return true;
                }
                if (*first, *over) == (other.no, crew.no) && between(*to, *from) {
                    return false;
                }
            }
            _ => {}
        }
    }
    let rank = |crew: &Crew, at: usize| {
        let run = territory.run(crew.no);
        let visit = run.visits[at];
        let district = visit
            .next
            .map(|district| &territory.districts[district.index()]);
        // A lower number comes first: class, then the superior direction.
        let up = district
            .is_some_and(|district| (district.ends[0] == visit.place) == district.superior_up);
        (run.class.unwrap_or(99), u8::from(!up))
    };
    let (mine, theirs) = (rank(crew, crew.at), rank(other, entry));
    if mine.0 == 99 && theirs.0 == 99 || mine <= theirs {
        return true;
    }
    let clear = match (mine.0, theirs.0) {
        (a, b) if a == b => 0,
        _ => 5,
    };
    own_time(territory, held, other.no, entry)
        .is_none_or(|due| now + takes <= due - RailSpan::from_minutes(clear))
}

/// Trains that follow each other are kept apart by their flags: here, one waits until the other is in.
fn same_way_clear(territory: &Territory, crews: &[Crew], crew: &Crew, now: RailTime) -> bool {
    let visit = territory.run(crew.no).visits[crew.at];
    crews.iter().all(|other| {
        let there = territory.run(other.no).visits[other.at];
        other.no == crew.no
            || other.until.is_none_or(|until| until <= now)
            || there.next != visit.next
            || there.place != visit.place
    })
}
