//! The driver's promises: the same answer on one thread and two, never worse than the plan it starts from,
//! and an end as soon as it is told to stop.

mod common;

use std::sync::atomic::{AtomicU64, Ordering};

use common::random;
use dispatching::check::check;
use dispatching::solver::{Options, Outcome, Status, solve};
use dispatching::{Cost, DelayTerm, Operation, Plan, Problem, ResourceUse, Train};

fn run(problem: &Problem, options: &Options) -> (Outcome, Vec<Cost>) {
    let mut costs: Vec<Cost> = Vec::new();
    let outcome = solve(problem, options, &|| false, &mut |p| {
        if let Some((plan, cost)) = p.incumbent {
            assert_eq!(check(problem, plan).as_ref(), Ok(cost));
            assert!(p.bound <= cost, "a bound above a plan");
            if costs.last() != Some(cost) {
                costs.push(cost.clone());
            }
        }
    });
    (outcome, costs)
}

/// Trains both ways over a single line of stations with two tracks; too many to prove anything of soon.
fn busy_line(trains: usize, stations: usize) -> Problem {
    let mut problem = Problem::default();
    for s in 0..stations {
        for name in [
            format!("main {s}"),
            format!("siding {s}"),
            format!("line {s}"),
        ] {
            problem.resources.push(name);
        }
    }
    for t in 0..trains {
        let east = t % 2 == 0;
        let mut operations = vec![Operation {
            start_lb: 7 * t as i64,
            successors: vec![1, 2],
            ..Operation::default()
        }];
        for i in 0..stations {
            let s = if east { i } else { stations - 1 - i };
            let base = operations.len();
            for track in 0..2 {
                operations.push(Operation {
                    min_duration: 1 + track as i64,
                    resources: vec![ResourceUse {
                        resource: 3 * s + track,
                        release_time: 1,
                    }],
                    successors: vec![base + 2],
                    ..Operation::default()
                });
            }
            if i + 1 < stations {
                let line = if east { s } else { s - 1 };
                operations.push(Operation {
                    min_duration: 5 + (s + t) as i64 % 4,
                    resources: vec![ResourceUse {
                        resource: 3 * line + 2,
                        release_time: 0,
                    }],
                    successors: vec![base + 3, base + 4],
                    ..Operation::default()
                });
            }
        }
        let last = operations.len();
        operations.push(Operation::default());
        problem.objective.push(DelayTerm {
            train: t,
            operation: last,
            threshold: 7 * t as i64 + 8 * stations as i64,
            coeff: 1 + (t % 3) as i64,
            increment: 0,
            rank: u8::from(t % 4 == 0),
        });
        problem.trains.push(Train {
            name: format!("train {t}"),
            operations,
        });
    }
    problem
}

#[test]
fn the_answer_is_the_same_on_any_number_of_threads() {
    let mut problems: Vec<Problem> = (0..40).map(random::problem).collect();
    problems.push(busy_line(14, 6));
    for (i, problem) in problems.iter().enumerate() {
        let options = |threads| Options {
            seed: 5,
            rounds: Some(8),
            threads,
            ..Options::default()
        };
        let (one, trail_one) = run(problem, &options(1));
        let (two, trail_two) = run(problem, &options(2));
        assert_eq!(one.plan, two.plan, "problem {i}");
        assert_eq!(
            (&one.bound, &one.status),
            (&two.bound, &two.status),
            "problem {i}"
        );
        assert_eq!(trail_one, trail_two, "problem {i}");
    }
}

#[test]
fn plans_only_get_better() {
    let problem = busy_line(16, 7);
    let (outcome, costs) = run(
        &problem,
        &Options {
            rounds: Some(10),
            ..Options::default()
        },
    );
    assert!(costs.windows(2).all(|w| w[1] < w[0]), "{costs:?}");
    assert!(costs.len() > 1, "a plan that could be improved");
    assert_eq!(outcome.cost.as_ref(), costs.last());
}

#[test]
fn never_worse_than_the_plan_it_starts_from() {
    let problem = busy_line(16, 7);
    let (first, _) = run(
        &problem,
        &Options {
            rounds: Some(6),
            ..Options::default()
        },
    );
    let Some(plan) = first.plan else {
        panic!("a plan")
    };
    let options = Options {
        seed: 99,
        rounds: Some(1),
        warm_start: Some(plan),
        ..Options::default()
    };
    let (again, costs) = run(&problem, &options);
    assert!(again.cost <= first.cost);
    assert!(costs.iter().all(|c| Some(c) <= first.cost.as_ref()));
}

#[test]
fn a_plan_that_no_longer_fits_is_kept_as_far_as_it_goes() {
    let mut problem = busy_line(10, 5);
    let (first, _) = run(
        &problem,
        &Options {
            rounds: Some(4),
            ..Options::default()
        },
    );
    let Some(plan) = first.plan else {
        panic!("a plan")
    };
    // Two trains run late and one has an operation that is gone from the plan.
    problem.trains[3].operations[0].start_lb += 40;
    problem.trains[4].operations[3].min_duration += 25;
    let plan = Plan {
        events: plan.events.into_iter().filter(|e| e.train != 5).collect(),
        ..plan
    };
    let options = Options {
        rounds: Some(4),
        warm_start: Some(plan),
        ..Options::default()
    };
    let (again, _) = run(&problem, &options);
    assert!(again.plan.is_some());
}

#[test]
fn stops_when_told() {
    let problem = busy_line(16, 7);
    let asked = AtomicU64::new(0);
    let stop = || asked.fetch_add(1, Ordering::Relaxed) >= 400;
    let outcome = solve(&problem, &Options::default(), &stop, &mut |_| {});
    let Some(plan) = &outcome.plan else {
        panic!("a plan before the stop")
    };
    assert_eq!(check(&problem, plan).ok(), outcome.cost);
    let never = solve(&problem, &Options::default(), &|| true, &mut |_| {});
    assert_eq!((never.plan, never.status), (None, Status::Unknown));
}

#[test]
fn trains_face_to_face_with_no_way_round_are_no_plan() {
    // Each stands where the other must go, and nobody can leave.
    let train = |own: usize, other: usize| Train {
        name: String::new(),
        operations: vec![
            Operation {
                start_ub: Some(0),
                min_duration: 1,
                resources: vec![ResourceUse {
                    resource: own,
                    release_time: 0,
                }],
                successors: vec![1],
                ..Operation::default()
            },
            Operation {
                resources: vec![ResourceUse {
                    resource: other,
                    release_time: 0,
                }],
                successors: vec![2],
                ..Operation::default()
            },
            Operation::default(),
        ],
    };
    let problem = Problem {
        trains: vec![train(0, 1), train(1, 0)],
        resources: vec!["west".into(), "east".into()],
        objective: Vec::new(),
    };
    let (outcome, _) = run(
        &problem,
        &Options {
            rounds: Some(20),
            ..Options::default()
        },
    );
    assert_eq!(outcome.plan, None);
    assert!(
        matches!(outcome.status, Status::Infeasible(_)),
        "{:?}",
        outcome.status
    );
}
