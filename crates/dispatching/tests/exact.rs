//! The proving engine against exhaustive enumeration, and against published best values.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "tests say what they covered"
)]

mod common;

use std::sync::Arc;

use common::enumerate::{Outcome, best_by_orders};
use common::{naive, random};
use dispatching::check::check;
use dispatching::engine::{Engine, Found, Impossible, Known};
use dispatching::exact::Exact;
use dispatching::{Cost, Problem};

/// How many random problems: a few thousand, or with `SAWBY_SLOW` a hundred thousand.
fn seeds(quick: u64) -> std::ops::Range<u64> {
    if std::env::var_os("SAWBY_SLOW").is_some() {
        0..quick * 30
    } else {
        0..quick
    }
}

/// What the engine ends with.
#[derive(Debug, PartialEq, Eq)]
enum End {
    Optimal(Cost),
    Impossible(Impossible),
}

/// Runs the engine to its end in rounds of the given quota, checking everything it says on the way.
fn run(problem: &Problem, quota: u64) -> End {
    let mut engine = Exact::new(problem);
    let mut known = Known::default();
    for _ in 0..1_000_000 {
        let Found {
            plan,
            bound,
            infeasible,
            exhausted,
        } = engine.round(quota, &known, &|| false);
        if let Some(plan) = plan {
            let cost = check(problem, &plan).expect("a plan that the judge passes");
            assert_eq!(naive::judge(problem, &plan), Ok(cost.total()));
            assert_eq!(plan.objective_value, cost.total());
            if let Some((_, best)) = &known.incumbent {
                assert!(cost < *best, "a plan no better than the known one");
            }
            known.incumbent = Some((Arc::new(plan), cost));
        }
        if let Some(bound) = bound {
            assert!(padded(&bound) >= padded(&known.bound), "a bound that falls");
            known.bound = bound;
        }
        if let Some(why) = infeasible {
            assert!(known.incumbent.is_none());
            return End::Impossible(why);
        }
        if exhausted {
            let (_, best) = known.incumbent.expect("a plan, since none was ruled out");
            assert_eq!(padded(&known.bound), padded(&best));
            return End::Optimal(best);
        }
    }
    panic!("the engine does not end");
}

/// A cost with all its ranks, for comparison.
fn padded(c: &Cost) -> [i64; 4] {
    std::array::from_fn(|r| c.rank(r as u8))
}

#[test]
fn optima_and_impossibility_agree_with_exhaustion() {
    let (mut optimal, mut impossible, mut skipped) = (0, 0, 0);
    for seed in seeds(4000) {
        let problem = random::problem(seed);
        let want = best_by_orders(&problem, 20_000);
        if want == Outcome::TooMuch {
            skipped += 1;
            continue;
        }
        let quota = [1, 50, 1_000_000][seed as usize % 3];
        match (run(&problem, quota), want) {
            (End::Optimal(found), Outcome::Best(cost, _)) => {
                assert_eq!(padded(&found), padded(&cost), "seed {seed}");
                optimal += 1;
            }
            (End::Impossible(_), Outcome::Impossible) => impossible += 1,
            (found, want) => panic!("seed {seed}: found {found:?}, but it is {want:?}"),
        }
    }
    println!("{optimal} optima, {impossible} impossible, {skipped} too large to enumerate");
    assert!(optimal > 2000 && impossible > 400);
}

#[test]
fn every_bound_on_the_way_holds() {
    for seed in seeds(1000) {
        let problem = random::problem(seed);
        let Outcome::Best(best, _) = best_by_orders(&problem, 20_000) else {
            continue;
        };
        let mut engine = Exact::new(&problem);
        loop {
            let found = engine.round(1, &Known::default(), &|| false);
            if let Some(bound) = found.bound {
                assert!(
                    padded(&bound) <= padded(&best),
                    "seed {seed}: {bound:?} over {best:?}"
                );
            }
            assert!(found.infeasible.is_none(), "seed {seed}");
            if found.exhausted {
                break;
            }
        }
    }
}

/// The problem with some of its trains, competing for some of its resources.
fn part(problem: &Problem, trains: &[usize], resources: &[usize]) -> Problem {
    let mut part = problem.clone();
    part.objective.clear();
    part.trains = trains.iter().map(|t| problem.trains[*t].clone()).collect();
    for o in part.trains.iter_mut().flat_map(|t| &mut t.operations) {
        o.resources.retain(|u| resources.contains(&u.resource));
    }
    part
}

#[test]
fn nothing_can_be_left_out_of_what_is_impossible() {
    let mut cases = 0;
    for seed in seeds(1500) {
        let problem = random::problem(seed);
        if best_by_orders(&problem, 20_000) != Outcome::Impossible {
            continue;
        }
        let End::Impossible(why) = run(&problem, 1000) else {
            panic!("seed {seed}")
        };
        let verdict = |trains: &[usize], resources: &[usize]| {
            best_by_orders(&part(&problem, trains, resources), 200_000) == Outcome::Impossible
        };
        let without = |list: &[usize], x: usize| -> Vec<usize> {
            list.iter().copied().filter(|y| *y != x).collect()
        };
        assert!(
            verdict(&why.trains, &why.resources),
            "seed {seed}: {why:?} is possible"
        );
        for t in &why.trains {
            let rest = without(&why.trains, *t);
            assert!(
                !verdict(&rest, &why.resources),
                "seed {seed}: {why:?} without train {t}"
            );
        }
        for r in &why.resources {
            let rest = without(&why.resources, *r);
            assert!(
                !verdict(&why.trains, &rest),
                "seed {seed}: {why:?} without resource {r}"
            );
        }
        cases += 1;
    }
    println!("{cases} impossible problems");
    assert!(cases > 100);
}

/// The published best values (DISPLIB 2025: Kloster, Luteberget, Mannino and Sartor, problem set of
/// 2025-09-17) of instances small enough to close at once: none of them can be better than the proven
/// optimum, and ours must not be worse than they are.
#[test]
fn proven_optima_are_the_published_best_values() {
    let Some(shared) = std::env::var_os("SAWBY_SHARED") else {
        eprintln!("SAWBY_SHARED is not set: the published values were not compared");
        return;
    };
    let shared = std::path::Path::new(&shared).join("bench/displib");
    let best = std::fs::read_to_string(shared.join("best-known.csv")).expect("best values");
    let mut names = vec![
        "smi_close_0",
        "smi_close_4",
        "smi_headway_0",
        "smi_headway_4",
        "nor1_critical_4",
    ];
    if std::env::var_os("SAWBY_SLOW").is_some() {
        names.extend([
            "smi_close_6",
            "nor1_critical_0",
            "nor1_critical_2",
            "nor1_critical_6",
        ]);
        names.extend(["nor1_critical_8", "nor1_full_2", "nor2_2", "swi_2"]);
    }
    for name in names {
        let row = best
            .lines()
            .find(|l| l.split(',').next() == Some(name))
            .expect("a row");
        let value: i64 = row
            .split(',')
            .nth(4)
            .expect("a value")
            .parse()
            .expect("a number");
        let path = shared.join("instances").join(format!("{name}.json"));
        let text = std::fs::read_to_string(path).expect("an instance");
        let problem = dispatching::json::read_problem(&text).expect("an instance");
        match run(&problem, 1_000_000) {
            End::Optimal(cost) => assert_eq!(cost.total(), value, "{name}"),
            End::Impossible(why) => panic!("{name}: {why:?}"),
        }
    }
}
