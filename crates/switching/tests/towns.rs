//! Whole towns: every plan passes the judge, and what cannot be done is said so.

mod common;

use common::{
    Dice, Local, NORMAL, POINTS, REVERSE, THROUGH, basin_junction, local_work, pell_crossing,
    random_town, sand_wash,
};
use proptest::prelude::*;
use switching::{
    Answer, Atlas, Departure, Goal, Handling, NodeKind, Objective, Options, Port, Reason, Solved,
    Town, TrainDue, Work, Wrong, replay, replay_timed, solve,
};

fn options(node_budget: u64) -> Options {
    Options {
        node_budget,
        ..Options::default()
    }
}

/// Solves, and holds every claim to what can be checked.
fn solved(l: &Local, w: &Work, o: &Options) -> Option<Solved> {
    let answer = solve(&l.town, w, o, &|| false).expect("usable");
    let s = answer.solved()?.clone();
    assert!(s.bound <= s.cost);
    assert_eq!(s.proven, s.bound == s.cost);
    let pictures = replay_timed(&l.town, w, &s.plan, &o.rates)
        .unwrap_or_else(|e| panic!("{e}\n{:#?}\n{:#?}", s.plan, w));
    let leaves = usize::from(s.plan.leaving.is_some());
    assert_eq!(pictures.len(), 1 + s.plan.moves.len() + leaves);
    if o.objective == Objective::Moves && w.trains_due.is_empty() {
        assert_eq!(s.cost as usize, s.plan.count());
    }
    Some(s)
}

#[test]
fn locals_at_three_towns_get_legal_plans() {
    type Make = fn() -> Local;
    let towns: [(Make, u32, u32, u32); 3] = [
        (pell_crossing, 4, 3, 3),
        (sand_wash, 4, 3, 2),
        (basin_junction, 4, 4, 4),
    ];
    for (make, through, set_outs, pick_ups) in towns {
        let l = make();
        assert_eq!(l.town.check(), vec![]);
        for seed in 0..6 {
            let w = local_work(&l, &mut Dice(seed), through, set_outs, pick_ups);
            assert_eq!(w.check(&l.town), vec![]);
            assert!(
                solved(&l, &w, &options(100_000)).is_some(),
                "{} with seed {seed}",
                l.town.name
            );
        }
    }
}

#[test]
fn the_same_question_gets_the_same_answer() {
    let l = basin_junction();
    let w = local_work(&l, &mut Dice(7), 3, 3, 3);
    let a = solve(&l.town, &w, &options(50_000), &|| false).unwrap();
    let b = solve(&l.town, &w, &options(50_000), &|| false).unwrap();
    assert_eq!(a, b);
}

#[test]
fn a_search_that_is_stopped_says_what_it_knows() {
    let l = basin_junction();
    let w = local_work(&l, &mut Dice(7), 3, 3, 3);
    match solve(&l.town, &w, &Options::default(), &|| true).unwrap() {
        Answer::GaveUp { bound, .. } => assert!(bound > 0),
        other => panic!("stopped at once, yet {other:?}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn plans_for_towns_drawn_by_lot_are_legal(seed in any::<u64>(), timed in any::<bool>()) {
        let mut dice = Dice(seed);
        let l = random_town(&mut dice);
        prop_assert_eq!(l.town.check(), vec![]);
        let (through, set_outs, pick_ups) = (dice.roll(4), dice.roll(4), dice.roll(4));
        let w = local_work(&l, &mut dice, through, set_outs, pick_ups);
        prop_assert_eq!(w.check(&l.town), vec![]);
        let mut o = options(if timed { 1500 } else { 15_000 });
        if timed {
            o.objective = Objective::Time;
        }
        solved(&l, &w, &o);
    }
}

/// A train whose front still stands before cars on one leg of a switch, while it sets cars out behind
/// it, has that leg under it and no other.
#[test]
fn a_train_across_a_switch_stays_on_its_leg_when_a_place_fills_or_empties() {
    let mut t = Town::new("Two legs");
    let west = t.node("west", NodeKind::Boundary);
    let hand = NodeKind::Switch { by_hand: true };
    let (near, far) = (t.node("near switch", hand), t.node("far switch", hand));
    let ends = ["stub", "stock pen", "mill"].map(|name| t.node(name, NodeKind::End));
    let lead = t.track("lead", (west, THROUGH), (near, NORMAL), 120);
    // Too short for the train to clear the near switch on it.
    t.track("stub", (far, NORMAL), (ends[0], THROUGH), 25);
    t.track("neck", (near, POINTS), (far, POINTS), 20);
    let pen = t.track("stock pen", (near, REVERSE), (ends[1], THROUGH), 25);
    let mill = t.track("mill", (far, REVERSE), (ends[2], THROUGH), 100);
    let pen = t.stand("stock pen", &[pen]);
    let mill = t.stand("mill", &[mill]);
    let l = Local {
        town: t,
        arrival: (vec![lead], near),
        exit: west,
        jobs: vec![],
    };
    let to = |place| Goal::Track {
        places: vec![place],
        rank: None,
    };
    let leave = Goal::Leave { block: 0 };
    for fills in [true, false] {
        let mut w = Work::new("engine", 30, &[lead], near);
        let kept = w.car("kept", 20, to(mill));
        if fills {
            // Leave a car at the pen, fetch one from the mill.
            let (left, fetched) = (
                w.car("left", 20, to(pen)),
                w.car("fetched", 20, leave.clone()),
            );
            w.train.behind = vec![left];
            w.stands(mill, &[fetched, kept]);
        } else {
            // The other way about.
            let (left, fetched) = (
                w.car("left", 20, to(mill)),
                w.car("fetched", 20, leave.clone()),
            );
            w.train.ahead = vec![left];
            w.stands(mill, &[kept]);
            w.stands(pen, &[fetched]);
        }
        w.departure = Some(Departure {
            boundary: l.exit,
            engine_ahead: fills,
            caboose: None,
        });
        for objective in [Objective::Moves, Objective::Time] {
            let o = Options {
                objective,
                ..options(20_000)
            };
            let s = solved(&l, &w, &o).expect("two moves do it");
            assert!(s.proven && s.plan.moves.len() == 2, "{:?}", s.plan);
        }
    }
}

/// Bounds, beams and the search from both ends against plain breadth-first search, car by car.
#[test]
fn what_is_called_proven_is_the_true_optimum() {
    let (mut agreed, mut impossible) = (0, 0);
    let mut hardest = 0;
    for seed in 0..250 {
        let mut dice = Dice(seed);
        let l = random_town(&mut dice);
        let (through, set_outs, pick_ups) = (dice.roll(2), dice.roll(3), dice.roll(3));
        let w = local_work(&l, &mut dice, through, set_outs, pick_ups);
        let Some(mut atlas) = Atlas::explore(&l.town, &w, 6000) else {
            continue;
        };
        let truth = atlas.fewest_moves();
        match solve(&l.town, &w, &options(200_000), &|| false).expect("usable") {
            Answer::Solved(s) => {
                let truth = truth.unwrap_or_else(|| panic!("seed {seed}: thought impossible"));
                assert!(s.bound <= truth && truth <= s.cost, "seed {seed}");
                agreed += u32::from(s.proven);
                hardest = hardest.max(truth);
            }
            Answer::Impossible(reasons) => {
                assert_eq!(truth, None, "seed {seed}: {reasons:?}");
                impossible += 1;
            }
            Answer::GaveUp { .. } => {}
        }
    }
    assert!(
        agreed > 60 && impossible > 10 && hardest > 5,
        "{agreed} {impossible} {hardest}"
    );
}

/// A main with one spur whose points face the arriving train, and room `tail` beyond it.
fn one_spur(facing: bool, tail: u32) -> Local {
    let mut t = Town::new("one spur");
    let w = t.node("west end", NodeKind::Boundary);
    let e = t.node("east end", NodeKind::Boundary);
    let s = t.node("mill switch", NodeKind::Switch { by_hand: true });
    let b = t.node("bumper", NodeKind::End);
    let (near, far) = if facing {
        (POINTS, NORMAL)
    } else {
        (NORMAL, POINTS)
    };
    let main = t.track("west main", (w, THROUGH), (s, near), 1000);
    let east = t.track("east main", (s, far), (e, THROUGH), tail);
    let mill = t.track("mill", (s, REVERSE), (b, THROUGH), 200);
    for x in [main, east] {
        let name = t.tracks[x.index()].name.clone();
        let p = t.stand(&name, &[x]);
        t.places[p.index()].clear_at_end = true;
    }
    let mill = t.stand("mill", &[mill]);
    Local {
        town: t,
        arrival: (vec![main], s),
        exit: e,
        jobs: vec![(mill, 0)],
    }
}

fn one_car(l: &Local, ahead: bool) -> Work {
    let mut w = Work::new("engine", 60, &l.arrival.0, l.arrival.1);
    let c = w.car(
        "PB 1",
        44,
        Goal::Track {
            places: vec![l.jobs[0].0],
            rank: None,
        },
    );
    if ahead {
        w.train.ahead.push(c);
    } else {
        w.train.behind.push(c);
    }
    w.departure = Some(Departure {
        boundary: l.exit,
        engine_ahead: true,
        caboose: None,
    });
    w
}

#[test]
fn a_facing_spur_without_a_run_around_cannot_be_worked_with_the_car_behind() {
    let l = one_spur(true, 500);
    let answer = solve(&l.town, &one_car(&l, false), &Options::default(), &|| false).unwrap();
    let Answer::Impossible(reasons) = answer else {
        panic!("{answer:?}")
    };
    assert_eq!(
        reasons,
        [Reason::WrongEnd {
            car: "PB 1".into(),
            goal: "to mill".into()
        }]
    );
    assert_eq!(
        reasons[0].to_string(),
        "PB 1 cannot be brought to mill: the engine is always at the wrong end of it, and no \
         track lets the engine run round"
    );
    // With the car ahead of the engine it is one move.
    let s = solved(&l, &one_car(&l, true), &Options::default()).expect("easy");
    assert!(s.proven && s.moves == 1);
    // A trailing spur is one move with the car behind.
    let l = one_spur(false, 500);
    let s = solved(&l, &one_car(&l, false), &Options::default()).expect("easy");
    assert!(s.proven && s.moves == 1);
}

#[test]
fn a_tail_too_short_for_the_engine_and_one_car_is_named_as_such() {
    let l = one_spur(false, 100);
    let answer = solve(&l.town, &one_car(&l, false), &Options::default(), &|| false).unwrap();
    assert_eq!(
        answer,
        Answer::Impossible(vec![Reason::TooShort {
            car: "PB 1".into(),
            goal: "to mill".into()
        }])
    );
    // Four units more are enough: 60 + 44.
    let l = one_spur(false, 104);
    assert!(solved(&l, &one_car(&l, false), &Options::default()).is_some());
}

#[test]
fn a_train_too_long_for_the_tail_leaves_its_rear_behind() {
    // Ten through cars; the tail holds the engine and three cars.
    let l = one_spur(false, 60 + 3 * 44);
    let mut w = one_car(&l, false);
    for i in 0..10 {
        let c = w.car(&format!("T {i}"), 44, Goal::Leave { block: 0 });
        w.train.behind.push(c);
    }
    let s = solved(&l, &w, &Options::default()).expect("possible");
    // Cut off, back in and set out, couple up again.
    assert!(s.proven);
    assert_eq!(s.moves, 3);
}

#[test]
fn more_cars_than_a_track_holds_are_refused_with_the_lengths() {
    let l = one_spur(false, 500);
    let mut w = one_car(&l, false);
    for i in 0..4 {
        let goal = Goal::Track {
            places: vec![l.jobs[0].0],
            rank: None,
        };
        let c = w.car(&format!("X {i}"), 44, goal);
        w.train.behind.push(c);
    }
    let answer = solve(&l.town, &w, &Options::default(), &|| false).unwrap();
    assert_eq!(
        answer,
        Answer::Impossible(vec![Reason::TooFull {
            place: "mill".into(),
            capacity: 200,
            needed: 220,
            over: 20
        }])
    );
}

#[test]
fn an_order_that_no_track_allows_is_proven_impossible_by_looking_at_everything() {
    // Two cars stand in a spur and should change places, with nowhere else to put one.
    let mut t = Town::new("dead end");
    let w = t.node("end", NodeKind::End);
    let s = t.node("joint", NodeKind::Joint);
    let b = t.node("bumper", NodeKind::End);
    let lead = t.track("lead", (w, THROUGH), (s, THROUGH), 300);
    let mill = t.track("mill", (s, THROUGH), (b, THROUGH), 100);
    let p = t.stand("mill", &[mill]);
    let mut work = Work::new("engine", 60, &[lead], s);
    let a = work.car(
        "A",
        44,
        Goal::Track {
            places: vec![p],
            rank: Some(1),
        },
    );
    let b = work.car(
        "B",
        44,
        Goal::Track {
            places: vec![p],
            rank: Some(0),
        },
    );
    work.stands(p, &[a, b]);
    let answer = solve(&t, &work, &Options::default(), &|| false).unwrap();
    let Answer::Impossible(reasons) = answer else {
        panic!("{answer:?}")
    };
    assert!(matches!(reasons[0], Reason::AllTried { .. }), "{reasons:?}");
}

#[test]
fn a_car_under_repair_is_neither_moved_nor_touched_and_hides_what_stands_behind_it() {
    let l = one_spur(false, 500);
    let mut w = one_car(&l, false);
    // It stands in the middle of the mill track: room for one car before it, none behind.
    let sick = w.car("RIP 9", 44, Goal::Anywhere);
    w.cars[sick.index()].immovable = true;
    w.stands_at(l.jobs[0].0, sick, 60);
    let s = solved(&l, &w, &Options::default()).expect("room before it");
    assert_eq!(s.moves, 1);
    // A car behind it cannot be had.
    let c = w.car("PB 2", 44, Goal::Leave { block: 0 });
    w.stands(l.jobs[0].0, &[c]);
    let answer = solve(&l.town, &w, &Options::default(), &|| false).unwrap();
    assert!(matches!(answer, Answer::Impossible(_)), "{answer:?}");
    // Nor is there room for one longer than the gap.
    let mut w = one_car(&l, false);
    w.cars[0].length = 61;
    let sick = w.car("RIP 9", 44, Goal::Anywhere);
    w.cars[sick.index()].immovable = true;
    w.stands_at(l.jobs[0].0, sick, 60);
    let answer = solve(&l.town, &w, &Options::default(), &|| false).unwrap();
    assert!(matches!(answer, Answer::Impossible(_)), "{answer:?}");
}

#[test]
fn cars_go_to_their_doors_and_a_car_in_the_way_is_put_back() {
    // Doors 1 (near) and 2 on a trailing spur; the car at door 1 stays, another goes to door 2.
    let mut l = one_spur(false, 500);
    let p = l.jobs[0].0;
    l.town.spot(p, "door 1", 60, 5);
    l.town.spot(p, "door 2", 120, 5);
    let mut w = Work::new("engine", 60, &l.arrival.0, l.arrival.1);
    let stays = w.car(
        "STAY 1",
        44,
        Goal::Spot {
            place: p,
            spots: vec![0],
        },
    );
    let comes = w.car(
        "COME 2",
        44,
        Goal::Spot {
            place: p,
            spots: vec![1],
        },
    );
    w.stands_at(p, stays, 60 - 22);
    w.train.behind.push(comes);
    w.departure = Some(Departure {
        boundary: l.exit,
        engine_ahead: true,
        caboose: None,
    });
    let s = solved(&l, &w, &Options::default()).expect("possible");
    // Couple to STAY 1 behind COME 2? Then COME 2 is nearest the engine; so it takes: couple,
    // set both out somewhere and turn them about, which one spur does not allow: unless the main
    // holds one of them for a while.
    assert!(s.proven);
    assert!(s.moves >= 5, "{}", s.moves);
    let last = s.plan.moves.iter().rev().find_map(|m| match &m.handling {
        Handling::SetOut { at, cars, .. } => Some((at.clone(), cars.clone())),
        _ => None,
    });
    assert_eq!(last, Some((vec![Some(60 - 22)], vec![stays])));
}

#[test]
fn a_second_engine_lets_the_first_shut_itself_in() {
    // A facing spur and no run-around: one engine with the car behind it can only pull the car in
    // and be shut in. With a second engine in a pocket beyond, that is a way to do it.
    let mut l = one_spur(true, 500);
    let w = one_car(&l, false);
    assert!(solved(&l, &w, &Options::default()).is_none());
    let house = l.town.node("pocket end", NodeKind::End);
    let s2 = l
        .town
        .node("pocket switch", NodeKind::Switch { by_hand: true });
    let old = l.town.tracks[1].ends[1];
    l.town.tracks[1].ends[1] = switching::TrackEnd {
        node: s2,
        port: Port::Points,
    };
    l.town
        .track("east end", (s2, NORMAL), (old.node, THROUGH), 300);
    let pocket = l
        .town
        .track("engine pocket", (s2, REVERSE), (house, THROUGH), 70);
    let pocket = l.town.stand("engine pocket", &[pocket]);
    assert_eq!(l.town.check(), vec![]);
    let mut w = one_car(&l, false);
    w.departure = None;
    assert!(solved(&l, &w, &Options::default()).is_none());
    w.spare = Some(switching::SpareEngine {
        engine: switching::Engine {
            name: "engine 2".into(),
            length: 60,
        },
        place: pocket,
        end: 0,
    });
    let s = solved(&l, &w, &Options::default()).expect("with two engines");
    assert!(matches!(
        s.plan.moves.last().expect("a move").handling,
        Handling::ChangeEngine { to_place, .. } if to_place == pocket
    ));
    assert_eq!(s.moves, 1);
}

#[test]
fn the_main_is_clear_when_a_train_is_due() {
    let l = pell_crossing();
    let mut w = local_work(&l, &mut Dice(3), 1, 1, 1);
    let o = Options {
        objective: Objective::Time,
        node_budget: 30_000,
        ..Options::default()
    };
    let free = solved(&l, &w, &o).expect("possible");
    w.trains_due = vec![TrainDue {
        name: "train 6".into(),
        from_s: 600,
        to_s: 1500,
    }];
    let s = solved(&l, &w, &o).expect("possible with a wait");
    assert!(s.cost >= free.bound);
    let waits = s
        .plan
        .moves
        .iter()
        .filter(|m| matches!(m.handling, Handling::Wait { .. }))
        .count();
    assert!(waits == 1 || s.cost <= 60_000, "{}", s.cost);
    // The plan made without the due train is refused when it is due.
    if free.cost > 60_000 {
        let e = replay_timed(&l.town, &w, &free.plan, &o.rates).unwrap_err();
        assert!(matches!(e.why, Wrong::NotClear { .. }), "{e}");
    }
}

#[test]
fn least_time_is_no_slower_than_the_quickest_plan_with_fewest_moves() {
    for facing in [false, true] {
        let l = one_spur(facing, 500);
        let w = one_car(&l, facing);
        let by_moves = solved(&l, &w, &Options::default()).expect("easy");
        let o = Options {
            objective: Objective::Time,
            ..Options::default()
        };
        let by_time = solved(&l, &w, &o).expect("easy");
        assert!(by_time.proven);
        assert!(by_time.time.seconds <= by_moves.time.seconds + 0.1);
        assert!((f64::from(by_time.cost) / 100.0 - by_time.time.seconds).abs() < 0.5);
    }
}

/// Every way of spoiling a good plan is refused.
#[test]
fn spoiled_plans_are_refused() {
    let l = sand_wash();
    let w = local_work(&l, &mut Dice(4), 3, 3, 2);
    let good = solved(&l, &w, &options(100_000)).expect("possible").plan;
    assert!(replay(&l.town, &w, &good).is_ok());
    let mut spoiled = 0;
    for i in 0..good.moves.len() {
        // Left out.
        let mut p = good.clone();
        p.moves.remove(i);
        assert!(replay(&l.town, &w, &p).is_err(), "without move {i}");
        // Too few or no cars.
        let mut p = good.clone();
        match &mut p.moves[i].handling {
            Handling::Couple { cars, .. } => drop(cars.pop()),
            Handling::SetOut { cars, at, .. } => {
                cars.pop();
                at.pop();
            }
            _ => {}
        }
        assert!(replay(&l.town, &w, &p).is_err(), "one car less in move {i}");
        // Cars named in the wrong order.
        let mut p = good.clone();
        if let Handling::Couple { cars, .. } | Handling::SetOut { cars, .. } =
            &mut p.moves[i].handling
            && cars.len() > 1
        {
            cars.reverse();
            assert!(replay(&l.town, &w, &p).is_err(), "order in move {i}");
        }
        // The wrong end of the train.
        let mut p = good.clone();
        if let Handling::Couple { side, .. } | Handling::SetOut { side, .. } =
            &mut p.moves[i].handling
        {
            *side = match side {
                switching::Side::Front => switching::Side::Rear,
                switching::Side::Rear => switching::Side::Front,
            };
        }
        assert!(replay(&l.town, &w, &p).is_err(), "side in move {i}");
        for j in 0..good.moves[i].legs.len() {
            let mut p = good.clone();
            p.moves[i].legs.remove(j);
            assert!(
                replay(&l.town, &w, &p).is_err(),
                "without leg {j} of move {i}"
            );
            let mut p = good.clone();
            p.moves[i].legs[j].distance += 1;
            assert!(
                replay(&l.town, &w, &p).is_err(),
                "distance of leg {j} of move {i}"
            );
            let mut p = good.clone();
            p.moves[i].legs[j].line.reverse();
            if p.moves[i].legs[j].line != good.moves[i].legs[j].line {
                assert!(
                    replay(&l.town, &w, &p).is_err(),
                    "line of leg {j} of move {i}"
                );
            }
            spoiled += 1;
        }
        // Brakes forgotten.
        let mut p = good.clone();
        if let Handling::SetOut {
            brakes,
            place,
            cars,
            ..
        } = &mut p.moves[i].handling
            && *brakes > 0
        {
            let (place, cars) = (l.town.places[place.index()].name.clone(), cars.len());
            *brakes = 0;
            let e = replay(&l.town, &w, &p).unwrap_err();
            assert_eq!(
                e.why,
                Wrong::Brakes {
                    place,
                    cars,
                    brakes: 0
                }
            );
        }
    }
    assert!(spoiled > 3);
    let mut p = good;
    p.leaving = None;
    assert_eq!(
        replay(&l.town, &w, &p).unwrap_err().why,
        Wrong::BadDeparture
    );
}
