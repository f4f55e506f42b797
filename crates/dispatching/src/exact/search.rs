//! Conflict-driven search for a plan within assumptions.

use std::collections::BTreeMap;

use super::analyze::{Analyzer, Lesson};
use super::candidate::{Candidate, Clash};
use super::model::Model;
use super::state::{Atom, Reason};
use super::theory::Theory;

/// How a search ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Outcome {
    /// A plan: its events as (start, operation), in order.
    Plan(Vec<(i64, u32)>),
    /// Assumptions that cannot hold together, weakened as far as the proof allows.
    Core(Vec<Atom>),
    /// No plan at all, whatever the assumptions.
    Impossible,
    /// The work allowed was used up, or somebody asked to stop.
    Paused,
}

/// The search: theory, what was learned, and habits.
pub(super) struct Search {
    pub t: Theory,
    analyzer: Analyzer,
    candidate: Candidate,
    clashes: Vec<Clash>,
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
            dead,
        }
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
                x
            }
        };
        (x, first == key.0)
    }

    /// What is decided of two zones: `Some(true)` if the first given goes first.
    fn decided(&self, first: u32, second: u32) -> Option<bool> {
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
        let key = (c.zones.0.min(c.zones.1), c.zones.0.max(c.zones.1));
        self.orders
            .get(&key)
            .map_or(0.0, |x| self.order_activity[*x as usize])
    }

    fn decide(&mut self, a: Atom) {
        self.decisions += 1;
        self.t.s.levels.push(self.t.s.trail.len() as u32);
        let good = self.t.s.set_atom(a, Reason::None);
        debug_assert!(good, "a decision contradicts what is known");
    }

    /// Decides something about a clash of the candidate, or finds that it is a plan.
    fn branch(&mut self) -> Option<Outcome> {
        let mut clashes = std::mem::take(&mut self.clashes);
        self.candidate.clashes(&mut self.t, &mut clashes);
        let mut best: Option<(f64, i64, usize)> = None;
        for (i, c) in clashes.iter().enumerate() {
            let a = self.activity(c);
            if best.is_none_or(|b| a > b.0 || (a == b.0 && c.time < b.1)) {
                best = Some((a, c.time, i));
            }
        }
        let choice = best.map(|b| clashes[b.2]);
        self.clashes = clashes;
        if let Some(c) = choice {
            return self.resolve(c);
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
            None => {
                let (x, a_first) = self.order(c.zones.0, c.zones.1);
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
