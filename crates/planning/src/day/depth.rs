//! Tracks on which trains stand one behind another.
//!
//! Such a track is cut wherever a train may begin or end on it: against the bumper or the end it leaves by, or
//! against so many others. A train holds the pieces it stands on, and while it comes or goes those between it and
//! the end it moves by; so nobody runs through anybody, and the order in which they go follows.

use std::collections::BTreeMap;

use engineering::{
    ids::{StationId, TrackId, TrackRef},
    station::Meets,
};
use model::units::Actual;
use railroad::Railroad;

use super::{
    ground::{Ground, StationWay},
    legs::Leg,
};

/// Where a train stands on such a track: the pieces from the first to before the second.
pub(super) type Spot = [u32; 2];

/// Most trains one behind another that are thought of.
const MOST: usize = 5;
/// Most places thought of for one train on one track.
const PLACES: usize = 10;

/// One such track.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Depth {
    /// Where it is cut, from its beginning to its end.
    cuts: Vec<Actual>,
    /// For a leg, a call and whether it stands toward the track's end: where it may stand, the farthest first.
    places: BTreeMap<(usize, usize, bool), Vec<[Actual; 2]>>,
}

/// By which end of its track a train comes and goes: whether by the track's beginning.
pub(super) fn by_low(railroad: &Railroad, way: &StationWay, station: StationId) -> [bool; 2] {
    let track = TrackRef {
        station,
        track: way.track,
    };
    let mut on = way
        .runs
        .iter()
        .filter(|run| railroad.network.edge(run.edge).track() == Some(track));
    let first = on.next().is_none_or(|run| run.forward);
    let last = on.next_back().map_or(first, |run| run.forward);
    [first, !last]
}

/// Whether it stands as near as it can to the track's end, rather than to its beginning.
fn toward_end(railroad: &Railroad, way: &StationWay, station: StationId) -> bool {
    let page = railroad.way.station(station).track(way.track);
    let [comes_low, goes_low] = by_low(railroad, way, station);
    if way.enter.is_some() {
        return comes_low;
    }
    // Against the bumper, else at the end it leaves by.
    let behind = usize::from(goes_low);
    if page.meets[behind] == Meets::Bumper {
        goes_low
    } else {
        !goes_low
    }
}

impl Depth {
    /// All such tracks, with the places of the trains that begin or end there.
    pub(super) fn all(
        railroad: &Railroad,
        legs: &[Leg],
        ground: &Ground,
    ) -> BTreeMap<(StationId, TrackId), Self> {
        struct User {
            leg: usize,
            call: usize,
            end: bool,
            length: Actual,
            room: Actual,
            /// Which it is of those that stand there from the beginning, as written.
            place: Option<i64>,
            bumper: bool,
        }
        let mut users: BTreeMap<(StationId, TrackId), Vec<User>> = BTreeMap::new();
        for (leg, facts) in legs.iter().enumerate() {
            let last = facts.visits.len() - 1;
            for call in [0, last] {
                let visit = &facts.visits[call];
                for way in ground.ways.get(visit).into_iter().flatten() {
                    let page = railroad.way.station(visit.station).track(way.track);
                    if !page.several_trains {
                        continue;
                    }
                    let end = toward_end(railroad, way, visit.station);
                    let place = facts
                        .train
                        .filter(|_| call == 0)
                        .and_then(|id| railroad.service.train(id).from_place)
                        .map(|place| place.value);
                    users
                        .entry((visit.station, way.track))
                        .or_default()
                        .push(User {
                            leg,
                            call,
                            end,
                            length: facts.times.length,
                            room: way.room,
                            place,
                            bumper: page.meets[usize::from(end)] == Meets::Bumper,
                        });
                }
            }
        }
        users
            .into_iter()
            .map(|(key, users)| {
                let mut depth = Self::default();
                let room = users.iter().map(|user| user.room).max_by(Actual::total_cmp);
                let room = room.unwrap_or(Actual::ZERO);
                for (at, user) in users.iter().enumerate() {
                    let others: Vec<Actual> = users
                        .iter()
                        .enumerate()
                        .filter(|(other, one)| *other != at && one.leg != user.leg)
                        .map(|(_, one)| one.length)
                        .collect();
                    // A written place says who stands beyond.
                    let beyond = match user.place {
                        Some(place) => {
                            let sum: Actual = users
                                .iter()
                                .filter(|one| one.call == 0)
                                .filter(|one| {
                                    one.place.is_some_and(|other| {
                                        if user.bumper {
                                            other > place
                                        } else {
                                            other < place
                                        }
                                    })
                                })
                                .map(|one| one.length)
                                .sum();
                            vec![sum]
                        }
                        None => sums(&others, room - user.length),
                    };
                    let places = beyond
                        .into_iter()
                        .filter(|sum| *sum + user.length <= room + SLACK)
                        .take(PLACES)
                        .map(|sum| {
                            let far = (sum + user.length).min(room);
                            if user.end {
                                [room - far, room - sum]
                            } else {
                                [sum, far]
                            }
                        })
                        .collect();
                    depth.places.insert((user.leg, user.call, user.end), places);
                }
                let mut cuts: Vec<Actual> =
                    depth.places.values().flatten().flatten().copied().collect();
                cuts.extend([Actual::ZERO, room]);
                cuts.sort_by(Actual::total_cmp);
                cuts.dedup_by(|a, b| *a - *b < SLACK);
                depth.cuts = cuts;
                (key, depth)
            })
            .collect()
    }

    /// How many pieces it is cut into.
    pub(super) fn pieces(&self) -> u32 {
        self.cuts.len().saturating_sub(1) as u32
    }

    /// The pieces a train may stand on, the farthest place first.
    pub(super) fn spots(
        &self,
        railroad: &Railroad,
        way: &StationWay,
        station: StationId,
        leg: usize,
        call: usize,
    ) -> Vec<Spot> {
        let end = toward_end(railroad, way, station);
        let cut = |at: Actual| {
            self.cuts
                .iter()
                .position(|cut| (*cut - at).abs() < SLACK)
                .unwrap_or(0) as u32
        };
        self.places
            .get(&(leg, call, end))
            .into_iter()
            .flatten()
            .map(|[from, to]| [cut(*from), cut(*to)])
            .collect()
    }

    /// The pieces it runs over between its place and an end.
    pub(super) fn beside(&self, spot: Spot, low: bool) -> std::ops::Range<u32> {
        if low {
            0..spot[0]
        } else {
            spot[1]..self.pieces()
        }
    }
}

/// Nearer than this two places are one.
const SLACK: Actual = Actual::from_mm(0.5);

/// What some of these lengths come to, from nothing up to a limit.
fn sums(lengths: &[Actual], limit: Actual) -> Vec<Actual> {
    let mut known: Vec<(Actual, usize)> = vec![(Actual::ZERO, 0)];
    for &length in lengths {
        let more: Vec<(Actual, usize)> = known
            .iter()
            .filter(|(sum, count)| *sum + length <= limit + SLACK && count + 1 < MOST)
            .map(|(sum, count)| (*sum + length, count + 1))
            .collect();
        known.extend(more);
        known.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        known.dedup_by(|a, b| a.0 - b.0 < SLACK);
    }
    known.into_iter().map(|(sum, _)| sum).collect()
}
