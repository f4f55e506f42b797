//! Why trains wait: hand-made cases, and random plans in which nothing waits without a reason.

mod common;

use common::enumerate::{Outcome, best_by_orders};
use dispatching::json::read_problem;
use dispatching::reasons::{Link, explain};
use dispatching::{Event, Plan, Problem};

fn problem(trains: &[(&str, &str)]) -> Problem {
    let names: Vec<String> = trains.iter().map(|(n, _)| format!("{n:?}")).collect();
    let bodies: Vec<&str> = trains.iter().map(|(_, t)| *t).collect();
    let text = format!(
        r#"{{"train_names":[{}],"trains":[{}],"objective":[]}}"#,
        names.join(","),
        bodies.join(",")
    );
    read_problem(&text).unwrap_or_else(|f| panic!("{f:?}"))
}

fn said(problem: &Problem, events: &[(i64, usize, usize)]) -> Vec<String> {
    let event = |&(time, train, operation): &_| Event {
        time,
        train,
        operation,
    };
    let plan = Plan {
        objective_value: 0,
        events: events.iter().map(event).collect(),
    };
    let waits = explain(problem, &plan).unwrap_or_else(|v| panic!("{v:?}"));
    waits.iter().map(ToString::to_string).collect()
}

#[test]
fn a_chain_of_three_trains() {
    // Mail runs first through the gap; the Extra waits for it at the siding; the Local waits for the
    // siding.
    let problem = problem(&[
        (
            "Mail",
            r#"[{"start_lb":10,"min_duration":10,"resources":[{"resource":"gap","release_time":2}],"successors":[1]},{"successors":[]}]"#,
        ),
        (
            "Extra",
            r#"[{"min_duration":5,"resources":[{"resource":"siding"}],"successors":[1]},
                {"min_duration":8,"resources":[{"resource":"gap"}],"successors":[2]},{"successors":[]}]"#,
        ),
        (
            "Local",
            r#"[{"min_duration":3,"resources":[{"resource":"spur"}],"successors":[1]},
                {"min_duration":4,"resources":[{"resource":"siding"}],"successors":[2]},{"successors":[]}]"#,
        ),
    ]);
    let events = [
        (0, 1, 0),
        (0, 2, 0),
        (10, 0, 0),
        (20, 0, 1),
        (22, 1, 1),
        (22, 2, 1),
        (26, 2, 2),
        (30, 1, 2),
    ];
    assert_eq!(
        said(&problem, &events),
        [
            "train 1 (`Extra`) waits 17 at `siding` (from 5 to 22) for train 0 (`Mail`) to clear `gap` (at 20 and 2 more)",
            "train 2 (`Local`) waits 19 at `spur` (from 3 to 22) for train 1 (`Extra`) to clear `siding` (at 22); \
             train 1 (`Extra`) waited for train 0 (`Mail`) to clear `gap` (at 20 and 2 more)",
        ]
    );
}

#[test]
fn a_wait_earlier_on_is_part_of_the_chain() {
    // B waited for A at the start and ran on without waiting; C then waited for B.
    let problem = problem(&[
        (
            "A",
            r#"[{"min_duration":7,"resources":[{"resource":"x"}],"successors":[1]},{"successors":[]}]"#,
        ),
        (
            "B",
            r#"[{"min_duration":4,"resources":[{"resource":"x"}],"successors":[1]},
                {"min_duration":6,"resources":[{"resource":"y"}],"successors":[2]},{"successors":[]}]"#,
        ),
        (
            "C",
            r#"[{"start_lb":12,"min_duration":1,"resources":[{"resource":"y"}],"successors":[1]},{"successors":[]}]"#,
        ),
    ]);
    let events = [
        (0, 0, 0),
        (7, 0, 1),
        (7, 1, 0),
        (11, 1, 1),
        (17, 1, 2),
        (17, 2, 0),
        (18, 2, 1),
    ];
    assert_eq!(
        said(&problem, &events),
        [
            "train 1 (`B`) waits 7 before it enters (from 0 to 7) for train 0 (`A`) to clear `x` (at 7)",
            "train 2 (`C`) waits 5 before it enters (from 12 to 17) for train 1 (`B`) to clear `y` (at 17); \
             train 1 (`B`) waited for train 0 (`A`) to clear `x` (at 7)",
        ]
    );
}

#[test]
fn a_train_that_may_not_stand_waits_before() {
    let problem = problem(&[
        (
            "A",
            r#"[{"min_duration":9,"resources":[{"resource":"y"}],"successors":[1]},{"successors":[]}]"#,
        ),
        (
            "B",
            r#"[{"min_duration":1,"resources":[{"resource":"w"}],"successors":[1]},
                {"min_duration":2,"max_duration":3,"resources":[{"resource":"x"}],"successors":[2]},
                {"min_duration":1,"resources":[{"resource":"y"}],"successors":[3]},{"successors":[]}]"#,
        ),
    ]);
    let events = [
        (0, 0, 0),
        (0, 1, 0),
        (6, 1, 1),
        (9, 0, 1),
        (9, 1, 2),
        (10, 1, 3),
    ];
    assert_eq!(
        said(&problem, &events),
        [
            "train 1 (`B`) waits 5 at `w` (from 1 to 6) because it may not stand at `x`; \
             train 1 (`B`) waited for train 0 (`A`) to clear `y` (at 9)",
            "train 1 (`B`) waits 1 at `x` (from 8 to 9) for train 0 (`A`) to clear `y` (at 9)",
        ]
    );
}

#[test]
fn a_wait_without_a_reason_is_said_to_be_one() {
    let problem = problem(&[
        (
            "A",
            r#"[{"min_duration":4,"resources":[{"resource":"x"}],"successors":[1]},{"successors":[]}]"#,
        ),
        (
            "",
            r#"[{"min_duration":1,"successors":[1]},{"resources":[{"resource":"x"}],"successors":[2]},{"successors":[]}]"#,
        ),
    ]);
    assert_eq!(
        said(
            &problem,
            &[(0, 0, 0), (0, 1, 0), (4, 0, 1), (6, 1, 1), (9, 1, 2)]
        ),
        [
            "train 1 waits 5 in operation 0 (from 1 to 6) for train 0 (`A`) to clear `x` (at 4); the last 2 of it held by nothing",
            "train 1 waits 3 at `x` (from 6 to 9), held by nothing",
        ]
    );
}

#[test]
fn nothing_waits_without_a_reason_in_plans_that_start_all_as_early_as_their_order_lets_them() {
    let mut waits = 0;
    for seed in 0..600 {
        let problem = common::random::problem(seed);
        let Outcome::Best(_, plan) = best_by_orders(&problem, 20_000) else {
            continue;
        };
        for wait in explain(&problem, &plan).expect("a plan") {
            waits += 1;
            assert_eq!(wait.idle, 0, "seed {seed}: {wait}");
            assert!(
                wait.length() > 0 && !wait.chain.is_empty(),
                "seed {seed}: {wait}"
            );
            // However it was pulled about, in the end somebody else held something.
            let cleared = wait.chain.iter().any(|l| matches!(l, Link::Cleared { .. }));
            let timetable = matches!(wait.chain.last(), Some(Link::MayNotStand { .. }));
            assert!(cleared || timetable, "seed {seed}: {wait}");
        }
    }
    assert!(waits > 500, "{waits}");
}
