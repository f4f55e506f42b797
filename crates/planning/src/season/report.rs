//! What the counts of a season's runs say.

use engineering::ids::{StationId, TrackId, TrackRef};
use mechanical::CarKind;
use railroad::Railroad;

use super::{
    Options, Tally,
    plan::{Lies, Plan},
    tally::Fault,
};

/// A mean with its 95 per cent confidence interval, over independent runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The mean.
    pub mean: f64,
    /// Half the interval; infinite with one run.
    pub half: f64,
}

impl Estimate {
    /// From one number a run: Student's t interval.
    pub fn of(numbers: &[f64]) -> Self {
        let n = numbers.len() as f64;
        let mean = numbers.iter().sum::<f64>() / n.max(1.0);
        if numbers.len() < 2 {
            return Self {
                mean,
                half: f64::INFINITY,
            };
        }
        let variance = numbers.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
        Self {
            mean,
            half: student(numbers.len() - 1) * (variance / n).sqrt(),
        }
    }

    /// Whether it is more than nothing beyond chance.
    pub fn is_gain(&self) -> bool {
        self.mean - self.half > 0.0
    }
}

/// The 97.5 per cent points of Student's t distribution, as any table of it has them.
pub(super) fn student(freedom: usize) -> f64 {
    const TABLE: [f64; 30] = [
        12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160,
        2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056,
        2.052, 2.048, 2.045, 2.042,
    ];
    match freedom {
        0 => f64::INFINITY,
        1..=30 => TABLE[freedom - 1],
        // Beyond, the first two terms of the expansion in the reciprocal of the freedom (Abramowitz and
        // Stegun, 26.7.5), of the normal point 1.95996.
        more => 1.959_964 + 2.372_27 / more as f64 + 2.822_5 / (more as f64).powi(2),
    }
}

/// How full something was, as parts of its room: at the fullest of each session.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Share {
    /// Half of the sessions were below.
    pub median: f64,
    /// Nineteen of twenty were below.
    pub p95: f64,
    /// The fullest.
    pub max: f64,
}

impl Share {
    fn of(mut parts: Vec<f32>) -> Self {
        parts.sort_by(f32::total_cmp);
        Self {
            median: quantile(&parts, 0.5),
            p95: quantile(&parts, 0.95),
            max: quantile(&parts, 1.0),
        }
    }
}

/// The value below which a part of a sorted list lies: the nearest rank. Nothing if the list is empty.
pub fn quantile(sorted: &[f32], part: f64) -> f64 {
    let rank = (part * sorted.len() as f64).ceil() as usize;
    sorted
        .get(rank.max(1) - 1)
        .map_or(0.0, |&value| f64::from(value))
}

/// How a track was used.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackUse {
    /// The track.
    pub track: TrackRef,
    /// `Station / track`.
    pub name: String,
    /// Its room in inches.
    pub inches: f64,
    /// How full it was.
    pub share: Share,
}

/// How the tracks of a station on which cars are kept were used.
#[derive(Debug, Clone, PartialEq)]
pub struct StationUse {
    /// The station.
    pub station: StationId,
    /// Its name.
    pub name: String,
    /// Whether it is staging.
    pub staging: bool,
    /// Their room in inches.
    pub inches: f64,
    /// How full they were together.
    pub share: Share,
    /// For each session over the runs: median, 95 per cent and most.
    pub by_session: Vec<Share>,
    /// Cars left behind because it had no room for them, a session.
    pub no_room: Estimate,
}

/// How a stream of loads fared.
#[derive(Debug, Clone, PartialEq)]
pub struct LaneUse {
    /// Who ships it; for a load from beyond the line, who receives it.
    pub who: String,
    /// What.
    pub commodity: String,
    /// In which kind of car.
    pub kind: CarKind,
    /// From where to where.
    pub way: String,
    /// Cars offered a week.
    pub offered: f64,
    /// Loads delivered a week.
    pub delivered: f64,
    /// By how many days a load was late on the mean.
    pub late: Estimate,
    /// Orders due and not loaded, on the mean.
    pub waiting: Estimate,
    /// The part of the sessions in which the oldest order had waited more than a week.
    pub starved: f64,
}

/// How a shipper's spots fared.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceUse {
    /// Whose.
    pub who: String,
    /// The track.
    pub track: TrackRef,
    /// The track's name.
    pub name: String,
    /// Cars it takes at a time.
    pub spots: usize,
    /// Loads that waited elsewhere for one of its spots, on the mean.
    pub held: Estimate,
    /// The part of the sessions in which more waited than it has spots.
    pub flooded: f64,
}

/// How the cars of a kind fared.
#[derive(Debug, Clone, PartialEq)]
pub struct KindUse {
    /// The kind.
    pub kind: CarKind,
    /// Cars in service.
    pub cars: usize,
    /// Cars that stood empty with nobody wanting them, on the mean.
    pub idle: Estimate,
    /// The fewest that did.
    pub least_idle: u32,
    /// Orders due for which no car had been found, on the mean.
    pub short: Estimate,
}

/// How a train fared.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainUse {
    /// Its symbol and name.
    pub name: String,
    /// Its symbol.
    pub symbol: String,
    /// Runs a week.
    pub runs: f64,
    /// The part of its runs with one car or none all the way: it might have been annulled.
    pub light: f64,
    /// Cars carried on a run.
    pub cars: Estimate,
    /// Most cars it may have, by length alone.
    pub room: f64,
    /// Cars left behind on a run because it was full.
    pub full: Estimate,
    /// Minutes of the railroad's clock by which its work on a run takes longer than its stops allow.
    pub over: Estimate,
    /// The part of its runs without a caboose where it has one.
    pub no_caboose: f64,
}

/// Something that broke.
#[derive(Debug, Clone, PartialEq)]
pub struct Broken {
    /// What.
    pub fault: Fault,
    /// In words.
    pub words: String,
    /// In how many of the runs.
    pub runs: usize,
    /// In which session it began, from 1: the middle one of those runs.
    pub session: u32,
    /// The earliest.
    pub earliest: u32,
}

/// What a season came to, over all its runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Sessions in a run.
    pub sessions: u32,
    /// Runs.
    pub runs: usize,
    /// The tracks on which cars stood at any time.
    pub tracks: Vec<TrackUse>,
    /// The stations where cars are kept.
    pub stations: Vec<StationUse>,
    /// The lanes.
    pub lanes: Vec<LaneUse>,
    /// The shippers' places.
    pub places: Vec<PlaceUse>,
    /// The kinds of cars.
    pub kinds: Vec<KindUse>,
    /// The freight trains.
    pub trains: Vec<TrainUse>,
    /// What broke, the earliest first.
    pub broken: Vec<Broken>,
    /// Cars moved a session.
    pub moved: Estimate,
    /// Loads delivered a session.
    pub delivered: Estimate,
    /// Orders due and not loaded, on the mean.
    pub waiting: Estimate,
    /// Loads that waited for a spot, on the mean.
    pub held: Estimate,
    /// Car-days idle a session: cars that stood empty with nobody wanting them.
    pub idle: Estimate,
}

pub(super) fn report(
    railroad: &Railroad,
    plan: &Plan,
    options: &Options,
    runs: &[Tally],
) -> Report {
    let sessions = f64::from(options.sessions.max(1));
    let each = |of: &dyn Fn(&Tally) -> f64| -> Estimate {
        Estimate::of(&runs.iter().map(of).collect::<Vec<f64>>())
    };
    let mean = |of: &dyn Fn(&Tally) -> f64| each(of).mean;
    let daily = |column: usize| {
        each(&|run: &Tally| {
            run.daily
                .iter()
                .map(|day| f64::from(day[column]))
                .sum::<f64>()
                / sessions
        })
    };
    let way = &railroad.way;
    let mut tracks = vec![];
    let mut flat = 0;
    for (station, on) in plan.ground.tracks.iter().enumerate() {
        for (track, ground) in on.iter().enumerate() {
            let parts: Vec<f32> = runs
                .iter()
                .flat_map(|run| run.tracks[flat].clone())
                .collect();
            flat += 1;
            let share = Share::of(parts);
            if ground.holds_cars && share.max > 0.0 {
                tracks.push(TrackUse {
                    track: TrackRef {
                        station: StationId(station as u32),
                        track: TrackId(track as u32),
                    },
                    name: ground.name.clone(),
                    inches: ground.room.inches(),
                    share,
                });
            }
        }
    }
    let stations = plan
        .stations
        .iter()
        .enumerate()
        .filter(|(_, station)| !station.hold.is_empty())
        .map(|(at, station)| {
            let inches = station
                .hold
                .iter()
                .filter_map(|&track| plan.ground.track(track))
                .map(|track| track.room.inches())
                .sum();
            StationUse {
                station: StationId(at as u32),
                name: way.station(StationId(at as u32)).name.value.clone(),
                staging: station.staging,
                inches,
                share: Share::of(
                    runs.iter()
                        .flat_map(|run| run.stations[at].clone())
                        .collect(),
                ),
                by_session: (0..options.sessions as usize)
                    .map(|session| {
                        Share::of(
                            runs.iter()
                                .filter_map(|run| run.stations[at].get(session).copied())
                                .collect(),
                        )
                    })
                    .collect(),
                no_room: each(&|run| f64::from(run.no_room[at]) / sessions),
            }
        })
        .collect();
    let lanes = (0..plan.lanes.len())
        .map(|at| {
            let per_week = |count: u64| count as f64 / sessions * 7.0;
            LaneUse {
                who: lane_who(railroad, plan, at),
                commodity: plan.lanes[at].lane.commodity.clone(),
                kind: plan.lanes[at].lane.kind,
                way: lane_way(railroad, plan, at),
                offered: mean(&|run| per_week(run.offered[at])),
                delivered: mean(&|run| per_week(run.delivered[at])),
                late: each(&|run| run.late[at] / run.loaded[at].max(1) as f64),
                waiting: each(&|run| run.open[at] / sessions),
                starved: mean(&|run| f64::from(run.starved[at]) / sessions),
            }
        })
        .collect();
    let places = plan
        .places
        .iter()
        .enumerate()
        .map(|(at, place)| PlaceUse {
            who: place.name.clone(),
            track: place.track,
            name: way.track_name(place.track),
            spots: place.holds,
            held: each(&|run| run.held[at] / sessions),
            flooded: mean(&|run| f64::from(run.flooded[at]) / sessions),
        })
        .collect();
    let kinds = super::play::kinds(plan)
        .into_iter()
        .enumerate()
        .map(|(at, kind)| KindUse {
            kind,
            cars: plan
                .wagons
                .iter()
                .filter(|wagon| wagon.freight && wagon.kind == Some(kind))
                .count(),
            idle: each(&|run| run.idle[at] / sessions),
            least_idle: runs.iter().map(|run| run.least_idle[at]).min().unwrap_or(0),
            short: each(&|run| run.short[at] / sessions),
        })
        .collect();
    let trains = plan
        .trains
        .iter()
        .enumerate()
        .map(|(at, train)| {
            let per_run = |run: &Tally, count: f64| count / f64::from(run.runs[at].max(1));
            TrainUse {
                name: train.name.clone(),
                symbol: train.symbol.clone(),
                runs: mean(&|run| f64::from(run.runs[at]) / sessions * 7.0),
                light: mean(&|run| per_run(run, f64::from(run.light[at]))),
                cars: each(&|run| per_run(run, run.carried[at] as f64)),
                room: (train.length / plan.mean_length)
                    .floor()
                    .min(train.cars as f64),
                full: each(&|run| per_run(run, f64::from(run.full[at]))),
                over: each(&|run| per_run(run, run.over[at])),
                no_caboose: mean(&|run| per_run(run, f64::from(run.no_caboose[at]))),
            }
        })
        .collect();
    Report {
        sessions: options.sessions,
        runs: runs.len(),
        tracks,
        stations,
        lanes,
        places,
        kinds,
        trains,
        broken: broken(railroad, plan, runs),
        moved: daily(0),
        waiting: daily(1),
        delivered: daily(2),
        held: daily(3),
        idle: daily(4),
    }
}

/// Who ships a lane's loads; if they come from beyond the line, who receives them.
pub(super) fn lane_who(railroad: &Railroad, plan: &Plan, at: usize) -> String {
    let flow = railroad.traffic.flow(plan.lanes[at].lane.flow);
    flow.shipper_name
        .as_ref()
        .map_or_else(|| "a shipper".to_owned(), |name| name.value.clone())
}

/// From where to where a lane goes.
pub(super) fn lane_way(railroad: &Railroad, plan: &Plan, at: usize) -> String {
    let one = &plan.lanes[at];
    let end = |side: &super::plan::Side| {
        let station = &railroad.way.station(side.station).name.value;
        match (&side.beyond, side.lies) {
            (Some(beyond), lies) if lies != Lies::Here => format!("{beyond} via {station}"),
            _ => station.clone(),
        }
    };
    format!("{} to {}", end(&one.from), end(&one.to))
}

/// What went wrong, in words.
fn words(railroad: &Railroad, plan: &Plan, fault: Fault) -> String {
    match fault {
        Fault::NoRoom(station) => format!(
            "{} has no room: trains leave cars behind that should go there",
            railroad.way.station(station).name.value
        ),
        Fault::Starved(lane) => format!(
            "{} waits more than a week for a {} for {} ({})",
            lane_who(railroad, plan, lane),
            plan.lanes[lane].lane.kind,
            plan.lanes[lane].lane.commodity,
            lane_way(railroad, plan, lane)
        ),
        Fault::Flooded(place) => {
            let place = &plan.places[place];
            format!(
                "more loads wait for {} than its {} {} can take",
                railroad.way.track_name(place.track),
                place.holds,
                if place.holds == 1 { "spot" } else { "spots" }
            )
        }
        Fault::Full(train) => format!(
            "train {} is full and leaves three cars or more behind",
            plan.trains[train].name
        ),
        Fault::NoTime(train) => format!(
            "the work of train {} takes half an hour and more longer than its stops allow",
            plan.trains[train].name
        ),
    }
}

fn broken(railroad: &Railroad, plan: &Plan, runs: &[Tally]) -> Vec<Broken> {
    let mut when: std::collections::BTreeMap<Fault, Vec<u32>> = std::collections::BTreeMap::new();
    for run in runs {
        for &(session, fault) in &run.faults {
            when.entry(fault).or_default().push(session + 1);
        }
    }
    let mut broken: Vec<Broken> = when
        .into_iter()
        .map(|(fault, mut sessions)| {
            sessions.sort_unstable();
            Broken {
                fault,
                words: words(railroad, plan, fault),
                runs: sessions.len(),
                session: sessions[(sessions.len() - 1) / 2],
                earliest: sessions[0],
            }
        })
        .collect();
    // What breaks in most runs comes before what one run happened upon.
    broken.sort_by_key(|one| {
        let often = 2 * one.runs >= runs.len();
        (!often, one.session, std::cmp::Reverse(one.runs), one.fault)
    });
    broken
}

#[cfg(test)]
mod tests {
    use super::student;

    /// The points against the distribution itself, by the trapezoidal rule: half of the density lies above
    /// nothing, and 2.5 per cent above the point.
    #[test]
    fn the_points_of_student_leave_a_fortieth() {
        for freedom in [1, 2, 3, 4, 9, 19, 30, 31, 60, 200] {
            let nu = freedom as f64;
            let density = |x: f64| (1.0 + x * x / nu).powf(-(nu + 1.0) / 2.0);
            // Over the angle x = sqrt(nu) tan a, so that the tail is finite.
            let area = |from: f64| {
                let (begin, steps) = ((from / nu.sqrt()).atan(), 200_000);
                let end = std::f64::consts::FRAC_PI_2;
                let width = (end - begin) / f64::from(steps);
                (0..steps)
                    .map(|step| {
                        let angle = begin + (f64::from(step) + 0.5) * width;
                        density(nu.sqrt() * angle.tan()) / angle.cos().powi(2) * width
                    })
                    .sum::<f64>()
            };
            let tail = area(student(freedom)) / (2.0 * area(0.0));
            assert!((tail - 0.025).abs() < 1e-4, "{freedom}: {tail}");
        }
    }
}
