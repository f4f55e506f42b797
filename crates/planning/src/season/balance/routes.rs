//! Rides, and the quickest routes that are made of them.

use std::{cmp::Reverse, collections::BinaryHeap};

use engineering::ids::StationId;

use super::super::{
    plan::Plan,
    ways::{Carries, DAY, HANDLING},
};

/// How many routes of a load are looked at.
const ROUTES: usize = 12;

/// From a call at which a train takes cars to a later one at which it leaves them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hop {
    pub train: usize,
    /// Number of the call where a car is taken.
    pub from: usize,
    /// Number of the call where it is left.
    pub to: usize,
    /// Days a car that may be ready at any time waits for the train: half the time between its runs.
    pub wait: f64,
    /// Days it rides.
    pub ride: f64,
}

/// Rides one after another.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Route {
    /// Numbers of the rides.
    pub hops: Vec<usize>,
    /// Days on the way, the waiting for trains among them.
    pub days: f64,
}

/// Every ride there is.
pub(super) fn hops(plan: &Plan) -> Vec<Hop> {
    let ways = &plan.ways;
    let mut out = vec![];
    for (train, run) in ways.trains.iter().enumerate() {
        let runs = f64::from(plan.trains[train].days.count());
        if runs == 0.0 {
            continue;
        }
        for (nth, &from) in run.calls.iter().enumerate() {
            if !ways.calls[from].takes {
                continue;
            }
            for &to in &run.calls[nth + 1..] {
                let (begin, end) = (&ways.calls[from], &ways.calls[to]);
                if end.leaves && end.station != begin.station {
                    out.push(Hop {
                        train,
                        from,
                        to,
                        wait: 7.0 / runs / 2.0,
                        ride: (end.arrive - begin.leave) as f64 / DAY as f64,
                    });
                }
            }
        }
    }
    out
}

/// The quickest routes of a load, the first first. `perishable` loads may go in trains that carry nothing
/// else. No station is passed twice.
pub(super) fn routes(
    plan: &Plan,
    hops: &[Hop],
    leaving: &[Vec<usize>],
    from: StationId,
    to: StationId,
    perishable: bool,
) -> Vec<Route> {
    let ways = &plan.ways;
    let mut found = vec![];
    let mut seen = vec![0; plan.stations.len()];
    let mut heap = BinaryHeap::new();
    // What a route counts as, for the order; then its days in seconds, where it ends, and its rides.
    heap.push(Reverse((0_i64, 0_i64, from, Vec::<usize>::new())));
    while let Some(Reverse((cost, seconds, at, taken))) = heap.pop() {
        if at == to {
            found.push(Route {
                hops: taken,
                days: seconds as f64 / DAY as f64,
            });
            if found.len() == ROUTES {
                break;
            }
            continue;
        }
        seen[at.index()] += 1;
        if seen[at.index()] > ROUTES {
            continue;
        }
        for &next in &leaving[at.index()] {
            let hop = &hops[next];
            let end = &ways.calls[hop.to];
            let passed = end.station == from
                || taken
                    .iter()
                    .any(|&one| ways.calls[hops[one].to].station == end.station);
            let allowed = (end.station == to || end.change)
                && (perishable || ways.trains[hop.train].carries == Carries::All);
            if passed || !allowed {
                continue;
            }
            let wait = match taken.last() {
                None => (hop.wait * DAY as f64) as i64,
                // From train to train by the clock; where the next does not run every day, half of the
                // days between more.
                Some(&last) => {
                    let ready = ways.calls[hops[last].to].arrive + plan.connection;
                    let rare = (2.0 * hop.wait - 1.0) / 2.0;
                    (ways.calls[hop.from].leave - ready).rem_euclid(DAY)
                        + (rare * DAY as f64) as i64
                }
            };
            let ride = (hop.ride * DAY as f64) as i64;
            let change = if taken.is_empty() { 0 } else { HANDLING };
            let mut longer = taken.clone();
            longer.push(next);
            heap.push(Reverse((
                cost + wait + ride + change,
                seconds + wait + ride,
                end.station,
                longer,
            )));
        }
    }
    found
}
