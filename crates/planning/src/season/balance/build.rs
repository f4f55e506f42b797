//! The programme of a railroad's week.

use std::collections::BTreeMap;

use engineering::ids::StationId;
use mechanical::CarKind;
use traffic::balance::{Programme, Row};

use super::{
    super::{
        plan::{Lies, Plan, Side, Stretch},
        ways::DAY,
    },
    Limit,
    routes::{Hop, Route, hops, routes},
    spots::kept,
};

/// What a day of a car's time counts as, against a load of the least priority: enough that cars are not
/// moved for nothing, and never enough to leave a load.
const TIME: f64 = 0.001;

/// Cars that may stand for each other.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fleet {
    pub kind: CarKind,
    /// The pool, if its loads take no other cars.
    pub pool: Option<usize>,
}

/// What a column stands for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Column {
    /// Loads of a lane by one of its routes.
    Load { lane: usize },
    /// Empties of a fleet from one station to another.
    Empty { to: StationId, fleet: usize },
}

/// The programme with what its rows and columns mean.
pub(super) struct Built {
    pub programme: Programme,
    pub columns: Vec<Column>,
    pub limits: Vec<Limit>,
    /// For each lane its loads a week.
    pub offered: Vec<f64>,
}

/// Rows by what they limit, in the order in which they are first spoken of.
#[derive(Default)]
struct Rows {
    by: BTreeMap<Limit, usize>,
    limits: Vec<Limit>,
    rows: Vec<Row>,
}

impl Rows {
    fn add(&mut self, limit: Limit, most: f64, column: usize, each: f64) {
        let at = *self.by.entry(limit.clone()).or_insert_with(|| {
            self.limits.push(limit);
            self.rows.push(Row {
                limit: most,
                terms: vec![],
            });
            self.rows.len() - 1
        });
        let terms = &mut self.rows[at].terms;
        match terms.last_mut() {
            Some((last, sum)) if *last == column => *sum += each,
            _ => terms.push((column, each)),
        }
    }
}

/// Means over the cars of a fleet.
#[derive(Clone, Copy)]
struct Means {
    cars: f64,
    /// In cars of the mean length of all.
    length: f64,
    tons: [f64; 2],
}

fn means(plan: &Plan, fleet: &Fleet, captive: &[usize]) -> Means {
    let of: Vec<_> = plan
        .wagons
        .iter()
        .filter(|wagon| wagon.freight && !wagon.caboose && wagon.kind == Some(fleet.kind))
        .filter(|wagon| match fleet.pool {
            Some(pool) => wagon.pool == Some(pool),
            None => wagon.pool.is_none_or(|pool| !captive.contains(&pool)),
        })
        .collect();
    let cars = of.len() as f64;
    let mean = |sum: f64, usual: f64| if cars > 0.0 { sum / cars } else { usual };
    Means {
        cars,
        length: mean(
            of.iter()
                .map(|wagon| wagon.length / plan.mean_length)
                .sum::<f64>(),
            1.0,
        ),
        tons: [0, 1].map(|load| mean(of.iter().map(|wagon| wagon.tons[load]).sum(), 22.0)),
    }
}

/// Cars of mean length that stand on the tracks where a station keeps them.
fn room(plan: &Plan, tracks: &[engineering::ids::TrackRef]) -> f64 {
    tracks
        .iter()
        .filter_map(|&track| plan.ground.track(track))
        .map(|track| (track.room / plan.mean_length).max(0.0))
        .sum()
}

struct Builder<'a> {
    plan: &'a Plan,
    hops: Vec<Hop>,
    rows: Rows,
    columns: Vec<Column>,
    gain: Vec<f64>,
}

impl Builder<'_> {
    /// A train's legs, for a car that rides it.
    fn ride(&mut self, hop: usize, column: usize, means: &Means, loaded: bool) {
        let hop = self.hops[hop];
        let train = &self.plan.trains[hop.train];
        let runs = f64::from(train.days.count());
        let calls = &self.plan.ways.calls;
        for nth in calls[hop.from].nth..calls[hop.to].nth {
            let call = self.plan.ways.trains[hop.train].calls[nth];
            let long = train.length / self.plan.mean_length;
            self.rows
                .add(Limit::Length { call }, runs * long, column, means.length);
            if train.cars < usize::MAX {
                self.rows
                    .add(Limit::Cars { call }, runs * train.cars as f64, column, 1.0);
            }
            if train.tons.is_finite() {
                // In loads of fifty tons, so that the numbers are of the size of the others.
                let tons = means.tons[usize::from(loaded)] / 50.0;
                self.rows
                    .add(Limit::Tons { call }, runs * train.tons / 50.0, column, tons);
            }
        }
    }

    fn load(&mut self, lane: usize, fleet: usize, means: &Means, route: &Route, spots: [f64; 2]) {
        let plan = self.plan;
        let one = &plan.lanes[lane];
        let column = self.columns.len();
        let days = |seconds: i64| seconds as f64 / DAY as f64;
        let stands = match one.to.lies {
            Lies::Here => days(one.to.dwell),
            _ => days(one.away),
        };
        let cycle = days(one.from.dwell) + route.days + stands;
        self.columns.push(Column::Load { lane });
        self.gain.push(weight(one) - TIME * cycle);
        self.rows
            .add(Limit::Offered { lane }, week(plan, one), column, 1.0);
        if one.from.station != one.to.station {
            let (from, to) = (one.from.station, one.to.station);
            self.rows.add(
                Limit::Empties {
                    fleet,
                    station: from,
                },
                0.0,
                column,
                1.0,
            );
            self.rows
                .add(Limit::Empties { fleet, station: to }, 0.0, column, -1.0);
        }
        self.rows
            .add(Limit::Fleet { fleet }, 7.0 * means.cars, column, cycle);
        for &hop in &route.hops {
            self.ride(hop, column, means, true);
        }
        let first = route.hops.first().map_or(0.0, |&hop| self.hops[hop].wait);
        for (side, kept, there) in [
            (&one.from, spots[0], first),
            (&one.to, spots[1], days(one.away)),
        ] {
            self.stand(side, column, means, kept, there);
        }
    }

    /// What a load takes where it is loaded or unloaded: a spot, or room on tracks that stand for the
    /// world beyond.
    fn stand(&mut self, side: &Side, column: usize, means: &Means, kept: f64, there: f64) {
        let plan = self.plan;
        let station = side.station;
        match side.lies {
            Lies::Here => {
                let Some(place) = side.place else { return };
                let holds = plan.places[place].holds as f64;
                self.rows
                    .add(Limit::Spots { place }, 7.0 * holds, column, kept);
            }
            Lies::Staging => {
                let hold = &plan.stations[station.index()].hold;
                let room = room(plan, hold);
                self.rows.add(
                    Limit::Staging { station },
                    7.0 * room,
                    column,
                    there * means.length,
                );
            }
            // By hand between sessions: on the mean half a day.
            Lies::ByHand | Lies::Live => {
                let room = room(plan, &side.tracks);
                let there = if side.lies == Lies::ByHand {
                    there.min(0.5)
                } else {
                    0.5
                };
                self.rows.add(
                    Limit::Interchange { station },
                    7.0 * room,
                    column,
                    there * means.length,
                );
            }
        }
    }

    fn empty(&mut self, fleet: usize, means: &Means, hop: usize) {
        let calls = &self.plan.ways.calls;
        let one = self.hops[hop];
        let (from, to) = (calls[one.from].station, calls[one.to].station);
        let column = self.columns.len();
        let days = one.wait + one.ride;
        self.columns.push(Column::Empty { to, fleet });
        self.gain.push(-TIME * days);
        let at = |station| Limit::Empties { fleet, station };
        self.rows.add(at(from), 0.0, column, 1.0);
        self.rows.add(at(to), 0.0, column, -1.0);
        self.rows
            .add(Limit::Fleet { fleet }, 7.0 * means.cars, column, days);
        self.ride(hop, column, means, false);
    }
}

/// What a load counts as: ten of priority 10 for one of priority 1.
fn weight(lane: &Stretch) -> f64 {
    11.0 - lane.lane.priority.clamp(1, 10) as f64
}

/// Loads a week in the railroad's month.
fn week(plan: &Plan, lane: &Stretch) -> f64 {
    (0..7)
        .map(|weekday| lane.lane.mean(plan.month, weekday))
        .sum()
}

/// The fleets, and of which each lane's cars are.
pub(super) fn fleets(plan: &Plan) -> (Vec<Fleet>, Vec<usize>) {
    let of: Vec<Fleet> = plan
        .lanes
        .iter()
        .map(|one| Fleet {
            kind: one.lane.kind,
            pool: if one.lane.captive { one.pool } else { None },
        })
        .collect();
    let mut all = of.clone();
    all.sort();
    all.dedup();
    let each = of
        .iter()
        .filter_map(|fleet| all.binary_search(fleet).ok())
        .collect();
    (all, each)
}

/// Writes the programme down.
pub(super) fn build(plan: &Plan) -> Built {
    let (fleets, fleet_of) = fleets(plan);
    let captive: Vec<usize> = fleets.iter().filter_map(|fleet| fleet.pool).collect();
    let means: Vec<Means> = fleets
        .iter()
        .map(|fleet| means(plan, fleet, &captive))
        .collect();
    let hops = hops(plan);
    let mut leaving = vec![vec![]; plan.stations.len()];
    for (at, hop) in hops.iter().enumerate() {
        leaving[plan.ways.calls[hop.from].station.index()].push(at);
    }
    let mut builder = Builder {
        plan,
        hops,
        rows: Rows::default(),
        columns: vec![],
        gain: vec![],
    };
    for (lane, one) in plan.lanes.iter().enumerate() {
        let ends = [
            (&one.from, one.class, Some(one.to.station)),
            (&one.to, 0, None),
        ];
        let spots = ends.map(|(side, class, onward)| match side.lies {
            // Unloaded where it was loaded: it is not pulled by a train.
            Lies::Here if one.from.station == one.to.station => {
                kept(plan, side.station, 0, None, side.dwell)
            }
            Lies::Here => kept(plan, side.station, class, onward, side.dwell),
            _ => Some(0.0),
        });
        let (Some(from), Some(to)) = (spots[0], spots[1]) else {
            continue;
        };
        if week(plan, one) <= 0.0 {
            continue;
        }
        let ways = routes(
            plan,
            &builder.hops,
            &leaving,
            one.from.station,
            one.to.station,
            one.class == 1,
        );
        let fleet = fleet_of[lane];
        for route in &ways {
            builder.load(lane, fleet, &means[fleet], route, [from, to]);
        }
    }
    for (fleet, means) in means.iter().enumerate() {
        for hop in 0..builder.hops.len() {
            let carries = plan.ways.trains[builder.hops[hop].train].carries;
            if carries == super::super::ways::Carries::All {
                builder.empty(fleet, means, hop);
            }
        }
    }
    Built {
        programme: Programme {
            gain: builder.gain,
            rows: builder.rows.rows,
        },
        columns: builder.columns,
        limits: builder.rows.limits,
        offered: plan.lanes.iter().map(|one| week(plan, one)).collect(),
    }
}
