//! The plan that starts everything at its earliest, and where trains still collide in it.
//!
//! Orders between trains are decided only where such a plan needs them, so most pairs of trains that
//! use the same resource never meet in the search at all.

use std::collections::{BTreeMap, BTreeSet};

use super::model::{INF, plus};
use super::theory::Theory;
use super::tracks::{Crowd, Tracks};
use crate::{Event, Plan};

/// One holding of a resource in the candidate.
#[derive(Debug, Clone, Copy)]
struct Hold {
    start: i64,
    /// When its last operation ends, and when the release time is over too.
    leave: i64,
    end: i64,
    zone: u32,
    /// First and last position on the train's path.
    first: u32,
    last: u32,
}

/// Two trains that hold a resource at once, or wait for each other at one instant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clash {
    /// The zone that starts earlier, then the other.
    pub zones: (u32, u32),
    /// When the second begins.
    pub time: i64,
    /// An operation whose place on the path must be decided before the order can be; of the first,
    /// and of the second train.
    pub open: (Option<u32>, Option<u32>),
    /// The operation after the first holding, if it is not surely on the path.
    pub next: Option<u32>,
}

/// The event at the other end of a precedence, and the two holdings (resource, first, second) it comes
/// from, if it is not a train's own.
type Link = (u32, Option<(usize, usize, usize)>);

/// At most so many clashes of one resource are listed, the earliest.
const CLASHES: usize = 6;

/// The candidate, kept up to date as the search goes on.
#[derive(Debug, Default)]
pub(super) struct Candidate {
    /// Per train, its path.
    pub paths: Vec<Vec<u32>>,
    by_resource: Vec<Vec<Hold>>,
    /// Clashes per resource, and the resources that have some; the flag says that both sides are
    /// tracks of visits.
    clashes: Vec<Vec<(Clash, bool)>>,
    clashing: BTreeSet<u32>,
    /// Crowds per pool, and the pools that have some.
    crowds: Vec<Vec<Crowd>>,
    crowded: BTreeSet<u32>,
    /// Waits that are too long, per train, and the trains that have some.
    long: Vec<Vec<Clash>>,
    too_long: BTreeSet<u32>,
    of_zone: Vec<(u32, u32)>,
    stamp: u32,
    tracks: Tracks,
    /// What must be looked at again.
    trains: Vec<bool>,
    stale: BTreeSet<u32>,
    resources: BTreeSet<u32>,
}

impl Candidate {
    /// Brings the candidate up to date and lists its clashes; those of single tracks only while there
    /// is no crowd. The state must be at a fixpoint.
    pub fn clashes(&mut self, t: &mut Theory, out: &mut Vec<Clash>, crowds: &mut Vec<Crowd>) {
        self.update(t);
        crowds.clear();
        for p in &self.crowded {
            crowds.extend(self.crowds[*p as usize].iter().cloned());
        }
        out.clear();
        for r in &self.clashing {
            let list = self.clashes[*r as usize].iter();
            out.extend(list.filter(|c| crowds.is_empty() || !c.1).map(|c| c.0));
        }
        for train in &self.too_long {
            out.extend(&self.long[*train as usize]);
        }
        t.s.work += out.len() as u64;
    }

    fn update(&mut self, t: &mut Theory) {
        let trains = t.m.range.len();
        self.paths.resize(trains, Vec::new());
        self.long.resize(trains, Vec::new());
        self.trains.resize(trains, false);
        self.by_resource.resize(t.m.resources, Vec::new());
        self.clashes.resize(t.m.resources, Vec::new());
        self.crowds.resize(t.m.pools.len(), Vec::new());
        self.of_zone.resize(t.m.zones.len(), (0, 0));
        self.stale.clear();
        for o in &t.s.changed {
            self.stale.insert(t.m.train[*o as usize]);
        }
        t.s.seen_changes();
        let mut pools: BTreeSet<u32> = BTreeSet::new();
        for train in std::mem::take(&mut self.stale) {
            self.drop_holds(t, train as usize);
            self.path(t, train as usize);
            self.trains[train as usize] = true;
            self.stale.insert(train);
            pools.extend(
                t.m.visits_of[train as usize]
                    .iter()
                    .map(|v| t.m.pool_of[*v as usize]),
            );
        }
        for p in pools {
            let p = p as usize;
            self.tracks.assign(t, p, &mut self.crowds[p]);
            if self.crowds[p].is_empty() {
                self.crowded.remove(&(p as u32));
            } else {
                self.crowded.insert(p as u32);
            }
            for v in &t.m.pools[p] {
                let visit = &t.m.visits[*v as usize];
                let train = visit.train as usize;
                if let Some(o) = self.tracks.chosen[*v as usize]
                    && o != visit.start
                    && let Ok(i) = self.paths[train].binary_search(&visit.start)
                    && self.paths[train][i + 1] != o
                {
                    if !self.trains[train] {
                        self.drop_holds(t, train);
                        self.trains[train] = true;
                        self.stale.insert(visit.train);
                    }
                    self.paths[train][i + 1] = o;
                }
            }
        }
        for train in std::mem::take(&mut self.stale) {
            self.trains[train as usize] = false;
            t.s.work += self.paths[train as usize].len() as u64 * 4;
            self.hold(t, train as usize);
            self.check_waits(t, train);
        }
        for r in std::mem::take(&mut self.resources) {
            self.check(t, r);
        }
    }

    /// Takes a train's holdings out of the lists.
    fn drop_holds(&mut self, t: &Theory, train: usize) {
        for i in 0..self.paths[train].len() {
            let o = self.paths[train][i];
            for (z, _) in &t.m.holds[o as usize] {
                let r = t.m.zones[*z as usize].resource;
                self.by_resource[r as usize].retain(|h| h.zone != *z);
                self.resources.insert(r);
            }
        }
    }

    /// Lists the clashes of one resource.
    fn check(&mut self, t: &Theory, r: u32) {
        let mut list = std::mem::take(&mut self.by_resource[r as usize]);
        let mut found = std::mem::take(&mut self.clashes[r as usize]);
        found.clear();
        list.sort_unstable_by_key(|h| (h.start, h.end, h.zone));
        'all: for (i, a) in list.iter().enumerate() {
            for b in &list[i + 1..] {
                if b.start >= a.end {
                    break;
                }
                // Both of no length at one instant: the other way round may do.
                let zones = [a.zone, b.zone].map(|z| &t.m.zones[z as usize]);
                if b.end > a.start && zones[0].train != zones[1].train {
                    let visit = |z: u32| t.m.visit_of_zone[z as usize].is_some();
                    found.push((self.clash(t, a, b), visit(a.zone) && visit(b.zone)));
                    if found.len() == CLASHES {
                        break 'all;
                    }
                }
            }
        }
        if found.is_empty() {
            self.clashing.remove(&r);
        } else {
            self.clashing.insert(r);
        }
        self.by_resource[r as usize] = list;
        self.clashes[r as usize] = found;
    }

    /// Walks back from the exit along the predecessors that give the earliest start.
    fn path(&mut self, t: &Theory, train: usize) {
        let (begin, end) = t.m.range[train];
        let path = &mut self.paths[train];
        path.clear();
        if begin == end {
            return;
        }
        let mut v = end - 1;
        let mut sure = v;
        path.push(v);
        while !t.m.pred[v as usize].is_empty() {
            while sure >= v || !t.s.on(sure) {
                if sure == begin {
                    break;
                }
                sure -= 1;
            }
            let mut best: Option<(i64, bool, u32)> = None;
            for a in &t.m.pred[v as usize] {
                let u = t.m.arcs[*a as usize].from;
                if t.s.off(u) || u < sure {
                    continue;
                }
                let key = (plus(t.s.first(u), t.m.dur[u as usize]), !t.s.on(u), u);
                if best.is_none_or(|b| key < b) {
                    best = Some(key);
                }
            }
            let Some((_, _, u)) = best else { break };
            v = u;
            path.push(v);
        }
        path.reverse();
    }

    fn end_of(&self, t: &Theory, train: usize, i: usize) -> i64 {
        self.paths[train].get(i + 1).map_or(INF, |o| t.s.first(*o))
    }

    fn hold(&mut self, t: &Theory, train: usize) {
        self.stamp += 1;
        for i in 0..self.paths[train].len() {
            let o = self.paths[train][i];
            let start = t.s.first(o);
            let leave = self.end_of(t, train, i);
            for (z, release) in &t.m.holds[o as usize] {
                let r = t.m.zones[*z as usize].resource as usize;
                self.resources.insert(r as u32);
                let end = plus(leave, *release);
                let slot = &mut self.of_zone[*z as usize];
                if slot.0 == self.stamp {
                    let h = &mut self.by_resource[r][slot.1 as usize];
                    h.leave = leave;
                    h.end = h.end.max(end);
                    h.last = i as u32;
                } else {
                    *slot = (self.stamp, self.by_resource[r].len() as u32);
                    let (first, last) = (i as u32, i as u32);
                    self.by_resource[r].push(Hold {
                        start,
                        leave,
                        end,
                        zone: *z,
                        first,
                        last,
                    });
                }
            }
        }
    }

    fn clash(&self, t: &Theory, a: &Hold, b: &Hold) -> Clash {
        let open = |h: &Hold| {
            let path = &self.paths[t.m.zones[h.zone as usize].train as usize];
            path[h.first as usize..=h.last as usize]
                .iter()
                .copied()
                .find(|o| !t.s.on(*o))
        };
        let path = &self.paths[t.m.zones[a.zone as usize].train as usize];
        let next = path
            .get(a.last as usize + 1)
            .copied()
            .filter(|o| !t.s.on(*o));
        Clash {
            zones: (a.zone, b.zone),
            time: b.start,
            open: (open(a), open(b)),
            next,
        }
    }

    /// Lists a train's waits beyond an operation's greatest duration (its successor is not decided
    /// yet).
    fn check_waits(&mut self, t: &Theory, train: u32) {
        if !t.m.any_max_dur {
            return;
        }
        let found = &mut self.long[train as usize];
        found.clear();
        for w in self.paths[train as usize].windows(2) {
            let most = t.m.max_dur[w[0] as usize];
            if t.s.first(w[1]) > plus(t.s.first(w[0]), most) {
                let time = t.s.first(w[1]);
                let open = [w[0], w[1]].into_iter().find(|o| !t.s.on(*o));
                let zones = (u32::MAX, u32::MAX);
                found.push(Clash {
                    zones,
                    time,
                    open: (open, None),
                    next: None,
                });
            }
        }
        if found.is_empty() {
            self.too_long.remove(&train);
        } else {
            self.too_long.insert(train);
        }
    }

    /// The candidate, which has no clashes, as a sequence of events; or, where trains change places
    /// at one instant so that each would have to move first, the pairs of holdings on such a ring.
    pub fn sequence(
        &self,
        t: &Theory,
        first: &dyn Fn(u32, u32) -> Option<bool>,
    ) -> Result<Vec<(i64, u32)>, Vec<Clash>> {
        // One event per operation on a path.
        let mut index = vec![u32::MAX; t.m.n];
        let mut events: Vec<(i64, u32)> = Vec::new();
        for path in &self.paths {
            for o in path {
                // A virtual operation starts with the one that follows, in one event.
                index[*o as usize] = events.len() as u32;
                if t.m.original[*o as usize].is_some() {
                    events.push((t.s.first(*o), *o));
                }
            }
        }
        let mut next: Vec<Vec<Link>> = vec![Vec::new(); events.len()];
        let mut waits = vec![0u32; events.len()];
        for path in &self.paths {
            for w in path.windows(2) {
                if t.m.original[w[0] as usize].is_none() {
                    continue;
                }
                next[index[w[0] as usize] as usize].push((index[w[1] as usize], None));
                waits[index[w[1] as usize] as usize] += 1;
            }
        }
        // Only events at one instant need an order of their own.
        for (r, list) in self.by_resource.iter().enumerate() {
            let mut leaving: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
            for (i, a) in list.iter().enumerate() {
                if a.leave == a.end {
                    leaving.entry(a.leave).or_default().push(i);
                }
            }
            for (j, b) in list.iter().enumerate() {
                for i in leaving.get(&b.start).into_iter().flatten().copied() {
                    let a = list[i];
                    let ta = t.m.zones[a.zone as usize].train as usize;
                    let tb = t.m.zones[b.zone as usize].train as usize;
                    let either = b.end == a.start;
                    if ta == tb || (either && !first(a.zone, b.zone).unwrap_or(i < j)) {
                        continue;
                    }
                    let Some(leave) = self.paths[ta].get(a.last as usize + 1) else {
                        continue;
                    };
                    let enter = self.paths[tb][b.first as usize];
                    let (x, y) = (index[*leave as usize], index[enter as usize]);
                    next[x as usize].push((y, Some((r, i, j))));
                    waits[y as usize] += 1;
                }
            }
        }
        let mut ready: BTreeSet<(i64, u32)> = (0..events.len() as u32)
            .filter(|i| waits[*i as usize] == 0)
            .map(|i| (events[i as usize].0, i))
            .collect();
        let mut out = Vec::with_capacity(t.m.n);
        let mut count = 0;
        let mut done = vec![false; events.len()];
        while let Some((_, i)) = ready.pop_first() {
            let (time, o) = events[i as usize];
            out.extend(t.moment_of(o).map(|v| (time, v)));
            out.push((time, o));
            count += 1;
            done[i as usize] = true;
            for (j, _) in &next[i as usize] {
                waits[*j as usize] -= 1;
                if waits[*j as usize] == 0 {
                    ready.insert((events[*j as usize].0, *j));
                }
            }
        }
        if count == events.len() {
            return Ok(out);
        }
        // Walk backwards among what is left: it must come round.
        let mut back: Vec<Vec<Link>> = vec![Vec::new(); events.len()];
        for (i, list) in next.iter().enumerate() {
            for (j, why) in list {
                if !done[i] && !done[*j as usize] {
                    back[*j as usize].push((i as u32, *why));
                }
            }
        }
        let mut at = (0..events.len())
            .find(|i| !done[*i] && !back[*i].is_empty())
            .unwrap_or(0) as u32;
        for _ in 0..events.len() {
            at = back[at as usize][0].0;
        }
        let begin = at;
        let mut clashes = Vec::new();
        loop {
            let (from, why) = back[at as usize][0];
            if let Some((r, i, j)) = why {
                clashes.push(self.clash(t, &self.by_resource[r][i], &self.by_resource[r][j]));
            }
            at = from;
            if at == begin {
                return Err(clashes);
            }
        }
    }

    /// A sequence as a plan.
    pub fn plan(t: &Theory, sequence: &[(i64, u32)], value: i64) -> Plan {
        let events = sequence
            .iter()
            .filter_map(|(time, o)| {
                let operation = t.m.original[*o as usize]? as usize;
                Some(Event {
                    time: *time,
                    train: t.m.train[*o as usize] as usize,
                    operation,
                })
            })
            .collect();
        Plan {
            objective_value: value,
            events,
        }
    }
}
