//! What follows from what is known: starts along each train's graph, orders between trains, sums of
//! costs.

use super::cost::CostFn;
use super::model::{INF, Model, plus};
use super::state::{Atom, NONE, Reason, State};

/// "The holder of one zone is through before the other begins": `from` ends (or, at the end of a
/// visit, starts), the release time passes, `to` starts, should both be on the path. One direction of
/// an order, for one pair of operations.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    pub from: u32,
    /// It is the start of `from`, not its end, that counts.
    pub at_start: bool,
    pub to: u32,
    pub release: i64,
    /// True when the order goes this way.
    pub when: Atom,
}

/// A variable that is the sum of parts of costs.
#[derive(Debug, Clone)]
pub(super) struct Sum {
    /// Lower half of the sum.
    pub half: u32,
    /// Lower halves of what costs, with the part of the cost that is summed here.
    pub terms: Vec<(u32, CostFn)>,
}

/// State, problem and everything that was added to it on the way.
pub(super) struct Theory {
    pub m: Model,
    pub s: State,
    pub edges: Vec<Edge>,
    /// Edges leaving (entering) an operation.
    pub out: Vec<Vec<u32>>,
    pub into: Vec<Vec<u32>>,
    /// Edges switched on by a half of an order variable; by half less `3n`.
    edges_of: Vec<Vec<u32>>,
    pub sums: Vec<Sum>,
    /// Sums that listen to a half.
    sums_of: Vec<Vec<u32>>,
    /// Whether the edge has been switched on, and where in the trail.
    live: Vec<bool>,
    live_log: Vec<(u32, u32)>,
    /// Entries of the trail whose direct (order) consequences have been drawn.
    head: usize,
    order_head: usize,
    /// Scratch of the cycle search: per train, the first operation reached, and how.
    seen: Vec<(u32, u32, u32)>,
    stamp: u32,
}

impl Theory {
    pub fn new(m: Model) -> Theory {
        let n = m.n;
        let s = State::new(&m.lb, &m.ub, &m.mandatory);
        let halves = s.val.len();
        Theory {
            s,
            edges: Vec::new(),
            out: vec![Vec::new(); n],
            into: vec![Vec::new(); n],
            edges_of: Vec::new(),
            sums: Vec::new(),
            sums_of: vec![Vec::new(); halves],
            live: Vec::new(),
            live_log: Vec::new(),
            head: 0,
            order_head: 0,
            seen: vec![(0, NONE, NONE); m.range.len()],
            stamp: 0,
            m,
        }
    }

    /// A new variable of two halves.
    pub fn add_var(&mut self, least: i64, greatest: i64) -> u32 {
        self.sums_of.push(Vec::new());
        self.sums_of.push(Vec::new());
        self.edges_of.push(Vec::new());
        self.edges_of.push(Vec::new());
        self.s.add_var(least, greatest)
    }

    /// A new order of two zones: a variable that is 1 if `a` goes first. Returns its lower half.
    pub fn add_order(&mut self, a: u32, b: u32) -> u32 {
        let half = self.add_var(0, 1);
        self.add_edges(a, b, Atom { half, thr: 1 });
        self.add_edges(
            b,
            a,
            Atom {
                half: half + 1,
                thr: 0,
            },
        );
        half
    }

    fn extra(&self, half: u32) -> usize {
        half as usize - (self.s.val.len() - self.edges_of.len())
    }

    /// Edges that a half of an order variable switches on.
    pub fn edges_of_half(&self, half: u32) -> Vec<u32> {
        self.edges_of[self.extra(half)].clone()
    }

    fn add_edges(&mut self, first: u32, second: u32, when: Atom) {
        let exits = self.m.zones[first as usize].exits.clone();
        let entries = self.m.zones[second as usize].entries.clone();
        for (from, release) in exits {
            for to in entries.iter().copied() {
                self.add_edge(Edge {
                    from,
                    at_start: false,
                    to,
                    release,
                    when,
                });
            }
        }
    }

    fn add_edge(&mut self, edge: Edge) {
        let e = self.edges.len() as u32;
        let slot = self.extra(edge.when.half);
        self.live.push(false);
        self.out[edge.from as usize].push(e);
        self.into[edge.to as usize].push(e);
        self.edges_of[slot].push(e);
        self.edges.push(edge);
    }

    /// A new variable that is 1 if visit `a` is over, track released, before visit `b` begins. Returns
    /// its lower half.
    pub fn add_before(&mut self, a: u32, b: u32) -> u32 {
        let half = self.add_var(0, 1);
        let when = Atom { half, thr: 1 };
        let (va, vb) = (
            self.m.visits[a as usize].clone(),
            self.m.visits[b as usize].clone(),
        );
        let mut shared = Vec::new();
        for x in &va.tracks {
            shared.extend(
                vb.tracks
                    .iter()
                    .filter(|y| y.resource == x.resource)
                    .map(|y| (x, y)),
            );
        }
        let least = shared
            .iter()
            .map(|s| s.0.release)
            .min()
            .unwrap_or(va.release);
        self.add_edge(Edge {
            from: va.end,
            at_start: true,
            to: vb.start,
            release: least,
            when,
        });
        for (x, y) in shared {
            if x.release > least {
                let (from, to) = (x.operation, y.operation);
                self.add_edge(Edge {
                    from,
                    at_start: false,
                    to,
                    release: x.release,
                    when,
                });
            }
        }
        half
    }

    /// A new sum; returns its number. Call at level 0 only, and propagate after.
    pub fn add_sum(&mut self, terms: Vec<(u32, CostFn)>) -> u32 {
        let most = terms.iter().map(|(_, f)| f.eval(INF - 1)).sum();
        let half = self.add_var(0, most);
        let c = self.sums.len() as u32;
        for (h, _) in &terms {
            if *h < 2 * self.s.n {
                self.sums_of[self.s.on_is(h / 2).half as usize].push(c);
            }
            self.sums_of[*h as usize].push(c);
        }
        self.sums_of[half as usize + 1].push(c);
        self.sums.push(Sum { half, terms });
        c
    }

    /// Goes back to a level.
    pub fn back_to(&mut self, level: u32, undone: impl FnMut(&super::state::Entry)) {
        self.s.back_to(level, undone);
        let len = self.s.trail.len();
        self.head = self.head.min(len);
        self.order_head = self.order_head.min(len);
        while let Some((pos, e)) = self.live_log.last().copied() {
            if (pos as usize) < len {
                break;
            }
            self.live[e as usize] = false;
            self.live_log.pop();
        }
    }

    /// Draws every consequence, starting from nothing known: for the very first time.
    pub fn propagate_all(&mut self) -> bool {
        for o in 0..self.m.n as u32 {
            if !self.forward(o) {
                return false;
            }
        }
        for o in (0..self.m.n as u32).rev() {
            if !(self.backward(o) && self.way_on(o) && self.way_to(o)) {
                return false;
            }
            if self.m.any_max_dur && !self.stretch(o) {
                return false;
            }
        }
        for o in 0..self.m.n as u32 {
            if self.m.any_max_dur && !self.hurry(o) {
                return false;
            }
            if self.s.on(o) && !self.exclude(o) {
                return false;
            }
        }
        self.propagate()
    }

    /// Draws every consequence of the trail's new entries. False on a conflict, noted in the state.
    pub fn propagate(&mut self) -> bool {
        loop {
            if self.head < self.s.trail.len() {
                let e = self.s.trail[self.head];
                self.head += 1;
                if !self.s.nogoods_of(e.half, e.old, e.new) || !self.consequences(e.half) {
                    return false;
                }
            } else if self.order_head < self.s.trail.len() {
                let pos = self.order_head;
                self.order_head += 1;
                if !self.switch_on(pos) {
                    return false;
                }
            } else {
                return true;
            }
        }
    }

    fn consequences(&mut self, half: u32) -> bool {
        for i in 0..self.sums_of[half as usize].len() {
            let c = self.sums_of[half as usize][i];
            if !self.sum(c) {
                return false;
            }
        }
        let n = self.s.n;
        if half < 2 * n {
            let o = half / 2;
            if half.is_multiple_of(2) {
                self.first_rose(o)
            } else {
                self.latest_fell(o)
            }
        } else if half < 3 * n {
            self.came_on(half - 2 * n)
        } else {
            true
        }
    }

    fn first_rose(&mut self, o: u32) -> bool {
        let x = o as usize;
        for i in 0..self.m.succ[x].len() {
            let v = self.m.arcs[self.m.succ[x][i] as usize].to;
            if !self.forward(v) {
                return false;
            }
        }
        for i in 0..self.out[x].len() {
            if !self.after(self.out[x][i]) {
                return false;
            }
        }
        for i in 0..self.m.pred[x].len() {
            let u = self.m.arcs[self.m.pred[x][i] as usize].from;
            if self.m.max_dur[u as usize] < INF && !self.stretch(u) {
                return false;
            }
            for j in 0..self.out[u as usize].len() {
                if !self.after(self.out[u as usize][j]) {
                    return false;
                }
            }
        }
        if self.s.off(o) {
            for i in 0..self.m.pred[x].len() {
                let u = self.m.arcs[self.m.pred[x][i] as usize].from;
                if !(self.way_on(u) && self.backward(u)) {
                    return false;
                }
            }
            for i in 0..self.m.succ[x].len() {
                let v = self.m.arcs[self.m.succ[x][i] as usize].to;
                if !self.way_to(v) || (self.m.any_max_dur && !self.hurry(v)) {
                    return false;
                }
            }
        }
        true
    }

    fn latest_fell(&mut self, o: u32) -> bool {
        let x = o as usize;
        for i in 0..self.m.pred[x].len() {
            let u = self.m.arcs[self.m.pred[x][i] as usize].from;
            if !self.backward(u) {
                return false;
            }
        }
        if self.m.max_dur[x] < INF {
            for i in 0..self.m.succ[x].len() {
                let v = self.m.arcs[self.m.succ[x][i] as usize].to;
                if !self.hurry(v) {
                    return false;
                }
            }
        }
        for i in 0..self.into[x].len() {
            if !self.before(self.into[x][i]) {
                return false;
            }
        }
        true
    }

    fn came_on(&mut self, o: u32) -> bool {
        if !(self.exclude(o) && self.way_on(o) && self.way_to(o)) {
            return false;
        }
        let x = o as usize;
        for i in 0..self.m.arcs_over[x].len() {
            let a = self.m.arcs_over[x][i] as usize;
            let (u, v) = (self.m.arcs[a].from, self.m.arcs[a].to);
            if !(self.forward(v) && self.backward(u) && self.way_on(u) && self.way_to(v)) {
                return false;
            }
            for j in 0..self.out[u as usize].len() {
                if !self.after(self.out[u as usize][j]) {
                    return false;
                }
            }
            if self.m.any_max_dur && !(self.stretch(u) && self.hurry(v)) {
                return false;
            }
        }
        for i in 0..self.out[x].len() {
            let e = self.out[x][i];
            if !(self.after(e) && self.before(e)) {
                return false;
            }
        }
        for i in 0..self.into[x].len() {
            let e = self.into[x][i];
            if !(self.after(e) && self.before(e)) {
                return false;
            }
        }
        true
    }

    /// Whether an arc can still be used.
    fn open(&self, a: u32) -> bool {
        let arc = &self.m.arcs[a as usize];
        !self.s.off(arc.from) && !self.s.off(arc.to) && !arc.between.iter().any(|z| self.s.on(*z))
    }

    fn forward(&mut self, v: u32) -> bool {
        let preds = &self.m.pred[v as usize];
        if preds.is_empty() {
            return true;
        }
        let mut t = INF;
        for a in preds {
            if self.open_to(*a) {
                let u = self.m.arcs[*a as usize].from;
                t = t.min(plus(self.s.first(u), self.m.dur[u as usize]));
            }
        }
        self.s.work += 1;
        self.s.set(2 * v, t, Reason::Forward)
    }

    /// As `open`, whatever is known of the arc's end itself.
    fn open_to(&self, a: u32) -> bool {
        let arc = &self.m.arcs[a as usize];
        !self.s.off(arc.from) && !arc.between.iter().any(|z| self.s.on(*z))
    }

    fn stretch(&mut self, u: u32) -> bool {
        let most = self.m.max_dur[u as usize];
        if most >= INF || self.m.succ[u as usize].is_empty() {
            return true;
        }
        let t = self.next_first(u);
        self.s.set(
            2 * u,
            if t >= INF { INF } else { t - most },
            Reason::Stretch,
        )
    }

    /// The earliest start of whatever may follow `u`; "never" if nothing may.
    fn next_first(&self, u: u32) -> i64 {
        let mut t = INF;
        for a in &self.m.succ[u as usize] {
            let arc = &self.m.arcs[*a as usize];
            if arc.between.is_empty() || !arc.between.iter().any(|z| self.s.on(*z)) {
                t = t.min(self.s.first(arc.to));
            }
        }
        t
    }

    /// The earliest end of `u`.
    pub fn end(&self, u: u32) -> i64 {
        plus(self.s.first(u), self.m.dur[u as usize]).max(self.next_first(u))
    }

    /// When an edge's first side is over, at the earliest; before its release time.
    fn over(&self, edge: &Edge) -> i64 {
        if edge.at_start {
            self.s.first(edge.from)
        } else {
            self.end(edge.from)
        }
    }

    fn backward(&mut self, u: u32) -> bool {
        if self.m.succ[u as usize].is_empty() {
            return true;
        }
        let mut t = i64::MIN;
        for i in 0..self.m.succ[u as usize].len() {
            let a = self.m.succ[u as usize][i];
            if self.open(a) {
                t = t.max(self.s.latest(self.m.arcs[a as usize].to));
            }
        }
        self.s.work += 1;
        if t == i64::MIN {
            return true;
        }
        let t = t - self.m.dur[u as usize];
        self.s.set(2 * u + 1, -t, Reason::Backward)
    }

    fn hurry(&mut self, v: u32) -> bool {
        let mut t = i64::MIN;
        for a in &self.m.pred[v as usize] {
            if self.open_to(*a) {
                let u = self.m.arcs[*a as usize].from;
                let most = self.m.max_dur[u as usize];
                if most >= INF {
                    return true;
                }
                t = t.max(self.s.latest(u) + most);
            }
        }
        if t == i64::MIN {
            true
        } else {
            self.s.set(2 * v + 1, -t, Reason::Hurry)
        }
    }

    fn way_on(&mut self, u: u32) -> bool {
        if self.s.off(u) || self.m.succ[u as usize].is_empty() {
            return true;
        }
        let mut only = NONE;
        for i in 0..self.m.succ[u as usize].len() {
            let a = self.m.succ[u as usize][i];
            if self.open(a) {
                if only != NONE {
                    return true;
                }
                only = a;
            }
        }
        if only == NONE {
            return self.s.set(2 * u, INF, Reason::NoWayOn);
        }
        if self.s.on(u) {
            let v = self.m.arcs[only as usize].to;
            return self.s.set_atom(self.s.on_is(v), Reason::OnlyWayOn(u));
        }
        true
    }

    fn way_to(&mut self, v: u32) -> bool {
        if !self.s.on(v) || self.m.pred[v as usize].is_empty() {
            return true;
        }
        let mut only = NONE;
        for i in 0..self.m.pred[v as usize].len() {
            let a = self.m.pred[v as usize][i];
            if self.open_to(a) {
                if only != NONE {
                    return true;
                }
                only = a;
            }
        }
        if only == NONE {
            return true;
        }
        let u = self.m.arcs[only as usize].from;
        self.s.set_atom(self.s.on_is(u), Reason::OnlyWayTo(v))
    }

    fn exclude(&mut self, o: u32) -> bool {
        for i in 0..self.m.incompatible[o as usize].len() {
            let w = self.m.incompatible[o as usize][i];
            if !self.s.set(2 * w, INF, Reason::Excluded(o)) {
                return false;
            }
        }
        true
    }

    /// The end of the edge's first operation has moved.
    fn after(&mut self, e: u32) -> bool {
        let edge = self.edges[e as usize];
        if !self.s.on(edge.from) {
            return true;
        }
        self.s.work += 1;
        if self.s.is_true(edge.when) {
            if !self.live[e as usize] {
                return true;
            }
            let t = plus(self.over(&edge), edge.release);
            return self.s.set(2 * edge.to, t, Reason::After(e));
        }
        self.rule_out(e)
    }

    /// The latest start of the edge's second operation has moved.
    fn before(&mut self, e: u32) -> bool {
        let edge = self.edges[e as usize];
        if !self.s.on(edge.to) {
            return true;
        }
        self.s.work += 1;
        if !self.s.is_true(edge.when) {
            return self.rule_out(e);
        }
        if !self.live[e as usize] {
            return true;
        }
        let t = self.s.latest(edge.to) - edge.release;
        let u = edge.from;
        if edge.at_start {
            return self.s.set(2 * u + 1, -t, Reason::Before(e));
        }
        if !self
            .s
            .set(2 * u + 1, self.m.dur[u as usize] - t, Reason::Before(e))
        {
            return false;
        }
        if self.s.on(u) {
            for i in 0..self.m.succ[u as usize].len() {
                let arc = &self.m.arcs[self.m.succ[u as usize][i] as usize];
                if arc.between.is_empty() {
                    let v = arc.to;
                    if !self.s.set(2 * v + 1, -t, Reason::EndBefore(e)) {
                        return false;
                    }
                }
            }
        }
        true
    }

    /// An open order one way of which no longer fits in the times.
    fn rule_out(&mut self, e: u32) -> bool {
        let edge = self.edges[e as usize];
        if !self.s.on(edge.from) || !self.s.on(edge.to) || self.s.is_false(edge.when) {
            return true;
        }
        if plus(self.over(&edge), edge.release) > self.s.latest(edge.to) {
            return self.s.deny(edge.when, Reason::TooLate(e));
        }
        true
    }

    /// Draws the order consequences of one entry of the trail.
    fn switch_on(&mut self, pos: usize) -> bool {
        let entry = self.s.trail[pos];
        let n = self.s.n;
        if entry.half < 2 * n {
            return true;
        }
        if entry.half < 3 * n {
            let o = (entry.half - 2 * n) as usize;
            for i in 0..self.out[o].len() {
                let e = self.out[o][i];
                if self.s.is_true(self.edges[e as usize].when) && !self.go_live(e, pos) {
                    return false;
                }
            }
            for i in 0..self.into[o].len() {
                let e = self.into[o][i];
                if self.s.is_true(self.edges[e as usize].when) && !self.go_live(e, pos) {
                    return false;
                }
            }
            return true;
        }
        let slot = self.extra(entry.half);
        for i in 0..self.edges_of[slot].len() {
            let e = self.edges_of[slot][i];
            let thr = self.edges[e as usize].when.thr;
            if entry.old < thr && entry.new >= thr && !self.go_live(e, pos) {
                return false;
            }
        }
        true
    }

    fn go_live(&mut self, e: u32, pos: usize) -> bool {
        if !self.live[e as usize] {
            self.live[e as usize] = true;
            self.live_log.push((pos as u32, e));
        }
        let edge = self.edges[e as usize];
        if self.s.on(edge.from) && self.s.on(edge.to) && !self.acyclic(e, true) {
            return false;
        }
        self.after(e) && self.before(e)
    }

    /// Looks for a ring of orders through this edge: each train waits for the next, the last for the
    /// first, so no sequence of events fits, however long the waits. `by_time` skips what cannot be
    /// on a ring because it starts after the edge's first operation ends (valid once the starts
    /// agree with all other orders). False, with the conflict noted, if there is one.
    pub fn acyclic(&mut self, e: u32, by_time: bool) -> bool {
        let goal = self.edges[e as usize];
        let limit = if by_time { self.over(&goal) } else { INF - 1 };
        let never = !goal.at_start && self.m.succ[goal.from as usize].is_empty();
        if never || self.s.first(goal.to) > limit {
            return true;
        }
        let home = self.m.train[goal.from as usize] as usize;
        self.stamp += 1;
        // seen: per train (stamp, operation arrived at, edge arrived by).
        let mut stack: Vec<(u32, u32)> = vec![(goal.to, e)];
        let mut parent: Vec<(u32, u32)> = Vec::new();
        while let Some((b, by)) = stack.pop() {
            let b = self.moment_of(b).unwrap_or(b);
            let t = self.m.train[b as usize] as usize;
            if t == home {
                if b <= goal.from || (!goal.at_start && self.follows_directly(goal.from, b)) {
                    self.ring(e, by, &parent);
                    return false;
                }
                continue;
            }
            let (stamp, at, _) = self.seen[t];
            if stamp == self.stamp && at <= b {
                continue;
            }
            let stop = if stamp == self.stamp { at } else { NONE };
            self.seen[t] = (self.stamp, b, by);
            let (_, end) = self.m.range[t];
            // The operation that ends as `b` starts counts too.
            let mut c = b;
            for a in &self.m.pred[b as usize] {
                let u = self.m.arcs[*a as usize].from;
                if self.s.on(u) && self.follows_directly(u, b) {
                    c = u;
                }
            }
            let lead = c;
            while c < end && c < stop {
                self.s.work += 1;
                if c > lead && c < b {
                    c = b;
                    continue;
                }
                if c >= b && self.s.on(c) && self.s.first(c) > limit {
                    break;
                }
                if self.s.on(c) {
                    for i in 0..self.out[c as usize].len() {
                        let e2 = self.out[c as usize][i];
                        let x = self.edges[e2 as usize];
                        if (c >= b || !x.at_start)
                            && self.live[e2 as usize]
                            && self.s.is_true(x.when)
                            && self.s.on(x.to)
                            && self.s.first(x.to) <= limit
                        {
                            parent.push((e2, by));
                            stack.push((x.to, e2));
                        }
                    }
                }
                c += 1;
            }
        }
        true
    }

    /// Whether arriving at `b` comes, on every path that has both, no later than leaving by the edge.
    pub fn leads_to(&self, b: u32, edge: &Edge) -> bool {
        let b = self.moment_of(b).unwrap_or(b);
        let direct = |a: &u32| {
            let arc = &self.m.arcs[*a as usize];
            arc.to == b && arc.between.is_empty()
        };
        b <= edge.from || (!edge.at_start && self.m.succ[edge.from as usize].iter().any(direct))
    }

    /// The virtual operation whose start is the start of this one, if there is one.
    pub fn moment_of(&self, b: u32) -> Option<u32> {
        match self.m.pred[b as usize].as_slice() {
            [a] => Some(self.m.arcs[*a as usize].from)
                .filter(|v| self.m.original[*v as usize].is_none()),
            _ => None,
        }
    }

    /// Whether `b` is surely what follows `u`, both being on the path.
    fn follows_directly(&self, u: u32, b: u32) -> bool {
        self.m.succ[u as usize].iter().any(|a| {
            let arc = &self.m.arcs[*a as usize];
            arc.to == b && arc.between.iter().all(|z| self.s.off(*z))
        })
    }

    /// Notes the conflict of a ring that closes in the train of `e`'s first operation, reached by edge
    /// `by`.
    fn ring(&mut self, e: u32, mut by: u32, parent: &[(u32, u32)]) {
        let mut atoms: Vec<Atom> = Vec::new();
        let mut leave = e;
        loop {
            // In one train: arrived by edge `by` at its second operation, left by edge `leave` from
            // its first.
            let arrived = self.edges[by as usize].to;
            let c = self.edges[leave as usize].from;
            atoms.push(self.s.on_is(arrived));
            atoms.push(self.s.on_is(c));
            atoms.push(self.edges[leave as usize].when);
            let b = self.moment_of(arrived).unwrap_or(arrived);
            if c < b {
                for a in &self.m.succ[c as usize] {
                    let arc = &self.m.arcs[*a as usize];
                    if arc.to == b {
                        atoms.extend(arc.between.iter().map(|z| self.s.first_is(*z, INF)));
                    }
                }
            }
            if by == e {
                break;
            }
            leave = by;
            by = parent.iter().find(|p| p.0 == leave).map_or(e, |p| p.1);
        }
        self.s.conflict = atoms;
    }

    /// What a cost surely comes to.
    pub fn least(&self, half: u32, f: &CostFn) -> i64 {
        if half < 2 * self.s.n && !self.s.on(half / 2) {
            return 0;
        }
        f.eval(self.s.val[half as usize].min(INF - 1))
    }

    pub fn sum(&mut self, c: u32) -> bool {
        let sum = &self.sums[c as usize];
        let half = sum.half;
        let least: i64 = sum.terms.iter().map(|(h, f)| self.least(*h, f)).sum();
        self.s.work += sum.terms.len() as u64 + 1;
        if !self.s.set(half, least, Reason::Summed(c)) {
            return false;
        }
        let room = -self.s.val[half as usize + 1] - least;
        for i in 0..self.sums[c as usize].terms.len() {
            let (h, f) = &self.sums[c as usize].terms[i];
            let h = *h;
            if let Some(t) = f.latest_within(room + self.least(h, f))
                && !self.s.set(h + 1, -t, Reason::Full(c))
            {
                return false;
            }
        }
        true
    }
}
