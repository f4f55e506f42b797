//! The town: tracks, the points where they join, and the places where cars may stand.
//!
//! Lengths are whole numbers of any one unit (feet, tenths of an inch on the model); the engine
//! never converts them. A track's length is its *usable* length, between clearance points: the
//! switches themselves take no room, so a train standing across a switch is counted a little
//! longer than it is. That errs on the safe side.

use std::fmt;

/// A length in the town's own unit (any unit, the same throughout one town).
pub type Length = u32;

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u16);

        impl $name {
            /// Position in the list that holds it.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

id! {
    /// A point where tracks meet or stop, by its position in [`Town::nodes`].
    NodeId
}
id! {
    /// A piece of track, by its position in [`Town::tracks`].
    TrackId
}
id! {
    /// A place where cars may stand, by its position in [`Town::places`].
    PlaceId
}

/// What a node is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NodeKind {
    /// Two tracks joined end to end.
    Joint,
    /// A switch: one track at the points, one on each leg.
    Switch {
        /// Thrown by hand (costs time) rather than by machine.
        by_hand: bool,
    },
    /// A bumper, or rail that simply stops.
    End,
    /// Where the town ends and open line begins. Trains arrive and leave here; a train at work
    /// may use the last track up to this node and no further (give that track the length to the
    /// yard limit, or whatever the crew may use).
    Boundary,
}

/// A point where tracks meet or stop.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Name used in the words of a plan.
    pub name: String,
    /// What it is.
    pub kind: NodeKind,
    /// Where to draw it, if the owner cares; otherwise it is laid out automatically.
    pub xy: Option<(f64, f64)>,
}

/// Which leg of a node a track is joined to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Port {
    /// At a joint, an end or a boundary, where there is nothing to choose.
    Through,
    /// The points end of a switch.
    Points,
    /// The leg taken when the switch stands normal.
    Normal,
    /// The leg taken when the switch is reversed.
    Reverse,
}

/// One end of a track.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct TrackEnd {
    /// The node it is joined to.
    pub node: NodeId,
    /// And on which leg.
    pub port: Port,
}

/// A piece of track between two nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// Name used in the words of a plan.
    pub name: String,
    /// Where it begins and where it stops.
    pub ends: [TrackEnd; 2],
    /// Usable length between clearance points.
    pub length: Length,
    /// Main track: must be clear for trains that are due, see [`crate::Work::trains_due`].
    pub main: bool,
}

/// A marked position on a place: a door, a chute, a dock.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Name used in the words of a plan ("door 2").
    pub name: String,
    /// Where the middle of the car should be, from end 0 of the place.
    pub centre: Length,
    /// How far off it may be, either way.
    pub tolerance: Length,
}

/// A place where cars may be left: one track, or several in a row across the switches between
/// them (which are then blocked as long as any car stands there).
///
/// A place without marked positions (no spots and no immovable car) holds its cars in order, and
/// they may be bunched towards either end; all that counts is their order and total length. On a
/// place with marked positions each car that was put on a mark keeps its exact position until it
/// is moved.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name used in the words of a plan.
    pub name: String,
    /// The tracks from end 0 to end 1.
    pub tracks: Vec<TrackId>,
    /// Marked positions.
    pub spots: Vec<Spot>,
    /// No car may be left here when the work is done.
    pub clear_at_end: bool,
    /// On a grade: cars left here need hand brakes.
    pub on_grade: bool,
}

/// A town's tracks.
///
/// Build it with the methods below, which return the identifiers to use in later calls:
///
/// ```
/// use switching::{NodeKind, Port, Town};
/// let mut town = Town::new("Two spurs");
/// let west = town.node("west", NodeKind::Boundary);
/// let s = town.node("mill switch", NodeKind::Switch { by_hand: true });
/// let (a, b) = (town.node("a", NodeKind::End), town.node("b", NodeKind::End));
/// town.track("lead", (west, Port::Through), (s, Port::Points), 200);
/// let mill = town.track("mill", (s, Port::Reverse), (a, Port::Through), 120);
/// let team = town.track("team", (s, Port::Normal), (b, Port::Through), 120);
/// town.stand("mill", &[mill]);
/// town.stand("team", &[team]);
/// assert!(town.check().is_empty());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Town {
    /// The town's name.
    pub name: String,
    /// Points where tracks meet or stop.
    pub nodes: Vec<Node>,
    /// Pieces of track.
    pub tracks: Vec<Track>,
    /// Places where cars may stand.
    pub places: Vec<Place>,
}

impl Town {
    /// A town without tracks.
    pub fn new(name: &str) -> Self {
        Self {
            name: name.into(),
            nodes: vec![],
            tracks: vec![],
            places: vec![],
        }
    }

    /// Adds a node.
    pub fn node(&mut self, name: &str, kind: NodeKind) -> NodeId {
        self.nodes.push(Node {
            name: name.into(),
            kind,
            xy: None,
        });
        NodeId((self.nodes.len() - 1) as u16)
    }

    /// Adds a track between two nodes.
    pub fn track(
        &mut self,
        name: &str,
        from: (NodeId, Port),
        to: (NodeId, Port),
        length: Length,
    ) -> TrackId {
        let end = |(node, port)| TrackEnd { node, port };
        self.tracks.push(Track {
            name: name.into(),
            ends: [end(from), end(to)],
            length,
            main: false,
        });
        TrackId((self.tracks.len() - 1) as u16)
    }

    /// Marks a track as part of the main.
    pub fn main(&mut self, track: TrackId) {
        self.tracks[track.index()].main = true;
    }

    /// Lets cars stand on a track, or on several in a row listed from end 0 to end 1.
    pub fn stand(&mut self, name: &str, tracks: &[TrackId]) -> PlaceId {
        self.places.push(Place {
            name: name.into(),
            tracks: tracks.to_vec(),
            spots: vec![],
            clear_at_end: false,
            on_grade: false,
        });
        PlaceId((self.places.len() - 1) as u16)
    }

    /// Marks a position on a place; spots are numbered from 0 in the order they are added.
    pub fn spot(&mut self, place: PlaceId, name: &str, centre: Length, tolerance: Length) -> u16 {
        let spots = &mut self.places[place.index()].spots;
        spots.push(Spot {
            name: name.into(),
            centre,
            tolerance,
        });
        (spots.len() - 1) as u16
    }

    /// Usable length of a place: the sum of its tracks.
    pub fn place_length(&self, place: PlaceId) -> Length {
        self.places[place.index()]
            .tracks
            .iter()
            .map(|t| self.tracks[t.index()].length)
            .sum()
    }

    /// The directions in which the tracks of a place are passed from end 0 to end 1: `true` where
    /// a track is passed from its first end to its second. `None` if they do not form a row.
    pub fn place_directions(&self, place: PlaceId) -> Option<Vec<bool>> {
        let tracks = &self.places[place.index()].tracks;
        let first = [true, false];
        'start: for forward in first {
            let mut dirs = vec![forward];
            for pair in tracks.windows(2) {
                let here = self.tracks[pair[0].index()].ends[usize::from(*dirs.last()?)];
                let next = &self.tracks[pair[1].index()];
                let Some(dir) = [true, false].into_iter().find(|&d| {
                    let entry = next.ends[usize::from(!d)];
                    entry.node == here.node && self.joined(here, entry)
                }) else {
                    continue 'start;
                };
                dirs.push(dir);
            }
            if tracks.is_empty() {
                return None;
            }
            return Some(dirs);
        }
        None
    }

    /// Whether a train may pass a node from an end of one track to an end of another. The tracks
    /// must be different ones (at a joint both ends look alike).
    pub fn joined(&self, a: TrackEnd, b: TrackEnd) -> bool {
        if a.node != b.node {
            return false;
        }
        match self.nodes[a.node.index()].kind {
            NodeKind::Joint => true,
            NodeKind::Switch { .. } => (a.port == Port::Points) != (b.port == Port::Points),
            NodeKind::End | NodeKind::Boundary => false,
        }
    }

    /// Everything wrong with the town, in words; empty if it can be worked.
    pub fn check(&self) -> Vec<TownError> {
        let mut out = vec![];
        let mut at: Vec<Vec<Port>> = vec![vec![]; self.nodes.len()];
        for t in &self.tracks {
            for e in t.ends {
                match at.get_mut(e.node.index()) {
                    Some(list) => list.push(e.port),
                    None => out.push(TownError::NoSuchNode {
                        track: t.name.clone(),
                    }),
                }
            }
        }
        for (n, ports) in self.nodes.iter().zip(&mut at) {
            ports.sort_by_key(|p| *p as u8);
            let want: &[Port] = match n.kind {
                NodeKind::Joint => &[Port::Through, Port::Through],
                NodeKind::Switch { .. } => &[Port::Points, Port::Normal, Port::Reverse],
                NodeKind::End | NodeKind::Boundary => &[Port::Through],
            };
            if ports != want {
                out.push(TownError::WrongLegs {
                    node: n.name.clone(),
                    found: ports.len(),
                    expected: want.len(),
                });
            }
        }
        for (i, p) in self.places.iter().enumerate() {
            if p.tracks.iter().any(|t| t.index() >= self.tracks.len())
                || self.place_directions(PlaceId(i as u16)).is_none()
            {
                out.push(TownError::NotARow {
                    place: p.name.clone(),
                });
            } else {
                let length = self.place_length(PlaceId(i as u16));
                for s in &p.spots {
                    if s.centre > length {
                        out.push(TownError::SpotOffTrack {
                            place: p.name.clone(),
                            spot: s.name.clone(),
                            centre: s.centre,
                            length,
                        });
                    }
                }
            }
        }
        if self.places.len() > MAX_PLACES {
            out.push(TownError::TooManyPlaces {
                found: self.places.len(),
            });
        }
        out
    }
}

/// Most places one town may have.
pub const MAX_PLACES: usize = 60;

/// What is wrong with a town.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TownError {
    /// A track ends at a node that was never added.
    #[error("track `{track}` ends at a node that is not in the town")]
    NoSuchNode {
        /// The track.
        track: String,
    },
    /// A node has the wrong number of tracks, or two on one leg.
    #[error(
        "`{node}` has {found} track ends, or two on one leg; expected {expected} (a switch needs points, normal and reverse; a joint two; an end or boundary one)"
    )]
    WrongLegs {
        /// The node.
        node: String,
        /// Track ends found.
        found: usize,
        /// Track ends expected.
        expected: usize,
    },
    /// The tracks of a place do not follow one another.
    #[error("the tracks of `{place}` do not form one row that a train could run through")]
    NotARow {
        /// The place.
        place: String,
    },
    /// A spot lies beyond the end of its track.
    #[error("spot `{spot}` lies at {centre} on `{place}`, which is only {length} long")]
    SpotOffTrack {
        /// The place.
        place: String,
        /// The spot.
        spot: String,
        /// Where it is said to be.
        centre: Length,
        /// How long the place is.
        length: Length,
    },
    /// More places than the engine can hold.
    #[error("the town has {found} places for cars; the most is 60")]
    TooManyPlaces {
        /// Places found.
        found: usize,
    },
}

impl fmt::Display for NodeId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "node {}", self.0)
    }
}
