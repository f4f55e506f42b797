//! How much of a track holds a train or cars.
//!
//! A track that begins at a switch is usable from its clearance point: from where a train on it is
//! clear of a train on the track the switch lies on (see [`crate::clearance`]). Since its length counts
//! from the points, the lead of the switch and the way on from the frog are taken off. Switches on the way do
//! not shorten a track, since cars may stand over them; only on a main, where trains must get by, the
//! longest stretch between the clearance points of two switches that are joined by another way is
//! what holds a train while another passes. A crossing parts a track in two. What the owner measured
//! by tape goes before all of this.

use model::units::{Actual, Angle};

use super::{DIVERGING, Network, Place, Run};
use crate::{
    Way,
    clearance::{beyond_crossing, capacity},
    ids::{StationId, TrackId, TrackRef},
    station::{Meets, Station, TrackEnd, TrackUse},
};

/// A stretch of a track, from its beginning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Where it begins.
    pub from: Actual,
    /// Where it ends; never before it begins.
    pub to: Actual,
}

impl Stretch {
    /// How long it is.
    pub fn length(&self) -> Actual {
        self.to - self.from
    }
}

/// How much of a track holds a train or cars.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usable {
    /// How much.
    pub length: Actual,
    /// Where, as computed between clearance points.
    pub stretch: Stretch,
    /// Whether `length` is the owner's tape measure rather than the stretch's.
    pub taped: bool,
}

impl Usable {
    /// How many cars of a length over pull faces it holds.
    pub fn cars(&self, car: Actual) -> u32 {
        capacity(self.length, car)
    }
}

impl Network {
    /// How much of a track holds a train or cars.
    pub fn usable(&self, way: &Way, id: TrackRef) -> Usable {
        let track = way.track(id);
        let stretch = self.clear_stretch(way, id);
        match track.usable {
            Some(taped) => Usable {
                length: taped.value,
                stretch,
                taped: true,
            },
            None => Usable {
                length: stretch.length(),
                stretch,
                taped: false,
            },
        }
    }

    /// The longest stretch of a track between its clearance points, whatever the tape says.
    pub fn clear_stretch(&self, way: &Way, id: TrackRef) -> Stretch {
        let station = way.station(id.station);
        let track = station.track(id.track);
        let setback = |end: usize| match track.meets[end] {
            // By the alignments of both tracks, where there are such.
            Meets::Switch(_) if track.clear[end].is_some() => {
                track.clear[end].unwrap_or(Actual::ZERO)
            }
            Meets::Switch(switch) => {
                let number = station.switches[switch.index()]
                    .number
                    .map(|number| number.value);
                let limits = self.limits();
                limits.from_points(limits.number(number))
            }
            _ => Actual::ZERO,
        };
        let from = setback(0);
        let whole = Stretch {
            from,
            to: (track.run() - setback(1)).max(from),
        };
        let mut pieces = vec![whole];
        if track.usage == TrackUse::Main {
            let beside = self.passing_stretches(station, id);
            if !beside.is_empty() {
                pieces = beside;
            }
        }
        for crossing in &station.crossings {
            for which in [0, 1] {
                if crossing.tracks[which] != Some(id.track) {
                    continue;
                }
                let Some(at) = crossing.at else { continue };
                let angle = Angle::from_degrees(crossing.angle);
                let aside = beyond_crossing(angle, self.limits().track_centers);
                pieces = pieces
                    .into_iter()
                    .flat_map(|piece| without(piece, at[which].value, aside))
                    .collect();
            }
        }
        let nothing = Stretch {
            from: whole.from,
            to: whole.from,
        };
        pieces
            .into_iter()
            // Of equals the first.
            .fold(nothing, |best, piece| {
                if piece.length() > best.length() {
                    piece
                } else {
                    best
                }
            })
    }

    /// The stretches of a main between switches that are joined by another way. A main may go on
    /// beyond a joint as another track; a stretch that does so counts as far as the joint.
    fn passing_stretches(&self, station: &Station, id: TrackRef) -> Vec<Stretch> {
        let facing = &self.orientation(id.station).facing;
        let limits = self.limits();
        let chain = main_chain(station, id.track);
        // For each switch on the main: its place along the chain of tracks, how far aside it keeps a
        // train, and which way it faces along the chain.
        let mut on: Vec<(usize, Actual, Actual, TrackEnd)> = Vec::new();
        for (at, switch) in station.switches.iter().enumerate() {
            let Some(link) = chain.iter().find(|link| Some(link.track) == switch.track) else {
                continue;
            };
            let Some(points) = switch.at.filter(|_| !switch.diverging.is_empty()) else {
                continue;
            };
            let number = limits.number(switch.number.map(|number| number.value));
            let aside = limits.beyond_points(number);
            let (place, facing) = match link.forward {
                true => (link.begin + points.value, facing[at]),
                false => (link.begin - points.value, facing[at].other()),
            };
            on.push((at, place, aside, facing));
        }
        let run = station.track(id.track).run();
        let mut stretches = Vec::new();
        for &(first, from, aside, facing) in &on {
            if facing != TrackEnd::From || from >= run {
                continue;
            }
            let reached = self.reach_off(id.station, &chain, first);
            for &(second, to, back, facing) in &on {
                if facing == TrackEnd::To && to > from && reached.contains(&second) {
                    let begin = (from + aside).max(Actual::ZERO).min(run);
                    let end = (to - back).min(run);
                    if end >= Actual::ZERO {
                        stretches.push(Stretch {
                            from: begin,
                            to: end.max(begin),
                        });
                    }
                }
            }
        }
        stretches
    }

    /// The switches on a main that are come to by leaving it at another of its switches and never
    /// entering it in between.
    fn reach_off(&self, station: StationId, chain: &[Link], switch: usize) -> Vec<usize> {
        let nodes = &self.switch_nodes[station.index()];
        let start = nodes[switch];
        let legs = self.node(start).ports.len() as u8;
        let mut stack: Vec<Run> = (DIVERGING..legs)
            .filter_map(|leg| self.leaving(start, leg))
            .collect();
        let mut found = Vec::new();
        let mut mark = vec![false; self.station_edges(station).count() * 2];
        let base = self.edge_start[station.index()] as usize * 2;
        while let Some(run) = stack.pop() {
            let Some(track) = self.edge(run.edge).track() else {
                continue;
            };
            let on_main = chain.iter().any(|link| link.track == track.track);
            if on_main || std::mem::replace(&mut mark[run.index() - base], true) {
                continue;
            }
            let (node, port) = self.head(run);
            if let Place::Switch(at) = self.node(node).place
                && port >= DIVERGING
            {
                found.push(at.index());
            }
            stack.extend(self.next(run));
        }
        found
    }

    /// The stretch of one track beside another, between the switches at which the other leaves it and
    /// comes back: where a train stands on the one while another takes the other.
    pub fn beside(&self, way: &Way, main: TrackRef, other: TrackId) -> Option<Stretch> {
        let station = way.station(main.station);
        let limits = self.limits();
        let mut reach = [None, None];
        for meets in station.track(other).meets {
            let Meets::Switch(id) = meets else {
                return None;
            };
            let switch = &station.switches[id.index()];
            if switch.track != Some(main.track) {
                return None;
            }
            let number = limits.number(switch.number.map(|number| number.value));
            let aside = limits.beyond_points(number);
            let at = switch.at?.value;
            match self.orientation(main.station).facing[id.index()] {
                TrackEnd::From => reach[0] = Some(at + aside),
                TrackEnd::To => reach[1] = Some(at - aside),
            }
        }
        let [Some(from), Some(to)] = reach else {
            return None;
        };
        (to > from).then_some(Stretch { from, to })
    }
}

/// A track of a main that goes on beyond joints.
struct Link {
    track: TrackId,
    /// Where its own beginning lies, from the beginning of the track asked for.
    begin: Actual,
    /// Whether it runs the same way.
    forward: bool,
}

/// A main and the mains that it meets end to end at joints, each with its place.
fn main_chain(station: &Station, track: TrackId) -> Vec<Link> {
    let mut chain = vec![Link {
        track,
        begin: Actual::ZERO,
        forward: true,
    }];
    for outward in [TrackEnd::From, TrackEnd::To] {
        let (mut here, mut end) = (track, outward);
        let mut place = match outward {
            TrackEnd::From => Actual::ZERO,
            TrackEnd::To => station.track(track).run(),
        };
        while let Meets::Joint(joint) = station.track(here).meets[end.index()] {
            let next = station.joints[joint.index()]
                .tracks
                .iter()
                .find(|(other, _)| {
                    station.track(*other).usage == TrackUse::Main
                        && chain.iter().all(|link| link.track != *other)
                });
            let Some(&(next, entered)) = next else { break };
            let run = station.track(next).run();
            // Entered by its beginning when going up the chain, it runs the same way.
            let forward = (entered == TrackEnd::From) == (outward == TrackEnd::To);
            let far = if outward == TrackEnd::To {
                place + run
            } else {
                place - run
            };
            let begin = if entered == TrackEnd::From {
                place
            } else {
                far
            };
            chain.push(Link {
                track: next,
                begin,
                forward,
            });
            (here, end, place) = (next, entered.other(), far);
        }
    }
    chain
}

/// A stretch without what lies within `aside` of a point of it.
fn without(piece: Stretch, at: Actual, aside: Actual) -> Vec<Stretch> {
    let (low, high) = (at - aside, at + aside);
    if high <= piece.from || low >= piece.to {
        return vec![piece];
    }
    let mut left = Vec::new();
    if low > piece.from {
        left.push(Stretch {
            from: piece.from,
            to: low,
        });
    }
    if high < piece.to {
        left.push(Stretch {
            from: high,
            to: piece.to,
        });
    }
    left
}
