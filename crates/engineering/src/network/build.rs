//! The network from the pages.

use model::units::Actual;

use super::{
    DIVERGING, Edge, EdgeId, EdgeKind, Network, Node, NodeId, POINTS, Place, THROUGH,
    orient::orient, position,
};
use crate::{
    Way,
    ids::{CrossingId, EndId, JointId, StationId, SwitchId, TrackId, TrackRef, TurntableId},
    limits::Limits,
    station::{Meets, Side, Slip, Station, TrackEnd},
};

struct Builder<'a> {
    way: &'a Way,
    network: Network,
}

pub(super) fn build(way: &Way, limits: &Limits) -> Network {
    let network = Network {
        nodes: Vec::new(),
        edges: Vec::new(),
        node_start: Vec::with_capacity(way.stations.len() + 1),
        edge_start: Vec::with_capacity(way.stations.len() + 1),
        end_nodes: Vec::with_capacity(way.stations.len()),
        switch_nodes: Vec::with_capacity(way.stations.len()),
        track_edges: Vec::with_capacity(way.stations.len()),
        orientation: way.stations.iter().map(orient).collect(),
        positions: Vec::new(),
        limits: *limits,
    };
    let mut builder = Builder { way, network };
    for (id, station) in way.stations() {
        builder
            .network
            .node_start
            .push(builder.network.nodes.len() as u32);
        builder
            .network
            .edge_start
            .push(builder.network.edges.len() as u32);
        builder.station(id, station);
    }
    builder
        .network
        .node_start
        .push(builder.network.nodes.len() as u32);
    builder
        .network
        .edge_start
        .push(builder.network.edges.len() as u32);
    builder.open_lines();
    let mut network = builder.network;
    network.positions = way
        .stations()
        .map(|(id, _)| position::positions(way, &network, id))
        .collect();
    network
}

/// Ports are numbered in a byte; what a page crowds upon one place beyond that shares the last.
const MOST: usize = 250;

/// Where a track passes through a node: how far along, and by which ports.
struct Through {
    at: Actual,
    node: NodeId,
    ports: [u8; 2],
}

/// The nodes of a station, by what they are.
struct Nodes {
    ends: Vec<NodeId>,
    switches: Vec<NodeId>,
    crossings: Vec<NodeId>,
    turntables: Vec<NodeId>,
    joints: Vec<NodeId>,
}

impl Builder<'_> {
    fn add(
        &mut self,
        station: StationId,
        place: Place,
        ports: usize,
        ways: Vec<(u8, u8)>,
    ) -> NodeId {
        let id = NodeId(self.network.nodes.len() as u32);
        self.network.nodes.push(Node {
            station,
            place,
            ports: vec![None; ports],
            ways,
            normal: THROUGH,
        });
        id
    }

    fn connect(&mut self, kind: EdgeKind, ends: [(NodeId, u8); 2], length: Actual) -> EdgeId {
        let id = EdgeId(self.network.edges.len() as u32);
        for ((node, port), end) in ends.into_iter().zip([TrackEnd::From, TrackEnd::To]) {
            self.network.nodes[node.0 as usize].ports[usize::from(port)] = Some((id, end));
        }
        self.network.edges.push(Edge { kind, ends, length });
        id
    }

    fn station(&mut self, id: StationId, station: &Station) {
        let nodes = self.nodes(id, station);
        self.network.end_nodes.push(nodes.ends.clone());
        self.network.switch_nodes.push(nodes.switches.clone());
        let through = self.through(id, station, &nodes);
        let mut pieces = Vec::with_capacity(station.tracks.len());
        for ((track_id, track), mut through) in station.tracks().zip(through) {
            through.sort_by(|a, b| a.at.total_cmp(&b.at));
            let here = TrackRef {
                station: id,
                track: track_id,
            };
            let begin = self.terminal(id, station, &nodes, track_id, TrackEnd::From);
            let end = self.terminal(id, station, &nodes, track_id, TrackEnd::To);
            let mut edges = Vec::with_capacity(through.len() + 1);
            let (mut from, mut at) = (begin, Actual::ZERO);
            for pass in &through {
                let kind = EdgeKind::Track {
                    track: here,
                    reach: [at, pass.at],
                };
                let to = (pass.node, pass.ports[0]);
                edges.push(self.connect(kind, [from, to], pass.at - at));
                (from, at) = ((pass.node, pass.ports[1]), pass.at);
            }
            let run = track.run().max(at);
            let kind = EdgeKind::Track {
                track: here,
                reach: [at, run],
            };
            edges.push(self.connect(kind, [from, end], run - at));
            pieces.push(edges);
        }
        self.network.track_edges.push(pieces);
    }

    fn nodes(&mut self, id: StationId, station: &Station) -> Nodes {
        let reaching = |end: EndId| {
            station
                .tracks
                .iter()
                .flat_map(|track| track.meets)
                .filter(|meets| *meets == Meets::End(end))
                .count()
        };
        let ends = (0..station.ends.len())
            .map(|at| {
                let end = EndId::at(at);
                // Port 0 is for the open line; every track that reaches the end may use it.
                let tracks = reaching(end);
                let ways = (1..=tracks.min(MOST)).map(|port| (0, port as u8)).collect();
                self.add(id, Place::End(end), tracks + 1, ways)
            })
            .collect();
        let switches = station
            .switches
            .iter()
            .enumerate()
            .map(|(at, switch)| {
                let legs = switch.diverging.len();
                let mut ways = vec![(POINTS, THROUGH)];
                ways.extend((0..legs.min(MOST)).map(|leg| (POINTS, DIVERGING + leg as u8)));
                let node = self.add(id, Place::Switch(SwitchId::at(at)), 2 + legs, ways);
                if let Some(normal) = &switch.normal
                    && let Some(leg) = switch
                        .diverging
                        .iter()
                        .position(|(track, _)| station.track(*track).name.value == normal.value)
                {
                    self.network.nodes[node.0 as usize].normal = DIVERGING + leg.min(MOST) as u8;
                }
                node
            })
            .collect();
        let crossings = station
            .crossings
            .iter()
            .enumerate()
            .map(|(at, crossing)| {
                let mut ways = vec![(0, 1), (2, 3)];
                if let [Some(one), Some(other)] = crossing.tracks {
                    // Ports toward lower and higher miles, by the directions of the two tracks.
                    let side = |track: TrackId, base: u8, side: Side| {
                        let up = self.network.orientation(id).tracks[track.index()] == Side::High;
                        base + u8::from((side == Side::High) == up)
                    };
                    if crossing.slip != Slip::None {
                        ways.push((side(one, 0, Side::Low), side(other, 2, Side::High)));
                    }
                    if crossing.slip == Slip::Double {
                        ways.push((side(other, 2, Side::Low), side(one, 0, Side::High)));
                    }
                }
                self.add(id, Place::Crossing(CrossingId::at(at)), 4, ways)
            })
            .collect();
        let turntables = station
            .turntables
            .iter()
            .enumerate()
            .map(|(at, table)| {
                self.add(
                    id,
                    Place::Turntable(TurntableId::at(at)),
                    table.tracks.len(),
                    Vec::new(),
                )
            })
            .collect();
        let joints = station
            .joints
            .iter()
            .enumerate()
            .map(|(at, joint)| {
                let tracks = joint.tracks.len();
                // Two tracks, if all is well; of more, each meets the first.
                let ways = (1..tracks.min(MOST)).map(|port| (0, port as u8)).collect();
                self.add(id, Place::Joint(JointId::at(at)), tracks, ways)
            })
            .collect();
        Nodes {
            ends,
            switches,
            crossings,
            turntables,
            joints,
        }
    }

    /// For each track the switches and crossings on it.
    fn through(&self, id: StationId, station: &Station, nodes: &Nodes) -> Vec<Vec<Through>> {
        let mut through: Vec<Vec<Through>> = station.tracks.iter().map(|_| Vec::new()).collect();
        let within = |track: TrackId, at: Option<Actual>| {
            at.unwrap_or(Actual::ZERO)
                .max(Actual::ZERO)
                .min(station.track(track).run())
        };
        let facing = &self.network.orientation(id).facing;
        for (at, switch) in station.switches.iter().enumerate() {
            let Some(track) = switch.track else { continue };
            let ports = match facing[at] {
                TrackEnd::From => [POINTS, THROUGH],
                TrackEnd::To => [THROUGH, POINTS],
            };
            let at_track = within(track, switch.at.map(|at| at.value));
            through[track.index()].push(Through {
                at: at_track,
                node: nodes.switches[at],
                ports,
            });
        }
        for (at, crossing) in station.crossings.iter().enumerate() {
            for which in [0, 1] {
                let Some(track) = crossing.tracks[which] else {
                    continue;
                };
                let at_track = within(track, crossing.at.map(|at| at[which].value));
                let ports = [2 * which as u8, 2 * which as u8 + 1];
                through[track.index()].push(Through {
                    at: at_track,
                    node: nodes.crossings[at],
                    ports,
                });
            }
        }
        through
    }

    /// The node and port at one end of a track.
    fn terminal(
        &mut self,
        id: StationId,
        station: &Station,
        nodes: &Nodes,
        track: TrackId,
        end: TrackEnd,
    ) -> (NodeId, u8) {
        let here = (track, end);
        let port = |list: &[(TrackId, TrackEnd)]| {
            list.iter()
                .position(|other| *other == here)
                .unwrap_or(0)
                .min(MOST) as u8
        };
        match station.track(track).meets[end.index()] {
            Meets::End(end_id) => {
                let node = nodes.ends[end_id.index()];
                // The next free port: tracks come in their order.
                let ports = &self.network.nodes[node.0 as usize].ports;
                let free = ports.iter().skip(1).position(Option::is_none).unwrap_or(0);
                (node, free.min(MOST) as u8 + 1)
            }
            Meets::Switch(switch) => {
                let leg = port(&station.switches[switch.index()].diverging);
                (nodes.switches[switch.index()], DIVERGING + leg)
            }
            Meets::Joint(joint) => {
                let leg = port(&station.joints[joint.index()].tracks);
                (nodes.joints[joint.index()], leg)
            }
            Meets::Turntable(table) => {
                let leg = port(&station.turntables[table.index()].tracks);
                (nodes.turntables[table.index()], leg)
            }
            Meets::Bumper | Meets::Nowhere => {
                (self.add(id, Place::TrackEnd(track, end), 1, Vec::new()), 0)
            }
        }
    }

    fn open_lines(&mut self) {
        let way = self.way;
        for (id, open) in way.opens() {
            for track in 1..=open.tracks.value {
                let nodes = [0, 1].map(|which: usize| {
                    let station = open.ends[which].id?;
                    let name = open.ends[which].end_name(open.tracks.value, track);
                    let end = way.station(station).find_end(&name)?;
                    let node = self.network.end_node(station, end);
                    // A second open line at the same end is a mistake that a rule reports.
                    self.network.node(node).ports[0].is_none().then_some(node)
                });
                if let [Some(from), Some(to)] = nodes
                    && from != to
                {
                    let kind = EdgeKind::Open { open: id, track };
                    self.connect(kind, [(from, 0), (to, 0)], open.run());
                }
            }
        }
    }
}
