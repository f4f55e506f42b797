//! The answer of the engine as the plan of a day.

use dispatching::{Plan, reasons};
use model::time::{RailSpan, RailTime};
use railroad::Railroad;
use transportation::day::{Call, DayPlan, Encounter, TrainIndex, TrainPlan, Wait, encounters};

use super::{
    compile::{Compiled, Kind},
    legs::Leg,
    words,
};

/// The operations that each train of the problem runs, with their times, in order.
pub(super) fn courses(compiled: &Compiled, plan: &Plan) -> Vec<Vec<(usize, i64)>> {
    let mut courses = vec![Vec::new(); compiled.problem.trains.len()];
    for event in &plan.events {
        courses[event.train].push((event.operation, event.time));
    }
    courses
}

/// The plan of the day; reasons are put into words.
pub(super) fn read(railroad: &Railroad, compiled: &Compiled, legs: &[Leg], plan: &Plan) -> DayPlan {
    let courses = courses(compiled, plan);
    let mut trains: Vec<TrainPlan> = legs.iter().map(|leg| empty(leg)).collect();
    let time = |seconds: i64| RailTime::from_seconds(seconds + compiled.base);
    for (train, course) in courses.iter().enumerate().take(compiled.chains) {
        for (operation, at) in course {
            let tag = compiled.tags[train][*operation];
            let leg = &legs[tag.leg];
            let last = leg.way.stations.len() - 1;
            let call = &mut trains[tag.leg].calls[tag.call];
            match tag.kind {
                Kind::Stand => {
                    call.track = tag.track;
                    if tag.call > 0 {
                        call.arrive = time(at + tag.run_in);
                        call.leave = call.arrive;
                    }
                }
                Kind::Out if tag.call == 0 => {
                    call.track = tag.track;
                    call.arrive = time(*at);
                    call.leave = time(*at);
                }
                Kind::Open(0) => {
                    if tag.call > 0 {
                        call.leave = time(*at);
                        if !call.stops && call.leave < call.arrive {
                            call.arrive = call.leave;
                        }
                    }
                    call.leaves_by = tag.open_track;
                }
                _ => {}
            }
            if tag.call == last && tag.kind == Kind::Stand {
                call.leave = call.arrive;
            }
        }
    }
    let mut day = DayPlan {
        trains,
        ..DayPlan::default()
    };
    day.trains.iter_mut().zip(legs).for_each(|(train, leg)| {
        for (call, ask) in train.calls.iter_mut().zip(&leg.asks) {
            call.stops |= call.leave - call.arrive > RailSpan::from_seconds(30);
            let _ = ask;
        }
    });
    let meets = encounters(&railroad.way, &day);
    for (train, calls) in meets.into_iter().enumerate() {
        for (call, meets) in calls.into_iter().enumerate() {
            day.trains[train].calls[call].meets = meets;
        }
    }
    waits(railroad, compiled, legs, plan, &courses, &mut day);
    day
}

fn empty(leg: &Leg) -> TrainPlan {
    TrainPlan {
        train: leg.train,
        symbol: leg.symbol.clone(),
        class: leg.class,
        direction: leg.direction.clone(),
        superior_direction: leg.superior_direction,
        extra: leg.train.is_none(),
        calls: leg
            .way
            .stations
            .iter()
            .zip(&leg.asks)
            .map(|(station, ask)| Call {
                station: *station,
                track: None,
                leaves_by: None,
                arrive: RailTime::MIDNIGHT,
                leave: RailTime::MIDNIGHT,
                due_arrive: ask.due_arrive,
                due_leave: ask.due_leave,
                stops: ask.stops,
                work: ask.work,
                meets: Vec::<Encounter>::new(),
            })
            .collect(),
        waits: Vec::new(),
    }
}

/// Shorter waits than this are no waits to people, seconds.
const SHORT: i64 = 30;

fn waits(
    railroad: &Railroad,
    compiled: &Compiled,
    legs: &[Leg],
    plan: &Plan,
    courses: &[Vec<(usize, i64)>],
    day: &mut DayPlan,
) {
    let Ok(found) = reasons::explain(&compiled.problem, plan) else {
        return;
    };
    let time = |seconds: i64| RailTime::from_seconds(seconds + compiled.base);
    for wait in found {
        let tag = compiled.tags[wait.train.index][wait.operation];
        if wait.length() < SHORT || tag.leg >= legs.len() || wait.chain.is_empty() {
            continue;
        }
        let leg = &legs[tag.leg];
        // A wait to come in is a wait on the line before.
        let station = leg.way.stations[tag.call];
        let chain = words::chain(railroad, compiled, legs, courses, &wait);
        let mut for_whom: Vec<TrainIndex> = Vec::new();
        for (_, leg) in &chain {
            if let Some(leg) = leg
                && !for_whom.contains(&TrainIndex(*leg))
            {
                for_whom.push(TrainIndex(*leg));
            }
        }
        let at_what = match wait.chain.first() {
            Some(reasons::Link::Cleared { resources, .. }) => resources
                .iter()
                .min_by_key(|name| (name.len(), name.as_str()))
                .cloned()
                .unwrap_or_default(),
            Some(reasons::Link::MayNotStand { holding, .. }) => {
                holding.first().cloned().unwrap_or_default()
            }
            None => String::new(),
        };
        let outside = matches!(tag.kind, Kind::Stand | Kind::In) && tag.call > 0;
        let costs = costs_time(leg, day, tag.leg, tag.call);
        day.trains[tag.leg].waits.push(Wait {
            station,
            outside,
            from: time(wait.from),
            until: time(wait.until),
            for_whom,
            at_what,
            chain: chain.into_iter().map(|(sentence, _)| sentence).collect(),
            costs,
        });
    }
    for train in &mut day.trains {
        train.waits.sort_by_key(|wait| wait.from);
    }
}

/// Whether a train is late at the next place where it is timed.
fn costs_time(leg: &Leg, day: &DayPlan, train: usize, call: usize) -> bool {
    leg.asks
        .iter()
        .enumerate()
        .skip(call)
        .find_map(|(at, ask)| ask.due_arrive.map(|due| (at, due)))
        .is_some_and(|(at, due)| day.trains[train].calls[at].arrive > due)
}
