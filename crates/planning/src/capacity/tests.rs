//! Changes on a problem small enough to see through.

use dispatching::{DelayTerm, Operation, Problem, ResourceUse, Train, solver};
use engineering::ids::{LineId, OpenRef, StationId, TrackId};

use super::change;
use crate::day::{Kind, Part, Parts, Resource};

const OPEN: OpenRef = OpenRef {
    line: LineId(0),
    open: 0,
};
const END: StationId = StationId(1);

fn operation(
    start_lb: i64,
    min_duration: i64,
    resource: Option<usize>,
    next: &[usize],
) -> Operation {
    Operation {
        start_lb,
        start_ub: None,
        min_duration,
        max_duration: None,
        resources: resource
            .into_iter()
            .map(|resource| ResourceUse {
                resource,
                release_time: 0,
            })
            .collect(),
        successors: next.to_vec(),
    }
}

/// Two trains from the two ends of one track, at the same time, an hour each; the first then stands for
/// ten hours on the only track of the staging yard, the second goes away. A third, an hour later, goes to
/// the same yard.
fn problem() -> (Problem, Parts) {
    let train = |begins, stands: bool| Train {
        name: String::new(),
        operations: vec![
            operation(begins, 0, None, &[1]),
            operation(begins, 3600, Some(0), &[2]),
            operation(
                0,
                if stands { 36_000 } else { 0 },
                stands.then_some(1),
                &[3],
            ),
            operation(0, 0, None, &[]),
        ],
    };
    let problem = Problem {
        trains: vec![train(0, true), train(0, false), train(3600, true)],
        resources: vec!["the main track".into(), "the yard".into()],
        objective: (0..3)
            .map(|train| DelayTerm {
                train,
                operation: 2,
                // Written so late that no wait would ever count.
                threshold: 1_000_000,
                coeff: 1,
                increment: 0,
                rank: 0,
            })
            .collect(),
    };
    let parts = Parts {
        operations: (0..3)
            .map(|train| {
                [Kind::Before, Kind::Open, Kind::Station, Kind::After]
                    .map(|kind| Part {
                        train,
                        call: 0,
                        kind,
                    })
                    .to_vec()
            })
            .collect(),
        resources: vec![
            Resource::Open {
                open: OPEN,
                track: 1,
            },
            Resource::Stand {
                station: END,
                track: TrackId(0),
            },
        ],
        classes: vec![1],
        base: 0,
        ways: vec![vec![(OPEN, true)], vec![(OPEN, false)], vec![(OPEN, true)]],
    };
    (problem, parts)
}

fn least(problem: &Problem) -> i64 {
    let options = solver::Options {
        rounds: Some(20),
        ..solver::Options::default()
    };
    let outcome = solver::solve(problem, &options, &|| false, &mut |_| {});
    assert_eq!(outcome.status, solver::Status::Optimal);
    outcome.cost.unwrap().total()
}

#[test]
fn a_pressed_day_counts_what_trains_lose_to_each_other() {
    let (mut problem, _) = problem();
    assert_eq!(least(&problem), 0);
    change::press(&mut problem);
    let thresholds: Vec<i64> = problem
        .objective
        .iter()
        .map(|term| term.threshold)
        .collect();
    assert_eq!(thresholds, [3600, 3600, 7200]);
    // One of the first two waits an hour, and the third, which finds the yard taken, nine or ten: in at
    // 36000 + 3600 at the earliest instead of 7200, it costs 32400 besides the hour.
    assert_eq!(least(&problem), 3600 + 32_400);
}

#[test]
fn a_second_track_lets_opposing_trains_by() {
    let (mut problem, parts) = problem();
    change::press(&mut problem);
    change::second_track(&mut problem, &parts, OPEN);
    // What is left is the yard's.
    assert_eq!(least(&problem), 32_400);
}

#[test]
fn another_track_in_the_yard_takes_the_third_train() {
    let (mut problem, parts) = problem();
    change::press(&mut problem);
    let before = problem.objective.len();
    change::another_stand(&mut problem, &parts, END);
    assert_eq!(problem.validate(), Ok(()));
    assert_eq!(problem.objective.len(), before + 2);
    // On the one main track three trains follow each other: the second and the third lose an hour each.
    assert_eq!(least(&problem), 7200);
}
