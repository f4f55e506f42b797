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
fn never_claims_what_enumeration_refutes() {
    let (mut best, mut dearer, mut missed) = (0, 0, 0);
    let (mut proven, mut impossible, mut proven_impossible, mut too_large) = (0, 0, 0, 0);
    for seed in 0..count() {
        let problem = random::problem(seed);
        let options = Options {
            rounds: Some(12),
            seed,
            ..Options::default()
        };
        let found = solve(&problem, &options, &|| false, &mut |_| {});
        if let Some(plan) = &found.plan {
            assert_eq!(check(&problem, plan).ok(), found.cost, "seed {seed}");
        }
        match best_by_orders(&problem, 20_000) {
            Outcome::Best(cost, _) => {
                assert!(found.bound <= cost, "seed {seed}: {found:?}");
                assert!(
                    !matches!(found.status, Status::Infeasible(_)),
                    "seed {seed}"
                );
                match &found.cost {
                    Some(found) if *found == cost => best += 1,
                    Some(found) => {
                        assert!(*found > cost, "seed {seed}: the enumeration missed a plan");
                        dearer += 1;
                    }
                    None => missed += 1,
                }
                if found.status == Status::Optimal {
                    assert_eq!(found.cost, Some(cost), "seed {seed}");
                    proven += 1;
                }
            }
            Outcome::Impossible => {
                assert_eq!(
                    found.plan, None,
                    "seed {seed}: the enumeration missed a plan"
                );
                proven_impossible += u64::from(matches!(found.status, Status::Infeasible(_)));
                impossible += 1;
            }
            Outcome::TooMuch => too_large += 1,
        }
    }
    println!(
        "{best} best, {dearer} dearer, {missed} missed, {proven} proven best; {impossible} impossible, \
         {proven_impossible} proven; {too_large} too large to enumerate"
    );
    assert_eq!((missed, dearer), (0, 0));
    assert_eq!(proven_impossible, impossible);
    // Nearly all are proven best in this little work.
    assert!(proven * 20 > best * 19, "{proven} proven");
}
