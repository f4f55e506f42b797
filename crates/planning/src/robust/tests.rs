//! Small days whose outcome is known.

use dispatching::{DelayTerm, Event, Operation, ResourceUse, Train};

use super::{chain::Luck, *};

fn operation(start_lb: Time, min_duration: Time, resources: &[usize], next: &[usize]) -> Operation {
    Operation {
        start_lb,
        start_ub: None,
        min_duration,
        max_duration: None,
        resources: resources
            .iter()
            .map(|&resource| ResourceUse {
                resource,
                release_time: 0,
            })
            .collect(),
        successors: next.to_vec(),
    }
}

/// Two trains over one piece of track: the first is on it from 100 to 200, the second, due out at 150,
/// waits for it and is on it from 200 to 300.
fn day() -> (Problem, Plan) {
    let train = |name: &str, begins: Time| Train {
        name: name.to_owned(),
        operations: vec![
            operation(begins, 0, &[], &[1]),
            operation(begins, 100, &[0], &[2]),
            operation(0, 0, &[], &[]),
        ],
    };
    let term = |train, threshold| DelayTerm {
        train,
        operation: 2,
        threshold,
        coeff: 1,
        increment: 0,
        rank: 0,
    };
    let problem = Problem {
        trains: vec![train("1", 100), train("2", 150)],
        resources: vec!["the hill".to_owned()],
        objective: vec![term(0, 200), term(1, 300)],
    };
    let event = |time, train, operation| Event {
        time,
        train,
        operation,
    };
    let plan = Plan {
        objective_value: 0,
        events: vec![
            event(100, 0, 0),
            event(100, 0, 1),
            event(150, 1, 0),
            event(200, 0, 2),
            event(200, 1, 1),
            event(300, 1, 2),
        ],
    };
    assert_eq!(
        dispatching::check::check(&problem, &plan).map(|cost| cost.total()),
        Ok(0)
    );
    (problem, plan)
}

fn worked<'a>(problem: &'a Problem, plan: &'a Plan) -> Worked<'a> {
    let meaning = |train, call, sort| Some(Meaning { train, call, sort });
    let booked = |name: &str, due| Booked {
        name: name.to_owned(),
        class: 3,
        places: vec!["Foot".to_owned(), "Top".to_owned()],
        due: Some(due),
        from_staging: true,
    };
    Worked {
        problem,
        plan,
        meanings: (0..2)
            .map(|train| {
                vec![
                    meaning(train, 0, Sort::Before),
                    meaning(train, 0, Sort::Open),
                    meaning(train, 1, Sort::After),
                ]
            })
            .collect(),
        resources: vec!["the hill".to_owned()],
        booked: vec![booked("1", 200), booked("2", 300)],
    }
}

#[test]
fn a_calm_day_is_the_plan() {
    let (problem, plan) = day();
    let chain = Chain::new(&problem, &plan);
    let ran = chain.run(&|_, _| Luck::PLAIN);
    let planned: Vec<Time> = plan.events.iter().map(|event| event.time).collect();
    assert_eq!(ran.times, planned);
    let options = Options {
        days: 20,
        ..Options::default()
    };
    let outcome = run(&worked(&problem, &plan), &Chances::NONE, &options, &|| {
        false
    });
    assert_eq!(outcome.days, 20);
    assert_eq!(outcome.classes[0].on_time, 1.0);
    assert!(outcome.chokes.is_empty() && outcome.slack.is_empty());
}

#[test]
fn a_derailment_is_handed_on_to_the_train_behind() {
    let (problem, plan) = day();
    let chain = Chain::new(&problem, &plan);
    let ran = chain.run(&|train, operation| Luck {
        delay: if (train, operation) == (0, 1) { 60 } else { 0 },
        ..Luck::PLAIN
    });
    // Off the hill at 260 instead of 200; the second runs from 260 to 360.
    assert_eq!(ran.times, [100, 100, 150, 260, 260, 360]);
    // A minute less on the first train's hill would help both.
    let weights = chain.weights(&ran, &[3, 5]);
    assert_eq!(weights[1], 2.0);
    assert_eq!(weights[4], 1.0);
}

/// Every train derails on the hill for an hour or more: both are late, and the hill is why the second is.
#[test]
fn the_chokepoint_is_named_and_the_slack_put_where_it_pays() {
    let (problem, plan) = day();
    let chances = Chances {
        derailment: 1.0,
        rerailing: 3600,
        ..Chances::NONE
    };
    let options = Options {
        days: 50,
        replans: 0,
        ..Options::default()
    };
    let outcome = run(&worked(&problem, &plan), &chances, &options, &|| false);
    assert_eq!(outcome.classes[0].on_time, 0.0);
    assert_eq!(outcome.chokes[0].what, "the hill");
    assert_eq!(outcome.chokes[0].days, 1.0);
    assert_eq!(outcome.slack[0].train, "1");
    assert_eq!(outcome.slack[0].saves, 2.0);
    // The mean of 2^u over u in -1..1 is 1.5 / (2 ln 2) = 1.082: the first train's mean lateness is 1.082
    // hours, within a tenth of it over fifty days.
    let mean = outcome.trains[0].mean_late / 3600.0;
    assert!((mean - 1.082).abs() < 0.11, "{mean}");
}

/// The first train is two hours late out of staging: by the plan's order the second waits for it, and a
/// dispatcher lets it go.
#[test]
fn a_new_plan_is_made_where_patience_ends() {
    let (problem, plan) = day();
    let worked = worked(&problem, &plan);
    let chances = Chances {
        late_out: 1.0,
        late_by: 7200,
        ..Chances::NONE
    };
    let run = |replans| {
        let options = Options {
            days: 200,
            replans,
            patience: 600,
            ..Options::default()
        };
        super::run(&worked, &chances, &options, &|| false)
    };
    let (kept, changed) = (run(0), run(1));
    assert_eq!(kept.replanned, 0);
    assert!(changed.replanned > 50, "{}", changed.replanned);
    let late = |outcome: &Outcome| outcome.trains[1].mean_late;
    assert!(
        late(&changed) < late(&kept),
        "{} {}",
        late(&changed),
        late(&kept)
    );
}

#[test]
fn the_days_are_the_same_on_any_number_of_threads() {
    let (problem, plan) = day();
    let worked = worked(&problem, &plan);
    let chances = Chances::at_clock(4.0);
    let with = |threads| {
        let options = Options {
            days: 60,
            threads,
            ..Options::default()
        };
        run(&worked, &chances, &options, &|| false)
    };
    assert_eq!(with(1), with(3));
}
