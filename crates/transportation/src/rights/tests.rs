//! The published cases. Where a test names no document, the values follow from the rule above it.

use super::*;

fn train(class: u8, superior_direction: bool) -> Rank {
    Rank {
        class: Some(class),
        superior_direction,
    }
}

fn extra(superior_direction: bool) -> Rank {
    Rank {
        class: None,
        superior_direction,
    }
}

fn hm(hours: u16, minutes: u16) -> RailTime {
    RailTime::from_hm(hours, minutes)
}

fn opposing(first: Rank, second: Rank) -> Superior {
    superior(first, second, Encounter::Opposing, None, &Book::default())
}

/// US Army subcourse TR 6386 on TM 55-200, rule S-71 and its example: a first-class westward train is
/// superior to a second-class eastward one though east is the superior direction.
#[test]
fn class_beats_direction() {
    assert_eq!(
        opposing(train(1, false), train(2, true)),
        Superior::First(By::Class)
    );
    assert_eq!(
        opposing(train(2, true), train(1, false)),
        Superior::Second(By::Class)
    );
}

/// TR 6386, rule S-71: direction is superior only between trains of the same class; right beats both.
#[test]
fn direction_decides_within_a_class_and_right_beats_both() {
    assert_eq!(
        opposing(train(3, true), train(3, false)),
        Superior::First(By::Direction)
    );
    let right = superior(
        train(4, false),
        train(1, true),
        Encounter::Opposing,
        Some(Which::First),
        &Book::default(),
    );
    assert_eq!(right, Superior::First(By::Right));
}

/// TR 6386, rule D-71: on double track trains are superior by right or class only.
#[test]
fn on_double_track_direction_says_nothing() {
    let both = |first, second| {
        superior(
            first,
            second,
            Encounter::SameDirection,
            None,
            &Book::default(),
        )
    };
    assert_eq!(both(train(3, true), train(3, false)), Superior::Neither);
    assert_eq!(
        both(train(2, false), train(3, true)),
        Superior::First(By::Class)
    );
}

/// TR 6386, rule 73: extra trains are inferior to regular trains. Between two extras direction decides
/// in a train-order handbook of about 1910 and does not in TR 6386.
#[test]
fn extras_are_inferior_to_every_regular_train() {
    assert_eq!(
        opposing(extra(true), train(4, false)),
        Superior::Second(By::Class)
    );
    assert_eq!(opposing(extra(true), extra(false)), Superior::Neither);
    let older = Book {
        extras_by_direction: true,
        ..Book::default()
    };
    assert_eq!(
        superior(extra(true), extra(false), Encounter::Opposing, None, &older),
        Superior::First(By::Direction)
    );
}

/// TR 6386, rule S-87: an extra clears the time of an opposing regular train by not less than five
/// minutes. The other times are from memory; ten minutes are common practice.
#[test]
fn clearing_times() {
    let minutes = RailSpan::from_minutes;
    let book = Book::default();
    assert_eq!(clear_before(extra(true), train(4, true), &book), minutes(5));
    assert_eq!(
        clear_before(train(3, true), train(2, false), &book),
        minutes(5)
    );
    assert_eq!(
        clear_before(train(3, true), train(3, false), &book),
        minutes(0)
    );
    assert_eq!(
        clear_before(train(3, true), train(2, false), &Book::ten_minutes()),
        minutes(10)
    );
}

/// TR 6386, the worked example on losing the schedule: due 0700, to leave 0707. In effect at 1900 and
/// 1907 exactly; dead if it arrives at 1901 though it could leave by 1906; dead if in by 1900 and out at
/// 1909.
#[test]
fn a_schedule_lives_twelve_hours() {
    let due = ScheduleTime {
        arrive: hm(7, 0),
        leave: hm(7, 7),
    };
    let alive = |arrived, leaves| alive(due, arrived, leaves, &Book::default());
    assert!(alive(hm(19, 0), hm(19, 7)));
    assert!(!alive(hm(19, 1), hm(19, 6)));
    assert!(!alive(hm(19, 0), hm(19, 9)));
}

/// TR 6386, the example for train 19 of orders to run 50 minutes late and to wait: its times 50 minutes
/// late are printed as 1830 1840 1851 1901 1909 1927 1942 and in at 1956, so the schedule is 50 minutes
/// earlier; the printed waits are 1823 1831 1838 1845 1852 1905 1918 and in at 1929.
#[test]
fn nineteen_runs_late_and_waits() {
    let late = [
        hm(18, 30),
        hm(18, 40),
        hm(18, 51),
        hm(19, 1),
        hm(19, 9),
        hm(19, 27),
        hm(19, 42),
        hm(19, 56),
    ];
    let waits = [
        hm(18, 23),
        hm(18, 31),
        hm(18, 38),
        hm(18, 45),
        hm(18, 52),
        hm(19, 5),
        hm(19, 18),
        hm(19, 29),
    ];
    let span = RailSpan::from_minutes(50);
    for (late, wait) in late.into_iter().zip(waits) {
        let due = RailTime::from_seconds(late.seconds() - span.seconds());
        assert_eq!(run_late(due, span), late);
        // Every printed wait is later than the schedule and earlier than the late time: it holds.
        assert_eq!(wait_until(due, wait), wait);
        assert_eq!(wait_until(late, wait), late);
    }
    assert_eq!(late[7].since(late[0]), RailSpan::from_minutes(86));
    assert_eq!(waits[7].since(waits[0]), RailSpan::from_minutes(66));
}
