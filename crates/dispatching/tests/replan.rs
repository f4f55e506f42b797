//! Putting a day back together: the new plan continues what has happened, keeps what need not change,
//! and contradictions are named.

#![allow(clippy::print_stdout, reason = "tests say what they covered")]

mod common;

use common::enumerate::{Outcome, best_by_orders};
use common::{naive, random};
use dispatching::check::{Violation, check};
use dispatching::json::read_problem;
use dispatching::replan::{
    Closure, Extra, Lifted, Options, Report, Revised, Situation, Who, replan, revise,
};
use dispatching::{DelayTerm, Event, Operation, Plan, Problem, ResourceUse, Train};
use rand::{RngExt, SeedableRng, seq::IndexedRandom};
use rand_pcg::Pcg64Mcg;

const OPTIONS: Options = Options {
    seed: 1,
    rounds: Some(2),
    threads: 1,
    change_cost: None,
};

/// What happened and what is to come, as one plan of the original problem.
fn merged(revised: &Revised, situation: &Situation, old: &Plan, new: &Plan) -> Plan {
    let mut events: Vec<Event> = Vec::new();
    for report in &situation.reports {
        for &(operation, time) in &report.started {
            events.push(Event {
                time,
                train: report.train,
                operation,
            });
        }
    }
    // All of it went as planned, so the order between equal times is the plan's.
    events.sort_by_key(|e| {
        old.events
            .iter()
            .position(|o| (o.train, o.operation) == (e.train, e.operation))
    });
    for event in &new.events {
        let Who::Train(train) = revised.who[event.train] else {
            continue;
        };
        let operation = revised.origin[event.train][event.operation];
        let happened =
            |r: &Report| r.train == train && r.started.iter().any(|&(o, _)| o == operation);
        if !situation.reports.iter().any(happened) {
            events.push(Event {
                time: event.time,
                train,
                operation,
            });
        }
    }
    Plan {
        objective_value: 0,
        events,
    }
}

/// Only the claimed value may be wrong.
fn sound(problem: &Problem, plan: &Plan) -> Result<(), Vec<Violation>> {
    match check(problem, plan) {
        Ok(_) => Ok(()),
        Err(mut violations) => {
            violations.retain(|v| !matches!(v, Violation::WrongValue { .. }));
            if violations.is_empty() {
                Ok(())
            } else {
                Err(violations)
            }
        }
    }
}

#[test]
fn what_happened_and_the_new_plan_make_one_plan() {
    let (mut replanned, mut kept) = (0, 0);
    for seed in 0..900 {
        let problem = random::problem(seed);
        let Outcome::Best(_, plan) = best_by_orders(&problem, 20_000) else {
            continue;
        };
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let last = plan.events.last().map_or(0, |e| e.time);
        let mut situation = Situation::as_planned(&plan, rng.random_range(0..=last));
        // Nothing of the past is at the same moment as something that is still to be decided.
        situation.now += 1;
        // Somebody is late.
        for report in &mut situation.reports {
            if rng.random_bool(0.4) {
                report.ends = Some(situation.now + rng.random_range(0..8));
            }
        }
        let revised = revise(&problem, &plan, &situation, None)
            .unwrap_or_else(|f| panic!("seed {seed}: {f:?}"));
        revised
            .problem
            .validate()
            .unwrap_or_else(|f| panic!("seed {seed}: {f:?}"));
        let limits = problem.trains.iter().flat_map(|t| &t.operations);
        let limited = limits
            .clone()
            .any(|o| o.start_ub.is_some() || o.max_duration.is_some());
        match &revised.warm_start {
            Some(warm) => {
                kept += 1;
                check(&revised.problem, warm).unwrap_or_else(|v| panic!("seed {seed}: {v:?}"));
            }
            // Trains that may always wait can always go on in the old order.
            None => assert!(limited, "seed {seed}"),
        }
        let Outcome::Best(cost, new) = best_by_orders(&revised.problem, 20_000) else {
            continue;
        };
        replanned += 1;
        if revised.lifted.is_empty() {
            let whole = merged(&revised, &situation, &plan, &new);
            sound(&problem, &whole)
                .unwrap_or_else(|v| panic!("seed {seed}: {v:?}\n{situation:?}\n{whole:?}"));
            // What it costs is what the past has cost and what the rest will cost.
            let paid = Plan {
                objective_value: i64::MIN,
                ..whole
            };
            let Err(violations) = check(&problem, &paid) else {
                panic!("no such cost")
            };
            let [Violation::WrongValue { found, .. }] = violations.as_slice() else {
                panic!()
            };
            let ranks = revised.past.0.len();
            let ours: i64 = (0..ranks)
                .map(|r| cost.0.get(r).unwrap_or(&0) + revised.past.0[r])
                .sum();
            assert_eq!(ours, *found, "seed {seed}");
        }
    }
    println!("{replanned} made, the old order possible in {kept}");
    assert!(replanned > 400 && kept > 400);
}

#[test]
fn nothing_changes_without_need() {
    for seed in 0..400 {
        let problem = random::problem(seed);
        let Outcome::Best(_, plan) = best_by_orders(&problem, 20_000) else {
            continue;
        };
        let middle = plan.events[plan.events.len() / 2].time;
        let situation = Situation::as_planned(&plan, middle);
        let new = replan(
            &problem,
            &plan,
            &situation,
            &OPTIONS,
            &|| false,
            &mut |_| {},
        )
        .unwrap_or_else(|f| panic!("seed {seed}: {f:?}"));
        let warm = new.revised.warm_start.clone();
        let warm = warm.unwrap_or_else(|| panic!("seed {seed}: the plan itself must still do"));
        let kept = check(&new.revised.problem, &warm).unwrap_or_else(|v| panic!("{v:?}"));
        assert!(new.outcome.cost.expect("a plan") <= kept, "seed {seed}");
        assert!(
            new.changes.rerouted.is_empty(),
            "seed {seed}: {:?}",
            new.changes
        );
    }
}

#[test]
fn closures_are_kept_and_extra_trains_run() {
    let (mut closed, mut warm, mut refused) = (0, 0, 0);
    for seed in 0..900 {
        let problem = random::problem(seed);
        let Outcome::Best(_, plan) = best_by_orders(&problem, 20_000) else {
            continue;
        };
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let last = plan.events.last().map_or(0, |e| e.time);
        let mut situation = Situation::as_planned(&plan, rng.random_range(0..=last));
        if !problem.resources.is_empty() {
            let from = situation.now + rng.random_range(-1..6);
            situation.closures.push(Closure {
                resource: rng.random_range(0..problem.resources.len()),
                from,
                until: from + rng.random_range(1..9),
            });
        }
        if rng.random_bool(0.3) {
            let entered = |t: &usize| situation.reports.iter().any(|r| r.train == *t);
            let waiting: Vec<usize> = (0..problem.trains.len()).filter(|t| !entered(t)).collect();
            situation.cancelled.extend(waiting.choose(&mut rng));
        }
        if rng.random_bool(0.3) && !problem.resources.is_empty() {
            let held = ResourceUse {
                resource: rng.random_range(0..problem.resources.len()),
                release_time: 1,
            };
            let run = Operation {
                min_duration: 2,
                resources: vec![held],
                successors: vec![1],
                ..Operation::default()
            };
            let train = Train {
                name: "Extra".into(),
                operations: vec![run, Operation::default()],
            };
            let term = DelayTerm {
                train: 0,
                operation: 1,
                threshold: situation.now,
                coeff: 1,
                increment: 0,
                rank: 0,
            };
            situation.extra.push(Extra {
                train,
                terms: vec![term],
            });
        }
        let Ok(revised) = revise(&problem, &plan, &situation, None) else {
            refused += 1;
            continue;
        };
        revised
            .problem
            .validate()
            .unwrap_or_else(|f| panic!("seed {seed}: {f:?}"));
        if let Some(kept) = &revised.warm_start {
            warm += 1;
            check(&revised.problem, kept).unwrap_or_else(|v| panic!("seed {seed}: {v:?}"));
        }
        let Outcome::Best(_, new) = best_by_orders(&revised.problem, 20_000) else {
            continue;
        };
        closed += 1;
        naive::judge(&revised.problem, &new).unwrap_or_else(|v| panic!("seed {seed}: {v}"));
        let running = |who: Who| revised.who.contains(&who);
        assert!(
            situation.cancelled.iter().all(|&t| !running(Who::Train(t))),
            "seed {seed}"
        );
        assert!(
            (0..situation.extra.len()).all(|e| running(Who::Extra(e))),
            "seed {seed}"
        );
        // Nobody but the closure holds the resource while it lasts.
        for closure in &situation.closures {
            for (i, event) in new.events.iter().enumerate() {
                if matches!(revised.who[event.train], Who::Closure(_)) {
                    continue;
                }
                let operation = &revised.problem.trains[event.train].operations[event.operation];
                let holds = operation
                    .resources
                    .iter()
                    .any(|r| r.resource == closure.resource);
                let ends = new.events[i + 1..].iter().find(|e| e.train == event.train);
                // Holding it for no time at all just as it closes is none of its business.
                let overlaps = event.time < closure.until
                    && (event.time > closure.from || ends.is_none_or(|e| e.time > closure.from));
                let future = event.time > situation.now;
                assert!(!(holds && future && overlaps), "seed {seed}: {event:?}");
            }
        }
    }
    println!("{closed} made, the old order possible in {warm}, {refused} refused");
    assert!(closed > 300 && warm > 300);
}

/// Two trains through a gap: `Mail` first, then `Local`, which has a siding and a spur to choose from.
fn gap() -> (Problem, Plan) {
    let text = r#"{"train_names":["Mail","Local"],"trains":[
        [{"start_lb":10,"min_duration":5,"resources":[{"resource":"gap","release_time":1}],"successors":[1]},{"start_ub":60,"successors":[]}],
        [{"start_lb":5,"successors":[1,2]},
         {"min_duration":4,"resources":[{"resource":"siding"}],"successors":[3]},
         {"min_duration":4,"resources":[{"resource":"spur"}],"successors":[3]},
         {"min_duration":5,"max_duration":9,"resources":[{"resource":"gap"}],"successors":[4]},{"successors":[]}]],
        "objective":[{"type":"op_delay","train":0,"operation":1,"threshold":15,"coeff":10},
                     {"type":"op_delay","train":1,"operation":4,"threshold":20,"coeff":1}]}"#;
    let problem = read_problem(text).unwrap_or_else(|f| panic!("{f:?}"));
    let events = [
        (5, 1, 0),
        (5, 1, 2),
        (10, 0, 0),
        (15, 0, 1),
        (16, 1, 3),
        (21, 1, 4),
    ];
    let events = events.map(|(time, train, operation)| Event {
        time,
        train,
        operation,
    });
    let plan = Plan {
        objective_value: 1,
        events: events.to_vec(),
    };
    check(&problem, &plan).unwrap_or_else(|v| panic!("{v:?}"));
    (problem, plan)
}

#[test]
fn a_late_train_lets_another_go_first() {
    let (mut problem, plan) = gap();
    // The Mail will not be there before 30.
    problem.trains[0].operations[0].start_lb = 30;
    let situation = Situation::as_planned(&plan, 5);
    let new = replan(
        &problem,
        &plan,
        &situation,
        &OPTIONS,
        &|| false,
        &mut |_| {},
    )
    .expect("sound");
    // Mail 15 late at 10 each; the Local leaves the gap at 10 at the latest start of 30.
    assert_eq!(new.outcome.cost.expect("a plan").rank(0), 200);
    assert_eq!(new.changes.overtaken.len(), 1, "{:?}", new.changes);
    assert_eq!(new.changes.overtaken[0].first, 1);
    assert!(new.changes.rerouted.is_empty());
    // Kept in the old order the Local is at its end at 30 + 5 + 1 + 5.
    let warm = new.revised.warm_start.expect("possible");
    assert_eq!(warm.events.last().map(|e| e.time), Some(41));
}

#[test]
fn the_old_route_is_kept_unless_another_is_better() {
    let (problem, plan) = gap();
    // Nothing has entered. The Local was to use the spur; the siding would do as well.
    let at_start = Situation::default();
    let new = replan(&problem, &plan, &at_start, &OPTIONS, &|| false, &mut |_| {}).expect("sound");
    let new_plan = new.outcome.plan.expect("a plan");
    assert!(
        new_plan
            .events
            .iter()
            .any(|e| e.train == 1 && e.operation == 2)
    );
    assert!(new.changes.rerouted.is_empty());
    // The spur is closed for long: now the siding is better.
    let closed = Situation {
        closures: vec![Closure {
            resource: 2,
            from: 0,
            until: 500,
        }],
        ..Situation::default()
    };
    let spur = problem.resources.iter().position(|r| r == "spur");
    assert_eq!(spur, Some(2));
    let new = replan(&problem, &plan, &closed, &OPTIONS, &|| false, &mut |_| {}).expect("sound");
    assert_eq!(new.outcome.cost.expect("a plan").rank(0), 1);
    assert_eq!(new.changes.rerouted, [(1, 1)]);
    // With a price on leaving the route, the train waits if that is cheaper: closed for a little.
    let closed = Situation {
        closures: vec![Closure {
            resource: 2,
            from: 0,
            until: 16,
        }],
        ..Situation::default()
    };
    let dear = Options {
        change_cost: Some(100),
        ..OPTIONS
    };
    let new = replan(&problem, &plan, &closed, &dear, &|| false, &mut |_| {}).expect("sound");
    assert!(new.changes.rerouted.is_empty());
    let cheap = Options {
        change_cost: Some(0),
        ..OPTIONS
    };
    let new = replan(&problem, &plan, &closed, &cheap, &|| false, &mut |_| {}).expect("sound");
    assert_eq!(new.changes.rerouted, [(1, 1)]);
}

#[test]
fn limits_that_have_become_impossible_are_lifted_and_said() {
    let (problem, plan) = gap();
    let mut situation = Situation::as_planned(&plan, 17);
    situation.reports[0].ends = None;
    let local = situation
        .reports
        .iter_mut()
        .find(|r| r.train == 1)
        .expect("entered");
    local.ends = Some(90);
    let revised = revise(&problem, &plan, &situation, None).expect("sound");
    assert_eq!(
        revised.lifted,
        [Lifted::Longest {
            train: 1,
            operation: 3,
            max_duration: 9
        }]
    );
    // The Mail has left; nothing of it is left but what it cost.
    assert_eq!(revised.who, [Who::Train(1)]);
    let mut situation = Situation {
        now: 56,
        ..Situation::default()
    };
    situation.reports.push(Report {
        train: 0,
        started: vec![(0, 56)],
        ends: None,
    });
    let revised = revise(&problem, &plan, &situation, None).expect("sound");
    assert_eq!(
        revised.lifted,
        [Lifted::Latest {
            train: 0,
            operation: 1,
            start_ub: 60,
            earliest: 61
        }]
    );
}

#[test]
fn a_day_that_cannot_keep_its_limits_is_put_back_together_without_them() {
    // Alone, either train would be in time by 20; with the gap closed from 5 to 12 only one is.
    let text = r#"{"trains":[
        [{"min_duration":8,"resources":[{"resource":"gap"}],"successors":[1]},{"start_ub":20,"successors":[]}],
        [{"min_duration":8,"resources":[{"resource":"gap"}],"successors":[1]},{"start_ub":20,"successors":[]}]],
        "objective":[{"type":"op_delay","train":0,"operation":1,"coeff":2},
                     {"type":"op_delay","train":1,"operation":1,"coeff":1}]}"#;
    let problem = read_problem(text).unwrap_or_else(|f| panic!("{f:?}"));
    let events = [(0, 0, 0), (8, 0, 1), (8, 1, 0), (16, 1, 1)];
    let events = events.map(|(time, train, operation)| Event {
        time,
        train,
        operation,
    });
    let plan = Plan {
        objective_value: 32,
        events: events.to_vec(),
    };
    check(&problem, &plan).unwrap_or_else(|v| panic!("{v:?}"));
    let closures = vec![Closure {
        resource: 0,
        from: 5,
        until: 12,
    }];
    let situation = Situation {
        closures,
        ..Situation::default()
    };
    let new = replan(
        &problem,
        &plan,
        &situation,
        &OPTIONS,
        &|| false,
        &mut |_| {},
    )
    .expect("sound");
    // The first at 12 to 20, the second at 20 to 28.
    let cost = new.outcome.cost.expect("a plan");
    assert_eq!(cost.rank(0), 2 * 20 + 28);
    assert_eq!(
        new.revised.lifted,
        [Lifted::Latest {
            train: 1,
            operation: 1,
            start_ub: 20,
            earliest: 28
        }]
    );
}

#[test]
fn contradictions_are_named_all_at_once() {
    let (problem, plan) = gap();
    let said = |situation: &Situation| {
        let faults = revise(&problem, &plan, situation, None).expect_err("a contradiction");
        faults.iter().map(|f| format!("{f}\n")).collect::<String>()
    };
    let report = |train, started: &[(usize, i64)]| Report {
        train,
        started: started.to_vec(),
        ends: None,
    };
    assert_eq!(
        said(&Situation {
            now: 20,
            reports: vec![
                report(0, &[(1, 12)]),
                report(0, &[(0, 25)]),
                report(1, &[(0, 8), (3, 7)]),
                report(1, &[(9, 7)]),
                report(5, &[]),
            ],
            closures: vec![
                Closure { resource: 0, from: 9, until: 9 },
                Closure { resource: 7, from: 9, until: 10 },
            ],
            cancelled: vec![1, 8],
            extra: vec![Extra::default()],
        }),
        "\
train 0 (`Mail`) is reported to have begun with operation 1, expected its entry, operation 0
train 0 (`Mail`) is reported twice
train 0 (`Mail`), operation 0 is reported to have started at 25, but it is only 20
train 1 (`Local`) is reported to have gone from operation 0 to 3, which does not follow it
train 1 (`Local`), operation 3 is reported to have started at 7, before the one ahead of it at 8
train 1 (`Local`) is reported twice
train 1 (`Local`) has no operation 9, only 5 operations
train 5 does not exist, there are 2 trains
train 1 (`Local`) is cancelled, but reported to have started operation 3: only a train that has not taken any track yet can be cancelled
train 8 does not exist, there are 2 trains
`gap` is closed from 9 until 9, expected an end after the beginning
a closure is of resource 7, but there are only 3 resources
extra train 0: train 0 has no operations, expected at least one
"
    );
    assert_eq!(
        said(&Situation {
            now: 14,
            reports: vec![report(0, &[(0, 12)]), report(1, &[(0, 0), (1, 0), (3, 13)])],
            closures: vec![Closure { resource: 0, from: 16, until: 30 }],
            ..Situation::default()
        }),
        "\
`gap` cannot be closed from 16: train 0 (`Mail`) is on it until 18 at least; report what delays the train, or close it from then
train 0 (`Mail`) and train 1 (`Local`) are both reported to be on `gap` now
`gap` cannot be closed from 16: train 1 (`Local`) is on it until 18 at least; report what delays the train, or close it from then
"
    );
}
