//! Which trains work a town, by which end they come, and by which they go.

use std::collections::VecDeque;

use engineering::{
    ids::{EndId, StationId},
    station::StationKind,
};
use railroad::Railroad;
use transportation::{StopWork, Train, TrainId, TrainKind};

/// A train at work in a town: on its way through, or at the end of its run, where it turns and goes
/// back as another train.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Visit {
    /// The train as it comes.
    pub train: TrainId,
    /// The train as which it leaves, where that is another.
    pub onward: Option<TrainId>,
    /// Where.
    pub station: StationId,
    /// By which end it comes.
    pub enter: EndId,
    /// By which end it leaves; `None` where it stays.
    pub leave: Option<EndId>,
    /// When it comes, seconds of the railroad's day.
    pub at: i64,
}

impl Visit {
    /// The same train from the other side: it comes by the end by which it left. `None` for a train
    /// that turns or stays.
    #[must_use]
    pub fn other_side(self) -> Option<Self> {
        let leave = self.leave.filter(|&leave| leave != self.enter)?;
        Some(Self {
            enter: leave,
            leave: Some(self.enter),
            ..self
        })
    }
}

fn is_work(work: StopWork) -> bool {
    matches!(work, StopWork::PickUp | StopWork::SetOut | StopWork::Switch)
}

/// Whether trains are made up at a station by engines of its own, so that locals do not work it.
pub(crate) fn has_yard(railroad: &Railroad, station: StationId) -> bool {
    matches!(
        railroad.way.station(station).kind,
        StationKind::Yard | StationKind::Staging
    )
}

/// All visits of trains that set out, pick up or switch at a station that has no yard of its own,
/// and of locals that end their run there; by station and time.
pub fn visits(railroad: &Railroad) -> Vec<Visit> {
    let mut all: Vec<Visit> = railroad
        .way
        .stations()
        .filter(|(id, _)| !has_yard(railroad, *id))
        .flat_map(|(id, _)| visits_at(railroad, id))
        .collect();
    all.sort_by_key(|visit| (visit.station, visit.at, visit.train));
    all
}

/// The visits to one station, whatever its kind, by time.
pub fn visits_at(railroad: &Railroad, station: StationId) -> Vec<Visit> {
    let name = &railroad.way.station(station).name.value;
    let mut out = vec![];
    for (id, train) in railroad.service.train_ids() {
        let works = train
            .stops
            .iter()
            .filter(|stop| stop.station.as_ref().is_some_and(|at| at.value == *name))
            .any(|stop| stop.work.iter().any(|work| is_work(work.value)));
        let ends = train.to.as_ref().is_some_and(|to| to.value == *name)
            && matches!(
                train.kind.map(|kind| kind.value),
                Some(TrainKind::Local | TrainKind::Mixed)
            )
            && !has_yard(railroad, station);
        if works || ends {
            out.extend(visit(railroad, station, id, train));
        }
    }
    out.sort_by_key(|visit| (visit.at, visit.train));
    out
}

/// A train's visit to a station on its way.
fn visit(railroad: &Railroad, station: StationId, id: TrainId, train: &Train) -> Option<Visit> {
    let find = |name: &str| railroad.way.find_station(name);
    let places = train.times();
    let way: Vec<StationId> = places
        .iter()
        .filter_map(|place| find(&place.station?.value))
        .collect();
    let here = way.iter().position(|&at| at == station)?;
    let arrive = places
        .iter()
        .find(|place| {
            place
                .station
                .is_some_and(|at| find(&at.value) == Some(station))
        })
        .and_then(|place| place.arrive.or(place.leave))
        .map_or(0, |time| time.value.seconds());
    let before = *way[..here].last()?;
    let enter = end_toward(railroad, station, before, true)?;
    let mut onward = None;
    let leave = match way.get(here + 1) {
        Some(&next) => end_toward(railroad, station, next, false),
        None => {
            let (next, after) = turns_into(railroad, station, id, train)?;
            onward = Some(next);
            after
        }
    };
    Some(Visit {
        train: id,
        onward,
        station,
        enter,
        leave,
        at: arrive,
    })
}

/// As which train the engine of a train leaves the end of its run, and by which end.
fn turns_into(
    railroad: &Railroad,
    station: StationId,
    id: TrainId,
    train: &Train,
) -> Option<(TrainId, Option<EndId>)> {
    let name = &railroad.way.station(station).name.value;
    let arrive = train.arrive.map(|time| time.value);
    let next = railroad
        .service
        .train_ids()
        .filter(|(other, next)| {
            *other != id
                && next.from.as_ref().is_some_and(|from| from.value == *name)
                && next.engines.first().map(|engine| &engine.value)
                    == train.engines.first().map(|engine| &engine.value)
                && next.leave.map(|time| time.value) >= arrive
        })
        .min_by_key(|(other, next)| (next.leave.map(|time| time.value.seconds()), *other));
    let (next_id, next) = next?;
    let toward = next
        .times()
        .iter()
        .skip(1)
        .find_map(|place| railroad.way.find_station(&place.station?.value))?;
    Some((next_id, end_toward(railroad, station, toward, false)))
}

/// The end of a station that leads to another station, by the fewest districts of open line.
///
/// Where double track joins, trains keep to the right: up the line on the second track, down the line
/// on the first (common practice, no source).
pub fn end_toward(
    railroad: &Railroad,
    station: StationId,
    other: StationId,
    entering: bool,
) -> Option<EndId> {
    let way = &railroad.way;
    let mut found: Vec<(usize, bool, EndId)> = vec![];
    for (at, end) in way.station(station).ends.iter().enumerate() {
        let Some(join) = end.joins.first() else {
            continue;
        };
        let open = way.open(join.open);
        let Some(next) = open.ends[usize::from(1 - join.which)].id else {
            continue;
        };
        let Some(hops) = hops(railroad, next, other, station) else {
            continue;
        };
        // Its `to` end lies at this station if `which` is 1: coming in by it is going up the line.
        let up = (join.which == 1) == entering;
        let right = if up { open.tracks.value } else { 1 };
        found.push((hops, join.track != right, EndId(at as u32)));
    }
    found.into_iter().min().map(|(_, _, end)| end)
}

/// Districts between two stations on ways that do not pass a third.
fn hops(railroad: &Railroad, from: StationId, to: StationId, avoid: StationId) -> Option<usize> {
    let way = &railroad.way;
    let mut seen = vec![false; way.stations.len()];
    seen[avoid.index()] = true;
    seen[from.index()] = true;
    let mut queue = VecDeque::from([(from, 0)]);
    while let Some((at, count)) = queue.pop_front() {
        if at == to {
            return Some(count);
        }
        for join in way.station(at).ends.iter().flat_map(|end| &end.joins) {
            let open = way.open(join.open);
            if let Some(next) = open.ends[usize::from(1 - join.which)].id
                && !std::mem::replace(&mut seen[next.index()], true)
            {
                queue.push_back((next, count + 1));
            }
        }
    }
    None
}
