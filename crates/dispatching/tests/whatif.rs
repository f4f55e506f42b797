//! What resources are worth: a case worked by hand, the same answer on any number of threads, and effects
//! that make sense on random problems.

mod common;

use common::enumerate::{Outcome, best_by_orders};
use common::random;
use dispatching::json::read_problem;
use dispatching::whatif::{Case, Change, Effect, Options, sensitivity};
use dispatching::{Cost, Problem};

const OPTIONS: Options = Options {
    seed: 1,
    rounds: 2,
    threads: 1,
};

#[test]
fn the_bottleneck_comes_first() {
    // Three trains share the bridge (5 each, so waits of 0, 5 and 10); two of them the yard lead (1
    // each), which costs nothing. The third may go round by the detour, 20 longer. Its spur is its own.
    let text = r#"{"objective":[
          {"type":"op_delay","train":0,"operation":2,"threshold":6,"coeff":1},
          {"type":"op_delay","train":1,"operation":2,"threshold":6,"coeff":1},
          {"type":"op_delay","train":2,"operation":3,"threshold":5,"coeff":1}],
        "trains":[
          [{"min_duration":1,"resources":[{"resource":"lead"}],"successors":[1]},
           {"min_duration":5,"resources":[{"resource":"bridge"}],"successors":[2]},{"successors":[]}],
          [{"start_lb":0,"min_duration":1,"resources":[{"resource":"lead"}],"successors":[1]},
           {"min_duration":5,"resources":[{"resource":"bridge"}],"successors":[2]},{"successors":[]}],
          [{"resources":[{"resource":"spur"}],"successors":[1,2]},
           {"min_duration":5,"resources":[{"resource":"bridge"}],"successors":[3]},
           {"min_duration":25,"resources":[{"resource":"detour"}],"successors":[3]},{"successors":[]}]]}"#;
    let problem = read_problem(text).expect("well formed");
    let found = sensitivity(&problem, None, &OPTIONS, &|| false).expect("a plan");
    let resource = |name: &str| {
        problem
            .resources
            .iter()
            .position(|r| r == name)
            .expect("known")
    };
    // The third first, 0 to 5; then the others, done at 10 and 15: 4 + 9.
    assert_eq!(found.base, Cost(vec![13]));
    let cost = |case: &Case| match &case.effect {
        Effect::Cost { cost, .. } => Some(cost.total()),
        _ => None,
    };
    // Without the bridge only the second waits, 1 for the lead. Without the lead nothing is gained.
    let freed: Vec<_> = found.freed.iter().map(|c| (c.change, cost(c))).collect();
    assert_eq!(
        freed,
        [
            (Change::Freed(resource("bridge")), Some(1)),
            (Change::Freed(resource("lead")), Some(13))
        ]
    );
    // The spur and the lead cannot be done without, nor the bridge by the first two; the detour can.
    let forbidden: Vec<_> = found
        .forbidden
        .iter()
        .map(|c| (c.change.resource(), cost(c)))
        .collect();
    assert_eq!(forbidden.last(), Some(&(resource("detour"), Some(13))));
    let effect = |name: &str| {
        let case = found
            .forbidden
            .iter()
            .find(|c| c.change.resource() == resource(name));
        case.map(|c| c.effect.clone())
    };
    assert_eq!(
        effect("bridge"),
        Some(Effect::NoPath { trains: vec![0, 1] })
    );
    assert_eq!(effect("lead"), Some(Effect::NoPath { trains: vec![0, 1] }));
    assert_eq!(effect("spur"), Some(Effect::NoPath { trains: vec![2] }));
}

/// Without the resource, for everyone to pass.
fn freed(problem: &Problem, resource: usize) -> Problem {
    let mut freed = problem.clone();
    for operation in freed.trains.iter_mut().flat_map(|t| &mut t.operations) {
        operation.resources.retain(|r| r.resource != resource);
    }
    freed
}

#[test]
fn random_problems_change_as_enumeration_says() {
    let mut compared = 0;
    for seed in 0..40 {
        let problem = random::problem(seed);
        let Outcome::Best(_, plan) = best_by_orders(&problem, 20_000) else {
            continue;
        };
        let found = sensitivity(&problem, Some(&plan), &OPTIONS, &|| false).expect("a plan");
        let two = Options {
            threads: 2,
            ..OPTIONS
        };
        assert_eq!(
            sensitivity(&problem, Some(&plan), &two, &|| false).as_ref(),
            Some(&found)
        );
        for case in &found.freed {
            let Effect::Cost { cost, proven } = &case.effect else {
                panic!("seed {seed}: {case:?}")
            };
            assert!(
                *cost <= found.base,
                "seed {seed}: freeing made it worse: {case:?}"
            );
            if let Outcome::Best(best, _) =
                best_by_orders(&freed(&problem, case.change.resource()), 20_000)
            {
                assert!(*cost >= best, "seed {seed}: {case:?}");
                assert!(!proven || *cost == best, "seed {seed}: {case:?}");
                compared += 1;
            }
        }
        for case in &found.forbidden {
            if let Effect::Cost { cost, proven: true } = &case.effect {
                assert!(
                    *cost >= found.base,
                    "seed {seed}: forbidding made it better: {case:?}"
                );
            }
        }
    }
    assert!(compared > 40, "{compared}");
}

#[test]
fn says_nothing_when_stopped() {
    let problem = random::problem(3);
    assert_eq!(sensitivity(&problem, None, &OPTIONS, &|| true), None);
}
