//! Wyes, loops and whatever else brings a train back on the same track the other way round.
//!
//! Along any chain of tracks the two rails keep their sides. Where tracks close a ring in which the
//! left rail comes back as the right one, the rails must be parted by gaps and a stretch between them
//! fed by a reversing switch, or the ring is a short circuit. Such rings are found by giving every
//! piece of track a direction, outward from any one of them, and noting where two directions clash:
//! in proportion to the size of the network.

use super::{EdgeId, Network, NodeId, Run};
use crate::ids::TrackRef;

/// A ring of tracks that brings a train back the other way round.
#[derive(Debug, Clone, PartialEq)]
pub struct Reversing {
    /// The pieces around the ring, in order.
    pub ring: Vec<EdgeId>,
    /// Where the clash was noted.
    pub node: NodeId,
}

impl Network {
    /// Rings that reverse, when the tracks of which `cut` says so are taken out, as reversing sections
    /// are. There is one for each clash, so none if and only if no ring reverses; whether some
    /// reversing sections are enough is asked by cutting just those.
    pub fn reversing(&self, cut: impl Fn(&super::Edge) -> bool) -> Vec<Reversing> {
        let mut label: Vec<Option<bool>> = vec![None; self.edges.len()];
        let mut parent: Vec<Option<(EdgeId, NodeId)>> = vec![None; self.edges.len()];
        let mut rings = Vec::new();
        let skip: Vec<bool> = self.edges.iter().map(&cut).collect();
        for start in 0..self.edges.len() {
            if label[start].is_some() || skip[start] {
                continue;
            }
            label[start] = Some(true);
            let mut queue = std::collections::VecDeque::from([EdgeId(start as u32)]);
            while let Some(edge) = queue.pop_front() {
                let along = label[edge.0 as usize].unwrap_or(true);
                for forward in [true, false] {
                    let run = Run { edge, forward };
                    let (node, _) = self.head(run);
                    for next in self.next(run) {
                        let at = next.edge.0 as usize;
                        if skip[at] {
                            continue;
                        }
                        // Going on in the same sense, the next edge is labelled likewise if it is
                        // entered in the direction in which this one is left.
                        let wanted = along == (forward == next.forward);
                        match label[at] {
                            None => {
                                label[at] = Some(wanted);
                                parent[at] = Some((edge, node));
                                queue.push_back(next.edge);
                            }
                            // Each clash is met from both sides; one is enough.
                            Some(other) if other != wanted && edge <= next.edge => {
                                rings.push(Reversing {
                                    ring: ring(&parent, edge, next.edge),
                                    node,
                                });
                            }
                            Some(_) => {}
                        }
                    }
                }
            }
        }
        // A ring noted at two nodes of one edge, or an edge that meets itself, is noted once.
        rings.sort_by(|a, b| (a.node, &a.ring).cmp(&(b.node, &b.ring)));
        rings.dedup();
        rings
    }

    /// The tracks of a ring, each once, in its order.
    pub fn ring_tracks(&self, ring: &Reversing) -> Vec<TrackRef> {
        let mut tracks: Vec<TrackRef> = Vec::new();
        for &edge in &ring.ring {
            if let Some(track) = self.edge(edge).track()
                && !tracks.contains(&track)
            {
                tracks.push(track);
            }
        }
        tracks
    }
}

/// The tree's path between two edges.
fn ring(parent: &[Option<(EdgeId, NodeId)>], a: EdgeId, b: EdgeId) -> Vec<EdgeId> {
    let up = |mut edge: EdgeId| {
        let mut path = vec![edge];
        while let Some((above, _)) = parent[edge.0 as usize] {
            path.push(above);
            edge = above;
        }
        path
    };
    let (mut left, mut right) = (up(a), up(b));
    // Cut the common stem but for its last edge.
    while left.len() > 1 && right.len() > 1 && left[left.len() - 2] == right[right.len() - 2] {
        left.pop();
        right.pop();
    }
    if left.last() == right.last() {
        right.pop();
    }
    right.reverse();
    left.extend(right);
    left
}
