//! Height of the railhead at every node of a station.

use model::{Span, units::Actual};

use crate::{
    Network, Way,
    ids::{StationId, TrackRef},
    network::{NodeId, Place, Route, Run},
    station::{Meets, Station, TrackEnd},
};

/// A height and where it is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Railhead above the floor.
    pub elevation: Actual,
    /// Where the owner says so; nothing where it follows from neighbors.
    pub span: Option<Span>,
}

/// What the pages say of the height at one place, each with its place: all should agree.
pub(crate) fn written(way: &Way, station: &Station, meets: Meets) -> Vec<(Actual, Span)> {
    let mut said = Vec::new();
    let name = match meets {
        Meets::End(id) => Some(station.ends[id.index()].name.as_str()),
        Meets::Switch(id) => Some(station.switches[id.index()].name.value.as_str()),
        Meets::Joint(id) => Some(station.joints[id.index()].name.value.as_str()),
        Meets::Turntable(id) => Some(station.turntables[id.index()].name.value.as_str()),
        Meets::Bumper | Meets::Nowhere => None,
    };
    if let Some(name) = name {
        let named = station
            .elevations
            .iter()
            .filter(|(other, _)| other.value == name);
        said.extend(named.map(|(_, length)| (length.value, length.span)));
    }
    if meets != Meets::Bumper && meets != Meets::Nowhere {
        for track in &station.tracks {
            let Some(elevation) = &track.elevation else {
                continue;
            };
            for which in [0, 1] {
                if track.meets[which] == meets {
                    said.push((elevation[which].value, elevation[which].span));
                }
            }
        }
    }
    if let Meets::End(id) = meets {
        for join in &station.ends[id.index()].joins {
            if let Some(elevation) = &way.open(join.open).elevation {
                let at = elevation[usize::from(join.which)];
                said.push((at.value, at.span));
            }
        }
    }
    said
}

/// Heights of a station's nodes, in the order of [`Network::station_nodes`].
///
/// In this order: what is written of a place; the slope of a track that gives both its ends; the
/// station's own height, for its ends; along mains, what lies between two known heights; along any
/// track with both ends known, an even slope; and whatever is left lies level with its neighbor. Of a
/// station that gives no height only what is on no main is leveled so: nothing is made up of a line.
pub fn node_levels(way: &Way, network: &Network, id: StationId) -> Vec<Option<Level>> {
    let count = network.station_nodes(id).count();
    let first = network.station_nodes(id).next().map_or(0, |node| node.0);
    let mut work = Levels {
        way,
        network,
        id,
        first,
        levels: vec![None; count],
    };
    work.written();
    let routes: Vec<Route> = way
        .station(id)
        .lines
        .iter()
        .filter_map(|on| network.main_route(way, id, on.line?))
        .collect();
    let station = way.station(id);
    if let Some(elevation) = station.elevation {
        for node in network.station_nodes(id) {
            if matches!(network.node(node).place, Place::End(_)) {
                work.set(node, elevation.value, Some(elevation.span));
            }
        }
    }
    for route in &routes {
        work.along(&route.runs);
    }
    // A track may wait for the one it begins at; few stations nest more than a handful.
    while work.tracks() {}
    let mut held = vec![false; count];
    if station.elevation.is_none() {
        for run in routes.iter().flat_map(|route| &route.runs) {
            for node in [network.tail(*run).0, network.head(*run).0] {
                held[(node.0 - first) as usize] = true;
            }
        }
    }
    work.level(&held);
    if let Some(elevation) = station.elevation {
        for node in network.station_nodes(id) {
            work.set(node, elevation.value, Some(elevation.span));
        }
    }
    work.levels
}

struct Levels<'a> {
    way: &'a Way,
    network: &'a Network,
    id: StationId,
    first: u32,
    levels: Vec<Option<Level>>,
}

impl Levels<'_> {
    fn get(&self, node: NodeId) -> Option<Actual> {
        self.levels[(node.0 - self.first) as usize].map(|level| level.elevation)
    }

    /// Gives a node its height, if it has none yet. Says whether it had none.
    fn set(&mut self, node: NodeId, elevation: Actual, span: Option<Span>) -> bool {
        let level = &mut self.levels[(node.0 - self.first) as usize];
        let fresh = level.is_none();
        level.get_or_insert(Level { elevation, span });
        fresh
    }

    fn written(&mut self) {
        let station = self.way.station(self.id);
        for (node, meets) in places(self.network, self.id) {
            if let Some((elevation, span)) = written(self.way, station, meets).first() {
                self.set(node, *elevation, Some(*span));
            }
        }
        for (track, page) in station.tracks() {
            let Some([low, high]) = page.elevation else {
                continue;
            };
            let pieces = self.network.track_edges(TrackRef {
                station: self.id,
                track,
            });
            let ends = [pieces[0], pieces[pieces.len() - 1]];
            self.set(
                self.network.edge(ends[0]).ends[0].0,
                low.value,
                Some(low.span),
            );
            self.set(
                self.network.edge(ends[1]).ends[1].0,
                high.value,
                Some(high.span),
            );
            // Of what lies on it, its own slope, whatever its ends are said to be elsewhere.
            let run = page.run();
            for &piece in pieces {
                let here = Run {
                    edge: piece,
                    forward: true,
                };
                let Some([_, to]) = self.network.reach_of(here) else {
                    continue;
                };
                let part = if run > Actual::ZERO { to / run } else { 0.0 };
                let elevation = low.value + (high.value - low.value) * part;
                self.set(self.network.head(here).0, elevation, None);
            }
        }
    }

    /// Gives what lies between two known heights along some runs an even slope.
    fn along(&mut self, runs: &[Run]) -> bool {
        let Some(start) = runs.first() else {
            return false;
        };
        let mut at = Actual::ZERO;
        let mut known: Option<(Actual, Actual)> = None;
        let mut between: Vec<(NodeId, Actual)> = Vec::new();
        let mut fresh = false;
        let nodes = std::iter::once((self.network.tail(*start).0, Actual::ZERO)).chain(
            runs.iter().map(|run| {
                (
                    self.network.head(*run).0,
                    self.network.edge(run.edge).length,
                )
            }),
        );
        for (node, run) in nodes.collect::<Vec<_>>() {
            at += run;
            let Some(elevation) = self.get(node) else {
                between.push((node, at));
                continue;
            };
            if let Some((from, low)) = known {
                for (node, place) in between.drain(..) {
                    let part = if at > from {
                        (place - from) / (at - from)
                    } else {
                        0.0
                    };
                    fresh |= self.set(node, low + (elevation - low) * part, None);
                }
            }
            between.clear();
            known = Some((at, elevation));
        }
        fresh
    }

    /// Evens out every track between known heights. Says whether anything has become known.
    fn tracks(&mut self) -> bool {
        let mut fresh = false;
        for (track, _) in self.way.station(self.id).tracks() {
            let pieces = self.network.track_edges(TrackRef {
                station: self.id,
                track,
            });
            let runs: Vec<Run> = pieces
                .iter()
                .map(|edge| Run {
                    edge: *edge,
                    forward: true,
                })
                .collect();
            fresh |= self.along(&runs);
        }
        fresh
    }

    /// Whatever is left lies level with its nearest known neighbor, but for what is held back.
    fn level(&mut self, held: &[bool]) {
        let mut queue: std::collections::VecDeque<NodeId> = self
            .network
            .station_nodes(self.id)
            .filter(|node| self.get(*node).is_some())
            .collect();
        while let Some(node) = queue.pop_front() {
            let Some(elevation) = self.get(node) else {
                continue;
            };
            for &(edge, _) in self.network.node(node).ports.iter().flatten() {
                let edge = self.network.edge(edge);
                if edge.track().is_none() {
                    continue;
                }
                for (next, _) in edge.ends {
                    let free = !held[(next.0 - self.first) as usize];
                    if free && self.set(next, elevation, None) {
                        queue.push_back(next);
                    }
                }
            }
        }
    }
}

fn places(network: &Network, id: StationId) -> Vec<(NodeId, Meets)> {
    network
        .station_nodes(id)
        .filter_map(|node| {
            let meets = match network.node(node).place {
                Place::End(end) => Meets::End(end),
                Place::Switch(switch) => Meets::Switch(switch),
                Place::Joint(joint) => Meets::Joint(joint),
                Place::Turntable(table) => Meets::Turntable(table),
                Place::Crossing(_) => return None,
                // A track that gives its ends gives that of its bumper below.
                Place::TrackEnd(_, TrackEnd::From | TrackEnd::To) => return None,
            };
            Some((node, meets))
        })
        .collect()
}
