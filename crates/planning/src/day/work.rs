//! How long each stop's work takes on the tracks that are there, with the cars that are billed.

use engineering::ids::StationId;
use model::{time::RailSpan, units::Actual};
use railroad::{Railroad, ways};
use switching::Answer;
use traffic::books::Books;
use transportation::{MadeUp, TrainId};

use super::legs::Made;
use crate::{
    bill::Billed,
    make_up::work_at,
    parallel::in_parallel,
    running::{ClockView, clock_views, longest},
    town::{Facts, Planned, Sessions, Visit, solve, visits_at, work},
};

/// A train's work at a station, planned move by move.
#[derive(Debug, Clone, PartialEq)]
pub struct Worked {
    /// The train.
    pub train: TrainId,
    /// Where.
    pub station: StationId,
    /// From which side, and whether it goes back as another train.
    pub visit: Visit,
    /// What it finds and brings.
    pub facts: Facts,
    /// The plan.
    pub planned: Planned,
}

impl Worked {
    /// How long it takes, real seconds; nothing if no plan was found.
    pub fn seconds(&self) -> Option<f64> {
        match &self.planned.answer {
            Answer::Solved(solved) => Some(solved.time.seconds),
            _ => None,
        }
    }

    /// What the timetable allows for it, by the railroad's clock: the minutes written for the stop, or the
    /// time from the train's arrival to when it goes back as another.
    pub fn allowed(&self, railroad: &Railroad) -> Option<RailSpan> {
        let train = railroad.service.train(self.train);
        if let Some(onward) = self.visit.onward {
            let leaves = railroad.service.train(onward).leave?.value;
            let lies = leaves - train.hours()?.1;
            return (lies >= RailSpan::ZERO).then_some(lies);
        }
        let place = &railroad.way.station(self.station).name.value;
        let stop = train
            .stops
            .iter()
            .find(|stop| stop.station.as_ref().is_some_and(|at| at.value == *place))?;
        Some(stop.minutes?.value)
    }

    /// How long it takes by the railroad's clock.
    pub fn takes(&self, clock: f64) -> Option<RailSpan> {
        let seconds = self.seconds()?;
        Some(RailSpan::from_seconds((seconds * clock).ceil() as i64))
    }
}

/// Plans the work of every train at every station where it is billed to work, in the order of the bills, as
/// many stops at a time as there are `threads`; the answer does not depend on them. What contradicts itself is
/// left out; the stop then takes what its page says.
pub fn worked(
    railroad: &Railroad,
    books: &Books,
    billed: &Billed,
    options: &switching::Options,
    threads: usize,
    stop: &(dyn Fn() -> bool + Sync),
) -> Vec<Worked> {
    let stops: Vec<(TrainId, StationId)> = billed
        .made_up
        .iter()
        .flat_map(|made| made.works.iter().map(|work| (made.train, work.station)))
        .collect();
    in_parallel(&stops, threads, &|&(train, station)| {
        one_stop(railroad, books, billed, train, station, options, stop)
    })
    .into_iter()
    .flatten()
    .collect()
}

/// The railroad's day at each of some ratios of the fast clock. A stop takes the real time of its planned moves;
/// one without a plan, what its page says.
pub fn clocks(railroad: &Railroad, worked: &[Worked], ratios: &[f64]) -> Vec<ClockView> {
    let seconds = |train: usize, stop: usize| {
        let page = &railroad.service.trains[train];
        let place = &page.stops[stop].station.as_ref()?.value;
        let one = worked.iter().find(|one| {
            railroad.service.train(one.train).symbol.value == page.symbol.value
                && railroad.way.station(one.station).name.value == *place
        })?;
        one.seconds()
    };
    clock_views(railroad, &ways(railroad), ratios, &seconds)
}

fn one_stop(
    railroad: &Railroad,
    books: &Books,
    billed: &Billed,
    train: TrainId,
    station: StationId,
    options: &switching::Options,
    stop: &dyn Fn() -> bool,
) -> Option<Worked> {
    let (visit, facts) = work_at(railroad, books, billed, train, station)?;
    if facts.to_do() == 0 && visit.onward.is_none() {
        return None;
    }
    let sessions = Sessions::with(railroad, station, visits_at(railroad, station));
    let town = sessions.town(&visit, &facts);
    let compiled = work(&town, &visit, &facts).ok()?;
    let planned = solve(&compiled, options, stop).ok()?;
    Some(Worked {
        train,
        station,
        visit,
        facts,
        planned,
    })
}

/// How each train of the service is made up, as the day has to know it.
pub fn made(railroad: &Railroad, billed: &Billed, worked: &[Worked]) -> Vec<Option<Made>> {
    let clock = railroad.identity.clock;
    railroad
        .service
        .train_ids()
        .map(|(id, train)| {
            let made = billed.train(id)?;
            let takes = |station: StationId| {
                worked
                    .iter()
                    .find(|one| one.train == id && one.station == station)
                    .and_then(|one| one.takes(clock))
            };
            let work = train
                .stops
                .iter()
                .map(|stop| {
                    let station = railroad.way.find_station(&stop.station.as_ref()?.value)?;
                    if let Some(takes) = takes(station) {
                        return Some(takes);
                    }
                    // Billed and nothing to do: it need not stop for that.
                    let idle = made
                        .work_at(station)
                        .is_none_or(|work| work.set_out.is_empty() && work.pick_up.is_empty());
                    idle.then_some(RailSpan::ZERO)
                })
                .collect();
            let turn = worked
                .iter()
                .find(|one| one.train == id && one.visit.onward.is_some())
                .and_then(|one| Some((one, one.takes(clock)?)))
                // What the owner wrote is not to be computed, here as at stops on the way.
                .map(|(one, takes)| one.allowed(railroad).map_or(takes, |most| takes.min(most)));
            Some(Made {
                length: Some(length(railroad, train, made)),
                tons: made
                    .hauls
                    .iter()
                    .map(|haul| haul.tons)
                    .max_by(f64::total_cmp),
                work,
                turn,
            })
        })
        .collect()
}

/// The longest it is on its way.
fn length(railroad: &Railroad, train: &transportation::Train, made: &MadeUp) -> Actual {
    made.hauls
        .iter()
        .map(|haul| haul.length)
        .max_by(Actual::total_cmp)
        .filter(|length| *length > Actual::ZERO)
        .unwrap_or_else(|| longest(railroad, train))
}
