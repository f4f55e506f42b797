//! The bound of one rank of the cost, raised by cores.

use super::cost::CostFn;
use super::model::INF;
use super::search::{Outcome, Search};
use super::state::Atom;

/// Something whose greatness costs: the start of an operation, or a sum.
#[derive(Debug, Clone)]
struct Soft {
    /// Lower half; the one beside it bounds from above.
    half: u32,
    /// What of its cost is not yet in the bound.
    left: CostFn,
}

/// How a piece of work ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Step {
    /// A plan, and what it costs in this rank.
    Plan(Vec<(i64, u32)>, i64),
    /// The bound has risen, or may be looked at again.
    Raised,
    /// No plan costs less than the limit.
    Closed,
    Paused,
}

/// Effort allowed to a search at first.
const FIRST_EFFORT: u64 = 16_000;

/// Effort spent at most on one try to make a core smaller or a sum larger.
const SHORT_EFFORT: u64 = 300;

/// The bound of one rank, and the costs not yet in it.
pub(super) struct Bound {
    softs: Vec<Soft>,
    /// The costs as the problem gives them.
    whole: Vec<(u32, CostFn)>,
    /// Proven.
    pub lower: i64,
    /// Plans must cost less than this.
    limit: i64,
    /// Costs below this are let go for now.
    grain: i64,
    /// Effort allowed to one search, and whether one is under way.
    allowed: u64,
    under_way: bool,
    pub cores: u64,
}

impl Bound {
    pub fn new(search: &mut Search, rank: u8) -> Bound {
        let whole: Vec<(u32, CostFn)> = search
            .t
            .m
            .costs
            .iter()
            .filter(|c| c.1 == rank)
            .map(|c| (c.0, c.2.clone()))
            .collect();
        let softs: Vec<Soft> = whole
            .iter()
            .map(|(o, f)| Soft {
                half: 2 * o,
                left: f.clone(),
            })
            .collect();
        let mut b = Bound {
            softs,
            whole,
            lower: 0,
            limit: INF,
            grain: i64::MAX,
            allowed: FIRST_EFFORT,
            under_way: false,
            cores: 0,
        };
        b.absorb(search);
        b
    }

    /// What a sequence of starts costs.
    pub fn cost(&self, sequence: &[(i64, u32)]) -> i64 {
        self.whole
            .iter()
            .filter_map(|(o, f)| sequence.iter().find(|e| e.1 == *o).map(|e| f.eval(e.0)))
            .sum()
    }

    /// From now on only plans cheaper than this are of interest.
    pub fn set_limit(&mut self, search: &mut Search, limit: i64) {
        if limit < self.limit {
            self.limit = limit;
            self.under_way = false;
            search.root();
            self.harden(search);
        }
    }

    /// The first atom that says the cost left is below `grain`, if it is not always so.
    fn wish(&self, s: &Soft, grain: i64) -> Option<Atom> {
        s.left.latest_within(grain - 1).map(|t| Atom {
            half: s.half + 1,
            thr: -t,
        })
    }

    /// Moves into the bound what every plan pays. Level 0 only.
    fn absorb(&mut self, search: &mut Search) {
        if search.dead {
            return;
        }
        for i in 0..self.softs.len() {
            let part = search.t.least(self.softs[i].half, &self.softs[i].left);
            if part > 0 {
                let t = search.t.s.val[self.softs[i].half as usize];
                self.lower += part;
                self.softs[i].left = self.softs[i].left.without(t, part);
            }
        }
    }

    /// Rules out for good what would cost too much. False if nothing is left.
    fn harden(&mut self, search: &mut Search) -> bool {
        loop {
            self.absorb(search);
            if search.dead || self.lower >= self.limit {
                return false;
            }
            if self.limit >= INF {
                return true;
            }
            let before = search.t.s.trail.len();
            for i in 0..self.softs.len() {
                let room = self.limit - self.lower;
                if let Some(a) = self.wish(&self.softs[i], room)
                    && !search.fix(a)
                {
                    return false;
                }
            }
            if search.t.s.trail.len() == before {
                return true;
            }
        }
    }

    /// The grain to begin with: a part of the greatest cost still possible.
    fn coarsest(&self, search: &Search) -> i64 {
        let greatest = |s: &Soft| {
            s.left
                .eval((-search.t.s.val[s.half as usize + 1]).min(INF - 1))
        };
        let most = self.softs.iter().map(greatest).max().unwrap_or(0);
        (most.min(self.limit - self.lower) / 32).max(1)
    }

    /// Works on the bound until something is worth telling or `until` is reached.
    pub fn step(&mut self, search: &mut Search, until: u64, stop: &dyn Fn() -> bool) -> Step {
        if search.t.s.level() == 0 && !self.harden(search) {
            return Step::Closed;
        }
        if self.grain == i64::MAX {
            self.grain = self.coarsest(search);
        }
        let mut wishes: Vec<(i64, Atom)> = Vec::new();
        for s in &self.softs {
            if let Some(a) = self.wish(s, self.grain)
                && !search.t.s.is_true_at_root(a)
            {
                wishes.push((s.left.eval(1 - a.thr), a));
            }
        }
        let assumed: Vec<Atom> = wishes.iter().map(|w| w.1).collect();
        if !self.under_way {
            self.under_way = true;
            search.effort_limit = search.effort() + self.allowed;
        }
        let outcome = search.solve(&assumed, until, stop);
        self.under_way = outcome == Outcome::Paused;
        match outcome {
            Outcome::Paused => Step::Paused,
            Outcome::Impossible => Step::Closed,
            Outcome::TooHard => {
                // The finer the grain, the tighter the times and the easier the search.
                search.root();
                if self.grain > 1 {
                    self.grain = (self.grain / 2).max(1);
                } else {
                    self.grain = self.coarsest(search);
                    self.allowed *= 2;
                }
                Step::Raised
            }
            Outcome::Plan(sequence) => {
                let cost = self.cost(&sequence);
                search.root();
                if self.grain == 1 {
                    debug_assert_eq!(cost, self.lower, "the costs left do not add up");
                }
                self.grain = (self.grain / 2).max(1);
                Step::Plan(sequence, cost)
            }
            Outcome::Core(core) => {
                self.cores += 1;
                let spent = self.allowed - search.effort_limit.saturating_sub(search.effort());
                let core = Self::smaller(search, core, spent / 2, stop);
                if !search.dead {
                    self.pay(search, &core);
                    self.exhaust(search, stop);
                }
                if self.harden(search) {
                    Step::Raised
                } else {
                    Step::Closed
                }
            }
        }
    }

    /// Leaves out of a core what a short search shows to be needless.
    fn smaller(
        search: &mut Search,
        mut core: Vec<Atom>,
        effort: u64,
        stop: &dyn Fn() -> bool,
    ) -> Vec<Atom> {
        let most = search.effort() + effort.max(SHORT_EFFORT);
        let mut i = 0;
        while core.len() > 1 && i < core.len() && search.effort() < most {
            let mut rest = core.clone();
            rest.remove(i);
            search.effort_limit = search.effort() + SHORT_EFFORT;
            let outcome = search.solve(&rest, u64::MAX, stop);
            search.root();
            match outcome {
                Outcome::Core(fewer) => {
                    core = fewer;
                    i = 0;
                }
                Outcome::Impossible => break,
                _ => i += 1,
            }
        }
        core
    }

    /// Raises the newest sum by itself as long as short searches can.
    fn exhaust(&mut self, search: &mut Search, stop: &dyn Fn() -> bool) {
        let Some(i) = self.softs.len().checked_sub(1) else {
            return;
        };
        while !search.dead && self.lower < self.limit {
            let Some(wish) = self.wish(&self.softs[i], self.grain) else {
                return;
            };
            if search.t.s.is_true_at_root(wish) {
                return;
            }
            search.effort_limit = search.effort() + SHORT_EFFORT;
            let outcome = search.solve(&[wish], u64::MAX, stop);
            search.root();
            let Outcome::Core(core) = outcome else { return };
            self.cores += 1;
            self.pay(search, &core);
        }
    }

    /// Counts a core into the bound.
    fn pay(&mut self, search: &mut Search, core: &[Atom]) {
        let mut members: Vec<(usize, i64)> = Vec::new();
        let mut part = i64::MAX;
        for a in core {
            let Some(i) = self.softs.iter().position(|s| s.half + 1 == a.half) else {
                continue;
            };
            let t = 1 - a.thr;
            part = part.min(self.softs[i].left.eval(t));
            members.push((i, t));
        }
        debug_assert_eq!(
            members.len(),
            core.len(),
            "a core of something never assumed"
        );
        debug_assert!(part > 0, "a core that costs nothing");
        let mut terms = Vec::new();
        for (i, t) in &members {
            let s = &mut self.softs[*i];
            terms.push((s.half, s.left.part(*t, part)));
            s.left = s.left.without(*t, part);
        }
        self.lower += part;
        if members.len() > 1 {
            let c = search.t.add_sum(terms);
            let half = search.t.sums[c as usize].half;
            // So much is known, and in the bound.
            if search.fix(Atom { half, thr: part }) && !search.t.sum(c) {
                search.dead = true;
            }
            self.softs.push(Soft {
                half,
                left: CostFn::ramp(part, 1),
            });
        }
    }
}
