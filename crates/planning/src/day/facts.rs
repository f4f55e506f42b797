//! What the judge of a plan must know, in numbers.

use engineering::ids::TrackRef;
use model::time::{RailSpan, RailTime};
use railroad::Railroad;
use transportation::day::{
    DayPlan, TrainIndex,
    judge::{After, Closure, Facts, TrainFacts},
};

use super::{
    compile::{Compiled, Kind, Rules},
    legs::Leg,
    turns::{Handed, Moment, Turns},
};

fn span(seconds: i64) -> RailSpan {
    RailSpan::from_seconds(seconds.max(0))
}

/// The facts for a plan. What depends on the track taken follows the plan's.
#[allow(
    clippy::too_many_arguments,
    reason = "everything the plan was made from"
)]
pub(super) fn facts(
    railroad: &Railroad,
    compiled: &Compiled,
    legs: &[Leg],
    chains: &[Vec<usize>],
    turns: &Turns,
    rules: Rules,
    courses: &[Vec<(usize, i64)>],
    plan: &DayPlan,
) -> Facts {
    let mut trains: Vec<TrainFacts> = legs.iter().map(|leg| plain(railroad, leg, rules)).collect();
    for (rake, chain) in chains.iter().enumerate() {
        for (place, &leg) in chain.iter().enumerate() {
            trains[leg].rake = rake;
            if place + 1 < chain.len() {
                trains[leg].stands_for = Some(RailSpan::ZERO);
            }
            if place > 0 {
                let before = chain[place - 1];
                let came = plan.trains[before].calls.last().map(|call| call.arrive);
                trains[leg].stands_from = came;
            }
        }
    }
    for (train, course) in courses.iter().enumerate().take(compiled.chains) {
        for (operation, at) in course {
            let tag = compiled.tags[train][*operation];
            let facts = &mut trains[tag.leg];
            let last = legs[tag.leg].way.stations.len() - 1;
            match tag.kind {
                Kind::In if tag.call == last => facts.run_in[tag.call] = span(tag.run_in),
                Kind::Stand if tag.call > 0 && tag.call < last => {
                    facts.run_in[tag.call] = span(tag.run_in);
                }
                Kind::Stand if tag.call == 0 && facts.stands_from.is_none() => {
                    let operation = &compiled.problem.trains[train].operations[*operation];
                    if operation.start_ub.is_none() {
                        facts.stands_from = Some(RailTime::from_seconds(at + compiled.base));
                    }
                }
                Kind::Out if tag.call == 0 => {
                    facts.run_out[0] = span(tag.run_in);
                    facts.tail_out[0] = span(tag.tail);
                }
                _ => {}
            }
            if tag.kind == Kind::Stand && tag.call == last && facts.stands_for.is_none() {
                let least = compiled.problem.trains[train].operations[*operation].min_duration;
                facts.stands_for = (least < 24 * 3600).then(|| span(least));
            }
            // An engine alone stands until it is taken.
            let after = &compiled.problem.trains[train].operations[*operation];
            if tag.kind == Kind::After && !after.resources.is_empty() {
                let came = plan.trains[tag.leg].calls[last].arrive;
                facts.stands_for = Some(RailTime::from_seconds(at + compiled.base) - came);
            }
        }
    }
    for (leg, facts) in trains.iter_mut().enumerate() {
        for (step, times) in legs[leg].times.steps.iter().enumerate() {
            let starts = legs[leg].asks[step].stops;
            let stops = legs[leg].asks[step + 1].stops;
            facts.running[step] =
                facts.run_in[step + 1] + facts.run_out[step] + span(times.open(starts, stops));
        }
    }
    Facts {
        trains,
        after: after(legs, turns),
        closures: closures(railroad),
    }
}

fn plain(railroad: &Railroad, leg: &Leg, rules: Rules) -> TrainFacts {
    let calls = leg.way.stations.len();
    let mut facts = TrainFacts {
        length: leg.times.length,
        engines: leg.engines.clone(),
        runs_through: (0..calls - 1).map(|call| leg.runs_through(call)).collect(),
        saws: (0..calls)
            .map(|call| {
                let page = railroad.way.station(leg.way.stations[call]);
                let operating = &railroad.service.operating;
                page.saw_by
                    .unwrap_or(operating.saw_by)
                    .then_some(operating.saw_by_time)
            })
            .collect(),
        passes_by: (0..calls).map(|call| leg.passes_by(call)).collect(),
        opens: leg
            .way
            .opens
            .iter()
            .map(|step| (step.open, step.up))
            .collect(),
        running: vec![RailSpan::ZERO; calls - 1],
        first_block: Vec::new(),
        run_in: vec![RailSpan::ZERO; calls],
        run_out: vec![RailSpan::ZERO; calls],
        tail_in: vec![RailSpan::ZERO; calls],
        tail_out: vec![RailSpan::ZERO; calls],
        dwell: leg.asks.iter().map(|ask| span(ask.dwell)).collect(),
        not_before: leg
            .asks
            .iter()
            .enumerate()
            .map(|(at, ask)| ask.due_leave.filter(|_| at == 0 || rules.keeps_leaving))
            .collect(),
        ..TrainFacts::default()
    };
    for (step, times) in leg.times.steps.iter().enumerate() {
        let starts = usize::from(leg.asks[step].stops);
        let stops = usize::from(leg.asks[step + 1].stops);
        let marks = &times.marks[starts][stops];
        let open_end = marks.blocks.last().copied().unwrap_or(0);
        facts
            .first_block
            .push(span(marks.blocks.first().copied().unwrap_or(0)));
        let tail = times.tails.last().copied().unwrap_or(0);
        facts.tail_in[step + 1] = span(tail.min(marks.entered - open_end));
        facts.tail_out[step] = span(times.marks[starts][0].clear);
    }
    facts
}

fn after(legs: &[Leg], turns: &Turns) -> Vec<After> {
    let index = |train| legs.iter().position(|leg| leg.id == train);
    turns
        .hand_overs
        .iter()
        .filter_map(|hand_over| {
            let (from, to) = (index(hand_over.from)?, index(hand_over.to)?);
            let first = match hand_over.given {
                Moment::Arrival(call) => (TrainIndex(from), call, false),
                Moment::Leaving(call) => (TrainIndex(from), call, true),
            };
            let second = match hand_over.taken {
                Moment::Arrival(call) | Moment::Leaving(call) => (TrainIndex(to), call),
            };
            Some(After {
                first,
                second,
                least: hand_over.takes,
                what: match &hand_over.what {
                    Handed::Engine(engine) => format!("engine {engine}"),
                    Handed::Helper(engine) => format!("helper {engine}"),
                    Handed::Crew(job) => format!("the {job} crew"),
                    Handed::Connection => "its connection".to_owned(),
                },
            })
        })
        .collect()
}

fn closures(railroad: &Railroad) -> Vec<Closure> {
    let way = &railroad.way;
    let mut all = Vec::new();
    for closed in &railroad.service.operating.closed {
        let (Some(from), Some(until)) = (closed.from, closed.to) else {
            continue;
        };
        let stations: Vec<_> = closed
            .between
            .iter()
            .filter_map(|name| way.find_station(&name.value))
            .collect();
        let [first, second] = stations[..] else {
            continue;
        };
        let (from, until) = (from.value, until.value);
        let track = closed.track.as_ref().map(|track| track.value.as_str());
        if first == second {
            let found = track.and_then(|track| way.station(first).find_track(track));
            if let Some(track) = found {
                all.push(Closure {
                    open: None,
                    track: Some(TrackRef {
                        station: first,
                        track,
                    }),
                    from,
                    until,
                });
            }
            continue;
        }
        for (open, page) in way.opens() {
            let ends = [page.ends[0].id, page.ends[1].id];
            if ends.contains(&Some(first)) && ends.contains(&Some(second)) {
                all.push(Closure {
                    open: Some((open, track.and_then(|track| track.parse().ok()))),
                    track: None,
                    from,
                    until,
                });
            }
        }
    }
    all
}
