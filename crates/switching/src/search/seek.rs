//! Finding a plan and proving how good it is.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::bound::Bounds;
use super::state::{Kind, Op, Stepper, Via};
use super::store::Store;

const NONE: u32 = u32::MAX;

/// What a search has to say when it ends.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// States from the start to a goal, if any, with their total cost.
    pub best: Option<(u32, Vec<Vec<u8>>)>,
    /// No plan costs less. `u32::MAX` if there is none at all.
    pub bound: u32,
}

/// The site of a coupling or set-out.
fn site(op: Op) -> Option<Via> {
    matches!(op.kind, Kind::Couple | Kind::SetOut).then_some((op.place, op.end, op.side, op.after))
}

struct Tree {
    store: Store,
    cost: Vec<u32>,
    parent: Vec<u32>,
    /// The site of the move that led here.
    via: Vec<Option<Via>>,
}

impl Tree {
    fn new(stride: usize) -> Self {
        Self {
            store: Store::new(stride),
            cost: vec![],
            parent: vec![],
            via: vec![],
        }
    }

    /// Adds or improves a state; its number if that changed anything.
    fn offer(&mut self, state: &[u8], cost: u32, parent: u32, via: Option<Via>) -> Option<usize> {
        let (no, new) = self.store.add(state);
        if new {
            self.cost.push(cost);
            self.parent.push(parent);
            self.via.push(via);
            Some(no)
        } else if cost < self.cost[no] {
            self.cost[no] = cost;
            self.parent[no] = parent;
            self.via[no] = via;
            Some(no)
        } else {
            None
        }
    }

    fn trail(&self, mut at: usize) -> Vec<Vec<u8>> {
        let mut out = vec![self.store.get(at).to_vec()];
        while self.parent[at] != NONE {
            at = self.parent[at] as usize;
            out.push(self.store.get(at).to_vec());
        }
        out.reverse();
        out
    }
}

/// Where a beam begins: a state and what it has cost so far.
pub(crate) struct Origin<'a> {
    pub state: &'a [u8],
    pub cost: u32,
}

/// Keeps the most promising states of each depth only: quick, and no proof. The cost found counts
/// from the very beginning, the states from where the beam began.
#[allow(clippy::too_many_arguments)] // the knobs of a search, all different
pub(crate) fn beam(
    s: &mut Stepper,
    bounds: &Bounds,
    from: &Origin<'_>,
    width: usize,
    limit: u32,
    budget: u64,
    nodes: &mut u64,
    stop: &dyn Fn() -> bool,
) -> Option<(u32, Vec<Vec<u8>>)> {
    let mut tree = Tree::new(s.stride());
    tree.offer(from.state, from.cost, NONE, None);
    if s.is_goal(from.state) {
        return Some((from.cost, vec![from.state.to_vec()]));
    }
    let mut layer = vec![0usize];
    let mut best: Option<(u32, usize)> = None;
    let mut limit = limit;
    for _ in 0..400 {
        let mut next: Vec<(u32, u32, usize)> = vec![];
        for &at in &layer {
            if *nodes >= budget || stop() {
                return best.map(|(c, i)| (c, tree.trail(i)));
            }
            let state = tree.store.get(at).to_vec();
            let cost = tree.cost[at];
            s.skip = tree.via[at];
            s.successors(&state, cost, &mut |s, succ, c, op| {
                *nodes += 1;
                let total = cost + c;
                if total >= limit {
                    return;
                }
                let left = bounds.left(s, succ);
                if total.saturating_add(left.bound) >= limit {
                    return;
                }
                let before = tree.store.len();
                let Some(no) = tree.offer(succ, total, at as u32, site(op)) else {
                    return;
                };
                if s.is_goal(succ) {
                    if best.is_none_or(|(b, _)| total < b) {
                        best = Some((total, no));
                        limit = total;
                    }
                } else if no == before {
                    // Time spent waiting is no sign of a bad plan: what counts is the work left.
                    let since = total.saturating_sub(s.resumed(succ));
                    next.push((4 * since + left.guide, left.guide, no));
                }
            });
        }
        next.sort_unstable();
        next.truncate(width);
        layer = next.into_iter().map(|x| x.2).collect();
        if layer.is_empty() {
            break;
        }
    }
    best.map(|(c, i)| (c, tree.trail(i)))
}

/// A*: the first goal taken from the queue is best; at any time no plan costs less than the least
/// f in the queue.
pub(crate) fn astar(
    s: &mut Stepper,
    bounds: &Bounds,
    upper: Option<u32>,
    proven: u32,
    budget: u64,
    nodes: &mut u64,
    stop: &dyn Fn() -> bool,
) -> Found {
    let start = s.start_state();
    let mut tree = Tree::new(s.stride());
    tree.offer(&start, 0, NONE, None);
    let mut limit = upper.unwrap_or(u32::MAX);
    let mut proven = proven;
    if proven >= limit {
        return Found {
            best: None,
            bound: limit,
        };
    }
    // Least f first, then the deepest, then the oldest.
    let mut heap = BinaryHeap::new();
    heap.push((Reverse(bounds.left(s, &start).bound), 0u32, Reverse(0usize)));
    let mut best = None;
    while let Some((Reverse(f), g, Reverse(at))) = heap.pop() {
        if tree.cost[at] != g {
            continue;
        }
        proven = proven.max(f);
        if proven >= limit {
            return Found { best, bound: limit };
        }
        let state = tree.store.get(at).to_vec();
        if s.is_goal(&state) {
            return Found {
                best: Some((g, tree.trail(at))),
                bound: g,
            };
        }
        if *nodes >= budget || stop() {
            return Found {
                best,
                bound: proven,
            };
        }
        s.skip = tree.via[at];
        s.successors(&state, g, &mut |s, succ, c, op| {
            *nodes += 1;
            let total = g + c;
            if total >= limit {
                return;
            }
            let Some(no) = tree.offer(succ, total, at as u32, site(op)) else {
                return;
            };
            if s.is_goal(succ) {
                limit = total;
                best = Some((total, tree.trail(no)));
                return;
            }
            // A bound that falls along the way is mended by its parent's.
            let h = bounds.left(s, succ).bound;
            let f2 = (total + h).max(f);
            if f2 < limit {
                heap.push((Reverse(f2), total, Reverse(no)));
            }
        });
    }
    // Everything below the limit was looked at.
    Found { best, bound: limit }
}

/// Breadth-first from both ends, which works because every coupling can be undone by a set-out
/// and the other way round. When both have been searched to depths a and b without meeting, no
/// plan has a + b moves or fewer.
pub(crate) fn both_ends(
    s: &mut Stepper,
    bounds: &Bounds,
    goals: &[Vec<u8>],
    budget: u64,
    nodes: &mut u64,
    stop: &dyn Fn() -> bool,
) -> Found {
    let start = s.start_state();
    let mut trees = [Tree::new(s.stride()), Tree::new(s.stride())];
    trees[0].offer(&start, 0, NONE, None);
    if s.is_goal(&start) {
        return Found {
            best: Some((0, vec![start])),
            bound: 0,
        };
    }
    for g in goals {
        trees[1].offer(g, 0, NONE, None);
    }
    let mut depth = [0u32, 0];
    let mut from = [0usize, 0];
    let root = bounds.left(s, &start).bound;
    loop {
        let proven = (depth[0] + depth[1] + 1).max(root);
        // Grow the smaller edge; the start must be left once before going backwards matters.
        let edge = [0, 1].map(|i| trees[i].store.len() - from[i]);
        if edge.contains(&0) {
            // Everything on one side was looked at.
            return Found {
                best: None,
                bound: u32::MAX,
            };
        }
        let side = usize::from(depth[0] > 0 && edge[1] < edge[0]);
        let until = trees[side].store.len();
        let mut met: Option<(usize, usize)> = None;
        for at in from[side]..until {
            if *nodes >= budget || stop() {
                return Found {
                    best: None,
                    bound: proven,
                };
            }
            let state = trees[side].store.get(at).to_vec();
            s.skip = trees[side].via[at];
            s.successors(&state, 0, &mut |_, succ, _, op| {
                *nodes += 1;
                if met.is_some() {
                    return;
                }
                let there = trees[1 - side].store.find(succ);
                let Some(no) = trees[side].offer(succ, depth[side] + 1, at as u32, site(op)) else {
                    return;
                };
                if let Some(there) = there {
                    met = Some((no, there));
                }
            });
            if let Some((here, there)) = met {
                let (f, b) = if side == 0 {
                    (here, there)
                } else {
                    (there, here)
                };
                let mut states = trees[0].trail(f);
                states.extend(trees[1].trail(b).into_iter().rev().skip(1));
                let cost = depth[0] + depth[1] + 1;
                return Found {
                    best: Some((cost, states)),
                    bound: cost,
                };
            }
        }
        from[side] = until;
        depth[side] += 1;
    }
}
