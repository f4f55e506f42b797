//! Finding a plan and proving how good it is.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::bound::Bounds;
use super::step::Stepper;
use super::store::Store;

const NONE: u32 = u32::MAX;

/// What a search has to say when it ends.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// States from the start to a goal, if any, with their total cost.
    pub best: Option<(u32, Vec<Vec<u8>>)>,
    /// No plan costs less. `u32::MAX` if there is none at all.
    pub bound: u32,
    /// States generated.
    pub nodes: u64,
}

struct Tree {
    store: Store,
    cost: Vec<u32>,
    parent: Vec<u32>,
}

impl Tree {
    fn new(stride: usize) -> Self {
        Self { store: Store::new(stride), cost: vec![], parent: vec![] }
    }

    /// Adds or improves a state; its number if that changed anything.
    fn offer(&mut self, state: &[u8], cost: u32, parent: u32) -> Option<usize> {
        let (no, new) = self.store.add(state);
        if new {
            self.cost.push(cost);
            self.parent.push(parent);
            Some(no)
        } else if cost < self.cost[no] {
            self.cost[no] = cost;
            self.parent[no] = parent;
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

/// Keeps the most promising states of each depth only: quick, and no proof.
pub(crate) fn beam(
    s: &mut Stepper,
    bounds: &Bounds,
    width: usize,
    limit: u32,
    budget: u64,
    nodes: &mut u64,
    stop: &dyn Fn() -> bool,
) -> Option<(u32, Vec<Vec<u8>>)> {
    let start = s.start_state();
    let mut tree = Tree::new(s.stride());
    tree.offer(&start, 0, NONE);
    if s.is_goal(&start) {
        return Some((0, vec![start]));
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
            s.successors(&state, cost, &mut |s, succ, c, _| {
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
                let Some(no) = tree.offer(succ, total, at as u32) else { return };
                if s.is_goal(succ) {
                    if best.is_none_or(|(b, _)| total < b) {
                        best = Some((total, no));
                        limit = total;
                    }
                } else if no == before {
                    next.push((total + left.guide, left.guide, no));
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
    budget: u64,
    nodes: &mut u64,
    stop: &dyn Fn() -> bool,
) -> Found {
    let start = s.start_state();
    let mut tree = Tree::new(s.stride());
    tree.offer(&start, 0, NONE);
    let mut limit = upper.unwrap_or(u32::MAX);
    let mut proven = 0;
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
            return Found { best, bound: limit, nodes: *nodes };
        }
        let state = tree.store.get(at).to_vec();
        if s.is_goal(&state) {
            return Found { best: Some((g, tree.trail(at))), bound: g, nodes: *nodes };
        }
        if *nodes >= budget || stop() {
            return Found { best, bound: proven, nodes: *nodes };
        }
        s.successors(&state, g, &mut |s, succ, c, _| {
            *nodes += 1;
            let total = g + c;
            if total >= limit {
                return;
            }
            let Some(no) = tree.offer(succ, total, at as u32) else { return };
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
    Found { best, bound: limit, nodes: *nodes }
}
