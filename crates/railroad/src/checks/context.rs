//! What the checks across departments ask again and again: the way of each train, how much a track
//! holds, lengths as the owner likes them.

use std::{
    cell::RefCell,
    collections::{HashMap, VecDeque},
};

use engineering::{
    Way,
    ids::{EndId, LineId, OpenRef, StationId, TrackId, TrackRef},
    network::Run,
    station::{Station, TrackUse},
};
use model::{
    scale::Scale,
    time::{RailTime, ShownTime},
    units::Actual,
};
use transportation::{Train, TrainId};

use crate::{Railroad, identity::UnitsStyle};

/// The stations a train runs through, and the open line between them.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainWay {
    /// From the initial to the terminal station, both included.
    pub stations: Vec<StationId>,
    /// The districts between them: one fewer than stations.
    pub opens: Vec<Step>,
    at: HashMap<StationId, usize>,
}

/// A district of open line, and whether it is run toward higher miles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// The district.
    pub open: OpenRef,
    /// Whether toward higher miles.
    pub up: bool,
}

impl TrainWay {
    fn new(stations: Vec<StationId>, opens: Vec<Step>) -> Self {
        let at = stations
            .iter()
            .enumerate()
            .map(|(at, id)| (*id, at))
            .collect();
        Self {
            stations,
            opens,
            at,
        }
    }

    /// How many stations from the start.
    pub(super) fn position(&self, station: StationId) -> Option<usize> {
        self.at.get(&station).copied()
    }

    /// Whether a station is one of the two ends.
    pub(super) fn is_end(&self, station: StationId) -> bool {
        self.stations.first() == Some(&station) || self.stations.last() == Some(&station)
    }
}

/// The way of each train, in the order of the service; nothing for a train that has none, which a rule
/// reports.
pub fn ways(road: &Railroad) -> Vec<Option<TrainWay>> {
    let ways = Context::new(road).ways;
    ways.into_iter().map(Result::ok).collect()
}

/// The way a train takes from one station to another, if something joins them.
pub fn way_between(road: &Railroad, from: StationId, to: StationId) -> Option<TrainWay> {
    if from == to {
        return None;
    }
    train_way(&road.way, &neighbors(&road.way), None, from, to).ok()
}

/// Why a train has no way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoWay {
    /// One of its ends is not known: another rule's.
    Unknown,
    /// Nothing joins these two neighbors on its line.
    Gap(LineId, StationId, StationId),
    /// Nothing leads from the one end to the other.
    Apart,
}

/// For a station and the ends by which it is entered and left, the tracks that lead through.
type Through = HashMap<(StationId, [EndId; 2]), Vec<TrackId>>;

/// For a station, a track taken there and two ends, whether another train gets by.
type Passing = HashMap<(StationId, TrackId, [EndId; 2]), bool>;

/// A railroad with what the checks ask of it.
pub(crate) struct Context<'a> {
    pub(super) road: &'a Railroad,
    /// For each train its way, or why it has none.
    pub(super) ways: Vec<Result<TrainWay, NoWay>>,
    usable: RefCell<HashMap<TrackRef, Actual>>,
    through: RefCell<Through>,
    passing: RefCell<Passing>,
}

impl<'a> Context<'a> {
    pub(crate) fn new(road: &'a Railroad) -> Self {
        let neighbors = neighbors(&road.way);
        let mut known: HashMap<(Option<LineId>, StationId, StationId), Result<TrainWay, NoWay>> =
            HashMap::new();
        let ways = road
            .service
            .trains
            .iter()
            .map(|train| {
                let (Some(from), Some(to)) = (
                    station(road, train.from.as_ref()),
                    station(road, train.to.as_ref()),
                ) else {
                    return Err(NoWay::Unknown);
                };
                let line = train
                    .line
                    .as_ref()
                    .and_then(|line| road.way.find_line(&line.value));
                // Many trains share a way.
                known
                    .entry((line, from, to))
                    .or_insert_with(|| train_way(&road.way, &neighbors, line, from, to))
                    .clone()
            })
            .collect();
        Self {
            road,
            ways,
            usable: RefCell::default(),
            through: RefCell::default(),
            passing: RefCell::default(),
        }
    }

    pub(super) fn scale(&self) -> Scale {
        self.road.identity.scale.scale
    }

    /// A length as the owner likes it; under a foot in inches alone.
    pub(super) fn show(&self, length: Actual) -> String {
        match self.road.identity.units {
            UnitsStyle::FeetAndInches if length.abs() < Actual::from_inches(11.9) => {
                UnitsStyle::Inches.show(length)
            }
            units => units.show(length),
        }
    }

    /// A time as the owner likes it.
    pub(super) fn time(&self, time: RailTime) -> ShownTime {
        time.show(self.road.identity.clock_face.style())
    }

    /// The station of a name that may not be written.
    pub(super) fn station(&self, name: Option<&model::Spanned<String>>) -> Option<StationId> {
        station(self.road, name)
    }

    /// The trains that have a way, with it.
    pub(crate) fn trains(&self) -> impl Iterator<Item = (TrainId, &'a Train, &TrainWay)> {
        self.road
            .service
            .train_ids()
            .zip(&self.ways)
            .filter_map(|((id, train), way)| way.as_ref().ok().map(|way| (id, train, way)))
    }

    /// The way of a train.
    pub(crate) fn way_of(&self, train: TrainId) -> Option<&TrainWay> {
        self.ways[train.index()].as_ref().ok()
    }

    /// The longest a train may be: what it says, or what the railroad allows.
    pub(super) fn longest(&self, train: &Train) -> Option<Actual> {
        let written = train.max_length.map(|length| length.value);
        written.or(self.road.identity.limits.train_length)
    }

    /// How much of a track holds a train or cars.
    pub(super) fn usable(&self, track: TrackRef) -> Actual {
        if let Some(length) = self.usable.borrow().get(&track) {
            return *length;
        }
        let length = self.road.network.usable(&self.road.way, track).length;
        self.usable.borrow_mut().insert(track, length);
        length
    }

    /// The ends by which a train comes into a station within its way and goes out.
    pub(super) fn ends(&self, way: &TrainWay, at: usize) -> Option<[EndId; 2]> {
        let station = self.road.way.station(way.stations[at]);
        let entered = way.opens.get(at.checked_sub(1)?)?;
        let left = way.opens.get(at)?;
        Some([
            end_of(station, entered.open, usize::from(entered.up))?,
            end_of(station, left.open, usize::from(!left.up))?,
        ])
    }

    /// The tracks of a station on which a train can run from one end to another and stand while
    /// others pass.
    pub(super) fn through_tracks(&self, station: StationId, ends: [EndId; 2]) -> Vec<TrackId> {
        let key = (station, ends);
        if let Some(tracks) = self.through.borrow().get(&key) {
            return tracks.clone();
        }
        let network = &self.road.network;
        let [from, to] = ends.map(|end| network.end_node(station, end));
        let page = self.road.way.station(station);
        let tracks: Vec<TrackId> = network
            .tracks_between(station, from, to)
            .into_iter()
            .filter(|track| {
                matches!(
                    page.track(*track).usage,
                    TrackUse::Main
                        | TrackUse::Siding
                        | TrackUse::ArrivalDeparture
                        | TrackUse::Runaround
                )
            })
            .collect();
        self.through.borrow_mut().insert(key, tracks.clone());
        tracks
    }
}

impl Context<'_> {
    /// Whether a train can run through a station from one end to another while another train stands
    /// on a track, between its clearance points.
    pub(super) fn passes(&self, station: StationId, stands: TrackId, ends: [EndId; 2]) -> bool {
        let key = (station, stands, ends);
        if let Some(passes) = self.passing.borrow().get(&key) {
            return *passes;
        }
        let network = &self.road.network;
        let track = TrackRef {
            station,
            track: stands,
        };
        let stretch = network.clear_stretch(&self.road.way, track);
        let taken = |run: Run| {
            network.edge(run.edge).track() == Some(track)
                && network
                    .reach_of(run)
                    .is_none_or(|[a, b]| a.min(b) < stretch.to && stretch.from < a.max(b))
        };
        let [from, to] = ends.map(|end| network.end_node(station, end));
        let cost = |run: Run| if taken(run) { f64::INFINITY } else { 1.0 };
        let passes = network
            .cheapest(station, network.departures(from), cost, |run| {
                network.head(run).0 == to
            })
            .is_some();
        self.passing.borrow_mut().insert(key, passes);
        passes
    }
}

fn station(road: &Railroad, name: Option<&model::Spanned<String>>) -> Option<StationId> {
    name.and_then(|name| road.way.find_station(&name.value))
}

/// The end of a station that a district of open line joins; `which` of the district's two ends.
fn end_of(station: &Station, open: OpenRef, which: usize) -> Option<EndId> {
    let joins = |end: &engineering::station::End| {
        end.joins
            .iter()
            .any(|join| join.open == open && usize::from(join.which) == which)
    };
    station
        .ends
        .iter()
        .position(joins)
        .map(|at| EndId(at as u32))
}

/// For each station what open line leads to which other station.
fn neighbors(way: &Way) -> Vec<Vec<(StationId, Step)>> {
    let mut neighbors = vec![Vec::new(); way.stations.len()];
    for (open, page) in way.opens() {
        if let [Some(low), Some(high)] = [page.ends[0].id, page.ends[1].id] {
            neighbors[low.index()].push((high, Step { open, up: true }));
            neighbors[high.index()].push((low, Step { open, up: false }));
        }
    }
    neighbors
}

/// Along the line the train names, or along a line both ends lie on; else over the fewest stations.
fn train_way(
    way: &Way,
    neighbors: &[Vec<(StationId, Step)>],
    line: Option<LineId>,
    from: StationId,
    to: StationId,
) -> Result<TrainWay, NoWay> {
    let on_both = |line: &LineId| {
        way.station(from).mile(*line).is_some() && way.station(to).mile(*line).is_some()
    };
    let mut lines = line
        .into_iter()
        .chain(way.station(from).lines.iter().filter_map(|on| on.line))
        .filter(on_both);
    let Some(line) = lines.next() else {
        return fewest(neighbors, from, to).ok_or(NoWay::Apart);
    };
    let all = way.line_stations(line);
    let place = |id| all.iter().position(|other| *other == id);
    let (Some(first), Some(last)) = (place(from), place(to)) else {
        return Err(NoWay::Unknown);
    };
    let up = first <= last;
    let mut stations: Vec<StationId> = all[first.min(last)..=first.max(last)].to_vec();
    if !up {
        stations.reverse();
    }
    let mut opens = Vec::with_capacity(stations.len());
    for pair in stations.windows(2) {
        let step = neighbors[pair[0].index()]
            .iter()
            .find(|(next, step)| *next == pair[1] && step.open.line == line);
        match step {
            Some((_, step)) => opens.push(*step),
            // Another line may lead there: a cut-off, a way around.
            None => {
                return fewest(neighbors, from, to).ok_or(NoWay::Gap(line, pair[0], pair[1]));
            }
        }
    }
    Ok(TrainWay::new(stations, opens))
}

/// The way over the fewest districts; of equals, by the order of the pages.
fn fewest(
    neighbors: &[Vec<(StationId, Step)>],
    from: StationId,
    to: StationId,
) -> Option<TrainWay> {
    let mut before: Vec<Option<(StationId, Step)>> = vec![None; neighbors.len()];
    let mut queue = VecDeque::from([from]);
    while let Some(here) = queue.pop_front() {
        if here == to {
            let (mut stations, mut opens) = (vec![to], Vec::new());
            while let Some((back, step)) = before[stations[stations.len() - 1].index()] {
                stations.push(back);
                opens.push(step);
                if back == from {
                    break;
                }
            }
            stations.reverse();
            opens.reverse();
            return Some(TrainWay::new(stations, opens));
        }
        for &(next, step) in &neighbors[here.index()] {
            if next != from && before[next.index()].is_none() {
                before[next.index()] = Some((here, step));
                queue.push_back(next);
            }
        }
    }
    None
}
