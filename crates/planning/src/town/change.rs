//! Changes of track: one at a time, made on the compiled town.
//!
//! Lengths added are what a builder would add; where a switch is turned or a second one laid, the few
//! inches by which clearance points move are left as they were.

use engineering::{
    ids::SwitchId,
    station::{Meets, TrackUse},
};
use railroad::Railroad;
use switching::{NodeId, NodeKind, Port, TrackEnd, TrackId};

use super::compile::{CompiledTown, actual, units, usual_car};

/// Units in a foot on the model.
const FOOT: u32 = 120;

/// A change of track.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// In words, as an order to the track gang.
    pub words: String,
    /// What is done.
    what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum What {
    /// These pieces are longer by so much each.
    Lengthen(Vec<TrackId>, u32),
    /// The points of this switch face the other way.
    Turn(NodeId),
    /// The end of a spur joins a piece of the track that it leaves, at its far end.
    Join {
        spur: TrackId,
        end: usize,
        along: TrackId,
        far: usize,
    },
}

/// A kind of change, in one size or several: the smallest first.
pub(crate) type Sizes = Vec<Change>;

/// Changes worth trying at a town.
pub(crate) fn candidates(railroad: &Railroad, town: &CompiledTown) -> Vec<Sizes> {
    let mut all = tails(railroad, town);
    all.extend(run_arounds(railroad, town));
    all.extend(spurs(railroad, town));
    all
}

fn feet(words: impl Fn(&str) -> String, tracks: &[TrackId]) -> Sizes {
    [1, 2, 3]
        .map(|feet| Change {
            words: words(&format!("{feet} ft")),
            what: What::Lengthen(tracks.to_vec(), feet * FOOT),
        })
        .to_vec()
}

/// Room beyond the last switch: toward the open line, and at the ends of leads and tails.
fn tails(railroad: &Railroad, town: &CompiledTown) -> Vec<Sizes> {
    let page = railroad.way.station(town.station);
    let mut all = vec![];
    for exit in town.exits.iter().flatten() {
        let name = &town.town.tracks[exit.track.index()].name;
        all.push(feet(
            |more| format!("{more} more of the open line to use, or of the {name}"),
            &[exit.track],
        ));
    }
    for (id, track) in page.tracks() {
        if !matches!(track.usage, TrackUse::Lead | TrackUse::Tail) {
            continue;
        }
        let last = pieces(town, id).into_iter().rev().find(|&piece| {
            town.town.tracks[piece.index()]
                .ends
                .iter()
                .any(|end| town.town.nodes[end.node.index()].kind == NodeKind::End)
        });
        if let Some(last) = last {
            let name = &track.name.value;
            all.push(feet(|more| format!("{more} more {name}"), &[last]));
        }
    }
    all
}

fn pieces(town: &CompiledTown, track: engineering::ids::TrackId) -> Vec<TrackId> {
    (0..town.track_of.len())
        .filter(|&at| town.track_of[at] == Some(track))
        .map(|at| TrackId(at as u16))
        .collect()
}

fn longest(town: &CompiledTown, pieces: &[TrackId]) -> Option<TrackId> {
    pieces.iter().copied().max_by_key(|piece| {
        (
            town.town.tracks[piece.index()].length,
            std::cmp::Reverse(*piece),
        )
    })
}

/// A run-around or siding and the track beside it, both longer.
fn run_arounds(railroad: &Railroad, town: &CompiledTown) -> Vec<Sizes> {
    let page = railroad.way.station(town.station);
    let mut all = vec![];
    for (id, track) in page.tracks() {
        if !matches!(track.usage, TrackUse::Siding | TrackUse::Runaround) {
            continue;
        }
        let [Meets::Switch(from), Meets::Switch(to)] = track.meets else {
            continue;
        };
        let beside = page.switches[from.index()].track;
        let (Some(beside), true) = (beside, beside == page.switches[to.index()].track) else {
            continue;
        };
        // On the track beside it: the longest piece between the two switches.
        let ends: Vec<NodeId> = [from, to]
            .iter()
            .flat_map(|switch| town.switches[switch.index()].clone())
            .collect();
        let all_beside = pieces(town, beside);
        let touches = |piece: &TrackId| {
            town.town.tracks[piece.index()]
                .ends
                .iter()
                .any(|end| ends.contains(&end.node) && end.port == Port::Points)
        };
        let between: Vec<TrackId> = all_beside
            .into_iter()
            .filter(|piece| {
                !touches(piece) && !town.exits.iter().flatten().any(|exit| exit.track == *piece)
            })
            .collect();
        let (Some(own), Some(other)) = (longest(town, &pieces(town, id)), longest(town, &between))
        else {
            continue;
        };
        let name = &track.name.value;
        all.push(feet(
            |more| format!("the {name} and the track beside it {more} longer"),
            &[own, other],
        ));
    }
    all
}

/// Spurs: longer by a car, turned round, or joined at the other end as well.
fn spurs(railroad: &Railroad, town: &CompiledTown) -> Vec<Sizes> {
    let page = railroad.way.station(town.station);
    let car = units(usual_car(railroad)).div_ceil(10) * 10;
    let mut all = vec![];
    for (id, track) in page.tracks() {
        let stub = match track.meets {
            [Meets::Switch(switch), Meets::Bumper] | [Meets::Bumper, Meets::Switch(switch)] => {
                switch
            }
            _ => continue,
        };
        if !track.usage.holds_cars() || track.usage == TrackUse::Engine {
            continue;
        }
        let name = &track.name.value;
        let own = pieces(town, id);
        let last = own
            .iter()
            .copied()
            .find(|piece| end_of(town, *piece).is_some());
        let Some(last) = last else { continue };
        all.push(vec![Change {
            words: format!(
                "the {name} longer by a car, {}",
                railroad.identity.units.show(actual(car))
            ),
            what: What::Lengthen(vec![last], car),
        }]);
        let Some(node) = single(town, stub) else {
            continue;
        };
        all.push(vec![Change {
            words: format!("the switch of the {name} turned to face the other way"),
            what: What::Turn(node),
        }]);
        if own.len() == 1
            && let Some((along, far)) = beyond(town, node)
            && town.town.tracks[along.index()].length > town.town.tracks[last.index()].length
        {
            all.push(vec![Change {
                words: format!("a second switch, at the other end of the {name}"),
                what: What::Join {
                    spur: last,
                    end: end_of(town, last).unwrap_or(1),
                    along,
                    far,
                },
            }]);
        }
    }
    all
}

/// The node of a switch of two legs.
fn single(town: &CompiledTown, switch: SwitchId) -> Option<NodeId> {
    match town.switches[switch.index()][..] {
        [node] => Some(node),
        _ => None,
    }
}

/// Which end of a piece is an end of track.
fn end_of(town: &CompiledTown, piece: TrackId) -> Option<usize> {
    town.town.tracks[piece.index()]
        .ends
        .iter()
        .position(|end| town.town.nodes[end.node.index()].kind == NodeKind::End)
}

/// The piece on the straight leg of a switch on which cars stand clear of it, and its farther end.
fn beyond(town: &CompiledTown, node: NodeId) -> Option<(TrackId, usize)> {
    let tracks = &town.town.tracks;
    let leg = TrackEnd {
        node,
        port: Port::Normal,
    };
    let find = |wanted: &dyn Fn(TrackEnd) -> bool, not: Option<usize>| {
        (0..tracks.len())
            .filter(|&at| Some(at) != not)
            .find_map(|at| {
                let end = (0..2).find(|&end| wanted(tracks[at].ends[end]))?;
                Some((at, 1 - end))
            })
    };
    let (at, far) = find(&|end| end == leg, None)?;
    let joint = tracks[at].ends[far].node;
    if town.town.nodes[joint.index()].kind != NodeKind::Joint {
        return Some((TrackId(at as u16), far));
    }
    let (next, far) = find(&|end| end.node == joint, Some(at))?;
    Some((TrackId(next as u16), far))
}

impl Change {
    /// Makes the change.
    pub(crate) fn make(&self, town: &mut CompiledTown) {
        match &self.what {
            What::Lengthen(tracks, by) => {
                for track in tracks {
                    town.town.tracks[track.index()].length += by;
                }
            }
            What::Turn(node) => {
                for end in town
                    .town
                    .tracks
                    .iter_mut()
                    .flat_map(|track| &mut track.ends)
                    .filter(|end| end.node == *node)
                {
                    end.port = match end.port {
                        Port::Points => Port::Normal,
                        Port::Normal => Port::Points,
                        other => other,
                    };
                }
            }
            What::Join {
                spur,
                end,
                along,
                far,
            } => join(town, *spur, *end, *along, *far),
        }
    }
}

/// Parts the track `along` abreast of the end of a spur, and joins both to a new switch there.
fn join(town: &mut CompiledTown, spur: TrackId, end: usize, along: TrackId, far: usize) {
    let node = town.town.tracks[spur.index()].ends[end].node;
    town.town.nodes[node.index()].kind = NodeKind::Switch { by_hand: true };
    town.town.nodes[node.index()].name =
        format!("new switch of the {}", town.town.tracks[spur.index()].name);
    town.town.tracks[spur.index()].ends[end].port = Port::Reverse;
    let near = town.town.tracks[spur.index()].length;
    let old = town.town.tracks[along.index()].clone();
    let rest = old.length - near.min(old.length);
    let beyond = old.ends[far];
    let name = format!("{} beyond the new switch", old.name);
    town.town.tracks[along.index()].length = near;
    town.town.tracks[along.index()].ends[far] = TrackEnd {
        node,
        port: Port::Normal,
    };
    let made = town.town.track(
        &name,
        (node, Port::Points),
        (beyond.node, beyond.port),
        rest,
    );
    if old.main {
        town.town.main(made);
    }
    town.track_of.push(town.track_of[along.index()]);
    for exit in town.exits.iter_mut().flatten() {
        if exit.track == along {
            exit.track = made;
            exit.inner = node;
        }
    }
    // Rows that ran along the parted track run along both parts; what was that track alone is its
    // near part.
    let rows: Vec<usize> = (0..town.town.places.len())
        .filter(|&at| {
            let tracks = &town.town.places[at].tracks;
            tracks.len() > 1 && tracks.contains(&along)
        })
        .collect();
    for at in rows {
        let tracks = &mut town.town.places[at].tracks;
        let Some(position) = tracks.iter().position(|&track| track == along) else {
            continue;
        };
        // The new part comes after the old one if the row goes on there by the far end.
        let after = tracks.get(position + 1).is_some_and(|next| {
            town.town.tracks[next.index()]
                .ends
                .iter()
                .any(|end| end.node == beyond.node)
        });
        let before = position
            .checked_sub(1)
            .and_then(|before| tracks.get(before))
            .is_some_and(|last| {
                town.town.tracks[last.index()]
                    .ends
                    .iter()
                    .any(|end| end.node == beyond.node)
            });
        if after {
            tracks.insert(position + 1, made);
        } else if before {
            tracks.insert(position, made);
        }
        // A row that ends with the parted track ends with its near part.
    }
}
