use super::*;

const HOUR: i64 = 3600;

fn call(station: usize, next: Option<(usize, bool)>, planned: i64) -> Call {
    Call {
        station,
        track: Some(0),
        out_of_the_way: next.is_none(),
        next,
        stands: 0,
        leaves: 0,
        runs: 600,
        due: next.is_none().then_some(planned),
        planned,
    }
}

/// Three stations in a row, a siding in the middle; one train each way, met in the middle by the plan.
fn meet() -> Rest {
    let track = |length| MeetingTrack { open: true, length };
    let district = District {
        tracks: 1,
        blocks: 1,
        closed_until: None,
    };
    let train = |name: &str, class, calls: Vec<Call>| Train {
        name: name.into(),
        class,
        length: 2.0,
        at: Where::Waiting,
        calls,
    };
    Rest {
        now: 8 * HOUR,
        stations: vec![vec![], vec![track(3.0), track(2.5)], vec![]],
        districts: vec![district; 2],
        trains: vec![
            train(
                "No. 1",
                1,
                vec![
                    call(0, Some((0, true)), 8 * HOUR),
                    call(1, Some((1, true)), 8 * HOUR + 600),
                    call(2, None, 8 * HOUR + 1200),
                ],
            ),
            train(
                "No. 2",
                2,
                vec![
                    call(2, Some((1, false)), 8 * HOUR),
                    call(1, Some((0, false)), 8 * HOUR + 600),
                    call(0, None, 8 * HOUR + 1200),
                ],
            ),
        ],
    }
}

fn planned(rest: &Rest) -> Planned {
    plan(rest, &Options::default(), &|| false).unwrap()
}

#[test]
fn trains_meet_where_there_is_a_second_track() {
    let rest = meet();
    let found = planned(&rest);
    assert!(found.proven);
    assert_eq!(found.lost, [(1, 0), (2, 0)]);
    let [one, two] = [&found.trains[0][1], &found.trains[1][1]];
    assert_ne!(one.track, two.track);
    assert_eq!((one.arrive, two.arrive), (8 * HOUR + 600, 8 * HOUR + 600));
    // A train too long for the siding takes the main, wherever the plan had it.
    let mut long = meet();
    long.trains[0].length = 2.8;
    long.trains[0].calls[1].track = None;
    let found = planned(&long);
    assert_eq!(
        (found.trains[0][1].track, found.trains[1][1].track),
        (Some(0), Some(1))
    );
}

#[test]
fn a_late_train_is_waited_for_by_the_lower_class_and_the_reason_is_told() {
    let mut rest = meet();
    // The first is on the line and twenty minutes late; the other stands in the middle, ready to go.
    rest.trains[0].at = Where::Line {
        arrives: 8 * HOUR + 1800,
    };
    rest.trains[1].calls.remove(0);
    rest.trains[1].at = Where::Station { track: Some(1) };
    let found = planned(&rest);
    assert_eq!(found.trains[1][0].leave, 8 * HOUR + 1800);
    assert_eq!(found.trains[0][2].arrive, 8 * HOUR + 2400);
    let wait = &found.waits[0];
    assert_eq!(
        (wait.train, wait.call, wait.for_whom.as_slice()),
        (1, 0, &[0][..])
    );
}

#[test]
fn closed_track_is_not_run_over_until_it_opens() {
    let mut rest = meet();
    rest.districts[1].closed_until = Some(9 * HOUR);
    let found = planned(&rest);
    assert!(found.trains[0][1].leave >= 9 * HOUR && found.trains[1][0].leave >= 9 * HOUR);
    // But a train that is on it comes in.
    rest.trains[1].at = Where::Line {
        arrives: 8 * HOUR + 300,
    };
    let found = planned(&rest);
    assert_eq!(found.trains[1][1].arrive, 8 * HOUR + 300);
}

#[test]
fn trains_that_block_each_other_are_named() {
    let mut rest = meet();
    // Both are between the same stations, face to face: no plan can help.
    rest.stations[1].clear();
    let arrives = 8 * HOUR + 600;
    rest.trains[0].at = Where::Line { arrives };
    rest.trains[1].at = Where::Line { arrives };
    rest.trains[1].calls.remove(0);
    let no = plan(&rest, &Options::default(), &|| false);
    assert!(
        matches!(no, Err(NoPlan::Blocked(_) | NoPlan::NotFound)),
        "{no:?}"
    );
}
