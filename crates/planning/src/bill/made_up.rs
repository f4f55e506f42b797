//! Cars to trains: from routes to what each train takes and leaves, block by block.

use std::collections::{BTreeMap, HashMap};

use engineering::ids::TrackRef;
use mechanical::CarId;
use model::units::{Actual, Weight};
use traffic::{CarLoad, WaybillNo, books::Whereabouts};
use transportation::{
    MadeUp,
    make_up::{CarMove, Haul, LeftCar, Limit, StationWork},
};

use super::{
    Session, Spots,
    cars::Want,
    is_dangerous,
    trains::{FreightTrain, weights},
};
use crate::routing::{Full, Plan};

/// A car's ride in a train of this session.
struct Rider {
    want: usize,
    from: usize,
    to: usize,
    block: String,
    rank: u32,
    /// Whether it is its first train, and whether its last.
    first: bool,
    last: bool,
}

impl Session<'_> {
    pub(super) fn made_up(
        &self,
        wants: &[Want],
        numbers: &[WaybillNo],
        plan: &Plan,
        spots: &mut Spots,
        left: &[LeftCar],
    ) -> Vec<MadeUp> {
        let today: Vec<usize> = (0..self.runs.len())
            .filter(|&run| self.runs[run].1 == 0)
            .collect();
        let riders: HashMap<usize, Vec<Rider>> = today
            .iter()
            .map(|&run| (run, self.riders(run, wants, plan)))
            .collect();
        let places = self.places(wants, &riders, spots);
        today
            .iter()
            .map(|&run| {
                let riders = &riders[&run];
                let train = &self.trains[self.runs[run].0];
                let mut works: Vec<StationWork> = train
                    .calls
                    .iter()
                    .map(|call| StationWork {
                        station: call.station,
                        set_out: vec![],
                        pick_up: vec![],
                    })
                    .collect();
                for rider in self.in_order(riders, wants) {
                    let moved = |place: Option<&(TrackRef, Option<usize>)>, off_spot| CarMove {
                        car: wants[rider.want].car,
                        bill: numbers[rider.want],
                        block: rider.block.clone(),
                        rank: rider.rank,
                        track: place.map(|(track, _)| track.track),
                        spot: place.and_then(|(_, spot)| *spot),
                        off_spot,
                    };
                    let from = places.get(&(rider.want, run, false));
                    works[rider.from].pick_up.push(moved(from, false));
                    let to = places.get(&(rider.want, run, true));
                    let off = rider.last
                        && to.is_none()
                        && wants[rider.want].to.beyond.is_none()
                        && !wants[rider.want].to.tracks.is_empty();
                    works[rider.to].set_out.push(moved(to, off));
                }
                let mut made = MadeUp {
                    train: train.id,
                    works,
                    hauls: vec![],
                    left: self.left_by(run, wants, plan, left),
                };
                // Set-outs in train order.
                for at in 1..made.works.len() {
                    let order: Vec<CarId> = made
                        .consist_after(at - 1)
                        .iter()
                        .map(|car| car.car)
                        .collect();
                    made.works[at]
                        .set_out
                        .sort_by_key(|out| order.iter().position(|car| *car == out.car));
                }
                made.hauls = self.hauls(train, &made, wants);
                made
            })
            .collect()
    }

    /// Cars in train order: by block, and within a block what is dangerous in the middle. A block at either
    /// end of the train that is of nothing else goes into the middle of a larger one that is set out with it:
    /// it matters more that such cars are neither next to the engine nor to the caboose.
    fn in_order(&self, riders: &[Rider], wants: &[Want]) -> Vec<Rider> {
        let danger = |rider: &Rider| is_dangerous(&wants[rider.want]);
        let mut blocks: BTreeMap<u32, Vec<&Rider>> = BTreeMap::new();
        for rider in riders {
            blocks.entry(rider.rank).or_default().push(rider);
        }
        for last in [true, false] {
            let end = if last {
                blocks.last_key_value()
            } else {
                blocks.first_key_value()
            };
            let Some((&rank, cars)) = end else { continue };
            if !cars.iter().all(|rider| danger(rider)) {
                continue;
            }
            let goods = |cars: &[&Rider]| cars.iter().filter(|rider| !danger(rider)).count();
            let other = blocks
                .iter()
                .filter(|(other, cars)| **other / 100 == rank / 100 && goods(cars) > 1)
                .max_by_key(|(other, cars)| (goods(cars), **other))
                .map(|(other, _)| *other);
            if let Some(other) = other
                && let Some(cars) = blocks.remove(&rank)
            {
                blocks.entry(other).or_default().extend(cars);
            }
        }
        let ends = [
            blocks.first_key_value().map(|(rank, _)| *rank),
            blocks.last_key_value().map(|(rank, _)| *rank),
        ];
        let mut out = vec![];
        for (rank, mut cars) in blocks {
            cars.sort_by_key(|rider| (rider.from, rider.want));
            let (bad, good): (Vec<_>, Vec<_>) = cars.into_iter().partition(|rider| danger(rider));
            // One that is harmless goes to the end of the train, where there is but one.
            let half = if ends[1] == Some(rank) && ends[0] != Some(rank) {
                good.len() / 2
            } else {
                good.len().div_ceil(2)
            };
            for rider in good[..half].iter().chain(&bad).chain(&good[half..]) {
                out.push(Rider {
                    rank,
                    block: rider.block.clone(),
                    ..**rider
                });
            }
        }
        out
    }

    fn riders(&self, run: usize, wants: &[Want], plan: &Plan) -> Vec<Rider> {
        let train = &self.trains[self.runs[run].0];
        let mut riders = vec![];
        for (want, route) in plan.routes.iter().enumerate() {
            for (at, ride) in route.rides.iter().enumerate() {
                if ride.run != run {
                    continue;
                }
                let (block, place) = self.block(train, &wants[want], &route.rides[at..]);
                riders.push(Rider {
                    want,
                    from: ride.from,
                    to: ride.to,
                    block,
                    // Blocks nearer the engine are set out first.
                    rank: ride.to as u32 * 100 + place.min(99),
                    first: at == 0,
                    last: at + 1 == route.rides.len(),
                });
            }
        }
        riders
    }

    /// Where each car is taken from and put, track and spot, in the order of time. Keyed by want, run and
    /// whether it is put.
    fn places(
        &self,
        wants: &[Want],
        riders: &HashMap<usize, Vec<Rider>>,
        spots: &mut Spots,
    ) -> HashMap<(usize, usize, bool), (TrackRef, Option<usize>)> {
        let mut places = HashMap::new();
        let mut calls: Vec<(i64, usize, usize)> = vec![];
        for &run in riders.keys() {
            for (at, call) in self.problem.runs[run].calls.iter().enumerate() {
                calls.push((call.arrive, run, at));
            }
        }
        calls.sort_unstable();
        for (_, run, at) in calls {
            let train = &self.trains[self.runs[run].0];
            for rider in riders[&run].iter().filter(|rider| rider.from == at) {
                let want = &wants[rider.want];
                if let Whereabouts::Track { track, spot, .. } = &self.books.car(want.car).at
                    && rider.first
                {
                    spots.leave(want.car, *track);
                    spots.give(*track, self.length(want.car));
                    places.insert((rider.want, run, false), (*track, *spot));
                }
            }
            // Those with the fewest spots to choose from first.
            let mut put: Vec<&Rider> = riders[&run]
                .iter()
                .filter(|rider| rider.to == at && rider.last)
                .collect();
            put.sort_by_key(|rider| (wants[rider.want].to.spots.len(), rider.want));
            for rider in put {
                let want = &wants[rider.want];
                let length = self.length(want.car);
                if want.to.tracks.is_empty() || want.to.beyond.is_some() {
                    // A yard decides for itself; on staging it stays on the train's track.
                    if let Some(track) = train.ends_on
                        && at + 1 == train.calls.len()
                        && want.to.tracks.is_empty()
                    {
                        let track = TrackRef {
                            station: train.calls[at].station,
                            track,
                        };
                        places.insert((rider.want, run, true), (track, None));
                        continue;
                    }
                    if want.to.tracks.is_empty() {
                        continue;
                    }
                    let own = train.ends_on.filter(|track| {
                        at + 1 == train.calls.len() && want.to.tracks.contains(track)
                    });
                    if let Some(track) = own {
                        let track = TrackRef {
                            station: want.to.station,
                            track,
                        };
                        places.insert((rider.want, run, true), (track, None));
                        continue;
                    }
                }
                if let Some((track, spot)) = spots.find(self.railroad, self.books, &want.to, length)
                {
                    spots.put(want.car, track, spot, length);
                    places.insert((rider.want, run, true), (track, spot));
                }
            }
        }
        places
    }

    /// The cars that a train left because it was full.
    fn left_by(&self, run: usize, wants: &[Want], plan: &Plan, left: &[LeftCar]) -> Vec<LeftCar> {
        wants
            .iter()
            .enumerate()
            .filter(|(at, _)| {
                matches!(plan.full[*at], Some(Full::Train { run: full, .. }) if full == run)
            })
            .filter_map(|(_, want)| left.iter().find(|left| left.car == want.car).cloned())
            .collect()
    }

    fn hauls(&self, train: &FreightTrain, made: &MadeUp, wants: &[Want]) -> Vec<Haul> {
        let caboose = train.caboose.unwrap_or((0.0, Weight::ZERO));
        (0..made.works.len().saturating_sub(1))
            .map(|at| {
                let inside = made.consist_after(at);
                let mut length = train.own[0] + train.own[1];
                let (mut tons, mut weight) = caboose;
                for car in &inside {
                    let loaded = wants
                        .iter()
                        .any(|want| want.car == car.car && want.state == CarLoad::Loaded);
                    let own = weights(self.railroad, car.car, loaded);
                    length += self.length(car.car);
                    tons += own.0;
                    weight += own.1;
                }
                let allowed = train.allowed[at];
                let share = |used: f64, most: Option<f64>| most.map(|most| used / most.max(1e-9));
                let used = [
                    (
                        Limit::Length,
                        share(length.meters(), allowed.length.map(Actual::meters)),
                    ),
                    (
                        Limit::Cars,
                        share(inside.len() as f64, allowed.cars.map(f64::from)),
                    ),
                    (Limit::Tons, share(tons, allowed.tons)),
                    (
                        Limit::Rating,
                        share(weight.kg(), allowed.rated.map(Weight::kg)),
                    ),
                ];
                let governs = used
                    .into_iter()
                    .filter_map(|(limit, share)| Some((limit, share?)))
                    .max_by(|a, b| a.1.total_cmp(&b.1))
                    .map(|(limit, _)| limit);
                Haul {
                    from: made.works[at].station,
                    to: made.works[at + 1].station,
                    cars: inside.len() as u32,
                    length,
                    tons,
                    weight,
                    allowed,
                    governs,
                }
            })
            .collect()
    }
}
