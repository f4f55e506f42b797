//! From a [`Problem`] to the flat arrays the search works on.
//!
//! Operations of all trains are numbered in one row, train after train, each train in a topological
//! order, so that of two operations on one path the smaller number comes first.

use std::collections::BTreeMap;

use super::cost::CostFn;
use crate::Problem;

/// "Never": the start of an operation that is not on the path. Large, but far from overflow.
pub(super) const INF: i64 = i64::MAX / 4;

/// Addition that leaves "never" alone.
pub(super) fn plus(a: i64, b: i64) -> i64 {
    if a >= INF || b >= INF { INF } else { a + b }
}

/// A maximal run of one train's operations that hold one resource: on every path its operations
/// follow each other without a gap, so the train holds the resource once.
#[derive(Debug, Clone)]
pub(super) struct Zone {
    pub train: u32,
    pub resource: u32,
    /// Its number of operations.
    pub size: u32,
    /// Operations with a predecessor outside (or none): the holding starts with one of these.
    pub entries: Vec<u32>,
    /// Operations whose end (plus release time) can be the last thing to wait for.
    pub exits: Vec<(u32, i64)>,
}

/// A stay of one train, surely on its path, at a place with a choice of tracks, each one resource; or
/// at a place where others have that choice.
#[derive(Debug, Clone)]
pub(super) struct Visit {
    pub train: u32,
    /// The operation whose start begins the stay, and the one whose start ends it.
    pub start: u32,
    pub end: u32,
    pub tracks: Vec<Track>,
    /// The release time that follows whatever the track.
    pub release: i64,
}

/// One way to spend a stay.
#[derive(Debug, Clone, Copy)]
pub(super) struct Track {
    pub operation: u32,
    pub zone: u32,
    pub resource: u32,
    pub release: i64,
}

/// An arc of a train's graph that skips operations which also lie between its two ends. It is
/// usable only while none of them is on the path.
#[derive(Debug, Clone, Default)]
pub(super) struct Arc {
    pub from: u32,
    pub to: u32,
    pub between: Vec<u32>,
}

/// The flat problem.
#[derive(Debug, Clone, Default)]
pub(super) struct Model {
    /// Number of operations (real and virtual).
    pub n: usize,
    pub train: Vec<u32>,
    /// Operation index in the problem's train, `None` for a virtual one.
    pub original: Vec<Option<u32>>,
    pub range: Vec<(u32, u32)>,
    pub dur: Vec<i64>,
    pub max_dur: Vec<i64>,
    pub lb: Vec<i64>,
    pub ub: Vec<i64>,
    pub mandatory: Vec<bool>,
    /// Arc numbers.
    pub succ: Vec<Vec<u32>>,
    pub pred: Vec<Vec<u32>>,
    pub arcs: Vec<Arc>,
    /// Arcs that skip this operation.
    pub arcs_over: Vec<Vec<u32>>,
    /// Operations that cannot share a path with this one.
    pub incompatible: Vec<Vec<u32>>,
    pub zones: Vec<Zone>,
    pub visits: Vec<Visit>,
    /// Visits whose tracks are shared, directly or through others.
    pub pools: Vec<Vec<u32>>,
    /// The pool of each visit, and the visits of each train.
    pub pool_of: Vec<u32>,
    pub visits_of: Vec<Vec<u32>>,
    /// Number of the visit a zone is a track of.
    pub visit_of_zone: Vec<Option<u32>>,
    /// How many visits may use a resource.
    pub demand: Vec<u32>,
    /// (zone, release time) of each operation.
    pub holds: Vec<Vec<(u32, i64)>>,
    pub resources: usize,
    /// Cost of the start of an operation, per rank.
    pub costs: Vec<(u32, u8, CostFn)>,
    pub any_max_dur: bool,
}

/// Why a problem cannot be worked on by this engine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Unsuited {
    /// A delay term rewards lateness.
    NegativeCost,
    /// A train's graph has a cycle, several entries or exits, or an index out of range.
    Malformed,
}

/// Rank, threshold, coefficient, increment.
type Term = (u8, i64, i64, i64);

/// One train's graph before numbering.
struct Graph {
    original: Vec<Option<u32>>,
    succ: Vec<Vec<usize>>,
    pred: Vec<Vec<usize>>,
    terms: Vec<Vec<Term>>,
}

impl Model {
    pub fn new(p: &Problem) -> Result<Model, Unsuited> {
        if p.objective.iter().any(|t| t.coeff < 0 || t.increment < 0) {
            return Err(Unsuited::NegativeCost);
        }
        let mut terms: Vec<BTreeMap<usize, Vec<Term>>> = vec![BTreeMap::new(); p.trains.len()];
        for t in &p.objective {
            if t.train >= p.trains.len() || t.operation >= p.trains[t.train].operations.len() {
                return Err(Unsuited::Malformed);
            }
            terms[t.train].entry(t.operation).or_default().push((
                t.rank,
                t.threshold,
                t.coeff,
                t.increment,
            ));
        }
        let mut m = Model {
            resources: p.resources.len(),
            ..Model::default()
        };
        for (ti, terms) in terms.iter().enumerate() {
            m.add_train(p, ti, terms)?;
        }
        m.n = m.train.len();
        // No start of a left-shifted plan lies beyond this: a longest path visits each operation once.
        let mut horizon = m.lb.iter().copied().max().unwrap_or(0);
        for o in 0..m.n {
            horizon += m.dur[o] + m.holds[o].iter().map(|h| h.1).max().unwrap_or(0) + 1;
        }
        for u in &mut m.ub {
            *u = (*u).min(horizon);
        }
        m.add_visits();
        m.any_max_dur = m.max_dur.iter().any(|d| *d < INF);
        Ok(m)
    }

    fn add_train(
        &mut self,
        p: &Problem,
        ti: usize,
        terms: &BTreeMap<usize, Vec<Term>>,
    ) -> Result<(), Unsuited> {
        let ops = &p.trains[ti].operations;
        let base = self.train.len();
        if ops.is_empty() {
            self.range.push((base as u32, base as u32));
            return Ok(());
        }
        let g = Graph::new(p, ti, terms)?;
        if g.pred.iter().filter(|q| q.is_empty()).count() != 1
            || g.succ.iter().filter(|s| s.is_empty()).count() != 1
        {
            return Err(Unsuited::Malformed);
        }
        // With one entry and one exit every operation lies on a path.
        let order = g.topological().ok_or(Unsuited::Malformed)?;
        let mut number = vec![usize::MAX; g.original.len()];
        for (i, o) in order.iter().enumerate() {
            number[*o] = i;
        }
        let k = order.len();
        // Reachability, as bit rows.
        let words = k.div_ceil(64);
        let mut reach = vec![0u64; k * words];
        for i in (0..k).rev() {
            for s in &g.succ[order[i]] {
                let j = number[*s];
                if j == usize::MAX {
                    continue;
                }
                reach[i * words + j / 64] |= 1 << (j % 64);
                for w in 0..words {
                    let x = reach[j * words + w];
                    reach[i * words + w] |= x;
                }
            }
        }
        let reaches = |i: usize, j: usize| reach[i * words + j / 64] >> (j % 64) & 1 == 1;
        let mut jumped = vec![false; k];
        for (i, o) in order.iter().copied().enumerate() {
            self.train.push(ti as u32);
            self.original.push(g.original[o]);
            match g.original[o] {
                Some(x) => {
                    let op = &ops[x as usize];
                    self.dur.push(op.min_duration);
                    self.max_dur.push(op.max_duration.unwrap_or(INF));
                    self.lb.push(op.start_lb);
                    self.ub.push(op.start_ub.unwrap_or(INF));
                }
                None => {
                    self.dur.push(0);
                    self.max_dur.push(0);
                    let first = g.succ[o].iter().filter_map(|s| g.original[*s]);
                    self.lb
                        .push(first.map(|x| ops[x as usize].start_lb).min().unwrap_or(0));
                    self.ub.push(INF);
                }
            }
            self.holds.push(Vec::new());
            self.succ.push(Vec::new());
            self.pred.push(Vec::new());
            self.arcs_over.push(Vec::new());
            let mut f: BTreeMap<u8, CostFn> = BTreeMap::new();
            for (rank, threshold, coeff, increment) in &g.terms[o] {
                f.entry(*rank)
                    .or_default()
                    .add(*threshold, *coeff, *increment);
            }
            for (rank, f) in f {
                if !f.is_zero() {
                    self.costs.push(((base + i) as u32, rank, f));
                }
            }
            self.incompatible.push(
                (0..k)
                    .filter(|j| *j != i && !reaches(i, *j) && !reaches(*j, i))
                    .map(|j| (base + j) as u32)
                    .collect(),
            );
        }
        for i in 0..k {
            let mut next: Vec<usize> = g.succ[order[i]]
                .iter()
                .map(|s| number[*s])
                .filter(|j| *j != usize::MAX)
                .collect();
            next.sort_unstable();
            next.dedup();
            for j in next {
                let between: Vec<u32> = (i + 1..j)
                    .filter(|z| reaches(i, *z) && reaches(*z, j))
                    .map(|z| (base + z) as u32)
                    .collect();
                for b in &mut jumped[i + 1..j] {
                    *b = true;
                }
                let a = self.arcs.len() as u32;
                for z in &between {
                    self.arcs_over[*z as usize].push(a);
                }
                self.succ[base + i].push(a);
                self.pred[base + j].push(a);
                self.arcs.push(Arc {
                    from: (base + i) as u32,
                    to: (base + j) as u32,
                    between,
                });
            }
        }
        self.mandatory.extend(jumped.iter().map(|j| !j));
        self.range.push((base as u32, (base + k) as u32));
        self.add_zones(p, ti, base, k, &reaches);
        Ok(())
    }

    fn add_zones(
        &mut self,
        p: &Problem,
        ti: usize,
        base: usize,
        k: usize,
        reaches: &dyn Fn(usize, usize) -> bool,
    ) {
        let mut by: BTreeMap<usize, Vec<(usize, i64)>> = BTreeMap::new();
        for i in 0..k {
            let Some(x) = self.original[base + i] else {
                continue;
            };
            let mut held: BTreeMap<usize, i64> = BTreeMap::new();
            for u in &p.trains[ti].operations[x as usize].resources {
                let r = held.entry(u.resource).or_insert(0);
                *r = (*r).max(u.release_time);
            }
            for (r, rel) in held {
                by.entry(r).or_default().push((i, rel));
            }
        }
        for (r, users) in by {
            // Components joined by arcs.
            let mut comp: Vec<usize> = (0..users.len()).collect();
            let mut at = BTreeMap::new();
            for (x, (i, _)) in users.iter().enumerate() {
                at.insert(*i, x);
            }
            for (x, (i, _)) in users.iter().enumerate() {
                for a in &self.succ[base + i] {
                    let j = self.arcs[*a as usize].to as usize - base;
                    if let Some(y) = at.get(&j) {
                        let (from, to) = (comp[*y].max(comp[x]), comp[*y].min(comp[x]));
                        for c in &mut comp {
                            if *c == from {
                                *c = to;
                            }
                        }
                    }
                }
            }
            let mut groups: BTreeMap<usize, Vec<(usize, i64)>> = BTreeMap::new();
            for (x, c) in comp.iter().enumerate() {
                groups.entry(*c).or_default().push(users[x]);
            }
            for group in groups.into_values() {
                let inside = |z: usize| group.iter().any(|g| g.0 == z);
                let convex = (0..k).all(|z| {
                    inside(z)
                        || !(group.iter().any(|g| reaches(g.0, z))
                            && group.iter().any(|g| reaches(z, g.0)))
                });
                if convex {
                    self.add_zone(ti, r, base, &group);
                } else {
                    for g in &group {
                        self.add_zone(ti, r, base, &[*g]);
                    }
                }
            }
        }
    }

    fn add_zone(&mut self, ti: usize, r: usize, base: usize, group: &[(usize, i64)]) {
        let z = self.zones.len() as u32;
        let rel = |o: u32| group.iter().find(|g| base + g.0 == o as usize).map(|g| g.1);
        let mut entries = Vec::new();
        let mut exits = Vec::new();
        for (i, release) in group {
            let o = (base + i) as u32;
            self.holds[o as usize].push((z, *release));
            let preds = &self.pred[o as usize];
            if preds.is_empty()
                || preds
                    .iter()
                    .any(|a| rel(self.arcs[*a as usize].from).is_none())
            {
                entries.push(o);
            }
            let succs = &self.succ[o as usize];
            let last = succs.is_empty()
                || succs.iter().any(|a| {
                    let t = self.arcs[*a as usize].to;
                    rel(t).is_none_or(|r2| *release > self.dur[t as usize] + r2)
                });
            if last {
                exits.push((o, *release));
            }
        }
        self.zones.push(Zone {
            train: ti as u32,
            resource: r as u32,
            size: group.len() as u32,
            entries,
            exits,
        });
    }
}

impl Model {
    /// The one operation that follows, if there is only one.
    fn only_next(&self, o: u32) -> Option<u32> {
        match self.succ[o as usize].as_slice() {
            [a] => Some(self.arcs[*a as usize].to),
            _ => None,
        }
    }

    /// An operation as a track, if it holds one resource and no neighbour holds that too.
    fn as_track(&self, o: u32) -> Option<Track> {
        match self.holds[o as usize].as_slice() {
            [(zone, release)] if self.zones[*zone as usize].size == 1 => Some(Track {
                operation: o,
                zone: *zone,
                resource: self.zones[*zone as usize].resource,
                release: *release,
            }),
            _ => None,
        }
    }

    fn add_visit(&mut self, start: u32, end: u32, tracks: Vec<Track>) {
        let release = tracks.iter().map(|t| t.release).min().unwrap_or(0);
        let train = self.train[start as usize];
        self.visits_of[train as usize].push(self.visits.len() as u32);
        self.visits.push(Visit {
            train,
            start,
            end,
            tracks,
            release,
        });
    }

    fn add_visits(&mut self) {
        self.visits_of = vec![Vec::new(); self.range.len()];
        self.visit_of_zone = vec![None; self.zones.len()];
        self.demand = vec![0; self.resources];
        let mut pooled = vec![false; self.resources];
        // Choices of track.
        for v in 0..self.n as u32 {
            if self.original[v as usize].is_some() || !self.mandatory[v as usize] {
                continue;
            }
            let group: Vec<u32> = self.succ[v as usize]
                .iter()
                .map(|a| self.arcs[*a as usize].to)
                .collect();
            let end = self.only_next(group[0]);
            let tracks: Option<Vec<Track>> = group.iter().map(|o| self.as_track(*o)).collect();
            if let (Some(end), Some(tracks)) = (end, tracks)
                && group.iter().all(|o| self.only_next(*o) == Some(end))
            {
                for t in &tracks {
                    pooled[t.resource as usize] = true;
                }
                self.add_visit(v, end, tracks);
            }
        }
        // Those who have no choice there.
        let chosen: std::collections::BTreeSet<u32> = self
            .visits
            .iter()
            .flat_map(|v| v.tracks.iter().map(|t| t.operation))
            .collect();
        for o in 0..self.n as u32 {
            if !self.mandatory[o as usize] || chosen.contains(&o) {
                continue;
            }
            if let (Some(end), Some(track)) = (self.only_next(o), self.as_track(o))
                && pooled[track.resource as usize]
            {
                self.add_visit(o, end, vec![track]);
            }
        }
        let mut pool: Vec<u32> = (0..self.resources as u32).collect();
        for (i, v) in self.visits.iter().enumerate() {
            let to = v
                .tracks
                .iter()
                .map(|t| pool[t.resource as usize])
                .min()
                .unwrap_or(0);
            let merged: Vec<u32> = v.tracks.iter().map(|t| pool[t.resource as usize]).collect();
            for p in &mut pool {
                if merged.contains(p) {
                    *p = to;
                }
            }
            for t in &v.tracks {
                self.visit_of_zone[t.zone as usize] = Some(i as u32);
                self.demand[t.resource as usize] += 1;
            }
        }
        let mut pools: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
        for (i, v) in self.visits.iter().enumerate() {
            pools
                .entry(pool[v.tracks[0].resource as usize])
                .or_default()
                .push(i as u32);
        }
        self.pools = pools.into_values().collect();
        self.pool_of = vec![0; self.visits.len()];
        for (p, visits) in self.pools.iter().enumerate() {
            for v in visits {
                self.pool_of[*v as usize] = p as u32;
            }
        }
    }
}

impl Graph {
    /// Copies a train's graph. A set of alternative operations that all follow the same
    /// predecessors gets one virtual operation in front, which stands for the start of any of them,
    /// and carries their cost if they all cost alike.
    fn new(p: &Problem, ti: usize, terms: &BTreeMap<usize, Vec<Term>>) -> Result<Graph, Unsuited> {
        let ops = &p.trains[ti].operations;
        let mut g = Graph {
            original: (0..ops.len()).map(|i| Some(i as u32)).collect(),
            succ: Vec::new(),
            pred: vec![Vec::new(); ops.len()],
            terms: vec![Vec::new(); ops.len()],
        };
        for (i, op) in ops.iter().enumerate() {
            let mut s = op.successors.clone();
            s.sort_unstable();
            s.dedup();
            for j in &s {
                if *j >= ops.len() {
                    return Err(Unsuited::Malformed);
                }
                g.pred[*j].push(i);
            }
            if op.resources.iter().any(|u| u.resource >= p.resources.len()) {
                return Err(Unsuited::Malformed);
            }
            g.succ.push(s);
        }
        for (o, t) in terms {
            let mut t = t.clone();
            t.sort_unstable();
            g.terms[*o] = t;
        }
        let mut groups: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
        for i in 0..ops.len() {
            if !g.pred[i].is_empty() {
                groups.entry(g.pred[i].clone()).or_default().push(i);
            }
        }
        for (preds, group) in groups {
            if group.len() < 2 || preds.iter().any(|q| g.succ[*q] != group) {
                continue;
            }
            let v = g.original.len();
            g.original.push(None);
            g.terms.push(Vec::new());
            if group.iter().all(|o| g.terms[*o] == g.terms[group[0]]) {
                g.terms[v] = g.terms[group[0]].clone();
                for o in &group {
                    g.terms[*o].clear();
                }
            }
            for o in &group {
                g.pred[*o] = vec![v];
            }
            for q in &preds {
                g.succ[*q] = vec![v];
            }
            g.succ.push(group);
            g.pred.push(preds);
        }
        Ok(g)
    }

    fn topological(&self) -> Option<Vec<usize>> {
        let n = self.original.len();
        let mut waits: Vec<usize> = self.pred.iter().map(Vec::len).collect();
        let mut ready: std::collections::BTreeSet<usize> =
            (0..n).filter(|i| waits[*i] == 0).collect();
        let mut order = Vec::with_capacity(n);
        while let Some(i) = ready.pop_first() {
            order.push(i);
            for s in &self.succ[i] {
                waits[*s] -= 1;
                if waits[*s] == 0 {
                    ready.insert(*s);
                }
            }
        }
        (order.len() == n).then_some(order)
    }
}
