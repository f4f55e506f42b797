//! Running times: how long each train takes from station to station by the railroad's clock.
//!
//! The course is the actual track: its length on the model at scale, the speed allowed piece by piece (the
//! line's, the track's, slow orders; a train keeps a restriction until its rear is out of it), and where
//! full-size power governs, the grade and the curves under the whole train. What is run on the model takes
//! real time, and the fast clock multiplies it. A *gap*, country that was not built, takes the time its
//! miles would take full size, and the clock does not.

mod clock;
mod motion;
mod observed;
mod power;

use engineering::{
    Profile,
    ids::{EndId, OpenRef, StationId, TrackRef},
    network::{Network, Route, Run},
    profile::Going,
    station::{Station, TrackUse},
};
use model::units::{Actual, Prototype, Speed};
use railroad::{Railroad, Step as WayStep, TrainWay};
use transportation::{Train, TrainKind};

pub use clock::{ClockView, balanced, clock_views};
pub use motion::{GRAVITY, Motion, Power, Step, run};
pub use observed::{Observed, Pace as ObservedPace, calibrate};
pub use power::{Pace, pace};

/// Where no speed is written: common practice, no source.
const UNWRITTEN: f64 = 30.0;
/// Over turnouts and on tracks beside the main, where nothing else is written: common practice, no source.
const ASIDE: f64 = 15.0;
/// The course is cut into pieces no longer than this, meters full size.
const FINE: f64 = 10.0;

/// Seconds of railroad time at the marks of a step, counted from when the front of the train passes the
/// end of the station it leaves, or starts there.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Marks {
    /// The rear has left the station.
    pub clear: i64,
    /// The front passes the end of each block; the last is the end of the next station.
    pub blocks: Vec<i64>,
    /// The rear is within the next station, or the train stands there.
    pub entered: i64,
    /// The front is at the far end of the next station, or the train stands there.
    pub done: i64,
}

/// From one station to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct StepTimes {
    /// `[starts][stops]`: whether it starts from a stand at the one, and stops at the other.
    pub marks: [[Marks; 2]; 2],
    /// How long its own length takes at the speed of the block's end, for each block.
    pub tails: Vec<i64>,
    /// Scheduled miles, gap included.
    pub miles: f64,
}

impl StepTimes {
    /// From front to front over the open line and the next station.
    pub fn seconds(&self, starts: bool, stops: bool) -> i64 {
        self.marks[usize::from(starts)][usize::from(stops)].done
    }

    /// Over the open line alone.
    pub fn open(&self, starts: bool, stops: bool) -> i64 {
        let marks = &self.marks[usize::from(starts)][usize::from(stops)];
        marks.blocks.last().copied().unwrap_or(marks.done)
    }
}

/// One train's running times.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainTimes {
    /// How long the train is taken to be.
    pub length: Actual,
    /// From station to station.
    pub steps: Vec<StepTimes>,
    /// Between which stations of its way its power does not suffice: the step.
    pub stalls: Vec<usize>,
}

/// What running times are reckoned with.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumed {
    /// Railroad minutes in a real one.
    pub clock: f64,
    /// Part added to everything: 0.05 for five percent.
    pub allowance: f64,
    /// How observed runs compare with reckoned ones, by train kind: see [`calibrate`].
    pub observed: Vec<ObservedPace>,
}

impl Assumed {
    /// What the railroad's folder says.
    pub fn of(railroad: &Railroad) -> Self {
        Self {
            clock: railroad.identity.clock,
            allowance: railroad.service.operating.allowance,
            observed: Vec::new(),
        }
    }
}

/// Whether it keeps the speeds of passenger trains.
pub fn is_passenger(train: &Train) -> bool {
    matches!(
        train.kind.map(|kind| kind.value),
        Some(TrainKind::Passenger | TrainKind::Express)
    )
}

/// How long a train may be: what it says, else what the railroad allows, else six feet. An engine alone is
/// as long as it is.
pub fn longest(railroad: &Railroad, train: &Train) -> Actual {
    let alone = matches!(
        train.kind.map(|kind| kind.value),
        Some(TrainKind::LightEngine | TrainKind::Helper)
    );
    let engines: Option<Vec<Actual>> = train
        .engines
        .iter()
        .map(|number| {
            let engine = railroad.roster.find_engine(&number.value)?;
            Some(railroad.roster.engine(engine).length?.value)
        })
        .collect();
    if let Some(engines) = engines.filter(|engines| alone && !engines.is_empty()) {
        return engines.into_iter().sum();
    }
    train
        .max_length
        .map(|length| length.value)
        .or(railroad.identity.limits.train_length)
        .unwrap_or(Actual::from_feet(6.0))
}

/// Profiles of all lines, made once.
#[derive(Debug, Clone)]
pub struct Profiles(Vec<Profile>);

impl Profiles {
    /// Of a railroad.
    pub fn new(railroad: &Railroad) -> Self {
        Self(
            railroad
                .way
                .lines()
                .map(|(line, _)| Profile::new(&railroad.way, &railroad.network, line))
                .collect(),
        )
    }

    /// Of one line.
    pub fn of(&self, line: engineering::ids::LineId) -> &Profile {
        &self.0[line.index()]
    }
}

/// The speed allowed on a station's track.
pub fn track_speed(railroad: &Railroad, track: TrackRef, passenger: bool) -> Speed {
    let page = railroad.way.track(track);
    let line = railroad
        .way
        .station(track.station)
        .line()
        .map(|line| railroad.way.line(line));
    let by_line = line.and_then(|line| {
        if passenger {
            line.passenger_speed.or(line.speed)
        } else {
            line.speed
        }
    });
    let usual = if page.usage == TrackUse::Main {
        by_line.unwrap_or(Speed::from_mph(UNWRITTEN))
    } else {
        let aside = Speed::from_mph(ASIDE);
        by_line.map_or(aside, |line| line.min(aside))
    };
    page.speed.map_or(usual, |speed| speed.min(usual))
}

/// Seconds of railroad time over so much track at a steady speed.
pub fn steady(railroad: &Railroad, assumed: &Assumed, length: Actual, speed: Speed) -> i64 {
    let full = railroad.identity.scale.scale.to_prototype(length);
    let seconds = full.meters() / speed.meters_per_second().max(0.1);
    (seconds * assumed.clock * (1.0 + assumed.allowance)).ceil() as i64
}

/// The end of a station that a district joins: for each of its tracks, from 1.
pub fn ends_of(station: &Station, open: OpenRef, which: usize) -> Vec<(EndId, u8)> {
    let mut ends = Vec::new();
    for (at, end) in station.ends.iter().enumerate() {
        for join in &end.joins {
            if join.open == open && usize::from(join.which) == which {
                ends.push((EndId(at as u32), join.track));
            }
        }
    }
    ends
}

/// A piece of a train's whole course.
#[derive(Debug, Clone, Copy)]
struct Piece {
    step: Step,
    /// Seconds of gap spread over it.
    gap: f64,
}

struct Course<'a> {
    railroad: &'a Railroad,
    profiles: &'a Profiles,
    passenger: bool,
    pieces: Vec<Piece>,
}

impl Course<'_> {
    fn add(&mut self, length: f64, limit: f64, grade: f64, gap: f64) {
        if length <= 0.0 {
            return;
        }
        let count = (length / FINE).ceil().max(1.0);
        for _ in 0..count as usize {
            self.pieces.push(Piece {
                step: Step {
                    length: length / count,
                    limit,
                    grade,
                },
                gap: gap / count,
            });
        }
    }

    /// The open line of a step; the index of the piece after it.
    fn open(&mut self, way: WayStep) {
        let railroad = self.railroad;
        let scale = railroad.identity.scale.scale;
        let profile = self.profiles.of(way.open.line);
        let open = railroad.way.open(way.open);
        let full = scale.to_prototype(open.run()).meters();
        let going = if way.up { Going::Up } else { Going::Down };
        let gap_miles = open.gap.map_or(Prototype::ZERO, |gap| gap.value).meters();
        let line = railroad.way.line(way.open.line);
        let usual = if self.passenger {
            line.passenger_speed.or(line.speed)
        } else {
            line.speed
        };
        let usual = usual.unwrap_or(Speed::from_mph(UNWRITTEN));
        // A gap is run at the district's own speed: slow orders lie on track that was built.
        let by_gap = open.speed.map_or(usual, |speed| speed.min(usual));
        let gap = gap_miles / by_gap.meters_per_second().max(0.1);
        let Some(section) = profile.open(way.open) else {
            self.add(full.max(1.0), by_gap.meters_per_second(), 0.0, gap);
            return;
        };
        let [from, to] = section.reach;
        let scale_of = |at: Actual| scale.to_prototype(at).meters();
        let mut breaks: Vec<Actual> = vec![from, to];
        let within = |at: Actual| at > from && at < to;
        let speeds: Vec<_> = profile
            .speeds
            .iter()
            .filter(|piece| piece.reach[1] > from && piece.reach[0] < to)
            .collect();
        let grades: Vec<_> = profile
            .grades(railroad.network.limits())
            .into_iter()
            .filter(|piece| piece.reach[1] > from && piece.reach[0] < to)
            .collect();
        breaks.extend(
            speeds
                .iter()
                .flat_map(|piece| piece.reach)
                .filter(|at| within(*at)),
        );
        breaks.extend(
            grades
                .iter()
                .flat_map(|piece| piece.reach)
                .filter(|at| within(*at)),
        );
        breaks.sort_by(Actual::total_cmp);
        breaks.dedup();
        let mut parts: Vec<(f64, f64, f64)> = Vec::new();
        for pair in breaks.windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            let speed = speeds
                .iter()
                .find(|piece| piece.reach[0] <= middle && middle <= piece.reach[1])
                .and_then(|piece| {
                    if self.passenger {
                        piece.passenger
                    } else {
                        piece.freight
                    }
                })
                .unwrap_or(Speed::from_mph(UNWRITTEN));
            let grade = grades
                .iter()
                .find(|piece| piece.reach[0] <= middle && middle <= piece.reach[1])
                .map_or(0.0, |piece| piece.against(going).ratio());
            parts.push((
                scale_of(pair[1] - pair[0]),
                speed.meters_per_second(),
                grade,
            ));
        }
        if !way.up {
            parts.reverse();
        }
        let whole: f64 = parts.iter().map(|part| part.0).sum();
        if whole <= 0.0 {
            self.add(1.0, by_gap.meters_per_second(), 0.0, gap);
            return;
        }
        for (length, speed, grade) in parts {
            self.add(length, speed, grade, gap * length / whole);
        }
    }

    /// The tracks of a station that a route runs over.
    fn station(&mut self, route: Option<&Route>) {
        let railroad = self.railroad;
        let scale = railroad.identity.scale.scale;
        let Some(route) = route else {
            self.add(1.0, Speed::from_mph(ASIDE).meters_per_second(), 0.0, 0.0);
            return;
        };
        for run in &route.runs {
            let edge = railroad.network.edge(run.edge);
            if let Some(track) = edge.track() {
                let speed = track_speed(railroad, track, self.passenger);
                let length = scale.to_prototype(edge.length).meters();
                self.add(length, speed.meters_per_second(), 0.0, 0.0);
            }
        }
    }
}

/// The route by which a train usually runs through a station of its way, or comes to its end there.
fn usual_route(railroad: &Railroad, train: &Train, way: &TrainWay, at: usize) -> Option<Route> {
    let id = way.stations[at];
    let station = railroad.way.station(id);
    let entered = way.opens.get(at.checked_sub(1)?)?;
    let (enter, _) = *ends_of(station, entered.open, usize::from(entered.up)).first()?;
    let from = railroad.network.end_node(id, enter);
    match way.opens.get(at) {
        Some(left) => {
            let (leave, _) = *ends_of(station, left.open, usize::from(!left.up)).first()?;
            let to = railroad.network.end_node(id, leave);
            railroad.network.by_main(&railroad.way, id, from, to)
        }
        None => {
            let track = train
                .to_track
                .as_ref()
                .and_then(|track| station.find_track(&track.value))
                .or_else(|| {
                    let tracks = station.tracks();
                    let mut mains = tracks.filter(|(_, track)| track.usage == TrackUse::Main);
                    mains.next().map(|(id, _)| id)
                })?;
            let track = TrackRef { station: id, track };
            let mut route = railroad.network.onto(from, track)?;
            extend_along(&railroad.network, &mut route, track);
            Some(route)
        }
    }
}

/// Goes on along a track to its end.
fn extend_along(network: &Network, route: &mut Route, track: TrackRef) {
    while let Some(&last) = route.runs.last() {
        let next: Option<Run> = network
            .next(last)
            .find(|run| network.edge(run.edge).track() == Some(track));
        match next {
            Some(run) if !route.runs.iter().any(|seen| seen.edge == run.edge) => {
                route.length += network.edge(run.edge).length;
                route.runs.push(run);
            }
            _ => break,
        }
    }
}

/// The running times of a train over its way, with a length and so many tons behind its engines.
pub fn times(
    railroad: &Railroad,
    profiles: &Profiles,
    assumed: &Assumed,
    train: &Train,
    way: &TrainWay,
    length: Actual,
    tons: Option<f64>,
) -> TrainTimes {
    let scale = railroad.identity.scale.scale;
    let passenger = is_passenger(train);
    let engines: Vec<_> = train
        .engines
        .iter()
        .filter_map(|number| railroad.roster.find_engine(&number.value))
        .map(|id| railroad.roster.engine(id))
        .collect();
    let tons = tons
        .or(train.max_tons.map(|tons| tons.value))
        // Five scale-forty-foot cars of forty tons to a hundred yards: common practice, no source.
        .unwrap_or_else(|| scale.to_prototype(length).feet() / 45.0 * 40.0);
    let pace = pace(&railroad.tonnage, &engines, tons, passenger);
    let mut course = Course {
        railroad,
        profiles,
        passenger,
        pieces: Vec::new(),
    };
    // Where each step begins, where its open line ends, where its station ends: indices of pieces.
    let mut bounds = Vec::with_capacity(way.opens.len());
    for (at, step) in way.opens.iter().enumerate() {
        let begin = course.pieces.len();
        course.open(*step);
        let middle = course.pieces.len();
        course.station(usual_route(railroad, train, way, at + 1).as_ref());
        bounds.push((begin, middle, course.pieces.len()));
    }
    let full_length = scale.to_prototype(length).meters();
    let pieces = held_until_clear(&course.pieces, full_length);
    let factor = factor_of(assumed, train);
    let mut stalls = Vec::new();
    let steps = bounds
        .iter()
        .enumerate()
        .map(|(at, &(begin, middle, end))| {
            let steps: Vec<Step> = pieces[begin..end].iter().map(|piece| piece.step).collect();
            let gaps: Vec<f64> = pieces[begin..end].iter().map(|piece| piece.gap).collect();
            let open = railroad.way.open(way.opens[at].open);
            let blocks = open.blocks.max(1) as usize;
            let marks = [false, true].map(|starts| {
                [false, true].map(|stops| {
                    let motion = run(&steps, &pace.power, pace.brake, starts, stops);
                    if motion.stalls && stalls.last() != Some(&at) {
                        stalls.push(at);
                    }
                    marks_of(
                        &motion,
                        &steps,
                        &gaps,
                        middle - begin,
                        blocks,
                        full_length,
                        assumed.clock,
                        factor,
                    )
                })
            });
            let tails = tails(&steps, middle - begin, blocks, full_length)
                .into_iter()
                .map(|seconds| (seconds * assumed.clock * factor).ceil() as i64)
                .collect();
            let miles = (scale.to_prototype(open.run())
                + open.gap.map_or(Prototype::ZERO, |gap| gap.value))
            .miles();
            StepTimes {
                marks,
                tails,
                miles,
            }
        })
        .collect();
    TrainTimes {
        length,
        steps,
        stalls,
    }
}

fn factor_of(assumed: &Assumed, train: &Train) -> f64 {
    let kind = train.kind.map(|kind| kind.value);
    let observed = assumed
        .observed
        .iter()
        .find(|pace| pace.kind == kind)
        .or(assumed.observed.iter().find(|pace| pace.kind.is_none()))
        .map_or(1.0, |pace| pace.factor);
    observed * (1.0 + assumed.allowance)
}

/// The same pieces with each limit kept until the rear is out of it, and the grade averaged under the
/// whole train.
fn held_until_clear(pieces: &[Piece], length: f64) -> Vec<Piece> {
    let mut back = 0;
    let mut behind = 0.0;
    let mut held = Vec::with_capacity(pieces.len());
    for (at, piece) in pieces.iter().enumerate() {
        behind += piece.step.length;
        while back < at && behind - pieces[back].step.length >= length {
            behind -= pieces[back].step.length;
            back += 1;
        }
        let under = &pieces[back..=at];
        let limit = under
            .iter()
            .map(|piece| piece.step.limit)
            .fold(f64::INFINITY, f64::min);
        let run: f64 = under.iter().map(|piece| piece.step.length).sum();
        let rise: f64 = under
            .iter()
            .map(|piece| piece.step.length * piece.step.grade)
            .sum();
        held.push(Piece {
            step: Step {
                length: piece.step.length,
                limit,
                grade: if run > 0.0 { rise / run } else { 0.0 },
            },
            gap: piece.gap,
        });
    }
    held
}

#[allow(clippy::too_many_arguments, reason = "plain numbers of one step")]
fn marks_of(
    motion: &Motion,
    steps: &[Step],
    gaps: &[f64],
    open: usize,
    blocks: usize,
    length: f64,
    clock: f64,
    factor: f64,
) -> Marks {
    let mut at = 0.0;
    let mut gap = 0.0;
    let mut places = vec![(0.0, 0.0)];
    for (index, step) in steps.iter().enumerate() {
        at += step.length;
        gap += gaps[index];
        places.push((at, motion.times[index + 1] * clock + gap));
    }
    let when = |place: f64| {
        let next = places.partition_point(|(at, _)| *at < place);
        let (Some(low), Some(high)) = (next.checked_sub(1).map(|at| places[at]), places.get(next))
        else {
            return if next == 0 {
                0.0
            } else {
                places[places.len() - 1].1
            };
        };
        let part = if high.0 > low.0 {
            (place - low.0) / (high.0 - low.0)
        } else {
            0.0
        };
        low.1 + (high.1 - low.1) * part
    };
    let whole = |place: f64| (when(place) * factor).ceil() as i64;
    let open_end = places[open].0;
    let far = places[places.len() - 1].0;
    Marks {
        clear: whole(length.min(open_end)),
        blocks: (1..=blocks)
            .map(|block| whole(open_end * block as f64 / blocks as f64))
            .collect(),
        entered: whole((open_end + length).min(far)),
        done: whole(far),
    }
}

/// Real seconds that the train's own length takes beyond the end of each block.
fn tails(steps: &[Step], open: usize, blocks: usize, length: f64) -> Vec<f64> {
    let whole: f64 = steps[..open].iter().map(|step| step.length).sum();
    (1..=blocks)
        .map(|block| {
            let end = whole * block as f64 / blocks as f64;
            let mut at = 0.0;
            let mut speed = f64::INFINITY;
            for step in steps {
                at += step.length;
                if at > end && at - step.length <= end + length {
                    speed = speed.min(step.limit);
                }
            }
            if speed.is_finite() && speed > 0.0 {
                length / speed
            } else {
                0.0
            }
        })
        .collect()
}

/// Stations of a way by name, for messages.
pub fn station_name(railroad: &Railroad, station: StationId) -> &str {
    &railroad.way.station(station).name.value
}
