//! The judge against a second judge and against plans spoilt on purpose.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "tests say what they covered"
)]

mod common;

use common::enumerate::{Outcome, best_by_orders, best_by_sequences};
use common::{naive, random};
use dispatching::check::{Violation, check};
use dispatching::{Event, Plan, Problem};
use rand::{RngExt, SeedableRng, seq::IndexedRandom};
use rand_pcg::Pcg64Mcg;

const STEPS: u64 = 20_000;

/// Random problems with a best plan each.
fn solved(seeds: std::ops::Range<u64>) -> impl Iterator<Item = (u64, Problem, Plan)> {
    seeds.filter_map(|seed| {
        let problem = random::problem(seed);
        match best_by_orders(&problem, STEPS) {
            Outcome::Best(_, plan) => Some((seed, problem, plan)),
            _ => None,
        }
    })
}

#[test]
fn random_problems_are_well_formed_and_varied() {
    let (mut possible, mut impossible, mut too_much) = (0, 0, 0);
    for seed in 0..1000 {
        let problem = random::problem(seed);
        problem
            .validate()
            .unwrap_or_else(|f| panic!("seed {seed}: {f:?}"));
        match best_by_orders(&problem, STEPS) {
            Outcome::Best(..) => possible += 1,
            Outcome::Impossible => impossible += 1,
            Outcome::TooMuch => too_much += 1,
        }
    }
    println!("{possible} with a plan, {impossible} without, {too_much} too large");
    assert!(possible > 500 && impossible > 100 && too_much < 50);
}

#[test]
fn two_unlike_enumerations_agree() {
    let mut compared = 0;
    for seed in 0..600 {
        let problem = random::problem(seed);
        let orders = best_by_orders(&problem, STEPS);
        let sequences = best_by_sequences(&problem, 30_000);
        match (&orders, &sequences) {
            (Outcome::Best(a, _), Outcome::Best(b, _)) => assert_eq!(a, b, "seed {seed}"),
            (Outcome::TooMuch, _) | (_, Outcome::TooMuch) => continue,
            _ => assert_eq!(orders, sequences, "seed {seed}"),
        }
        compared += 1;
    }
    println!("compared {compared}");
    assert!(compared > 300);
}

#[test]
fn accepts_best_plans_at_their_cost() {
    for seed in 0..1000 {
        let problem = random::problem(seed);
        if let Outcome::Best(cost, plan) = best_by_orders(&problem, STEPS) {
            assert_eq!(check(&problem, &plan), Ok(cost.clone()), "seed {seed}");
            assert_eq!(
                naive::judge(&problem, &plan),
                Ok(cost.total()),
                "seed {seed}"
            );
        }
    }
}

/// Changes a plan at random, sometimes harmlessly.
fn shaken(rng: &mut Pcg64Mcg, problem: &Problem, plan: &Plan) -> Plan {
    let mut plan = plan.clone();
    for _ in 0..rng.random_range(1..=3) {
        let at = rng.random_range(0..plan.events.len());
        match rng.random_range(0..6) {
            // Everything from here on later.
            0 => {
                let by = rng.random_range(1..4);
                plan.events[at..].iter_mut().for_each(|e| e.time += by);
            }
            // One train later, or earlier.
            1 => {
                let train = plan.events[at].train;
                let by = rng.random_range(-2..4);
                plan.events
                    .iter_mut()
                    .filter(|e| e.train == train)
                    .for_each(|e| e.time += by);
                plan.events.sort_by_key(|e| e.time);
            }
            // One event.
            2 => {
                plan.events[at].time += rng.random_range(-2..3);
                plan.events.sort_by_key(|e| e.time);
            }
            3 => {
                let to = rng.random_range(0..plan.events.len());
                plan.events.swap(at, to);
            }
            4 if at + 1 < plan.events.len() => plan.events.swap(at, at + 1),
            _ => {
                let train = &problem.trains[plan.events[at].train];
                plan.events[at].operation = rng.random_range(0..train.operations.len());
            }
        }
    }
    plan
}

/// Claims what the naive judge finds, if cost is all that it finds fault with.
fn priced(problem: &Problem, plan: &mut Plan) {
    let cost = |e: &Event| -> i64 {
        let terms = problem.objective.iter();
        terms
            .filter(|t| (t.train, t.operation) == (e.train, e.operation))
            .map(|t| {
                let late = e.time - t.threshold;
                if late >= 0 {
                    t.coeff * late + t.increment
                } else {
                    0
                }
            })
            .sum()
    };
    plan.objective_value = plan.events.iter().map(cost).sum();
}

#[test]
fn agrees_with_the_naive_judge_on_shaken_plans() {
    let (mut good, mut bad) = (0, 0);
    for (seed, problem, plan) in solved(0..700) {
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        for turn in 0..12 {
            let mut plan = shaken(&mut rng, &problem, &plan);
            priced(&problem, &mut plan);
            let naive = naive::judge(&problem, &plan);
            let ours = check(&problem, &plan);
            match (&naive, &ours) {
                (Ok(cost), Ok(ours)) => {
                    assert_eq!(*cost, ours.total(), "seed {seed} turn {turn}");
                    good += 1;
                }
                (Err(_), Err(_)) => bad += 1,
                _ => panic!("seed {seed} turn {turn}: naive {naive:?}, ours {ours:?}\n{plan:?}"),
            }
        }
    }
    println!("{good} good, {bad} bad");
    assert!(good > 500 && bad > 2000);
}

/// A way to spoil a plan: what it is called, the spoiling itself (`None` where the plan offers no hold
/// for it), and how to know the violation it must be found by.
type Spoiling = (
    &'static str,
    fn(&mut Pcg64Mcg, &Problem, &Plan) -> Option<Plan>,
    fn(&Violation) -> bool,
);

fn some_event(
    rng: &mut Pcg64Mcg,
    plan: &Plan,
    wanted: impl Fn(usize, &Event) -> bool,
) -> Option<usize> {
    let fitting: Vec<usize> = (0..plan.events.len())
        .filter(|&i| wanted(i, &plan.events[i]))
        .collect();
    fitting.choose(rng).copied()
}

/// The position of the event of the same train after (or before) position `at`.
fn after(plan: &Plan, at: usize) -> Option<usize> {
    (at + 1..plan.events.len()).find(|&i| plan.events[i].train == plan.events[at].train)
}

fn before(plan: &Plan, at: usize) -> Option<usize> {
    (0..at)
        .rev()
        .find(|&i| plan.events[i].train == plan.events[at].train)
}

/// Sets the time of one event and puts it in its place.
fn retimed(plan: &Plan, at: usize, time: i64) -> Plan {
    let mut plan = plan.clone();
    let mut event = plan.events.remove(at);
    event.time = time;
    let place = plan.events.partition_point(|e| e.time <= time);
    plan.events.insert(place, event);
    plan
}

const SPOILINGS: &[Spoiling] = &[
    (
        "a train that is not run",
        |rng, _, plan| {
            let train = plan.events.choose(rng)?.train;
            let mut plan = plan.clone();
            plan.events.retain(|e| e.train != train);
            Some(plan)
        },
        |v| matches!(v, Violation::NotRun { .. }),
    ),
    (
        "the entry left out",
        |rng, _, plan| {
            let at = some_event(rng, plan, |i, _| {
                before(plan, i).is_none() && after(plan, i).is_some()
            })?;
            let mut plan = plan.clone();
            plan.events.remove(at);
            Some(plan)
        },
        |v| matches!(v, Violation::NotEntry { .. }),
    ),
    (
        "the exit left out",
        |rng, _, plan| {
            let at = some_event(rng, plan, |i, _| {
                after(plan, i).is_none() && before(plan, i).is_some()
            })?;
            let mut plan = plan.clone();
            plan.events.remove(at);
            Some(plan)
        },
        |v| matches!(v, Violation::NotExit { .. }),
    ),
    (
        "an operation in the middle left out",
        |rng, problem, plan| {
            let at = some_event(rng, plan, |i, e| {
                before(plan, i).zip(after(plan, i)).is_some_and(|(b, a)| {
                    let from = &problem.trains[e.train].operations[plan.events[b].operation];
                    !from.successors.contains(&plan.events[a].operation)
                })
            })?;
            let mut plan = plan.clone();
            plan.events.remove(at);
            Some(plan)
        },
        |v| matches!(v, Violation::NotSuccessor { .. }),
    ),
    (
        "an operation run twice",
        |rng, _, plan| {
            let at = rng.random_range(0..plan.events.len());
            let mut plan = plan.clone();
            plan.events.insert(at, plan.events[at]);
            Some(plan)
        },
        |v| matches!(v, Violation::NotSuccessor { from, to, .. } if from == to),
    ),
    (
        "a start before the earliest",
        |rng, problem, plan| {
            let at = some_event(rng, plan, |_, e| {
                problem.trains[e.train].operations[e.operation].start_lb > 0
            })?;
            let e = plan.events[at];
            let time = problem.trains[e.train].operations[e.operation].start_lb - 1;
            Some(retimed(plan, at, time))
        },
        |v| matches!(v, Violation::TooEarly { .. }),
    ),
    (
        "a start after the latest",
        |rng, problem, plan| {
            let ub = |e: &Event| problem.trains[e.train].operations[e.operation].start_ub;
            let at = some_event(rng, plan, |_, e| ub(e).is_some())?;
            let mut plan = plan.clone();
            let by = ub(&plan.events[at])? + 1 - plan.events[at].time;
            plan.events[at..].iter_mut().for_each(|e| e.time += by);
            Some(plan)
        },
        |v| matches!(v, Violation::TooLate { .. }),
    ),
    (
        "an operation that ends too soon",
        |rng, problem, plan| {
            let least = |e: &Event| problem.trains[e.train].operations[e.operation].min_duration;
            let at = some_event(rng, plan, |i, e| least(e) > 0 && after(plan, i).is_some())?;
            let end = after(plan, at)?;
            let time = plan.events[at].time + rng.random_range(0..least(&plan.events[at]));
            Some(retimed(plan, end, time))
        },
        |v| matches!(v, Violation::TooShort { .. }),
    ),
    (
        "an operation that lasts too long",
        |rng, problem, plan| {
            let most = |e: &Event| problem.trains[e.train].operations[e.operation].max_duration;
            let at = some_event(rng, plan, |i, e| {
                most(e).is_some() && after(plan, i).is_some()
            })?;
            let end = after(plan, at)?;
            let mut plan = plan.clone();
            let by = plan.events[at].time + most(&plan.events[at])? + 1 - plan.events[end].time;
            plan.events[end..].iter_mut().for_each(|e| e.time += by);
            Some(plan)
        },
        |v| matches!(v, Violation::TooLong { .. }),
    ),
    (
        "events out of order of time",
        |rng, _, plan| {
            let at = some_event(rng, plan, |i, e| {
                plan.events
                    .get(i + 1)
                    .is_some_and(|next| next.time > e.time)
            })?;
            let mut plan = plan.clone();
            plan.events.swap(at, at + 1);
            Some(plan)
        },
        |v| matches!(v, Violation::OutOfOrder { .. }),
    ),
    (
        "a resource passed on at the same instant, in the wrong order",
        |rng, problem, plan| {
            let (end, start) = handover(rng, problem, plan, |gap, end, start| {
                gap == 0 && before(plan, start).is_none_or(|b| b < end)
            })?;
            let mut plan = plan.clone();
            let event = plan.events.remove(start);
            plan.events.insert(end, event);
            Some(plan)
        },
        |v| matches!(v, Violation::Conflict { .. }),
    ),
    (
        "a resource taken before its release time has run out",
        |rng, problem, plan| {
            let (_, start) = handover(rng, problem, plan, |gap, end, start| {
                gap == 0 && plan.events[start].time > plan.events[end].time
            })?;
            Some(retimed(plan, start, plan.events[start].time - 1))
        },
        |v| matches!(v, Violation::Conflict { .. }),
    ),
    (
        "a resource taken while it is held",
        |rng, problem, plan| {
            let (end, start) = handover(rng, problem, plan, |_, end, _| {
                before(plan, end).is_some_and(|b| plan.events[b].time < plan.events[end].time)
            })?;
            Some(retimed(plan, start, plan.events[end].time - 1))
        },
        |v| matches!(v, Violation::Conflict { .. }),
    ),
    (
        "a cost that is not so",
        |rng, _, plan| {
            let mut plan = plan.clone();
            plan.objective_value += if rng.random_bool(0.5) { 1 } else { -1 };
            Some(plan)
        },
        |v| matches!(v, Violation::WrongValue { .. }),
    ),
    (
        "a train that does not exist",
        |rng, problem, plan| {
            let at = rng.random_range(0..plan.events.len());
            let mut plan = plan.clone();
            plan.events[at].train = problem.trains.len();
            Some(plan)
        },
        |v| matches!(v, Violation::NoSuchTrain { .. }),
    ),
    (
        "an operation that does not exist",
        |rng, problem, plan| {
            let at = rng.random_range(0..plan.events.len());
            let mut plan = plan.clone();
            plan.events[at].operation = problem.trains[plan.events[at].train].operations.len();
            Some(plan)
        },
        |v| matches!(v, Violation::NoSuchOperation { .. }),
    ),
];

/// A place where one train takes a resource after another gave it up: (position of the end of the one,
/// position of the start of the other). `fits` is told how long the resource lay idle between.
fn handover(
    rng: &mut Pcg64Mcg,
    problem: &Problem,
    plan: &Plan,
    fits: impl Fn(i64, usize, usize) -> bool,
) -> Option<(usize, usize)> {
    let of = |e: &Event| &problem.trains[e.train].operations[e.operation];
    let mut found = Vec::new();
    for (i, a) in plan.events.iter().enumerate() {
        let Some(end) = after(plan, i) else { continue };
        for (j, b) in plan.events.iter().enumerate().skip(end) {
            if a.train == b.train {
                continue;
            }
            for x in &of(a).resources {
                let release = of(a)
                    .resources
                    .iter()
                    .filter(|r| r.resource == x.resource)
                    .map(|r| r.release_time)
                    .max()?;
                let gap = b.time - plan.events[end].time - release;
                if of(b).resources.iter().any(|y| y.resource == x.resource) && fits(gap, end, j) {
                    found.push((end, j));
                }
            }
        }
    }
    found.choose(rng).copied()
}

#[test]
fn finds_every_way_of_spoiling_a_plan() {
    let mut tried = vec![0; SPOILINGS.len()];
    for (seed, problem, plan) in solved(0..700) {
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        for (s, (name, spoil, expected)) in SPOILINGS.iter().enumerate() {
            let Some(spoilt) = spoil(&mut rng, &problem, &plan) else {
                continue;
            };
            tried[s] += 1;
            assert!(
                naive::judge(&problem, &spoilt).is_err(),
                "seed {seed}, {name}: not spoilt"
            );
            match check(&problem, &spoilt) {
                Ok(cost) => panic!("seed {seed}, {name}: accepted at {cost:?}"),
                Err(found) => assert!(
                    found.iter().any(expected),
                    "seed {seed}, {name}: found {found:?}\n{problem:?}\n{spoilt:?}"
                ),
            }
        }
    }
    for ((name, ..), tried) in SPOILINGS.iter().zip(&tried) {
        println!("{tried:4} {name}");
        assert!(*tried >= 30, "{name}: tried only {tried} times");
    }
}

#[test]
fn says_in_plain_words_what_is_wrong() {
    let text = r#"{"train_names": ["Ore Extra", ""], "objective": [{"type": "op_delay", "train": 0, "operation": 1, "coeff": 2}],
        "trains": [
            [{"min_duration": 5, "resources": [{"resource": "bridge", "release_time": 2}], "successors": [1]}, {"successors": []}],
            [{"start_ub": 3, "successors": [1]}, {"min_duration": 1, "max_duration": 2, "resources": [{"resource": "bridge"}], "successors": [2]}, {"successors": []}]
        ]}"#;
    let problem = dispatching::json::read_problem(text).expect("well formed");
    let plan = |events: &[(i64, usize, usize)], objective_value| Plan {
        objective_value,
        events: events
            .iter()
            .map(|&(time, train, operation)| Event {
                time,
                train,
                operation,
            })
            .collect(),
    };
    let said = |events: &[(i64, usize, usize)]| {
        let found = check(&problem, &plan(events, 8)).expect_err("a faulty plan");
        found.iter().map(|v| format!("{v}\n")).collect::<String>()
    };
    let good = [(0, 0, 0), (0, 1, 0), (5, 0, 1), (7, 1, 1), (9, 1, 2)];
    assert!(check(&problem, &plan(&good, 10)).is_ok());
    assert_eq!(said(&good), "the plan claims to cost 8, but costs 10\n");
    assert_eq!(
        said(&[(0, 0, 0), (4, 1, 0), (4, 0, 1), (5, 1, 1), (8, 1, 2)]),
        "\
train 0 (`Ore Extra`), operation 0 takes 4 from 0 to 4, expected at least 5
train 1, operation 0 starts at 4, after its latest start 3
train 1, operation 1 takes 3 from 5 to 8, expected at most 2
resource `bridge` is held by train 0 (`Ore Extra`), operation 0, from 0 to 6, and taken by train 1, operation 1, from 5 to 8
"
    );
    assert_eq!(
        said(&[(0, 0, 0), (2, 1, 1)]),
        "\
train 0 (`Ore Extra`) ends with operation 0 at 0, expected its exit, operation 1
train 1 begins with operation 1 at 2, expected its entry, operation 0
train 1 ends with operation 1 at 2, expected its exit, operation 2
resource `bridge` is held by train 0 (`Ore Extra`), operation 0, from 0 for good, and taken by train 1, operation 1, from 2 for good
the plan claims to cost 8, but costs 0
"
    );
}

#[test]
fn extreme_plans_are_judged_without_a_panic() {
    let mut rng = Pcg64Mcg::seed_from_u64(11);
    for (_, problem, plan) in solved(0..60) {
        for _ in 0..20 {
            let mut plan = plan.clone();
            for event in &mut plan.events {
                match rng.random_range(0..12) {
                    0 => event.time = i64::MAX,
                    1 => event.time = i64::MIN,
                    2 => event.operation = usize::MAX,
                    3 => event.train = usize::MAX,
                    _ => {}
                }
            }
            plan.objective_value = i64::MIN;
            assert!(check(&problem, &plan).is_err());
        }
        assert!(check(&problem, &Plan::default()).is_err());
    }
}
