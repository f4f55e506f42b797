//! Random days on a single track: whatever the plan, the orders turn the timetable into it, none can be
//! left out, and the judge finds every way of spoiling them.

use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use transportation::{
    order::{District, DistrictNo, Place, Run, Visit, judge::Fault},
    rights::ScheduleTime,
};

use super::*;

const STATIONS: usize = 6;

/// Trains over one track with a station every few minutes, in both directions, some late, some extra,
/// each let through where it is first; sidings hold any number.
fn random_day(seed: u64, offices: bool) -> Territory {
    let mut dice = Pcg64::seed_from_u64(seed);
    let hours = [RailTime::MIDNIGHT, RailTime::from_hm(23, 59)];
    let mut territory = Territory {
        places: (0..STATIONS)
            .map(|at| Place {
                name: format!("Station {at}"),
                office: (offices || dice.random_bool(0.5)).then_some(hours),
                hands_out: true,
            })
            .collect(),
        districts: (0..STATIONS as u32 - 1)
            .map(|low| District {
                ends: [PlaceNo(low), PlaceNo(low + 1)],
                tracks: if dice.random_bool(0.15) { 2 } else { 1 },
                blocks: 1,
                superior_up: true,
            })
            .collect(),
        runs: Vec::new(),
    };
    // Per district and direction: when it is taken.
    let mut taken: Vec<[Vec<(RailTime, RailTime)>; 2]> = vec![Default::default(); STATIONS - 1];
    for number in 0..dice.random_range(3..10) {
        let up = dice.random_bool(0.5);
        let class: Option<u8> = dice.random_bool(0.85).then(|| dice.random_range(1..5));
        let run = RailSpan::from_minutes(dice.random_range(8..20));
        let begins = RailTime::from_hm(6, 0) + RailSpan::from_minutes(dice.random_range(0..300));
        let late = RailSpan::from_minutes(if dice.random_bool(0.4) {
            dice.random_range(0..90)
        } else {
            0
        });
        let (mut due, mut ready) = (begins, begins + late);
        let mut visits = Vec::new();
        for step in 0..STATIONS {
            let place = if up { step } else { STATIONS - 1 - step };
            let last = step + 1 == STATIONS;
            let works = !last && step > 0 && dice.random_bool(0.3);
            let work = RailSpan::from_minutes(if works { 10 } else { 0 });
            let arrive = ready;
            let mut leave = ready + work;
            let due_leave = due + work;
            let next = (!last).then_some(if up { place } else { place.wrapping_sub(1) });
            if let Some(district) = next {
                let single = territory.districts[district].tracks == 1;
                let mut rest: Vec<(RailTime, RailTime)> = taken[district]
                    .iter()
                    .enumerate()
                    .filter(|(way, _)| single || *way == usize::from(up))
                    .flat_map(|(_, spans)| spans.iter().copied())
                    .collect();
                rest.sort();
                for (from, to) in rest {
                    if leave < to && from < leave + run {
                        leave = to;
                    }
                }
                taken[district][usize::from(up)].push((leave, leave + run));
            }
            let timed = class.is_some() && (step == 0 || last || works || dice.random_bool(0.6));
            visits.push(Visit {
                place: PlaceNo(place as u32),
                due: timed.then_some(ScheduleTime {
                    arrive: due,
                    leave: due_leave,
                }),
                arrive,
                leave,
                next: next.map(|district| DistrictNo(district as u32)),
                stops: works || leave > arrive,
            });
            due = due_leave + run;
            ready = leave + run;
        }
        territory.runs.push(Run {
            name: format!("{}", 2 * number + usize::from(!up)),
            class,
            visits,
            runs: true,
            works: None,
        });
    }
    // One schedule is not run.
    if dice.random_bool(0.3) {
        let mut run = territory.runs[0].clone();
        run.name = "99".into();
        run.class = Some(2);
        run.runs = false;
        territory.runs.push(run);
    }
    territory
}

fn faults(territory: &Territory, orders: &[Order]) -> Vec<Fault> {
    let found = judge::judge(territory, orders, &Book::default(), TimeStyle::TwentyFour);
    found.into_iter().map(|finding| finding.fault).collect()
}

#[test]
fn orders_make_the_plan_lawful_and_none_can_be_left_out() {
    let (mut days, mut written, mut proven) = (0, 0, 0);
    for seed in 0..400 {
        let territory = random_day(seed, true);
        let paper = orders(&territory, &Options::default(), TimeStyle::TwentyFour);
        assert_eq!(paper.undelivered, [] as [&str; 0], "seed {seed}");
        assert_eq!(paper.findings, [], "seed {seed}: {:#?}", paper.orders);
        days += 1;
        written += paper.orders.len();
        proven += usize::from(paper.is_fewest());
        assert!(paper.at_least <= paper.orders.len(), "seed {seed}");
        for at in 0..paper.orders.len() {
            let mut fewer = paper.orders.clone();
            let left = fewer.remove(at);
            // A holding order only sees to the delivery of another; the rules do not miss it.
            if !matches!(left.body, Body::Hold { .. }) {
                assert!(
                    !faults(&territory, &fewer).is_empty(),
                    "seed {seed}: without {left:?}"
                );
            }
        }
    }
    assert!(
        days == 400 && written > 400 && proven > 300,
        "{written} {proven}"
    );
}

#[test]
fn every_spoilt_meet_and_delivery_is_found() {
    let mut spoilt = 0;
    for seed in 0..200 {
        let territory = random_day(seed, true);
        let good = orders(&territory, &Options::default(), TimeStyle::TwentyFour).orders;
        for at in 0..good.len() {
            let found = |change: &dyn Fn(&mut Order)| {
                let mut bad = good.clone();
                change(&mut bad[at]);
                faults(&territory, &bad)
            };
            // Complete after everybody may be gone.
            let late = found(&|order| order.complete = RailTime::from_hm(23, 0));
            if good[at].copies.iter().any(|copy| copy.to != To::Operator) {
                assert!(late.contains(&Fault::TooLate), "seed {seed} order {at}");
                spoilt += 1;
            }
            if let Body::Meet { others, .. } = &good[at].body {
                for meet in 0..others.len() {
                    for place in 0..STATIONS as u32 {
                        if others[meet].1 == PlaceNo(place) {
                            continue;
                        }
                        let moved = found(&|order| {
                            if let Body::Meet { others, .. } = &mut order.body {
                                others[meet].1 = PlaceNo(place);
                            }
                        });
                        let harmless =
                            moved.is_empty() && harmless(&territory, &good[at], meet, place);
                        assert!(
                            !moved.is_empty() || harmless,
                            "seed {seed} order {at}: {:?}",
                            good[at]
                        );
                        spoilt += 1;
                    }
                }
            }
        }
    }
    assert!(spoilt > 1000, "{spoilt}");
}

/// A meet may be moved over double track, where both trains may be at once.
fn harmless(territory: &Territory, order: &Order, meet: usize, to: u32) -> bool {
    let Body::Meet { others, .. } = &order.body else {
        return false;
    };
    let from = others[meet].1.0;
    (from.min(to)..from.max(to)).all(|at| territory.districts[at as usize].tracks == 2)
}

#[test]
fn where_no_office_is_open_in_time_it_says_so() {
    let mut missing = 0;
    for seed in 0..100 {
        let mut territory = random_day(seed, false);
        for place in &mut territory.places {
            place.hands_out = false;
        }
        let paper = orders(&territory, &Options::default(), TimeStyle::TwentyFour);
        for sentence in &paper.undelivered {
            assert!(
                sentence.contains("passes no open train-order office"),
                "{sentence}"
            );
        }
        let extras = territory.runs.iter().any(|run| run.class.is_none());
        missing += paper.undelivered.len();
        // What cannot be delivered is found by the judge as well: nothing is papered over.
        assert!(
            !paper.findings.is_empty() || (paper.undelivered.is_empty() || extras),
            "seed {seed}"
        );
    }
    assert!(missing > 20, "{missing}");
}

#[test]
fn the_same_day_gives_the_same_orders() {
    let territory = random_day(11, true);
    let write = || orders(&territory, &Options::default(), TimeStyle::TwentyFour);
    assert_eq!(write(), write());
}

/// The other methods on the same days: every authority passes its judge, and none can be left out.
#[test]
fn authorities_of_every_method_pass_their_judge() {
    use transportation::{Method, authority};
    for seed in 0..200 {
        let territory = random_day(seed, true);
        let mut counts = Vec::new();
        for method in [
            Method::TrackWarrant,
            Method::VerbalAuthority,
            Method::Signals,
        ] {
            let given = super::authority::limits(&territory, method);
            let judge = |given: &[authority::Limits]| {
                authority::judge::limits(&territory, given, TimeStyle::TwentyFour)
            };
            assert_eq!(judge(&given), [], "seed {seed} {method}");
            for at in 0..given.len() {
                let mut fewer = given.clone();
                fewer.remove(at);
                assert!(!judge(&fewer).is_empty(), "seed {seed} {method}");
            }
            counts.push(given.len());
        }
        // A warrant reaches at least as far as the dispatcher's word, and that as far as a signal.
        assert!(counts.is_sorted(), "seed {seed}: {counts:?}");
        let list = super::authority::steps(&territory);
        assert_eq!(
            authority::judge::steps(&territory, &list),
            [],
            "seed {seed}"
        );
        for at in 0..list.len() {
            for after in 0..list[at].after.len() {
                let mut loose = list.clone();
                loose[at].after.remove(after);
                assert!(
                    !authority::judge::steps(&territory, &loose).is_empty(),
                    "seed {seed}: step {at} need not wait"
                );
            }
        }
    }
}

/// Crews who obey, late by up to hours at every station: with orders that the judge passes no two meet on
/// single track; with one superior train not told, sometimes they do.
#[test]
fn obedient_crews_never_meet_on_single_track_however_late_they_are() {
    let (mut days, mut prompt, mut untold) = (0, 0, 0);
    for seed in 0..24 {
        let territory = random_day(seed, true);
        let paper = orders(&territory, &Options::default(), TimeStyle::TwentyFour);
        for luck in 0..4 {
            let ran = obedient::run(&territory, &paper.orders, 120, seed * 100 + luck);
            assert_eq!(ran.collisions, [], "seed {seed} luck {luck}");
            days += 1;
        }
        prompt += obedient::run(&territory, &paper.orders, 0, seed).stuck;
        for at in 0..paper.orders.len() {
            let mut half = paper.orders.clone();
            let restricted = half[at].copies.iter().position(|copy| copy.signed);
            let Some(restricted) = restricted else {
                continue;
            };
            half[at].copies.remove(restricted);
            for luck in 0..4 {
                let ran = obedient::run(&territory, &half, 120, seed * 100 + luck);
                untold += ran.collisions.len();
            }
        }
    }
    assert!(days == 96 && untold > 5, "{untold}");
    // Late trains can end up waiting for each other in a ring, until the dispatcher gives a new order;
    // prompt ones never do.
    assert_eq!(prompt, 0);
}
