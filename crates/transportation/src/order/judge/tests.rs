//! A single track with five stations, Alder to Elm, east superior. Facts of the rules are cited where
//! a document has them; the rest follows from the rules in `rights`.

use model::time::RailSpan;

use super::super::{Delivery, District, Place, Visit};
use super::*;
use crate::rights::ScheduleTime;

const PLACES: [&str; 5] = ["Alder", "Birch", "Cedar", "Dogwood", "Elm"];

fn hm(text: &str) -> RailTime {
    RailTime::parse(text).unwrap()
}

fn territory() -> Territory {
    Territory {
        places: PLACES
            .iter()
            .map(|name| Place {
                name: (*name).to_owned(),
                office: (*name != "Dogwood").then(|| [hm("5:00"), hm("22:00")]),
                hands_out: false,
            })
            .collect(),
        districts: (0..4)
            .map(|low| District {
                ends: [PlaceNo(low), PlaceNo(low + 1)],
                tracks: 1,
                blocks: 1,
                superior_up: true,
            })
            .collect(),
        runs: Vec::new(),
    }
}

/// Adds a train: per station in running order `due arrival, due leaving / planned arrival, leaving`.
fn add(territory: &mut Territory, name: &str, class: Option<u8>, up: bool, times: &str) -> RunNo {
    let count = territory.places.len();
    let visits = times
        .split(',')
        .enumerate()
        .map(|(at, words)| {
            let mut halves = words.split('/');
            let pair = |text: &str| {
                let times: Vec<RailTime> = text.split_whitespace().map(hm).collect();
                (times[0], *times.last().unwrap())
            };
            let due = halves.next().unwrap();
            let (due_arrive, due_leave) = pair(due);
            let (arrive, leave) = pair(halves.next().unwrap_or(due));
            let place = if up { at } else { count - 1 - at };
            let last = at + 1 == count;
            let next = if up { place } else { place.wrapping_sub(1) };
            Visit {
                place: PlaceNo(place as u32),
                due: class.map(|_| ScheduleTime {
                    arrive: due_arrive,
                    leave: due_leave,
                }),
                arrive,
                leave,
                next: (!last).then_some(DistrictNo(next as u32)),
                stops: arrive != leave,
            }
        })
        .collect();
    territory.runs.push(Run {
        name: name.to_owned(),
        class,
        visits,
        runs: true,
        works: None,
    });
    RunNo(territory.runs.len() as u32 - 1)
}

fn copy(to: RunNo, at: u32) -> Delivery {
    Delivery {
        to: To::Train(to),
        at: PlaceNo(at),
        last: PlaceNo(at),
        signed: false,
    }
}

fn order(number: u32, complete: &str, body: Body, copies: &[(RunNo, u32)]) -> Order {
    Order {
        number,
        complete: hm(complete),
        body,
        copies: copies.iter().map(|&(to, at)| copy(to, at)).collect(),
    }
}

fn found(territory: &Territory, orders: &[Order]) -> Vec<(Fault, String)> {
    judge(territory, orders, &Book::default(), TimeStyle::TwentyFour)
        .into_iter()
        .map(|finding| (finding.fault, finding.sentence))
        .collect()
}

fn faults(territory: &Territory, orders: &[Order]) -> Vec<Fault> {
    let mut faults: Vec<Fault> = found(territory, orders)
        .into_iter()
        .map(|(f, _)| f)
        .collect();
    faults.sort();
    faults.dedup();
    faults
}

/// Two trains of one class meet at Cedar as the timetable has it: 10 east is superior, and 9 is in the
/// clear there before 10 is due to leave.
fn on_time() -> (Territory, RunNo, RunNo) {
    let mut territory = territory();
    let ten = add(
        &mut territory,
        "10",
        Some(3),
        true,
        "8:00,8:20,8:40 8:45,9:05,9:25",
    );
    let nine = add(
        &mut territory,
        "9",
        Some(3),
        false,
        "8:00,8:20,8:40 8:46,9:05,9:25",
    );
    (territory, ten, nine)
}

/// 10 runs forty minutes late, and 9 goes on to Birch for it.
fn late() -> (Territory, RunNo, RunNo) {
    let mut territory = territory();
    let ten = add(
        &mut territory,
        "10",
        Some(3),
        true,
        "8:00/8:40,8:20/9:00 9:06,8:40 8:45/9:26,9:05/9:46,9:25/10:05",
    );
    let nine = add(
        &mut territory,
        "9",
        Some(3),
        false,
        "8:00,8:20,8:40 8:46,9:05 9:10,9:25/9:30",
    );
    (territory, ten, nine)
}

fn meet(ten: RunNo, nine: RunNo, at: u32) -> Body {
    Body::Meet {
        train: ten,
        others: vec![(nine, PlaceNo(at))],
    }
}

#[test]
fn a_day_on_time_needs_no_orders() {
    let (territory, _, _) = on_time();
    assert_eq!(found(&territory, &[]), []);
}

#[test]
fn an_inferior_train_must_wait_for_a_late_superior_one() {
    let (territory, _, _) = late();
    let found = found(&territory, &[]);
    assert_eq!(
        found[0],
        (
            Fault::NoAuthority,
            "No. 9 has no authority to leave Cedar for Birch at 8:46, where it arrives at 9:05: \
             No. 9 must be in clear of No. 10 by 8:20 by the timetable"
                .to_owned()
        )
    );
    assert_eq!(found.len(), 1);
}

#[test]
fn a_meet_by_order_is_kept_and_every_way_of_spoiling_it_is_caught() {
    let (territory, ten, nine) = late();
    let good = order(1, "7:50", meet(ten, nine, 1), &[(ten, 0), (nine, 4)]);
    assert_eq!(found(&territory, std::slice::from_ref(&good)), []);
    // The superior train does not get it: both believe the track is theirs.
    let half = order(1, "7:50", meet(ten, nine, 1), &[(nine, 4)]);
    let spoilt = found(&territory, &[half]);
    assert_eq!(spoilt[0].0, Fault::BothAuthorized);
    assert!(
        spoilt[0].1.contains("No. 9 by order 1 from 8:40 on")
            || spoilt[0].1.contains("No. 9 by order 1 from 8:46 on"),
        "{}",
        spoilt[0].1
    );
    // The inferior train does not get it: it has no authority.
    let half = order(1, "7:50", meet(ten, nine, 1), &[(ten, 0)]);
    assert_eq!(faults(&territory, &[half]), [Fault::NoAuthority]);
    // The meet is moved.
    for at in [0, 2, 3] {
        let moved = order(1, "7:50", meet(ten, nine, at), &[(ten, 0), (nine, 4)]);
        assert!(
            faults(&territory, &[moved]).contains(&Fault::NoAuthority),
            "{at}"
        );
    }
    // It is complete when 10, on time, would be gone.
    let late = order(1, "8:10", meet(ten, nine, 1), &[(ten, 0), (nine, 4)]);
    let spoilt = found(&territory, &[late]);
    assert!(spoilt.contains(&(
        Fault::TooLate,
        "order 1 is complete at 8:10, but No. 10 may have left Alder since 8:00".to_owned()
    )));
    assert!(spoilt.iter().any(|(fault, _)| *fault == Fault::NoAuthority));
    // There is no office at Dogwood.
    let nowhere = order(1, "7:50", meet(ten, nine, 1), &[(ten, 0), (nine, 3)]);
    assert!(faults(&territory, &[nowhere]).contains(&Fault::NotDelivered));
    // 9 gets it where it is already beyond the need: at Cedar it is in time, at Birch not.
    let later = order(1, "7:50", meet(ten, nine, 1), &[(ten, 0), (nine, 2)]);
    assert_eq!(found(&territory, &[later]), []);
    let later = order(1, "7:50", meet(ten, nine, 1), &[(ten, 0), (nine, 1)]);
    assert_eq!(faults(&territory, &[later]), [Fault::NoAuthority]);
    // The superior train gets it beyond the place where it meets.
    let beyond = order(1, "7:50", meet(ten, nine, 1), &[(ten, 2), (nine, 4)]);
    assert!(faults(&territory, &[beyond]).contains(&Fault::BothAuthorized));
}

/// TR 6386: a train that is told another runs late need not wait for its schedule, and the late train
/// must not go sooner than the order says.
#[test]
fn running_late_by_order_opens_the_track_to_the_inferior_train() {
    let (territory, ten, nine) = late();
    let body = |minutes| Body::RunLate {
        train: ten,
        late: RailSpan::from_minutes(minutes),
        from: PlaceNo(0),
        to: PlaceNo(4),
    };
    let both = [(ten, 0), (nine, 4)];
    // Due out of Birch at 8:20, forty-five minutes late: 9:05, when 9 arrives. But it leaves Alder 40 late.
    assert_eq!(
        faults(&territory, &[order(1, "7:50", body(40), &both)]),
        [Fault::NoAuthority]
    );
    assert!(faults(&territory, &[order(1, "7:50", body(46), &both)]).contains(&Fault::BeforeTime));
    let wait = Body::Wait {
        train: ten,
        at: vec![(PlaceNo(1), hm("9:06"))],
    };
    assert_eq!(
        found(&territory, &[order(1, "7:50", wait.clone(), &both)]),
        []
    );
    // If only 9 is told, 10 may come at its own time.
    assert_eq!(
        faults(&territory, &[order(1, "7:50", wait, &[(nine, 4)])]),
        [Fault::BothAuthorized]
    );
}

/// TR 6386, Form C: right over an opposing train between two points.
#[test]
fn right_over_makes_the_inferior_train_superior() {
    let (territory, ten, nine) = late();
    let right = Body::RightOver {
        first: nine,
        over: ten,
        from: PlaceNo(4),
        to: PlaceNo(1),
    };
    let both = [(ten, 0), (nine, 4)];
    assert_eq!(
        found(&territory, &[order(1, "7:50", right.clone(), &both)]),
        []
    );
    assert_eq!(
        faults(&territory, &[order(1, "7:50", right, &[(nine, 4)])]),
        [Fault::BothAuthorized]
    );
}

/// TR 6386: extras run by order only, and two extras have no superiority over each other by direction.
#[test]
fn extras_need_orders_to_run_and_to_meet() {
    let mut territory = territory();
    let east = add(
        &mut territory,
        "71",
        None,
        true,
        "8:00,8:20,8:40 8:45,9:05,9:25",
    );
    let west = add(
        &mut territory,
        "72",
        None,
        false,
        "8:00,8:20,8:40 8:46,9:05,9:25",
    );
    let run = |number, train, from, to, at| {
        let body = Body::Extra {
            train,
            from: PlaceNo(from),
            to: PlaceNo(to),
        };
        order(number, "7:30", body, &[(train, at)])
    };
    let mut orders = vec![run(1, east, 0, 4, 0), run(2, west, 4, 0, 4)];
    assert_eq!(
        faults(&territory, &[]),
        [Fault::BothAuthorized, Fault::NoAuthority]
    );
    assert_eq!(faults(&territory, &orders), [Fault::BothAuthorized]);
    orders.push(order(
        3,
        "7:40",
        meet(east, west, 2),
        &[(east, 0), (west, 4)],
    ));
    assert_eq!(found(&territory, &orders), []);
}

/// An extra clears regular trains by five minutes (TR 6386, rule S-87) without being told of them.
#[test]
fn an_extra_clears_the_schedule() {
    let with = |arrives: &str| {
        let mut territory = territory();
        add(
            &mut territory,
            "10",
            Some(4),
            true,
            "8:00,8:20,8:40 8:45,9:05,9:25",
        );
        let times = format!("8:00,8:20,{arrives} 8:50,9:05,9:25");
        let extra = add(&mut territory, "72", None, false, &times);
        let body = Body::Extra {
            train: extra,
            from: PlaceNo(4),
            to: PlaceNo(0),
        };
        faults(&territory, &[order(1, "7:30", body, &[(extra, 4)])])
    };
    assert_eq!(with("8:40"), []);
    assert_eq!(with("8:41"), [Fault::NoAuthority]);
}

/// A schedule that nobody runs still has to be cleared, until it is annulled.
#[test]
fn a_train_that_does_not_run_must_be_annulled() {
    let (mut territory, ten, nine) = late();
    territory.runs[ten.index()].runs = false;
    assert_eq!(faults(&territory, &[]), [Fault::NoAuthority]);
    let body = Body::AnnulSchedule { train: ten };
    assert_eq!(
        found(&territory, &[order(1, "7:30", body, &[(nine, 4)])]),
        []
    );
}

#[test]
fn an_inferior_train_runs_ahead_of_a_superior_one_only_by_order() {
    let mut territory = territory();
    let fast = add(
        &mut territory,
        "2",
        Some(2),
        true,
        "8:00/8:30,8:10/8:45,8:20/9:00,8:30/9:15,8:40/9:30",
    );
    let slow = add(
        &mut territory,
        "42",
        Some(4),
        true,
        "8:05,8:30,8:50,9:10,9:25",
    );
    assert_eq!(faults(&territory, &[]), [Fault::NoAuthority]);
    let ahead = Body::Ahead {
        first: slow,
        seconds: vec![(fast, PlaceNo(0), PlaceNo(4))],
    };
    assert_eq!(
        found(
            &territory,
            &[order(1, "7:40", ahead.clone(), &[(fast, 0), (slow, 0)])]
        ),
        []
    );
    let spoilt = found(&territory, &[order(1, "7:40", ahead, &[(slow, 0)])]);
    assert_eq!(spoilt[0].0, Fault::BothAuthorized);
}

#[test]
fn an_order_put_in_place_of_another_ends_it() {
    let (territory, ten, nine) = late();
    let both = [(ten, 0), (nine, 4)];
    let first = order(1, "7:30", meet(ten, nine, 2), &both);
    let body = Body::InsteadOf {
        number: 1,
        body: Box::new(meet(ten, nine, 1)),
    };
    let second = order(2, "7:45", body.clone(), &both);
    assert_eq!(found(&territory, &[first.clone(), second.clone()]), []);
    // Delivered to one of them only, they go to different places.
    let half = order(2, "7:45", body, &[(nine, 4)]);
    assert!(faults(&territory, &[first, half]).contains(&Fault::BothAuthorized));
    // It names an order that there never was.
    assert!(faults(&territory, &[second]).contains(&Fault::Garbled));
}

/// TR 6386, Form L: an annulled order binds nobody who was told; one who was not still holds it.
#[test]
fn an_annulled_order_binds_only_who_was_not_told() {
    let (territory, ten, nine) = late();
    let both = [(ten, 0), (nine, 4)];
    let kept = order(1, "7:30", meet(ten, nine, 1), &both);
    assert_eq!(found(&territory, std::slice::from_ref(&kept)), []);
    let annul = |copies: &[(RunNo, u32)]| order(2, "7:45", Body::AnnulOrder { number: 1 }, copies);
    // Without it 9 must wait for 10 at Cedar, and the plan has it at Birch.
    assert_eq!(
        faults(&territory, &[kept.clone(), annul(&both)]),
        [Fault::NoAuthority]
    );
    // 10 goes by the timetable, 9 by the order.
    let half = faults(&territory, &[kept, annul(&[(ten, 0)])]);
    assert!(half.contains(&Fault::BothAuthorized));
}

/// TR 6386, Form M: what is annulled of an order no longer holds, and the rest of it does.
#[test]
fn a_part_of_an_order_is_annulled_and_the_rest_of_it_holds() {
    let (mut territory, ten, nine) = late();
    // 7 follows 9 two hours later and meets 10 nowhere; the order speaks of it by mistake.
    let seven = add(
        &mut territory,
        "7",
        Some(4),
        false,
        "11:00,11:20,11:40,12:05,12:25",
    );
    let said = Body::Meet {
        train: ten,
        others: vec![(nine, PlaceNo(1)), (seven, PlaceNo(2))],
    };
    let all = [(ten, 0), (nine, 4), (seven, 4)];
    let first = order(1, "7:30", said.clone(), &all);
    // With the whole of it 10 would have to wait at Cedar for a train three hours away.
    assert_eq!(
        faults(&territory, std::slice::from_ref(&first)),
        [Fault::NoAuthority]
    );
    let part = |other, at| Body::AnnulPart {
        number: 1,
        part: Box::new(meet(ten, other, at)),
    };
    let without = order(2, "7:45", part(seven, 2), &all);
    assert_eq!(found(&territory, &[first.clone(), without.clone()]), []);
    assert_eq!(without.body.form(), crate::order::Form::M);
    assert_eq!(
        without.body.sentence(&territory, TimeStyle::TwentyFour),
        "That part of order 1 which says \u{201c}No. 10 will meet No. 7 at Cedar\u{201d} is annulled."
    );
    // If the other part falls, 9 has no authority to go on to Birch.
    let wrong = order(2, "7:45", part(nine, 1), &all);
    assert!(faults(&territory, &[first.clone(), wrong]).contains(&Fault::NoAuthority));
    // What the order does not say cannot be annulled of it.
    let never = order(2, "7:45", part(seven, 1), &all);
    assert!(faults(&territory, &[first, never]).contains(&Fault::Garbled));
    // Nor can a part of an order that there never was.
    assert!(faults(&territory, &[without]).contains(&Fault::Garbled));
    // In place of another, an order can be cut like any other.
    let instead = Body::InsteadOf {
        number: 1,
        body: Box::new(said),
    };
    let early = order(1, "7:20", meet(ten, nine, 2), &all);
    let later = order(2, "7:30", instead, &all);
    let cut = Body::AnnulPart {
        number: 2,
        part: Box::new(meet(ten, seven, 2)),
    };
    let cut = order(3, "7:45", cut, &all);
    assert_eq!(found(&territory, &[early, later, cut]), []);
}

#[test]
fn a_dead_schedule_and_numbers_given_twice_are_found() {
    let mut territory = territory();
    let ten = add(
        &mut territory,
        "10",
        Some(3),
        true,
        "6:00/6:00,6:20/18:21,6:40/18:40,7:00/19:05,7:20/19:25",
    );
    assert_eq!(faults(&territory, &[]), [Fault::DeadSchedule]);
    let body = Body::Hold {
        train: ten,
        at: PlaceNo(1),
    };
    let hold = order(4, "5:30", body, &[]);
    assert_eq!(
        faults(&territory, &[hold.clone(), hold]),
        [Fault::NoAuthority, Fault::DeadSchedule, Fault::Garbled]
    );
}
