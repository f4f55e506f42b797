//! A station's tracks as the town that the switching engine works on.
//!
//! Lengths are whole tenths of an inch on the model. Every track is cut at its switches and
//! crossings, and once more where it comes clear of them, so that cars are left only where they do
//! not foul another track, while a row of cars that stands *across* a switch has the room that is
//! really there. A track that begins at a frog begins at its clearance point. The formulas are those
//! of [`engineering::clearance`].

use std::collections::BTreeMap;

use engineering::{
    clearance::beyond_crossing,
    ids::{EndId, StationId, SwitchId, TrackId, TrackRef},
    network::{self, DIVERGING, POINTS, Place, THROUGH},
    profile::node_levels,
    station::{Control, Side, Station, TrackUse},
};
use model::units::{Actual, Angle};
use railroad::Railroad;
use switching::{NodeKind, PlaceId, Port, Town};

/// Units of [`Town`] lengths in an inch on the model.
pub const PER_INCH: f64 = 10.0;

/// Grade on which cars left standing are held by hand brakes (or a pin between the ties): half a
/// percent. Common practice, no source.
pub const HOLDING_GRADE: f64 = 0.005;

/// A length in the town's unit, to the nearest.
pub fn units(length: Actual) -> u32 {
    (length.inches() * PER_INCH).round().max(0.0) as u32
}

/// A length of the town as a length on the model.
pub fn actual(length: u32) -> Actual {
    Actual::from_inches(f64::from(length) / PER_INCH)
}

/// What a station end is called: the timetable's direction, `east`; or its own name where it has none
/// or shares it with another end.
pub fn end_name(railroad: &Railroad, station: StationId, end: EndId) -> String {
    let station = railroad.way.station(station);
    let page = &station.ends[end.index()];
    let alone = station
        .ends
        .iter()
        .filter(|other| other.side == page.side)
        .count()
        == 1;
    let line = station.line().map(|id| railroad.way.line(id));
    match (page.side, line) {
        (Some(side), Some(line)) if alone => {
            line.directions[usize::from(side == Side::High)].clone()
        }
        _ => page.name.clone(),
    }
}

/// What a town is compiled for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumptions {
    /// Longest the train at work may be.
    pub train: Actual,
    /// The station end by which it comes; it stands there, on the open line if need be.
    pub from: Option<EndId>,
    /// Length of a usual car: a piece of main holds cars if two of them fit, any other track if one does.
    pub car: Actual,
}

impl Assumptions {
    /// For a train of a railroad that comes by an end. The usual car is the mean of those in service
    /// that carry freight, or 40 scale feet over the couplers.
    pub fn new(railroad: &Railroad, train: Actual, from: Option<EndId>) -> Self {
        Self {
            train,
            from,
            car: usual_car(railroad),
        }
    }
}

/// Mean length of the cars on the roster, or 40 scale feet.
pub(crate) fn usual_car(railroad: &Railroad) -> Actual {
    let lengths: Vec<f64> = railroad
        .roster
        .cars
        .iter()
        .filter_map(|car| Some(car.length?.value.inches()))
        .collect();
    if lengths.is_empty() {
        let scale = railroad.identity.scale.scale;
        return scale.to_actual(model::units::Prototype::from_feet(40.0));
    }
    Actual::from_inches(lengths.iter().sum::<f64>() / lengths.len() as f64)
}

/// A way out of the town.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exit {
    /// The boundary.
    pub node: switching::NodeId,
    /// The last track up to it.
    pub track: switching::TrackId,
    /// The node at that track's other end.
    pub inner: switching::NodeId,
}

/// A spot of the town.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpotAt {
    /// Its name.
    pub name: String,
    /// The place that has it.
    pub place: PlaceId,
    /// Its number there.
    pub spot: u16,
}

/// A town with the way back to the railroad's own words.
#[derive(Debug, Clone, PartialEq)]
pub struct CompiledTown {
    /// The town.
    pub town: Town,
    /// The station it is.
    pub station: StationId,
    /// What it was compiled for.
    pub assumptions: Assumptions,
    /// For each station end, where it leads out; `None` where nothing joins it.
    pub exits: Vec<Option<Exit>>,
    /// For each of the station's tracks the places that are that track: one, or one on each side of a
    /// crossing; none if no car fits.
    pub places: Vec<Vec<PlaceId>>,
    /// For each of the station's tracks its spots, in the order written; `None` for one that lies
    /// where no car may stand.
    pub spots: Vec<Vec<Option<SpotAt>>>,
    /// The station's track of which each of the town's tracks is a piece; links within a slip have none.
    pub track_of: Vec<Option<TrackId>>,
    /// The town's nodes at each switch: one, or two at a three-way.
    pub switches: Vec<Vec<switching::NodeId>>,
    /// Numbers of places, counted from the first, with which most work can be done: a search that
    /// knows fewer places to set cars down goes deeper.
    pub prefixes: Vec<usize>,
}

/// Compiles a station.
pub fn compile(railroad: &Railroad, station: StationId, assumptions: &Assumptions) -> CompiledTown {
    let page = railroad.way.station(station);
    let mut builder = Builder {
        railroad,
        page,
        id: station,
        town: Town::new(&page.name.value),
        legs: BTreeMap::new(),
        track_of: vec![],
        exits: vec![None; page.ends.len()],
        switches: vec![vec![]; page.switches.len()],
        levels: node_levels(&railroad.way, &railroad.network, station)
            .into_iter()
            .map(|level| level.map(|level| level.elevation))
            .collect(),
        assumptions: *assumptions,
    };
    builder.nodes();
    let pieces: Vec<Vec<Piece>> = page
        .tracks()
        .map(|(track, _)| builder.track(track))
        .collect();
    let mut places = vec![];
    let mut spots = vec![];
    for (track, _) in page.tracks() {
        let rows = builder.rows(track, &pieces[track.index()]);
        spots.push(builder.spots(track, &rows));
        places.push(rows.iter().map(|row| row.place).collect());
    }
    let mut prefixes = vec![];
    builder.main_pieces(&pieces, true);
    prefixes.push(builder.town.places.len());
    builder.passing(&pieces);
    prefixes.push(builder.town.places.len());
    builder.main_pieces(&pieces, false);
    prefixes.retain(|&count| count < builder.town.places.len());
    prefixes.dedup();
    CompiledTown {
        town: builder.town,
        station,
        assumptions: *assumptions,
        exits: builder.exits,
        places,
        spots,
        track_of: builder.track_of,
        switches: builder.switches,
        prefixes,
    }
}

/// A piece of a track, cut where it passes a switch or a crossing and where it comes clear of one.
#[derive(Debug, Clone)]
struct Piece {
    track: switching::TrackId,
    /// From where to where along the whole track.
    reach: [Actual; 2],
    /// Whether a car on it fouls no other track.
    clear: bool,
    /// Whether it lies beside a crossing's own road.
    at_crossing: bool,
    on_grade: bool,
}

/// A row of pieces on which cars stand.
struct Row {
    place: PlaceId,
    length: u32,
}

struct Builder<'a> {
    railroad: &'a Railroad,
    page: &'a Station,
    id: StationId,
    town: Town,
    /// The town's node and leg for each port of the network's nodes.
    legs: BTreeMap<(network::NodeId, u8), (switching::NodeId, Port)>,
    track_of: Vec<Option<TrackId>>,
    exits: Vec<Option<Exit>>,
    switches: Vec<Vec<switching::NodeId>>,
    levels: Vec<Option<Actual>>,
    assumptions: Assumptions,
}

impl Builder<'_> {
    fn nodes(&mut self) {
        for id in self.railroad.network.station_nodes(self.id) {
            let node = self.railroad.network.node(id).clone();
            let ports: Vec<u8> = (0..node.ports.len())
                .filter(|&port| node.ports[port].is_some())
                .map(|port| port as u8)
                .collect();
            let whole = ports.len() == node.ports.len();
            match node.place {
                Place::Switch(switch) if whole && ports.len() >= 3 => {
                    self.switch(id, switch, &node);
                }
                Place::Crossing(crossing) if whole && ports.len() == 4 => {
                    let name = self.page.crossings[crossing.index()].name.value.clone();
                    self.crossing(id, &name, &node);
                }
                Place::End(end) => self.end(id, end, &node),
                _ => self.plain(id, &node, &ports),
            }
        }
    }

    /// Two tracks that meet, or ends of track: also what is left of a switch half written.
    fn plain(&mut self, id: network::NodeId, node: &network::Node, ports: &[u8]) {
        let name = self.name(node.place);
        if let [a, b] = *ports
            && node.ways.iter().any(|&way| way == (a, b) || way == (b, a))
        {
            let joint = self.town.node(&name, NodeKind::Joint);
            for port in [a, b] {
                self.legs.insert((id, port), (joint, Port::Through));
            }
            return;
        }
        for &port in ports {
            let end = self.town.node(&name, NodeKind::End);
            self.legs.insert((id, port), (end, Port::Through));
        }
    }

    fn end(&mut self, id: network::NodeId, end: EndId, node: &network::Node) {
        let joined = node.ports[0].is_some();
        let name = self.toward(end);
        for port in 1..node.ports.len() {
            // The second track at one end is a mistake that a check reports; it ends there.
            let kind = if joined && port == 1 {
                NodeKind::Boundary
            } else {
                NodeKind::End
            };
            let here = self.town.node(&name, kind);
            self.legs.insert((id, port as u8), (here, Port::Through));
        }
    }

    fn switch(&mut self, id: network::NodeId, switch: SwitchId, node: &network::Node) {
        let page = &self.page.switches[switch.index()];
        let kind = NodeKind::Switch {
            by_hand: page.control == Control::Hand,
        };
        let name = format!("switch {}", page.name.value);
        // The legs other than the last two branch off one after the other.
        let mut branching: Vec<u8> = (DIVERGING..node.ports.len() as u8).collect();
        if node.normal != THROUGH {
            // The normal leg is passed first, so that a normal route lies straight through one switch.
            branching.retain(|&port| port != node.normal);
            branching.push(node.normal);
        }
        let count = branching.len();
        let mut nodes = vec![];
        for (at, &leg) in branching.iter().enumerate() {
            let here = self.town.node(&name, kind);
            nodes.push(here);
            if at == 0 {
                self.legs.insert((id, POINTS), (here, Port::Points));
            }
            let normal = node.normal == leg;
            let (leg_port, rest) = if normal {
                (Port::Normal, Port::Reverse)
            } else {
                (Port::Reverse, Port::Normal)
            };
            self.legs.insert((id, leg), (here, leg_port));
            if at + 1 == count {
                self.legs.insert((id, THROUGH), (here, rest));
            }
        }
        for pair in nodes.windows(2) {
            let name = self.page.switches[switch.index()].name.value.clone();
            self.link(&name, (pair[0], Port::Normal), (pair[1], Port::Points));
        }
        self.switches[switch.index()] = nodes;
    }

    /// A tenth of an inch of track within a slip or a three-way switch.
    fn link(&mut self, name: &str, from: (switching::NodeId, Port), to: (switching::NodeId, Port)) {
        self.town.track(name, from, to, 1);
        self.track_of.push(None);
    }

    /// A crossing: ports 0 and 1 are one track, 2 and 3 the other; what its slips join, the node's
    /// further ways say.
    fn crossing(&mut self, id: network::NodeId, name: &str, node: &network::Node) {
        let slips: Vec<(u8, u8)> = node
            .ways
            .iter()
            .copied()
            .filter(|&way| way != (0, 1) && way != (2, 3))
            .collect();
        let by_hand = NodeKind::Switch { by_hand: true };
        let partner = |port: u8| port ^ 1;
        match slips[..] {
            // From one side of the one track to the other side of the other, and nothing else.
            [(a, b)] => {
                let nodes = [a, b].map(|port| {
                    let node = self.town.node(&format!("slip {name}"), by_hand);
                    self.legs.insert((id, port), (node, Port::Points));
                    self.legs.insert((id, partner(port)), (node, Port::Normal));
                    node
                });
                // Each track goes straight on through its own switch; the link joins their other legs.
                self.link(name, (nodes[0], Port::Reverse), (nodes[1], Port::Reverse));
            }
            // From either track to either: two switches, points to points.
            [(a, b), (c, d)] => {
                let nodes = [[a, c], [d, b]].map(|[normal, reverse]| {
                    let node = self.town.node(&format!("slip {name}"), by_hand);
                    self.legs.insert((id, normal), (node, Port::Normal));
                    self.legs.insert((id, reverse), (node, Port::Reverse));
                    node
                });
                self.link(name, (nodes[0], Port::Points), (nodes[1], Port::Points));
            }
            _ => {
                for ports in [[0, 1], [2, 3]] {
                    let joint = self.town.node(name, NodeKind::Joint);
                    for port in ports {
                        self.legs.insert((id, port), (joint, Port::Through));
                    }
                }
            }
        }
    }

    fn name(&self, place: Place) -> String {
        match place {
            Place::End(end) => self.toward(end),
            Place::Switch(id) => format!("switch {}", self.page.switches[id.index()].name.value),
            Place::Crossing(id) => self.page.crossings[id.index()].name.value.clone(),
            Place::Turntable(id) => self.page.turntables[id.index()].name.value.clone(),
            Place::Joint(id) => self.page.joints[id.index()].name.value.clone(),
            Place::TrackEnd(track, _) => {
                format!("end of the {}", self.page.track(track).name.value)
            }
        }
    }

    /// `east end`, or `N end` where the end has no timetable direction or shares it with another.
    fn toward(&self, end: EndId) -> String {
        format!("{} end", self.direction(end))
    }

    fn direction(&self, end: EndId) -> String {
        end_name(self.railroad, self.id, end)
    }

    /// How far a switch or crossing keeps cars away, along the leg that touches it, and whether that
    /// leg goes on beyond it as the same track.
    fn kept_off(&self, at: (network::NodeId, u8)) -> (Actual, bool) {
        let limits = self.railroad.network.limits();
        let (id, port) = at;
        match self.railroad.network.node(id).place {
            Place::Switch(switch) => {
                let number = self.page.switches[switch.index()]
                    .number
                    .map(|number| number.value);
                let number = limits.number(number);
                match port {
                    POINTS => (Actual::ZERO, true),
                    THROUGH => (limits.beyond_points(number), true),
                    _ => {
                        let usual = limits.from_points(number);
                        (self.clear(id, port).unwrap_or(usual), false)
                    }
                }
            }
            Place::Crossing(crossing) => {
                let angle = Angle::from_degrees(self.page.crossings[crossing.index()].angle);
                (beyond_crossing(angle, limits.track_centers), true)
            }
            _ => (Actual::ZERO, true),
        }
    }

    /// Where the track at a port of a switch is clear of the other, if their alignments tell.
    fn clear(&self, node: network::NodeId, port: u8) -> Option<Actual> {
        let network = &self.railroad.network;
        let (edge, end) = (*network.node(node).ports.get(usize::from(port))?)?;
        let track = network.edge(edge).track()?;
        self.railroad.way.track(track).clear[end.index()]
    }

    /// Makes the pieces of a track.
    fn track(&mut self, track: TrackId) -> Vec<Piece> {
        let here = TrackRef {
            station: self.id,
            track,
        };
        let page = self.page.track(track);
        let edges = self.railroad.network.track_edges(here).to_vec();
        let network = &self.railroad.network;
        let (Some(first), Some(last)) = (edges.first(), edges.last()) else {
            return vec![];
        };
        // The usable stretch: at a frog it begins at the clearance point.
        let off = |at| match self.kept_off(at) {
            (off, false) => off,
            _ => Actual::ZERO,
        };
        let begin = off(network.edge(*first).ends[0]);
        let run = network
            .reach_of(network::Run {
                edge: *last,
                forward: true,
            })
            .map_or(Actual::ZERO, |reach| reach[1]);
        let end = (run - off(network.edge(*last).ends[1])).max(begin);
        let stretch = end - begin;
        // A tape measure overrules what is computed; on a main it measures where trains pass.
        let tape = page
            .usable
            .filter(|_| page.usage != TrackUse::Main)
            .map(|usable| usable.value);
        let factor = match tape {
            Some(tape) if stretch > Actual::ZERO => tape / stretch,
            _ => 1.0,
        };
        let place = |at: Actual| units((at.max(begin).min(end) - begin) * factor);
        let mut pieces: Vec<Piece> = vec![];
        for edge_id in edges {
            let edge = network.edge(edge_id).clone();
            let Some([from, to]) = network.reach_of(network::Run {
                edge: edge_id,
                forward: true,
            }) else {
                continue;
            };
            let [low, high] = edge.ends.map(|at| match self.kept_off(at) {
                (off, true) => off,
                _ => Actual::ZERO,
            });
            let crossing = edge
                .ends
                .map(|(node, _)| matches!(network.node(node).place, Place::Crossing(_)));
            let mut cuts: Vec<([Actual; 2], bool, bool)> = vec![];
            if place(from + low) < place(to - high) {
                if low > Actual::ZERO {
                    cuts.push(([from, from + low], false, crossing[0]));
                }
                cuts.push(([from + low, to - high], true, false));
                if high > Actual::ZERO {
                    cuts.push(([to - high, to], false, crossing[1]));
                }
            } else {
                cuts.push(([from, to], false, crossing[0] || crossing[1]));
            }
            // What lies within the frog at the very end of a track has no length and needs no piece.
            if cuts.len() > 1 {
                cuts.retain(|([from, to], _, _)| place(*from) < place(*to));
            }
            let on_grade = self.steep(&edge);
            let count = cuts.len();
            let mut at = self.legs[&edge.ends[0]];
            for (which, (reach, clear, at_crossing)) in cuts.into_iter().enumerate() {
                let name = self.piece_name(track, &edge);
                let next = if which + 1 == count {
                    self.legs[&edge.ends[1]]
                } else {
                    let joint = self.town.node(&name, NodeKind::Joint);
                    (joint, Port::Through)
                };
                let mut length = place(reach[1]) - place(reach[0]);
                // A taped track whose computed stretch is nothing.
                if let Some(tape) = tape
                    && stretch <= Actual::ZERO
                    && pieces.is_empty()
                {
                    length = units(tape);
                }
                let made = self.town.track(&name, at, next, length);
                self.track_of.push(Some(track));
                if page.usage == TrackUse::Main {
                    self.town.main(made);
                }
                pieces.push(Piece {
                    track: made,
                    reach: [reach[0].max(begin), reach[1].min(end).max(begin)],
                    clear: clear && length > 0,
                    at_crossing,
                    on_grade,
                });
                at = next;
            }
        }
        self.exits_of(&pieces);
        pieces
    }

    /// Notes where a track leads out of town, and lengthens its last piece by what of the open line
    /// may be used.
    fn exits_of(&mut self, pieces: &[Piece]) {
        for (piece, end) in pieces
            .first()
            .map(|piece| (piece, 0))
            .into_iter()
            .chain(pieces.last().map(|piece| (piece, 1)))
        {
            let track = &self.town.tracks[piece.track.index()];
            let node = track.ends[end].node;
            let inner = track.ends[1 - end].node;
            if self.town.nodes[node.index()].kind != NodeKind::Boundary {
                continue;
            }
            let Some((id, _)) = self
                .legs
                .iter()
                .find(|(_, (leg, _))| *leg == node)
                .map(|(key, _)| *key)
            else {
                continue;
            };
            let Place::End(at) = self.railroad.network.node(id).place else {
                continue;
            };
            let open: Actual = self.page.ends[at.index()]
                .joins
                .first()
                .map_or(Actual::ZERO, |join| self.railroad.way.open(join.open).run());
            let train = units(self.assumptions.train);
            let length = track.length;
            let mut longer = length;
            if self.page.yard_limits {
                longer = length + train.min(units(open));
            }
            if self.assumptions.from == Some(at) {
                longer = longer.max(train);
            }
            self.town.tracks[piece.track.index()].length = longer;
            self.exits[at.index()] = Some(Exit {
                node,
                track: piece.track,
                inner,
            });
        }
    }

    fn steep(&self, edge: &network::Edge) -> bool {
        let first = self
            .railroad
            .network
            .station_nodes(self.id)
            .next()
            .map_or(0, |id| id.0);
        let level = |at: usize| {
            let index = edge.ends[at].0.0.checked_sub(first)? as usize;
            self.levels.get(index).copied().flatten()
        };
        match (level(0), level(1)) {
            (Some(a), Some(b)) if edge.length > Actual::ZERO => {
                ((b - a) / edge.length).abs() > HOLDING_GRADE
            }
            _ => false,
        }
    }

    /// What a crew would call a piece.
    fn piece_name(&self, track: TrackId, edge: &network::Edge) -> String {
        let name = &self.page.track(track).name.value;
        let network = &self.railroad.network;
        let here = TrackRef {
            station: self.id,
            track,
        };
        let edges = network.track_edges(here);
        if edges.len() == 1 {
            return name.clone();
        }
        // Only what parts the track says where on it: not the switch at which it begins or ends.
        let inner = |at: usize| {
            let outer = if at == 0 { edges.first() } else { edges.last() };
            let is_outer = outer.is_some_and(|outer| network.edge(*outer).ends == edge.ends);
            let place = network.node(edge.ends[at].0).place;
            match place {
                Place::Switch(id) if !is_outer => {
                    Some(self.page.switches[id.index()].name.value.as_str())
                }
                Place::Crossing(id) if !is_outer => {
                    Some(self.page.crossings[id.index()].name.value.as_str())
                }
                _ => None,
            }
        };
        let out = |at: usize| match network.node(edge.ends[at].0).place {
            Place::End(end) => Some(self.direction(end)),
            _ => None,
        };
        match (inner(0), inner(1)) {
            (Some(a), Some(b)) => format!("{name} between {a} and {b}"),
            (Some(a), None) => match out(1) {
                Some(way) => format!("{name} {way} of {a}"),
                None => format!("{name} beyond {a}"),
            },
            (None, Some(b)) => match out(0) {
                Some(way) => format!("{name} {way} of {b}"),
                None => format!("{name} before {b}"),
            },
            (None, None) => name.clone(),
        }
    }

    /// Makes the places that are a whole track. A main has none: cars are only set down on it for the
    /// time of the work.
    fn rows(&mut self, track: TrackId, pieces: &[Piece]) -> Vec<Row> {
        let page = self.page.track(track);
        if page.usage == TrackUse::Main {
            return vec![];
        }
        let mut rows = vec![];
        // A crossing parts a track in two.
        for part in pieces.split(|piece| piece.at_crossing) {
            let length = |piece: &Piece| self.town.tracks[piece.track.index()].length;
            let part: Vec<&Piece> = part.iter().skip_while(|piece| length(piece) == 0).collect();
            let Some(last) = part.iter().rposition(|piece| length(piece) > 0) else {
                continue;
            };
            let part = &part[..=last];
            let total: u32 = part.iter().map(|piece| length(piece)).sum();
            if total < self.least_car() {
                continue;
            }
            let tracks = self.row_of(part);
            let place = self.town.stand(&page.name.value, &tracks);
            let made = &mut self.town.places[place.index()];
            made.clear_at_end = !page.usage.holds_cars();
            made.on_grade = part.iter().any(|piece| piece.on_grade);
            rows.push(Row {
                place,
                length: total,
            });
        }
        rows
    }

    /// The shortest thing worth a place: three quarters of a usual car.
    fn least_car(&self) -> u32 {
        units(self.assumptions.car * 0.75)
    }

    /// Marks the spots of a track on its rows.
    fn spots(&mut self, track: TrackId, rows: &[Row]) -> Vec<Option<SpotAt>> {
        let page = self.page.track(track);
        let count = page.spots.len();
        let total: u32 = rows.iter().map(|row| row.length).sum();
        if count == 0 || total == 0 {
            return vec![None; count];
        }
        let pitch = match page.spot_length {
            Some(length) => units(length.value).max(1),
            None => (total / count as u32).max(1),
        };
        let mut out = vec![];
        for (at, name) in page.spots.iter().enumerate() {
            let mut centre = at as u32 * pitch + pitch / 2;
            let mut found = None;
            for row in rows {
                if centre < row.length {
                    found = Some((row.place, centre));
                    break;
                }
                centre -= row.length;
            }
            out.push(found.map(|(place, centre)| SpotAt {
                name: name.value.clone(),
                place,
                spot: self.town.spot(place, &name.value, centre, pitch / 2),
            }));
        }
        out
    }

    /// The stretch of each main between switches that another way joins: where a train is left while
    /// its engine runs round it.
    fn passing(&mut self, pieces: &[Vec<Piece>]) {
        for (track, page) in self.page.tracks() {
            if page.usage != TrackUse::Main {
                continue;
            }
            let here = TrackRef {
                station: self.id,
                track,
            };
            let stretch = self
                .railroad
                .network
                .clear_stretch(&self.railroad.way, here);
            let slack = Actual::from_inches(0.1);
            let row: Vec<&Piece> = pieces[track.index()]
                .iter()
                .filter(|piece| {
                    piece.reach[0] + slack >= stretch.from && piece.reach[1] - slack <= stretch.to
                })
                .collect();
            let whole = row.len() == pieces[track.index()].len();
            if whole || row.iter().filter(|piece| piece.clear).count() < 2 {
                continue;
            }
            let tracks = self.row_of(&row);
            self.standing_room(
                &format!("{} between the switches", page.name.value),
                &tracks,
                &row,
            );
        }
    }

    /// The tracks of a row of pieces, with the links within the slips and three-way switches between them.
    fn row_of(&self, row: &[&Piece]) -> Vec<switching::TrackId> {
        let meet = |a: switching::TrackId, b: switching::TrackId| {
            let ends = |id: switching::TrackId| self.town.tracks[id.index()].ends;
            ends(a)
                .iter()
                .any(|&x| ends(b).iter().any(|&y| self.town.joined(x, y)))
        };
        let mut out: Vec<switching::TrackId> = vec![];
        for piece in row {
            if let Some(&last) = out.last()
                && !meet(last, piece.track)
            {
                let link = (0..self.town.tracks.len())
                    .filter(|&at| self.track_of[at].is_none())
                    .map(|at| switching::TrackId(at as u16))
                    .find(|&link| meet(last, link) && meet(link, piece.track));
                out.extend(link);
            }
            out.push(piece.track);
        }
        out
    }

    fn standing_room(&mut self, name: &str, tracks: &[switching::TrackId], row: &[&Piece]) {
        let place = self.town.stand(name, tracks);
        let made = &mut self.town.places[place.index()];
        made.clear_at_end = true;
        made.on_grade = row.iter().any(|piece| piece.on_grade);
    }

    /// Pieces of main that hold two cars, where they may be set down for the time of the work: those that
    /// lead out of town, or the others.
    fn main_pieces(&mut self, pieces: &[Vec<Piece>], leading_out: bool) {
        let two = units(self.assumptions.car * 2.0);
        for (track, page) in self.page.tracks() {
            if page.usage != TrackUse::Main {
                continue;
            }
            for piece in pieces[track.index()].iter().filter(|piece| piece.clear) {
                let out = self
                    .exits
                    .iter()
                    .flatten()
                    .any(|exit| exit.track == piece.track);
                let made = &self.town.tracks[piece.track.index()];
                if out != leading_out || made.length < two || self.town.places.len() >= MOST_PLACES
                {
                    continue;
                }
                let name = made.name.clone();
                self.standing_room(&name, &[piece.track], &[piece]);
            }
        }
    }
}

/// Places beyond which no more are made for single pieces of track: the engine holds sixty.
const MOST_PLACES: usize = 56;
