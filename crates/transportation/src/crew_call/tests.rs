use model::date::Date;

use super::{service::service_limit, *};

fn duty(name: &str, begins: u16, ends: u16) -> Duty {
    Duty {
        name: name.to_owned(),
        trains: Vec::new(),
        begins: RailTime::from_hm(begins, 0),
        ends: RailTime::from_hm(ends, 0),
        at: "Alder".to_owned(),
        seats: vec![Seat {
            roles: vec![Role::Engineer],
        }],
    }
}

fn hand(name: &str, qualified: &[Role]) -> Hand {
    Hand {
        name: name.to_owned(),
        qualified: qualified.to_vec(),
        comes: None,
        leaves: None,
    }
}

fn seat(duty: usize, person: usize) -> Assigned {
    Assigned {
        duty,
        seat: 0,
        person,
    }
}

const TERMS: Terms = Terms {
    rest: RailSpan::from_minutes(30),
    hours: Some(RailSpan::from_minutes(8 * 60)),
};

#[test]
fn what_is_wrong_with_a_board_is_said() {
    let duties = [
        duty("First", 6, 9),
        duty("Second", 9, 12),
        duty("Third", 13, 19),
    ];
    let mut hands = [
        hand("Ada", &[Role::Engineer]),
        hand("Bo", &[Role::Brakeman]),
        hand("Cy", &[]),
    ];
    let judge = |hands: &[Hand], assigned: &[Assigned], learners: &[Learner]| {
        super::judge::judge(&duties, hands, &TERMS, assigned, learners)
    };
    assert_eq!(
        judge(&hands, &[seat(0, 0), seat(2, 2)], &[]),
        [] as [&str; 0]
    );
    assert_eq!(
        judge(&hands, &[seat(0, 1)], &[]),
        ["Bo is not qualified as engineer on First"]
    );
    assert_eq!(
        judge(&hands, &[seat(0, 0), seat(1, 0)], &[]),
        ["Ada has 0 min between First and Second; 30 min are due"]
    );
    assert_eq!(
        judge(&hands, &[seat(0, 2), seat(2, 2)], &[]),
        ["Cy is on duty for 9 h; 8 h is the limit"]
    );
    assert_eq!(
        judge(&hands, &[seat(0, 0), seat(0, 2)], &[]),
        ["Ada and Cy both have the seat of engineer on First"]
    );
    let learner = Learner {
        duty: 0,
        person: 1,
        teacher: 0,
        role: Role::Engineer,
    };
    assert_eq!(judge(&hands, &[seat(0, 0)], &[learner]), [] as [&str; 0]);
    assert_eq!(
        judge(&hands, &[seat(0, 2)], &[learner]),
        ["Bo is to learn engineer from Ada, who does not work as that on First"]
    );
    hands[0].leaves = Some(RailTime::from_hm(8, 0));
    assert_eq!(
        judge(&hands, &[seat(0, 0)], &[]),
        ["Ada is not there for all of First"]
    );
    assert_eq!(
        super::judge::empty(&duties, &[seat(0, 0)]),
        [(1, 0), (2, 0)]
    );
}

/// 34 Stat. 1415 (March 4, 1907): 16 hours; Public Law 91-169 (December 26, 1969): 14 hours. The days on
/// which 16 and 12 hours took effect are from memory.
#[test]
fn hours_of_service_by_date() {
    let hours = |year, month, day| {
        service_limit(Date::new(year, month, day).unwrap())
            .map(|limit| limit.on_duty.minutes() / 60.0)
    };
    assert_eq!(hours(1907, 3, 3), None);
    assert_eq!(hours(1941, 10, 9), Some(16.0));
    assert_eq!(hours(1969, 12, 25), Some(16.0));
    assert_eq!(hours(1969, 12, 26), Some(14.0));
    assert_eq!(hours(1990, 1, 1), Some(12.0));
}
