//! The track network of the whole road.
//!
//! **Nodes** are station ends, switches, crossings, joints, turntables and the ends of track;
//! **edges** are pieces of track between them, and the tracks of open line. An edge touches a node at
//! a *port*, and a node says which of its ports a train may pass between: a switch between its points
//! and either leg, never between its legs; a crossing straight across, and across by its slips. A
//! [`Run`] is an edge with a direction; a [`Route`] is a chain of runs in which every node is passed
//! between ports it allows, so a route never holds a reversal.

mod build;
pub(crate) mod orient;
mod position;
mod reversing;
mod routes;
#[cfg(test)]
mod tests;
mod usable;

use model::units::Actual;

pub use orient::{Cause, Conflict, Orientation};
pub use reversing::Reversing;
pub use routes::{Passing, Route, SwitchLeg};
pub use usable::{Stretch, Usable};

use crate::{
    Way,
    ids::{
        CrossingId, EndId, JointId, LineId, OpenRef, StationId, SwitchId, TrackId, TrackRef,
        TurntableId,
    },
    limits::Limits,
    station::TrackEnd,
};

/// A node of a [`Network`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub u32);

/// An edge of a [`Network`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EdgeId(pub u32);

/// What a node is, within its station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// A station end.
    End(EndId),
    /// A switch.
    Switch(SwitchId),
    /// A crossing.
    Crossing(CrossingId),
    /// A turntable.
    Turntable(TurntableId),
    /// A joint.
    Joint(JointId),
    /// The end of a track, at a bumper or at nothing that exists.
    TrackEnd(TrackId, TrackEnd),
}

/// A node.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Its station.
    pub station: StationId,
    /// What it is.
    pub place: Place,
    /// What touches it, by port: an edge and which end of it. A port may be empty where a railroad
    /// is half written.
    pub ports: Vec<Option<(EdgeId, TrackEnd)>>,
    /// Between which ports a train may pass.
    pub ways: Vec<(u8, u8)>,
    /// For a switch, the port of its normal leg.
    pub normal: u8,
}

/// Ports of a switch; further legs follow [`DIVERGING`].
pub const POINTS: u8 = 0;
/// The leg of the track the switch lies on.
pub const THROUGH: u8 = 1;
/// The leg of the first track that begins or ends at the switch.
pub const DIVERGING: u8 = 2;

/// What an edge is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EdgeKind {
    /// A piece of a station's track, between two distances from its beginning.
    Track {
        /// The track.
        track: TrackRef,
        /// Where the piece begins and ends.
        reach: [Actual; 2],
    },
    /// A track of a district of open line.
    Open {
        /// The district.
        open: OpenRef,
        /// Which of its tracks, from 1.
        track: u8,
    },
}

/// An edge. It runs from its track's beginning toward its end, or up the line.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// What it is.
    pub kind: EdgeKind,
    /// The nodes at its beginning and end, and the ports there.
    pub ends: [(NodeId, u8); 2],
    /// Length along its center line.
    pub length: Actual,
}

impl Edge {
    /// The station track it is a piece of.
    pub fn track(&self) -> Option<TrackRef> {
        match self.kind {
            EdgeKind::Track { track, .. } => Some(track),
            EdgeKind::Open { .. } => None,
        }
    }
}

/// An edge with a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Run {
    /// The edge.
    pub edge: EdgeId,
    /// Whether in the edge's own direction.
    pub forward: bool,
}

impl Run {
    /// The same edge in the other direction.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self {
            forward: !self.forward,
            ..self
        }
    }

    /// A dense number, for tables of runs.
    fn index(self) -> usize {
        self.edge.0 as usize * 2 + usize::from(!self.forward)
    }
}

/// The tracks of a whole road, joined.
#[derive(Debug, Clone)]
pub struct Network {
    nodes: Vec<Node>,
    edges: Vec<Edge>,
    /// First node and edge of each station; the edges of open line follow the last station's.
    node_start: Vec<u32>,
    edge_start: Vec<u32>,
    /// For each station the nodes of its ends.
    end_nodes: Vec<Vec<NodeId>>,
    switch_nodes: Vec<Vec<NodeId>>,
    /// For each station and track the edges along it, from its beginning.
    track_edges: Vec<Vec<Vec<EdgeId>>>,
    orientation: Vec<Orientation>,
    positions: Vec<Vec<Option<Actual>>>,
    limits: Limits,
}

impl Network {
    /// Joins the tracks of a way. Takes time in proportion to its size.
    pub fn new(way: &Way, limits: &Limits) -> Self {
        build::build(way, limits)
    }

    /// All nodes.
    pub fn nodes(&self) -> impl Iterator<Item = (NodeId, &Node)> {
        self.nodes
            .iter()
            .enumerate()
            .map(|(at, node)| (NodeId(at as u32), node))
    }

    /// All edges.
    pub fn edges(&self) -> impl Iterator<Item = (EdgeId, &Edge)> {
        self.edges
            .iter()
            .enumerate()
            .map(|(at, edge)| (EdgeId(at as u32), edge))
    }

    /// A node.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id.0 as usize]
    }

    /// An edge.
    pub fn edge(&self, id: EdgeId) -> &Edge {
        &self.edges[id.0 as usize]
    }

    /// The nodes of a station.
    pub fn station_nodes(&self, station: StationId) -> impl Iterator<Item = NodeId> + use<> {
        (self.node_start[station.index()]..self.node_start[station.index() + 1]).map(NodeId)
    }

    /// The edges within a station.
    pub fn station_edges(&self, station: StationId) -> impl Iterator<Item = EdgeId> + use<> {
        (self.edge_start[station.index()]..self.edge_start[station.index() + 1]).map(EdgeId)
    }

    /// The node of a station end.
    pub fn end_node(&self, station: StationId, end: EndId) -> NodeId {
        self.end_nodes[station.index()][end.index()]
    }

    /// The node of a switch.
    pub fn switch_node(&self, station: StationId, switch: SwitchId) -> NodeId {
        self.switch_nodes[station.index()][switch.index()]
    }

    /// The pieces of a track, from its beginning.
    pub fn track_edges(&self, track: TrackRef) -> &[EdgeId] {
        &self.track_edges[track.station.index()][track.track.index()]
    }

    /// Which way the tracks of a station run and its switches face.
    pub fn orientation(&self, station: StationId) -> &Orientation {
        &self.orientation[station.index()]
    }

    /// The standards the lengths were computed by.
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Where a run begins.
    pub fn tail(&self, run: Run) -> (NodeId, u8) {
        self.edge(run.edge).ends[usize::from(!run.forward)]
    }

    /// Where a run ends.
    pub fn head(&self, run: Run) -> (NodeId, u8) {
        self.edge(run.edge).ends[usize::from(run.forward)]
    }

    /// The run that leaves a node by a port.
    pub fn leaving(&self, node: NodeId, port: u8) -> Option<Run> {
        let (edge, end) = (*self.node(node).ports.get(usize::from(port))?)?;
        Some(Run {
            edge,
            forward: end == TrackEnd::From,
        })
    }

    /// The runs that may follow one without a reversal, in the order of the node's ways.
    pub fn next(&self, run: Run) -> impl Iterator<Item = Run> + '_ {
        let (node, port) = self.head(run);
        self.node(node).ways.iter().filter_map(move |&(a, b)| {
            let out = if a == port {
                b
            } else if b == port {
                a
            } else {
                return None;
            };
            self.leaving(node, out)
        })
    }

    /// Every run that leaves a node.
    pub fn departures(&self, node: NodeId) -> impl Iterator<Item = Run> + '_ {
        (0..self.node(node).ports.len()).filter_map(move |port| self.leaving(node, port as u8))
    }

    /// The ends by which a station is left on a line: toward lower miles, toward higher miles. On the
    /// station's own line these are there even where nothing joins them.
    pub fn line_ends(way: &Way, station: StationId, line: LineId) -> [Vec<EndId>; 2] {
        use crate::station::Side;
        let page = way.station(station);
        let own = page.line() == Some(line);
        let mut ends = [Vec::new(), Vec::new()];
        for (at, end) in page.ends.iter().enumerate() {
            let id = EndId::at(at);
            let joined = end.joins.iter().find(|join| join.open.line == line);
            match joined {
                Some(join) => ends[usize::from(join.which == 0)].push(id),
                None if own && end.joins.is_empty() => match end.side {
                    Some(Side::Low) => ends[0].push(id),
                    Some(Side::High) => ends[1].push(id),
                    None => {}
                },
                None => {}
            }
        }
        ends
    }
}
