//! Where everything of a station lies along its main, for charts.

use std::collections::VecDeque;

use model::units::Actual;

use super::{EdgeId, Network, NodeId, Place, Route, Run};
use crate::{
    Way,
    ids::{LineId, StationId, TrackId},
    station::{Side, TrackUse},
};

impl Network {
    /// The route along the main of a station on one of its lines, up the line: from its end toward
    /// lower miles, or from where the main begins; to its end toward higher miles, or to where the
    /// main ends. Nothing where the station has no main on that line.
    pub fn main_route(&self, way: &Way, station: StationId, line: LineId) -> Option<Route> {
        let [low, high] = Self::line_ends(way, station, line);
        let cost = |run: Run| self.main_cost(way, run);
        let node = |end: &crate::ids::EndId| self.end_node(station, *end);
        let lows: Vec<NodeId> = low.iter().map(node).collect();
        let highs: Vec<NodeId> = high.iter().map(node).collect();
        for &from in &lows {
            let starts: Vec<Run> = self
                .departures(from)
                .filter(|r| self.edge(r.edge).track().is_some())
                .collect();
            let route = self.cheapest(station, starts, cost, |run| {
                highs.contains(&self.head(run).0)
            });
            if route.is_some() {
                return route;
            }
        }
        // A stub: up to the end of the main, from the one end that it has. A branch that ends at a
        // junction has no main there: up to that of the other line.
        let ends = lows
            .iter()
            .map(|low| (*low, true))
            .chain(highs.iter().map(|high| (*high, false)));
        let (runs, up) = ends
            .filter_map(|(from, up)| {
                let mut runs = self.along_main(way, from);
                if runs.is_empty() {
                    runs = self.to_main(way, station, from)?;
                }
                Some((runs, up))
            })
            .next()?;
        let runs: Vec<Run> = if up {
            runs
        } else {
            runs.into_iter().rev().map(Run::reversed).collect()
        };
        let length = runs.iter().map(|run| self.edge(run.edge).length).sum();
        Some(Route { runs, length })
    }

    /// From a node the nearest way to a main track of the station.
    fn to_main(&self, way: &Way, station: StationId, from: NodeId) -> Option<Vec<Run>> {
        let starts = self
            .departures(from)
            .filter(|run| self.edge(run.edge).track().is_some());
        let cost = |run: Run| self.edge(run.edge).length.meters();
        let on_main = |node: NodeId| {
            self.node(node).ports.iter().flatten().any(|(edge, _)| {
                let track = self.edge(*edge).track();
                track.is_some_and(|track| way.track(track).usage == TrackUse::Main)
            })
        };
        let starts: Vec<Run> = starts.collect();
        let route = self.cheapest(station, starts, cost, |run| on_main(self.head(run).0))?;
        Some(route.runs)
    }

    /// From a node along main tracks until they end.
    fn along_main(&self, way: &Way, from: NodeId) -> Vec<Run> {
        let is_main = |run: &Run| {
            self.edge(run.edge)
                .track()
                .is_some_and(|track| way.track(track).usage == TrackUse::Main)
        };
        let mut runs: Vec<Run> = Vec::new();
        let mut next = self.departures(from).find(is_main);
        while let Some(run) = next {
            if runs.iter().any(|other| other.edge == run.edge) {
                break;
            }
            runs.push(run);
            next = self.next(run).find(is_main);
        }
        runs
    }

    /// Where a node lies along its station's main, from the low-mile end; nothing if it hangs
    /// together with nothing.
    pub fn position(&self, node: NodeId) -> Option<Actual> {
        let station = self.node(node).station;
        let first = self.node_start[station.index()];
        self.positions[station.index()][(node.0 - first) as usize]
    }

    /// Where a point of a track lies along its station's main: between its neighbors in proportion.
    pub fn position_on(&self, station: StationId, track: TrackId, at: Actual) -> Option<Actual> {
        let edges = &self.track_edges[station.index()][track.index()];
        for (index, &id) in edges.iter().enumerate() {
            let edge = self.edge(id);
            let [from, to] = self.reach_of(Run {
                edge: id,
                forward: true,
            })?;
            if at <= to || index + 1 == edges.len() {
                let (low, high) = (
                    self.position(edge.ends[0].0)?,
                    self.position(edge.ends[1].0)?,
                );
                let span = to - from;
                let part = if span > Actual::ZERO {
                    ((at - from) / span).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                return Some(low + (high - low) * part);
            }
        }
        None
    }
}

/// Positions of a station's nodes along its main.
///
/// Nodes of the main route lie as far along as it is long up to them. From there outward, a track
/// that joins two placed nodes is stretched between them; a track that ends by itself lies alongside
/// at its own length, in its own direction. Takes time in proportion to the station.
pub(super) fn positions(way: &Way, network: &Network, station: StationId) -> Vec<Option<Actual>> {
    let first = network.node_start[station.index()];
    let count = network.station_nodes(station).count();
    let mut at: Vec<Option<Actual>> = vec![None; count];
    let index = |node: NodeId| (node.0 - first) as usize;
    let mut queue = VecDeque::new();
    let mut along = Actual::ZERO;
    let main = way
        .station(station)
        .line()
        .and_then(|line| network.main_route(way, station, line));
    if let Some(route) = &main {
        for (step, run) in route.runs.iter().enumerate() {
            if step == 0 {
                let node = network.tail(*run).0;
                at[index(node)] = Some(Actual::ZERO);
                queue.push_back(node);
            }
            along += network.edge(run.edge).length;
            let node = network.head(*run).0;
            if at[index(node)].is_none() {
                at[index(node)] = Some(along);
                queue.push_back(node);
            }
        }
    }
    let directions = &network.orientation(station).tracks;
    // A whole track is placed at once, from whichever end is known first: tracks that join two known
    // nodes before those that hang from one.
    let mut hanging: VecDeque<(NodeId, EdgeId)> = VecDeque::new();
    let mut fresh = 0;
    loop {
        while let Some(node) = queue.pop_front() {
            for &(edge, _) in network.node(node).ports.iter().flatten() {
                if let Some(track) = network.edge(edge).track() {
                    let pieces = network.track_edges(track);
                    let (begin, end) = (
                        network.edge(pieces[0]).ends[0].0,
                        network.edge(pieces[pieces.len() - 1]).ends[1].0,
                    );
                    match (at[index(begin)], at[index(end)]) {
                        (Some(low), Some(high)) => {
                            let whole: Actual =
                                pieces.iter().map(|piece| network.edge(*piece).length).sum();
                            let mut gone = Actual::ZERO;
                            for &piece in pieces {
                                gone += network.edge(piece).length;
                                let inner = network.edge(piece).ends[1].0;
                                if at[index(inner)].is_none() {
                                    let part = if whole > Actual::ZERO {
                                        gone / whole
                                    } else {
                                        0.0
                                    };
                                    at[index(inner)] = Some(low + (high - low) * part);
                                    queue.push_back(inner);
                                }
                            }
                        }
                        _ => hanging.push_back((node, edge)),
                    }
                }
            }
        }
        let Some((node, edge)) = hanging.pop_front() else {
            // What hangs together with nothing placed begins where the station does.
            let Some(free) = (fresh..count).find(|free| {
                at[*free].is_none()
                    && !matches!(
                        network.node(NodeId(first + *free as u32)).place,
                        Place::End(_)
                    )
            }) else {
                break;
            };
            fresh = free + 1;
            at[free] = Some(Actual::ZERO);
            queue.push_back(NodeId(first + free as u32));
            continue;
        };
        let ends = network.edge(edge).ends;
        let from_begin = ends[0].0 == node;
        let other = if from_begin { ends[1].0 } else { ends[0].0 };
        if at[index(other)].is_some() {
            continue;
        }
        let Some(track) = network.edge(edge).track() else {
            continue;
        };
        let up = (directions[track.track.index()] == Side::High) == from_begin;
        let Some(here) = at[index(node)] else {
            continue;
        };
        let length = network.edge(edge).length;
        at[index(other)] = Some(if up { here + length } else { here - length });
        queue.push_back(other);
    }
    at
}
