//! Where trains can stand and run at each station: the tracks, the switches between them and the open
//! line, and which of these two trains cannot use at once.
//!
//! Every visit of a train has *ways* through the station: in by an end or begun on a track, out by an end
//! or ended on one. Each has the track it *stands* on, the longest of those it runs over; pieces of track
//! that only trains standing there run over are that track's own. What lies between is a *throat*. A
//! throat that is only ever used on the way to or from one track of open line needs no care of its own,
//! since the open line is held while the train runs over it; the others are shared.

use std::collections::{BTreeMap, BTreeSet};

use engineering::{
    ids::{EndId, StationId, TrackId, TrackRef},
    network::{EdgeId, Place, Route, Run},
    station::{StationKind, TrackUse},
};
use model::units::Actual;
use railroad::{Railroad, Step};

use crate::running::ends_of;

/// How a train comes to a station and leaves it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct VisitKind {
    pub(super) station: StationId,
    /// The open line it comes by, and whether up; nothing where it begins.
    pub(super) enter: Option<(engineering::ids::OpenRef, bool)>,
    /// The open line it leaves by; nothing where it ends.
    pub(super) leave: Option<(engineering::ids::OpenRef, bool)>,
    /// The tracks it may use, if that is fixed.
    pub(super) only: Option<Vec<TrackId>>,
}

/// One way of a train at a station.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct StationWay {
    /// The track it stands on.
    pub(super) track: TrackId,
    /// The end it comes by, and which track of the open line that is.
    pub(super) enter: Option<(EndId, u8)>,
    /// The end it leaves by, and which track of the open line that is.
    pub(super) leave: Option<(EndId, u8)>,
    /// All pieces of track, in running order.
    pub(super) runs: Vec<Run>,
    /// Which of them are the standing track's own.
    pub(super) own: std::ops::Range<usize>,
    /// How long a train fits there without standing over a switch.
    pub(super) room: Actual,
    /// Length from the end it comes by to the front of a standing train.
    pub(super) run_in: Actual,
    /// Length from there to the end it leaves by.
    pub(super) run_out: Actual,
    /// What is shared with other ways on the way in and on the way out.
    pub(super) throats: [Vec<Shared>; 2],
    /// What a train that does not fit stands over besides, for each piece behind its track outward: its
    /// length and what is shared there; beyond these it stands out on the open line.
    pub(super) behind: Vec<(Actual, Option<Shared>)>,
    /// Which pieces of a track for several trains it stands on.
    pub(super) spot: Option<super::depth::Spot>,
    /// Whether it saws by another train there.
    pub(super) saws: bool,
}

/// A shared throat of a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct ThroatId(pub(super) usize);

/// What trains of different tracks run over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Shared {
    /// A throat.
    Throat(ThroatId),
    /// The standing room of another track.
    Stand(TrackId),
}

/// A station with all its visits.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Ground {
    /// The ways of each visit.
    pub(super) ways: BTreeMap<VisitKind, Vec<StationWay>>,
    /// Shared throats: station and pieces of track.
    pub(super) throats: Vec<(StationId, Vec<EdgeId>)>,
}

/// Tracks a train may run over without being told to.
fn runs_over(usage: TrackUse) -> bool {
    matches!(
        usage,
        TrackUse::Main
            | TrackUse::Siding
            | TrackUse::ArrivalDeparture
            | TrackUse::Runaround
            | TrackUse::Crossover
            | TrackUse::Connection
            | TrackUse::Wye
            | TrackUse::Lead
            | TrackUse::Tail
    )
}

/// Tracks a train may stand on without being told to.
fn stands_on(usage: TrackUse) -> bool {
    matches!(
        usage,
        TrackUse::Main
            | TrackUse::Siding
            | TrackUse::ArrivalDeparture
            | TrackUse::Runaround
            | TrackUse::Connection
    )
}

/// Which track of double track a train keeps to: toward lower miles the first, toward higher miles the
/// second, which is right-hand running where they are numbered from the left of one who looks up the line.
pub(super) fn current(tracks: u8, up: bool) -> u8 {
    if tracks > 1 && up { 2 } else { 1 }
}

impl Ground {
    /// Finds the ways of all visits.
    pub(super) fn new(railroad: &Railroad, visits: &BTreeSet<VisitKind>) -> Self {
        let mut ground = Self::default();
        let mut by_station: BTreeMap<StationId, Vec<&VisitKind>> = BTreeMap::new();
        for visit in visits {
            by_station.entry(visit.station).or_default().push(visit);
        }
        for (station, visits) in by_station {
            ground.station(railroad, station, &visits);
        }
        ground
    }

    fn station(&mut self, railroad: &Railroad, station: StationId, visits: &[&VisitKind]) {
        let mut found: Vec<(usize, StationWay)> = Vec::new();
        for (at, visit) in visits.iter().enumerate() {
            for way in ways(railroad, visit) {
                found.push((at, way));
            }
        }
        let own = own_parts(railroad, station, &found);
        for (_, way) in &mut found {
            settle(railroad, station, way, &own);
        }
        let owner = |edge: &EdgeId| {
            own.iter()
                .find(|(_, edges)| edges.contains(edge))
                .map(|(track, _)| *track)
        };
        // On which side each piece is used, and on the way to or from which end.
        type Uses = BTreeSet<(Option<EndId>, usize, u8)>;
        let mut uses: BTreeMap<EdgeId, Uses> = BTreeMap::new();
        for (at, (_, way)) in found.iter().enumerate() {
            for (place, run) in way.runs.iter().enumerate() {
                let (end, side) = if place < way.own.start {
                    (way.enter.map(|enter| enter.0), 0)
                } else if place >= way.own.end {
                    (way.leave.map(|leave| leave.0), 1)
                } else {
                    continue;
                };
                if owner(&run.edge).is_none_or(|track| track == way.track) {
                    uses.entry(run.edge).or_default().insert((end, at, side));
                }
            }
        }
        let mut shared: BTreeMap<Vec<(usize, u8)>, Vec<EdgeId>> = BTreeMap::new();
        for (edge, uses) in &uses {
            let ends: BTreeSet<Option<EndId>> = uses.iter().map(|one| one.0).collect();
            let covered = ends.len() == 1 && ends.iter().all(Option::is_some);
            if !covered && uses.len() > 1 {
                let key = uses.iter().map(|one| (one.1, one.2)).collect();
                shared.entry(key).or_default().push(*edge);
            }
        }
        let mut throat_of: BTreeMap<EdgeId, ThroatId> = BTreeMap::new();
        for edges in shared.into_values() {
            let id = ThroatId(self.throats.len());
            for edge in &edges {
                throat_of.insert(*edge, id);
            }
            self.throats.push((station, edges));
        }
        for (_, way) in &mut found {
            let track = way.track;
            let shared = |run: &Run| match owner(&run.edge) {
                Some(other) if other != track => Some(Shared::Stand(other)),
                _ => throat_of.get(&run.edge).copied().map(Shared::Throat),
            };
            let all = |runs: &[Run]| {
                let set: BTreeSet<Shared> = runs.iter().filter_map(shared).collect();
                set.into_iter().collect::<Vec<_>>()
            };
            way.throats = [
                all(&way.runs[..way.own.start]),
                all(&way.runs[way.own.end..]),
            ];
            way.behind = way.runs[..way.own.start]
                .iter()
                .rev()
                .map(|run| (railroad.network.edge(run.edge).length, shared(run)))
                .collect();
        }
        for visit in visits {
            self.ways.entry((*visit).clone()).or_default();
        }
        for (at, way) in found {
            if let Some(ways) = self.ways.get_mut(visits[at]) {
                ways.push(way);
            }
        }
    }
}

/// The standing room of each track: pieces of it that trains there have for themselves. Of a main those
/// that another way between the same ends goes around; of other tracks those over which nobody else runs.
fn own_parts(
    railroad: &Railroad,
    station: StationId,
    found: &[(usize, StationWay)],
) -> BTreeMap<TrackId, BTreeSet<EdgeId>> {
    let network = &railroad.network;
    let page = railroad.way.station(station);
    let edges =
        |way: &StationWay| -> BTreeSet<EdgeId> { way.runs.iter().map(|run| run.edge).collect() };
    let sets: Vec<BTreeSet<EdgeId>> = found.iter().map(|(_, way)| edges(way)).collect();
    let tracks: BTreeSet<TrackId> = found.iter().map(|(_, way)| way.track).collect();
    tracks
        .into_iter()
        .map(|track| {
            let on_it: BTreeSet<EdgeId> = found
                .iter()
                .filter(|(_, way)| way.track == track)
                .flat_map(|(_, way)| &way.runs)
                .map(|run| run.edge)
                .filter(|edge| network.edge(*edge).track().map(|one| one.track) == Some(track))
                .collect();
            let bypassed = |edge: &EdgeId| {
                found.iter().zip(&sets).any(|((_, way), runs)| {
                    way.track == track
                        && runs.contains(edge)
                        && way.enter.is_some()
                        && way.leave.is_some()
                        && found.iter().zip(&sets).any(|((_, other), set)| {
                            (other.enter, other.leave) == (way.enter, way.leave)
                                && other.track != track
                                && !set.contains(edge)
                        })
                })
            };
            let alone = |edge: &EdgeId| {
                found
                    .iter()
                    .zip(&sets)
                    .all(|((_, way), set)| way.track == track || !set.contains(edge))
            };
            let main = page.track(track).usage == TrackUse::Main;
            let mut own: BTreeSet<EdgeId> = BTreeSet::new();
            if main {
                own = on_it.iter().copied().filter(bypassed).collect();
            }
            if own.is_empty() {
                own = on_it.iter().copied().filter(alone).collect();
            }
            if own.is_empty() {
                own = on_it;
            }
            (track, own)
        })
        .collect()
}

/// Finds where in a way its standing room lies, leaves out what a train that begins or ends there does not
/// run over, and says how long a train fits.
fn settle(
    railroad: &Railroad,
    station: StationId,
    way: &mut StationWay,
    own: &BTreeMap<TrackId, BTreeSet<EdgeId>>,
) {
    let network = &railroad.network;
    let page = railroad.way.station(station);
    let mine = |run: &Run| {
        own.get(&way.track)
            .is_some_and(|edges| edges.contains(&run.edge))
    };
    let first = way.runs.iter().position(mine).unwrap_or(0);
    let last = way
        .runs
        .iter()
        .rposition(mine)
        .map_or(way.runs.len(), |at| at + 1);
    let mut range = first..last.max(first);
    if way.leave.is_none() {
        way.runs.truncate(range.end);
    }
    if way.enter.is_none() {
        way.runs.drain(..range.start);
        range = 0..range.len();
    }
    let length =
        |runs: &[Run]| -> Actual { runs.iter().map(|run| network.edge(run.edge).length).sum() };
    let track = TrackRef {
        station,
        track: way.track,
    };
    let taped = railroad.way.track(track).usable.map(|taped| taped.value);
    way.room = match (page.track(way.track).usage, taped) {
        (_, Some(taped)) => taped,
        (TrackUse::Main, None) => {
            // Between the switches at both ends, each keeping a train aside.
            let limits = network.limits();
            let setback = |node| match network.node(node).place {
                Place::Switch(switch) => {
                    let number = page.switches[switch.index()].number.map(|n| n.value);
                    limits.from_points(limits.number(number))
                }
                _ => Actual::ZERO,
            };
            let ends = way.runs[range.clone()]
                .first()
                .zip(way.runs[range.clone()].last());
            let taken = ends.map_or(Actual::ZERO, |(first, last)| {
                setback(network.tail(*first).0) + setback(network.head(*last).0)
            });
            (length(&way.runs[range.clone()]) - taken).max(Actual::ZERO)
        }
        _ => network.usable(&railroad.way, track).length,
    };
    let after = length(&way.runs[range.end..]);
    way.run_in = if way.enter.is_some() {
        length(&way.runs) - after
    } else {
        Actual::ZERO
    };
    way.run_out = after;
    way.own = range;
}

/// The ways of one visit, by the order of the pages.
fn ways(railroad: &Railroad, visit: &VisitKind) -> Vec<StationWay> {
    let network = &railroad.network;
    let page = railroad.way.station(visit.station);
    let ends = |open: Option<(engineering::ids::OpenRef, bool)>, enters: bool| {
        open.map(|(open, up)| {
            // Going up one comes in by the district's far end and leaves by its near end.
            let which = usize::from(up == enters);
            let mut all = ends_of(page, open, which);
            let tracks = railroad.way.open(open).tracks.value;
            let keeps = current(tracks, up);
            if all.iter().any(|(_, track)| *track == keeps) {
                all.retain(|(_, track)| *track == keeps);
            }
            all
        })
    };
    let allowed = |track: TrackId| match &visit.only {
        Some(only) => only.contains(&track),
        None => stands_on(page.track(track).usage),
    };
    let mut found: Vec<StationWay> = Vec::new();
    let mut add = |route: Route, track, enter, leave| {
        let option = StationWay {
            track,
            enter,
            leave,
            own: 0..route.runs.len(),
            runs: route.runs,
            room: Actual::ZERO,
            run_in: Actual::ZERO,
            run_out: Actual::ZERO,
            throats: [Vec::new(), Vec::new()],
            behind: Vec::new(),
            spot: None,
            saws: false,
        };
        found.push(option);
    };
    match (ends(visit.enter, true), ends(visit.leave, false)) {
        (Some(enters), Some(leaves)) => {
            let mut best: BTreeMap<(usize, usize, TrackId), (usize, Route)> = BTreeMap::new();
            for (i, (enter, _)) in enters.iter().enumerate() {
                for (o, (leave, _)) in leaves.iter().enumerate() {
                    let from = network.end_node(visit.station, *enter);
                    let to = network.end_node(visit.station, *leave);
                    for route in network.routes(visit.station, from, to, 64) {
                        let over = route
                            .runs
                            .iter()
                            .filter_map(|run| network.edge(run.edge).track());
                        let mut on: BTreeMap<TrackId, f64> = BTreeMap::new();
                        let mut barred = false;
                        for (run, track) in route.runs.iter().zip(over) {
                            let usage = page.track(track.track).usage;
                            let told = visit
                                .only
                                .as_ref()
                                .is_some_and(|only| only.contains(&track.track));
                            barred |= !runs_over(usage) && !told;
                            *on.entry(track.track).or_default() +=
                                network.edge(run.edge).length.meters();
                        }
                        // A train stands beside the main where its way leads beside it.
                        let beside = |track: TrackId| {
                            matches!(
                                page.track(track).usage,
                                TrackUse::Siding | TrackUse::ArrivalDeparture | TrackUse::Runaround
                            )
                        };
                        let stands = on.iter().max_by(|a, b| {
                            beside(*a.0)
                                .cmp(&beside(*b.0))
                                .then(a.1.total_cmp(b.1))
                                .then(b.0.cmp(a.0))
                        });
                        let Some((&track, _)) =
                            stands.filter(|(track, _)| !barred && allowed(**track))
                        else {
                            continue;
                        };
                        // Of two ways onto a track the one over fewer tracks, then the shorter.
                        let crossings = network.tracks(&route).len();
                        let better =
                            best.get(&(i, o, track))
                                .is_none_or(|(others, route_before)| {
                                    (crossings, route.length) < (*others, route_before.length)
                                });
                        if better {
                            best.insert((i, o, track), (crossings, route));
                        }
                    }
                }
            }
            for ((i, o, track), (_, route)) in best {
                add(route, track, Some(enters[i]), Some(leaves[o]));
            }
        }
        (Some(enters), None) => {
            for track in end_tracks(railroad, visit) {
                for enter in &enters {
                    let from = network.end_node(visit.station, enter.0);
                    let track_ref = TrackRef {
                        station: visit.station,
                        track,
                    };
                    if let Some(route) = onto(railroad, from, track_ref) {
                        add(route, track, Some(*enter), None);
                    }
                }
            }
        }
        (None, Some(leaves)) => {
            for track in end_tracks(railroad, visit) {
                for leave in &leaves {
                    let from = network.end_node(visit.station, leave.0);
                    let track_ref = TrackRef {
                        station: visit.station,
                        track,
                    };
                    if let Some(route) = onto(railroad, from, track_ref) {
                        let mut runs: Vec<Run> =
                            route.runs.iter().map(|run| run.reversed()).collect();
                        runs.reverse();
                        let length = route.length;
                        add(Route { runs, length }, track, None, Some(*leave));
                    }
                }
            }
        }
        (None, None) => {}
    }
    found
}

/// From an end onto a track and along it.
fn onto(railroad: &Railroad, from: engineering::network::NodeId, track: TrackRef) -> Option<Route> {
    let network = &railroad.network;
    let mut route = network.onto(from, track)?;
    while let Some(&last) = route.runs.last() {
        let next: Option<Run> = network
            .next(last)
            .find(|run| network.edge(run.edge).track() == Some(track));
        match next {
            Some(run) if route.runs.iter().all(|seen| seen.edge != run.edge) => {
                route.length += network.edge(run.edge).length;
                route.runs.push(run);
            }
            _ => break,
        }
    }
    Some(route)
}

/// The tracks on which a train may begin or end at a station.
fn end_tracks(railroad: &Railroad, visit: &VisitKind) -> Vec<TrackId> {
    let page = railroad.way.station(visit.station);
    if let Some(only) = &visit.only {
        return only.clone();
    }
    let of = |wanted: &[TrackUse]| -> Vec<TrackId> {
        page.tracks()
            .filter(|(_, track)| wanted.contains(&track.usage))
            .map(|(id, _)| id)
            .collect()
    };
    let first = match page.kind {
        StationKind::Staging => of(&[TrackUse::Staging]),
        StationKind::Yard => of(&[TrackUse::ArrivalDeparture]),
        _ => of(&[TrackUse::Main, TrackUse::Siding, TrackUse::Runaround]),
    };
    if first.is_empty() {
        of(&[TrackUse::Main, TrackUse::Siding, TrackUse::ArrivalDeparture])
    } else {
        first
    }
}

/// The visit of a train at a station of its way.
pub(super) fn visit(
    station: StationId,
    enter: Option<&Step>,
    leave: Option<&Step>,
    only: Option<Vec<TrackId>>,
) -> VisitKind {
    VisitKind {
        station,
        enter: enter.map(|step| (step.open, step.up)),
        leave: leave.map(|step| (step.open, step.up)),
        only,
    }
}
