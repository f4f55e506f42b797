//! Height of the railhead at every node of a station.

use model::{Span, units::Actual};

use crate::{
    Network, Way,
    ids::{StationId, TrackId},
    network::{NodeId, Place, Run},
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
/// What is written of a place counts first; then the slope of a track that gives both its ends; then
/// the station's own height; then, along the mains, what lies between two known heights. Takes time in
/// proportion to the station.
pub fn node_levels(way: &Way, network: &Network, id: StationId) -> Vec<Option<Level>> {
    let station = way.station(id);
    let first = network.station_nodes(id).next().map_or(0, |node| node.0);
    let count = network.station_nodes(id).count();
    let index = |node: NodeId| (node.0 - first) as usize;
    let mut levels: Vec<Option<Level>> = vec![None; count];
    let set = |levels: &mut Vec<Option<Level>>, node: NodeId, elevation, span| {
        levels[index(node)].get_or_insert(Level { elevation, span });
    };
    for (node, meets) in places(network, id) {
        if let Some((elevation, span)) = written(way, station, meets).first() {
            set(&mut levels, node, *elevation, Some(*span));
        }
    }
    // The slope of a track that gives both its ends, for all that lies on it.
    for (at, track) in station.tracks.iter().enumerate() {
        let Some([low, high]) = &track.elevation else {
            continue;
        };
        let edges = network.track_edges(crate::ids::TrackRef {
            station: id,
            track: TrackId::at(at),
        });
        let run = track.run();
        for &edge in edges {
            for forward in [true, false] {
                let run_here = Run { edge, forward };
                let Some([_, to]) = network.reach_of(run_here) else {
                    continue;
                };
                let part = if run > Actual::ZERO { to / run } else { 0.0 };
                let elevation = low.value + (high.value - low.value) * part;
                set(&mut levels, network.head(run_here).0, elevation, None);
            }
        }
    }
    if let Some(elevation) = station.elevation {
        for level in &mut levels {
            level.get_or_insert(Level {
                elevation: elevation.value,
                span: Some(elevation.span),
            });
        }
        return levels;
    }
    for on in &station.lines {
        let Some(line) = on.line else { continue };
        let Some(route) = network.main_route(way, id, line) else {
            continue;
        };
        let mut along = vec![(network.tail(route.runs[0]).0, Actual::ZERO)];
        let mut at = Actual::ZERO;
        for run in &route.runs {
            at += network.edge(run.edge).length;
            along.push((network.head(*run).0, at));
        }
        let known: Vec<(Actual, Actual)> = along
            .iter()
            .filter_map(|(node, at)| levels[index(*node)].map(|level| (*at, level.elevation)))
            .collect();
        for (node, at) in along {
            if levels[index(node)].is_some() {
                continue;
            }
            let next = known.partition_point(|(other, _)| *other < at);
            if let (Some(high), Some(low)) =
                (known.get(next), next.checked_sub(1).map(|i| known[i]))
            {
                let part = if high.0 > low.0 {
                    (at - low.0) / (high.0 - low.0)
                } else {
                    0.0
                };
                let elevation = low.1 + (high.1 - low.1) * part;
                levels[index(node)] = Some(Level {
                    elevation,
                    span: None,
                });
            }
        }
    }
    levels
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
