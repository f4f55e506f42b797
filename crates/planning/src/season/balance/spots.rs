//! How long a load keeps a spot: from the train that sets its car out to the one that pulls it.

use engineering::ids::StationId;

use super::super::{plan::Plan, ways::DAY};

/// Weeks over which cars are put through a spot, after a week for getting into step.
const WEEKS: i64 = 8;

/// A train or a switch engine at work at a station.
struct Visit {
    time: i64,
    /// Whether cars are set out.
    sets: bool,
    /// Whether cars that are done are pulled.
    pulls: bool,
}

/// What happens at a station in the course of a week, for cars that go on to `onward`; to anywhere if
/// that is not known.
fn week(plan: &Plan, station: StationId, class: usize, onward: Option<StationId>) -> Vec<Visit> {
    let ways = &plan.ways;
    let yard = plan.stations[station.index()].yard;
    let mut out = vec![];
    for day in 0..7_i64 {
        let midnight = day * DAY;
        if yard {
            out.push(Visit {
                time: midnight,
                sets: true,
                pulls: true,
            });
        }
        for (at, call) in ways.calls.iter().enumerate() {
            let train = &plan.trains[call.train];
            if call.station != station || !train.days.contains(day as u8) {
                continue;
            }
            let last = call.nth + 1 == ways.trains[call.train].calls.len();
            let goes = |call: usize| {
                ways.calls[call].takes
                    && onward.is_none_or(|to| ways.take(class, call, to).is_some())
            };
            let pulls = if last {
                train.onward.is_some_and(|next| {
                    plan.trains[next].days.contains(day as u8) && goes(ways.trains[next].calls[0])
                })
            } else {
                goes(at)
            };
            if call.nth > 0 {
                out.push(Visit {
                    time: midnight + call.arrive,
                    sets: yard || call.leaves,
                    pulls: yard || pulls,
                });
            }
            if call.nth == 0 || (yard && !last) {
                out.push(Visit {
                    time: midnight + call.leave,
                    sets: yard,
                    pulls: yard || pulls,
                });
            }
        }
    }
    out.sort_by_key(|visit| visit.time);
    out
}

/// Days for which a car keeps a spot, with cars waiting for it all the time; none if no train ever takes
/// it away or brings it. Where one car's place is taken by the next of the same train, nothing is lost.
pub(super) fn kept(
    plan: &Plan,
    station: StationId,
    class: usize,
    onward: Option<StationId>,
    dwell: i64,
) -> Option<f64> {
    let week = week(plan, station, class, onward);
    let mut done: Option<i64> = None;
    let mut cars = 0_u32;
    for round in 0..=WEEKS {
        for visit in &week {
            let now = visit.time + round * 7 * DAY;
            if visit.pulls && done.is_some_and(|ready| ready <= now) {
                done = None;
                cars += u32::from(round > 0);
            }
            if visit.sets && done.is_none() {
                done = Some(now + dwell);
            }
        }
    }
    (cars > 0).then(|| WEEKS as f64 * 7.0 / f64::from(cars))
}
