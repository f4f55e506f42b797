//! Cheapest runs between positions: Dijkstra's algorithm over the points where a train can stop
//! and change from one path to another.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use super::map::{Map, Term};
use super::problem::{Problem, rev};
use super::state::{Pos, rest};
use crate::rates::{Effort, Rates};

struct Node {
    pos: Pos,
    cost: u32,
    effort: Effort,
    prev: Option<usize>,
    /// On the previous node's path, where the train stopped to change over.
    stopped: u32,
}

/// Everything reachable from one position.
pub(crate) struct Reach {
    nodes: Vec<Node>,
    /// Nodes on each (path, way round).
    on: HashMap<(u16, bool), Vec<usize>>,
    paths: Vec<(u16, bool)>,
    length: u32,
    rates: Rates,
}

/// One slide of the train along a path.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Slide {
    pub path: u16,
    pub o: bool,
    pub from: u32,
    pub to: u32,
}

/// Distance from the start of a path (its rest included) of every hand-thrown switch that the path
/// passes on its reverse leg.
fn reversed_switches(p: &Problem, map: &Map, rests: &[[u32; 2]], path: u16) -> Vec<u32> {
    let q = &map.paths[path as usize];
    let out = |t: Term| t.face().map(|(i, e)| p.places[i].out(e as u8));
    let mut line: Vec<(u16, u32)> = vec![];
    if let Some(h) = out(q.start) {
        line.push((h, rest(rests, q.start)));
    }
    line.extend(q.halves.iter().map(|&h| (h, p.half_len(h))));
    if let Some(h) = out(q.end) {
        line.push((rev(h), 0));
    }
    let mut at = 0;
    let mut found = vec![];
    for w in line.windows(2) {
        at += w[0].1;
        if p.reverse_head[w[0].0 as usize] || p.reverse_head[rev(w[1].0) as usize] {
            found.push(at);
        }
    }
    found
}

/// What one slide costs: a start, the distance, and every reversed switch lined or restored.
pub(crate) fn slide_effort(switches: &[u32], length: u32, from: u32, to: u32) -> Effort {
    if from == to {
        return Effort::default();
    }
    let throws = |y: u32| {
        if to > from {
            u32::from(from + length <= y && y < to + length) + u32::from(from < y && y <= to)
        } else {
            u32::from(to < y && y <= from) + u32::from(to + length <= y && y < from + length)
        }
    };
    Effort {
        run: from.abs_diff(to),
        starts: 1,
        throws: switches.iter().map(|&y| throws(y)).sum(),
        ..Effort::default()
    }
}

pub(crate) fn reach(
    p: &Problem,
    map: &Map,
    rests: &[[u32; 2]],
    length: u32,
    from: Pos,
    rates: &Rates,
) -> Reach {
    let mut nodes = vec![Node {
        pos: from,
        cost: 0,
        effort: Effort::default(),
        prev: None,
        stopped: 0,
    }];
    let mut best: HashMap<Pos, u32> = HashMap::from([(from, 0)]);
    let mut heap = BinaryHeap::from([Reverse((0u32, 0usize))]);
    let mut on: HashMap<(u16, bool), Vec<usize>> = HashMap::new();
    let mut paths = vec![];
    let mut switches: HashMap<u16, Vec<u32>> = HashMap::new();
    let offset = |path: u16, i: u16| -> u32 {
        let q = &map.paths[path as usize];
        rest(rests, q.start)
            + q.halves[..i as usize]
                .iter()
                .map(|&h| p.half_len(h))
                .sum::<u32>()
    };
    while let Some(Reverse((cost, at))) = heap.pop() {
        let pos = nodes[at].pos;
        if best.get(&pos).is_some_and(|&b| b < cost) {
            continue;
        }
        let list = on.entry((pos.path, pos.o)).or_default();
        if list.is_empty() {
            paths.push((pos.path, pos.o));
        }
        if list.iter().any(|&i: &usize| nodes[i].pos == pos) {
            continue;
        }
        list.push(at);
        let sw = switches
            .entry(pos.path)
            .or_insert_with(|| reversed_switches(p, map, rests, pos.path))
            .clone();
        for s in &map.shares[pos.path as usize] {
            let extra = s.face.map_or(0, |(i, e)| rests[i as usize][e as usize]);
            let run = s.len + extra;
            if run < length {
                continue;
            }
            // Where the run begins here and there; a rest at the start of a path belongs to it.
            let here = &map.paths[pos.path as usize];
            let there = &map.paths[s.other as usize];
            let begins = |path: &super::map::Path, no: u16, i: u16| {
                let face = s.face.is_some_and(|(q, e)| path.start == Term::Face(q, e));
                if i == 0 && face { 0 } else { offset(no, i) }
            };
            let s0 = begins(here, pos.path, s.here.0);
            let t0 = begins(there, s.other, s.there.0);
            let mut stops = vec![s0, s0 + run - length];
            if pos.x >= s0 && pos.x + length <= s0 + run {
                stops.push(pos.x);
            }
            stops.sort_unstable();
            stops.dedup();
            for x in stops {
                let e = slide_effort(&sw, length, pos.x, x);
                let c = cost + if x == pos.x { 0 } else { rates.hundredths(&e) };
                let x2 = if s.flip {
                    t0 + (s0 + run - length - x)
                } else {
                    t0 + (x - s0)
                };
                let to = Pos {
                    path: s.other,
                    o: pos.o ^ s.flip,
                    x: x2,
                };
                if best.get(&to).is_none_or(|&b| c < b) {
                    best.insert(to, c);
                    nodes.push(Node {
                        pos: to,
                        cost: c,
                        effort: nodes[at].effort + e,
                        prev: Some(at),
                        stopped: x,
                    });
                    heap.push(Reverse((c, nodes.len() - 1)));
                }
            }
        }
    }
    Reach {
        nodes,
        on,
        paths,
        length,
        rates: rates.clone(),
    }
}

impl Reach {
    pub fn paths(&self) -> &[(u16, bool)] {
        &self.paths
    }

    pub fn paths_into(&self, out: &mut Vec<(u16, bool)>) {
        out.clear();
        out.extend_from_slice(&self.paths);
    }

    fn best(
        &self,
        p: &Problem,
        map: &Map,
        rests: &[[u32; 2]],
        to: Pos,
    ) -> Option<(usize, u32, Effort)> {
        let list = self.on.get(&(to.path, to.o))?;
        let sw = reversed_switches(p, map, rests, to.path);
        list.iter()
            .map(|&i| {
                let n = &self.nodes[i];
                let e = slide_effort(&sw, self.length, n.pos.x, to.x);
                let c = n.cost
                    + if n.pos.x == to.x {
                        0
                    } else {
                        self.rates.hundredths(&e)
                    };
                (i, c, n.effort + e)
            })
            .min_by_key(|x| (x.1, x.0))
    }

    /// Cost in hundredths and effort of the cheapest run to a position.
    pub fn cost_to(
        &self,
        p: &Problem,
        map: &Map,
        rests: &[[u32; 2]],
        to: Pos,
    ) -> Option<(u32, Effort)> {
        self.best(p, map, rests, to).map(|(_, c, e)| (c, e))
    }

    /// The slides of that run.
    pub fn slides_to(
        &self,
        p: &Problem,
        map: &Map,
        rests: &[[u32; 2]],
        to: Pos,
    ) -> Option<Vec<Slide>> {
        let (mut at, _, _) = self.best(p, map, rests, to)?;
        let mut out = vec![];
        let mut end = to.x;
        loop {
            let n = &self.nodes[at];
            if n.pos.x != end {
                out.push(Slide {
                    path: n.pos.path,
                    o: n.pos.o,
                    from: n.pos.x,
                    to: end,
                });
            }
            match n.prev {
                Some(prev) => {
                    end = n.stopped;
                    at = prev;
                }
                None => break,
            }
        }
        out.reverse();
        Some(out)
    }
}
