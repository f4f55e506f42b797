//! Conflict-driven search for a plan within assumptions.

use std::collections::{BTreeMap, BTreeSet};

use super::analyze::{Analyzer, Lesson};
use super::candidate::{Candidate, Clash};
use super::model::Model;
use super::state::{Atom, Reason};
use super::theory::Theory;
use super::tracks::Crowd;

/// How a search ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Outcome {
    /// A plan: its events as (start, operation), in order.
    Plan(Vec<(i64, u32)>),
    /// Assumptions that cannot hold together, weakened as far as the proof allows.
    Core(Vec<Atom>),
    /// No plan at all, whatever the assumptions.
    Impossible,
    /// The effort allowed was used up.
    TooHard,
    /// The work allowed was used up, or somebody asked to stop: the search goes on when asked again.
    Paused,
}

/// The search: theory, what was learned, and habits.
pub(super) struct Search {
    pub t: Theory,
    analyzer: Analyzer,
    candidate: Candidate,
    clashes: Vec<Clash>,
    crowds: Vec<Crowd>,
    /// Crowds, in order of number, whose nogood there is.
    crowds_known: BTreeSet<Vec<u32>>,
    /// "The first visit is over before the second begins", by the two visits.
    befores: BTreeMap<(u32, u32), u32>,
    /// Edges between operations surely on the paths, by the two trains.
    edges_between: BTreeMap<(u32, u32), Vec<u32>>,
    /// No contradiction has shown when orders were related.
    related: bool,
    /// Pairs of tracks' zones whose common use has been ruled out for overlapping visits.
    kept_apart: BTreeSet<(u32, u32)>,
    /// Order variables by zones, the smaller number first.
    orders: BTreeMap<(u32, u32), u32>,
    /// Lower halves of the order variables.
    order_list: Vec<u32>,
    order_activity: Vec<f64>,
    op_activity: Vec<f64>,
    /// Number of an order variable by its lower half.
    order_of_half: BTreeMap<u32, u32>,
    bump: f64,
    nogood_bump: f64,
    pub conflicts: u64,
    pub decisions: u64,
    restart_at: u64,
    restarts: u64,
    forget_at: usize,
    /// Effort at which a search counts as too hard.
    pub effort_limit: u64,
    /// Level 0 was found contradictory.
    pub dead: bool,
}

/// The Luby sequence 1 1 2 1 1 2 4 ...
fn luby(mut i: u64) -> u64 {
    loop {
        let k = 64 - (i + 1).leading_zeros() as u64;
        if (1u64 << k) - 1 == i + 1 {
            return 1 << (k - 1);
        }
        if i + 1 < (1 << k) - 1 {
            i = i + 1 - (1 << (k - 1));
        }
    }
}

impl Search {
    pub fn new(m: Model) -> Search {
        let n = m.n;
        let mut t = Theory::new(m);
        let dead = !t.propagate_all();
        Search {
            t,
            analyzer: Analyzer::default(),
            candidate: Candidate::default(),
            clashes: Vec::new(),
            crowds: Vec::new(),
            crowds_known: BTreeSet::new(),
            befores: BTreeMap::new(),
            edges_between: BTreeMap::new(),
            related: true,
            kept_apart: BTreeSet::new(),
            orders: BTreeMap::new(),
            order_list: Vec::new(),
            order_activity: Vec::new(),
            op_activity: vec![0.0; n],
            order_of_half: BTreeMap::new(),
            bump: 1.0,
            nogood_bump: 1.0,
            conflicts: 0,
            decisions: 0,
            restart_at: 64,
            restarts: 0,
            forget_at: 4000,
            effort_limit: u64::MAX,
            dead,
        }
    }

    /// Conflicts and decisions, weighed by what they cost.
    pub fn effort(&self) -> u64 {
        8 * self.conflicts + self.decisions
    }

    pub fn root(&mut self) {
        self.t.back_to(0, |_| {});
    }

    /// Makes an atom true for good. Level 0 only.
    pub fn fix(&mut self, a: Atom) -> bool {
        if !self.t.s.set_atom(a, Reason::None) || !self.t.propagate() {
            self.dead = true;
        }
        !self.dead
    }

    /// Makes an atom false for good. Level 0 only.
    pub fn forbid(&mut self, a: Atom) -> bool {
        if !self.t.s.deny(a, Reason::None) || !self.t.propagate() {
            self.dead = true;
        }
        !self.dead
    }

    /// Searches within the assumptions until something is known or `until` units of work are done.
    pub fn solve(&mut self, assumed: &[Atom], until: u64, stop: &dyn Fn() -> bool) -> Outcome {
        if self.dead {
            return Outcome::Impossible;
        }
        let mut next_look = self.t.s.work;
        loop {
            if self.t.s.level() == 0 {
                if self.t.s.nogoods.len() > self.forget_at {
                    self.t.s.forget();
                    self.forget_at = self.t.s.nogoods.len() + 2000 + self.forget_at / 20;
                }
                self.t.s.levels.push(self.t.s.trail.len() as u32);
                let mut good = true;
                for a in assumed {
                    good = self.t.s.set_atom(*a, Reason::None) && self.t.propagate();
                    if !good {
                        break;
                    }
                }
                if !good {
                    if let Some(end) = self.conflict() {
                        return end;
                    }
                    continue;
                }
            }
            if !self.t.propagate() {
                if let Some(end) = self.conflict() {
                    return end;
                }
                continue;
            }
            if self.t.s.work >= next_look {
                if self.t.s.work >= until || stop() {
                    return Outcome::Paused;
                }
                next_look = self.t.s.work + 20_000;
            }
            if self.effort() >= self.effort_limit {
                return Outcome::TooHard;
            }
            if self.conflicts >= self.restart_at && self.t.s.level() > 1 {
                self.restarts += 1;
                self.restart_at = self.conflicts + 64 * luby(self.restarts);
                let to = u32::from(self.t.s.nogoods.len() <= self.forget_at);
                self.t.back_to(to, |_| {});
                continue;
            }
            match self.branch() {
                Some(end) => return end,
                None => continue,
            }
        }
    }

    /// Learns from a conflict; some outcome if that ends the search.
    fn conflict(&mut self) -> Option<Outcome> {
        self.conflicts += 1;
        let lesson = self.analyzer.learn(&mut self.t);
        self.bump_all();
        match lesson {
            Lesson::Impossible => {
                self.dead = true;
                self.root();
                Some(Outcome::Impossible)
            }
            Lesson::Core(core) => {
                self.root();
                if core.len() > 1 {
                    self.t.s.add_nogood(core.clone(), 1, true);
                } else {
                    self.forbid(core[0]);
                }
                Some(Outcome::Core(core))
            }
            Lesson::Nogood {
                atoms,
                level,
                levels,
            } => {
                self.t.back_to(level, |_| {});
                let first = atoms[0];
                if atoms.len() == 1 {
                    return (!self.forbid(first)).then_some(Outcome::Impossible);
                }
                let id = self.t.s.add_nogood(atoms, levels, true);
                self.t.s.nogoods[id as usize].activity = self.nogood_bump;
                if !self.t.s.deny(first, Reason::Nogood(id)) {
                    return self.conflict();
                }
                None
            }
        }
    }

    fn bump_all(&mut self) {
        let n = self.t.s.n;
        for i in 0..self.analyzer.touched.len() {
            let h = self.analyzer.touched[i];
            let a = if h >= 3 * n {
                match self.order_of_half.get(&(h & !1)) {
                    Some(x) => &mut self.order_activity[*x as usize],
                    None => continue,
                }
            } else {
                &mut self.op_activity[if h >= 2 * n { h - 2 * n } else { h / 2 } as usize]
            };
            *a += self.bump;
        }
        for g in &self.analyzer.used {
            self.t.s.nogoods[*g as usize].activity += self.nogood_bump;
        }
        self.bump /= 0.95;
        self.nogood_bump /= 0.999;
        if self.bump > 1e100 {
            for a in self.order_activity.iter_mut().chain(&mut self.op_activity) {
                *a *= 1e-100;
            }
            self.bump *= 1e-100;
        }
        if self.nogood_bump > 1e100 {
            for g in &mut self.t.s.nogoods {
                g.activity *= 1e-100;
            }
            self.nogood_bump *= 1e-100;
        }
    }

    /// The order variable of two zones: its lower half, and whether the first given is its `a`.
    fn order(&mut self, first: u32, second: u32) -> (u32, bool) {
        let key = (first.min(second), first.max(second));
        let x = match self.orders.get(&key) {
            Some(x) => *x,
            None => {
                let x = self.order_list.len() as u32;
                let order = self.t.add_order(key.0, key.1);
                self.orders.insert(key, x);
                self.order_of_half.insert(order, x);
                self.order_list.push(order);
                self.order_activity.push(0.0);
                self.relate(order);
                self.relate(order + 1);
                x
            }
        };
        (x, first == key.0)
    }

    /// The variable "visit `a` is over before visit `b` begins": its number.
    fn before(&mut self, a: u32, b: u32) -> u32 {
        if let Some(x) = self.befores.get(&(a, b)) {
            return *x;
        }
        let x = self.order_list.len() as u32;
        let half = self.t.add_before(a, b);
        self.befores.insert((a, b), x);
        self.order_of_half.insert(half, x);
        self.order_list.push(half);
        self.order_activity.push(0.0);
        self.relate(half);
        x
    }

    /// Learns which orders of the same two trains a new one excludes: those with which it would form
    /// a ring of two.
    fn relate(&mut self, half: u32) {
        for e in self.t.edges_of_half(half) {
            let edge = self.t.edges[e as usize];
            let [from, to] = [edge.from, edge.to].map(|o| o as usize);
            if !self.t.m.mandatory[from] || !self.t.m.mandatory[to] {
                continue;
            }
            let pair = (self.t.m.train[from], self.t.m.train[to]);
            let others = self
                .edges_between
                .get(&(pair.1, pair.0))
                .cloned()
                .unwrap_or_default();
            for other in others {
                let back = self.t.edges[other as usize];
                if self.t.leads_to(back.to, &edge) && self.t.leads_to(edge.to, &back) {
                    self.related &= self.add_now(vec![edge.when, back.when], 0, false);
                }
            }
            self.edges_between.entry(pair).or_default().push(e);
        }
    }

    /// The two visits of two zones, if both are tracks of visits.
    fn visits(&self, first: u32, second: u32) -> Option<(u32, u32)> {
        let visit = |z: u32| *self.t.m.visit_of_zone.get(z as usize)?;
        Some((visit(first)?, visit(second)?))
    }

    fn is_before(&self, a: u32, b: u32) -> bool {
        let half = self
            .befores
            .get(&(a, b))
            .map(|x| self.order_list[*x as usize]);
        half.is_some_and(|h| self.t.s.val[h as usize] > 0)
    }

    /// What is decided of two zones: `Some(true)` if the first given goes first.
    fn decided(&self, first: u32, second: u32) -> Option<bool> {
        if let Some((a, b)) = self.visits(first, second) {
            return match (self.is_before(a, b), self.is_before(b, a)) {
                (false, false) => None,
                (ab, _) => Some(ab),
            };
        }
        let key = (first.min(second), first.max(second));
        let half = self.order_list[*self.orders.get(&key)? as usize] as usize;
        let a_first = if self.t.s.val[half] >= 1 {
            true
        } else if self.t.s.val[half + 1] >= 0 {
            false
        } else {
            return None;
        };
        Some(a_first == (first == key.0))
    }

    fn activity(&self, c: &Clash) -> f64 {
        if let Some(o) = c.open.0.or(c.open.1) {
            return self.op_activity[o as usize];
        }
        if let Some((a, b)) = self.visits(c.zones.0, c.zones.1) {
            return self.pair_activity(a, b).max(self.pair_activity(b, a));
        }
        let key = (c.zones.0.min(c.zones.1), c.zones.0.max(c.zones.1));
        self.orders
            .get(&key)
            .map_or(0.0, |x| self.order_activity[*x as usize])
    }

    fn pair_activity(&self, a: u32, b: u32) -> f64 {
        self.befores
            .get(&(a, b))
            .map_or(0.0, |x| self.order_activity[*x as usize])
    }

    /// Adds a nogood in the middle of the search and draws its consequence. False on a conflict.
    fn add_now(&mut self, mut atoms: Vec<Atom>, levels: u32, learned: bool) -> bool {
        // Open ones first, then the latest to have become true.
        atoms.sort_by_key(|a| {
            let e = if self.t.s.is_true(*a) {
                self.t.s.entry_of(*a).wrapping_add(1)
            } else {
                u32::MAX
            };
            std::cmp::Reverse(e)
        });
        let open = atoms.iter().filter(|a| !self.t.s.is_true(**a)).count();
        if open == 0 {
            self.t.s.conflict.clone_from(&atoms);
        }
        let first = atoms[0];
        let id = self.t.s.add_nogood(atoms, levels, learned);
        self.t.s.nogoods[id as usize].activity = self.nogood_bump;
        match open {
            0 => false,
            1 => self.t.s.deny(first, Reason::Nogood(id)),
            _ => true,
        }
    }

    fn decide(&mut self, a: Atom) {
        debug_assert!(!self.t.s.is_true(a), "a decision of what is known");
        debug_assert!(!self.t.s.is_false(a), "a decision of what is false");
        self.decisions += 1;
        self.t.s.levels.push(self.t.s.trail.len() as u32);
        let good = self.t.s.set_atom(a, Reason::None);
        debug_assert!(good, "a decision contradicts what is known");
    }

    /// Decides something about a clash of the candidate, or finds that it is a plan.
    fn branch(&mut self) -> Option<Outcome> {
        let mut clashes = std::mem::take(&mut self.clashes);
        let mut crowds = std::mem::take(&mut self.crowds);
        self.candidate
            .clashes(&mut self.t, &mut clashes, &mut crowds);
        let mut best: Option<(f64, i64, usize)> = None;
        for (i, c) in clashes.iter().enumerate() {
            let a = self.activity(c);
            if best.is_none_or(|b| a > b.0 || (a == b.0 && c.time < b.1)) {
                best = Some((a, c.time, i));
            }
        }
        for (i, c) in crowds.iter().enumerate() {
            let a = self.crowd_activity(c);
            if best.is_none_or(|b| a > b.0 || (a == b.0 && c.time < b.1)) {
                best = Some((a, c.time, clashes.len() + i));
            }
        }
        let clash = best.and_then(|b| clashes.get(b.2).copied());
        let crowd = best.and_then(|b| crowds.get(b.2.wrapping_sub(clashes.len())).cloned());
        self.clashes = clashes;
        self.crowds = crowds;
        if let Some(c) = clash {
            return self.resolve(c);
        }
        if let Some(c) = crowd {
            return self.disperse(&c);
        }
        let sequence = self.candidate.sequence(&self.t, &|a, b| self.decided(a, b));
        match sequence {
            Ok(s) => match self.costly_open() {
                // A cost counts only once its operation is surely on the path.
                Some(o) => {
                    self.decide(self.t.s.on_is(o));
                    None
                }
                None => Some(Outcome::Plan(s)),
            },
            Err(ring) => {
                for c in &ring {
                    if c.open.0.is_some()
                        || c.open.1.is_some()
                        || c.next.is_some()
                        || self.decided(c.zones.0, c.zones.1).is_none()
                    {
                        return self.resolve(*c);
                    }
                }
                if let Some(a) = self.any_open() {
                    self.decide(a);
                    return None;
                }
                self.ring_conflict(&ring)
            }
        }
    }

    /// All of a ring is decided, but the propagation has not seen it.
    fn ring_conflict(&mut self, ring: &[Clash]) -> Option<Outcome> {
        for c in ring {
            let (x, _) = self.order(c.zones.0, c.zones.1);
            let half = self.order_list[x as usize];
            for half in [half, half + 1] {
                for e in self.t.edges_of_half(half) {
                    let edge = self.t.edges[e as usize];
                    if self.t.s.is_true(edge.when)
                        && self.t.s.on(edge.from)
                        && self.t.s.on(edge.to)
                        && !self.t.acyclic(e, false)
                    {
                        return self.conflict();
                    }
                }
            }
        }
        unreachable!("a ring of decided orders that the cycle search does not see")
    }

    /// What to return if making new orders has shown something by itself; `known` is the length of
    /// the trail before.
    fn after_relating(&mut self, known: usize) -> Option<Option<Outcome>> {
        if !self.related {
            self.related = true;
            return Some(self.conflict());
        }
        (self.t.s.trail.len() > known).then_some(None)
    }

    fn crowd_activity(&self, c: &Crowd) -> f64 {
        let mut most = 0.0f64;
        for a in &c.visits {
            for b in &c.visits {
                most = most.max(self.pair_activity(*a, *b));
            }
        }
        most
    }

    /// Learns that these visits cannot all overlap, and keeps two of them apart.
    fn disperse(&mut self, c: &Crowd) -> Option<Outcome> {
        let known = self.t.s.trail.len();
        for a in &c.visits {
            for b in &c.visits {
                if a != b && self.related {
                    self.before(*a, *b);
                }
            }
        }
        if let Some(end) = self.after_relating(known) {
            return end;
        }
        let mut atoms = Vec::new();
        let mut choice: Option<(f64, i64, u32)> = None;
        for a in &c.visits {
            for b in &c.visits {
                if a == b {
                    continue;
                }
                let x = self.before(*a, *b);
                let half = self.order_list[x as usize];
                let not_before = Atom {
                    half: half + 1,
                    thr: 0,
                };
                atoms.push(not_before);
                if !self.t.s.is_true(not_before) {
                    let over = self.t.s.first(self.t.m.visits[*a as usize].end);
                    let wait = over - self.t.s.first(self.t.m.visits[*b as usize].start);
                    let activity = self.order_activity[x as usize];
                    let better =
                        |y: &(f64, i64, u32)| activity > y.0 || (activity == y.0 && wait < y.1);
                    if choice.as_ref().is_none_or(better) {
                        choice = Some((activity, wait, half));
                    }
                }
            }
        }
        let open = atoms.iter().filter(|a| !self.t.s.is_true(**a)).count();
        let mut key = c.visits.clone();
        key.sort_unstable();
        if (open < 2 || self.crowds_known.insert(key)) && !self.add_now(atoms, 0, false) {
            return self.conflict();
        }
        if open > 1
            && let Some((_, _, half)) = choice
        {
            self.decide(Atom { half, thr: 1 });
        }
        None
    }

    /// Decides which of two visits to one track goes first.
    fn keep_apart(&mut self, zones: (u32, u32), a: u32, b: u32) -> Option<Outcome> {
        let known = self.t.s.trail.len();
        let x = self.before(a, b);
        let y = if self.related { self.before(b, a) } else { x };
        if let Some(end) = self.after_relating(known) {
            return end;
        }
        let (ab, ba) = (self.order_list[x as usize], self.order_list[y as usize]);
        let key = (zones.0.min(zones.1), zones.0.max(zones.1));
        let on = [zones.0, zones.1].map(|z| self.t.s.on_is(self.t.m.zones[z as usize].entries[0]));
        let not_before = [ab, ba].map(|half| Atom {
            half: half + 1,
            thr: 0,
        });
        let atoms: Vec<Atom> = on.into_iter().chain(not_before).collect();
        let open = not_before.iter().position(|a| !self.t.s.is_true(*a));
        if self.kept_apart.insert(key) {
            if !self.add_now(atoms, 0, false) {
                return self.conflict();
            }
            if not_before.iter().any(|a| self.t.s.is_true(*a)) {
                // Its consequence has been drawn.
                return None;
            }
        }
        match open {
            None => {
                self.t.s.conflict = on.into_iter().chain(not_before).collect();
                self.conflict()
            }
            Some(i) => {
                self.decide(Atom {
                    half: [ab, ba][i],
                    thr: 1,
                });
                None
            }
        }
    }

    fn resolve(&mut self, c: Clash) -> Option<Outcome> {
        // The first train keeps its path; the second one looks for another.
        if let Some(o) = c.open.0 {
            self.decide(self.t.s.on_is(o));
            return None;
        }
        if let Some(o) = c.open.1 {
            self.decide(self.t.s.first_is(o, super::model::INF));
            return None;
        }
        let decided = if c.zones.0 == u32::MAX {
            Some(true)
        } else {
            self.decided(c.zones.0, c.zones.1)
        };
        match decided {
            None if let Some((a, b)) = self.visits(c.zones.0, c.zones.1) => {
                return self.keep_apart(c.zones, a, b);
            }
            None => {
                let known = self.t.s.trail.len();
                let (x, a_first) = self.order(c.zones.0, c.zones.1);
                if let Some(end) = self.after_relating(known) {
                    return end;
                }
                let half = self.order_list[x as usize];
                let atom = if a_first {
                    Atom { half, thr: 1 }
                } else {
                    Atom {
                        half: half + 1,
                        thr: 0,
                    }
                };
                self.decide(atom);
            }
            Some(_) => {
                let next = c.next.map(|o| self.t.s.on_is(o));
                let Some(a) = next.or_else(|| self.any_open()) else {
                    unreachable!("a clash with everything decided")
                };
                self.decide(a);
            }
        }
        None
    }

    /// Some operation on a candidate path that costs, but is not surely on the path.
    fn costly_open(&self) -> Option<u32> {
        let costs = self.t.m.costs.iter().filter(|c| {
            !self.t.s.on(c.0) && !self.t.s.off(c.0) && c.2.eval(self.t.s.first(c.0)) > 0
        });
        let mut on_path = costs.filter(|c| {
            self.candidate.paths[self.t.m.train[c.0 as usize] as usize]
                .binary_search(&c.0)
                .is_ok()
        });
        on_path.next().map(|c| c.0)
    }

    /// Puts some operation on the path if the candidate's path has it, or off it if not.
    fn any_open(&self) -> Option<Atom> {
        let open = |o: &u32| !self.t.s.on(*o) && !self.t.s.off(*o);
        let paths = &self.candidate.paths;
        if let Some(o) = paths.iter().flatten().copied().find(open) {
            return Some(self.t.s.on_is(o));
        }
        let o = (0..self.t.m.n as u32).find(open)?;
        Some(self.t.s.first_is(o, super::model::INF))
    }
}
