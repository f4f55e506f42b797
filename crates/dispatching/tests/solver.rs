//! The solver against exhaustive enumeration, on random problems small enough for it.

#![allow(clippy::print_stdout, reason = "tests say what they covered")]

mod common;

use common::enumerate::{Outcome, best_by_orders};
use common::random;
use dispatching::check::check;
use dispatching::solver::{Options, Status, solve};

/// How many problems: `SAWBY_SLOW=1` asks for more.
fn count() -> u64 {
    if std::env::var("SAWBY_SLOW").is_ok_and(|v| v == "1") {
        10_000
    } else {
        1_000
    }
}

#[test]
fn finds_and_proves_the_best_plan_of_small_problems() {
    let (mut best, mut impossible, mut too_large) = (0, 0, 0);
    for seed in 0..count() {
        let problem = random::problem(seed);
        let expected = best_by_orders(&problem, 20_000);
        let options = Options {
            rounds: Some(40),
            seed,
            ..Options::default()
        };
        let found = solve(&problem, &options, &|| false, &mut |_| {});
        if let Some(plan) = &found.plan {
            assert_eq!(check(&problem, plan).ok(), found.cost, "seed {seed}");
        }
        match expected {
            Outcome::Best(cost, _) => {
                assert_eq!(found.status, Status::Optimal, "seed {seed}");
                assert_eq!(found.cost.as_ref(), Some(&cost), "seed {seed}");
                assert_eq!(found.bound, cost, "seed {seed}");
                best += 1;
            }
            Outcome::Impossible => {
                assert!(
                    matches!(found.status, Status::Infeasible(_)),
                    "seed {seed}: {found:?}"
                );
                impossible += 1;
            }
            Outcome::TooMuch => too_large += 1,
        }
    }
    println!("{best} best, {impossible} impossible, {too_large} too large to enumerate");
}
