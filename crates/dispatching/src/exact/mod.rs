//! Proven bounds, proofs of optimality, and proofs that there is no plan.
//!
//! # The problem, in words and symbols
//!
//! Train `i` chooses a path through its operations; operation `o` on the path starts at `s(o)`, with
//! `a(o) <= s(o) <= b(o)`, and ends when the next one, `o'`, starts:
//! `d(o) <= s(o') - s(o) <= D(o)`. If `o` and `p` of two trains hold the same resource, one is
//! through first: `s(o') + r(o) <= s(p)` or `s(p') + r(p) <= s(o)`, and where the two events happen
//! at one instant the one must also stand before the other in one sequence of all events. To be made
//! small, rank by rank, is the sum of `f(s(o))` over the operations on the paths, each `f` a
//! nondecreasing function (a ramp, a step, or a sum of them).
//!
//! # The method
//!
//! *Conflict-driven search with lazily made orders and times.* What is known is a set of earliest and
//! latest starts, of operations on or off the path, and of orders between two trains at a resource.
//! Every consequence can be explained, and so every dead end teaches a nogood over bounds of times
//! ("not all of: this train before that one, and this start at 300 or later, ..."). An order exists
//! only once the plan that starts everything at its earliest has needed it, and a bound of a time
//! only where an explanation has named it.
//!
//! *Bounds from cores.* The search is asked for a plan in which no cost is greater than a grain. If
//! there is none, it names starts, weakened as far as the proof allows, that cannot all be kept: a
//! core. What the cheapest of them costs is paid into the bound; the same amount is cut off the cost
//! functions of all of them, and a new variable, the sum of what was cut off, takes its place, to cost
//! what it exceeds the amount paid. If there is a plan, the grain is halved, until nothing is left to pay: then the plan is optimal.
//!
//! Literature, from memory: lazy clause generation (Ohrimenko, Stuckey, Codish 2009), the explained
//! difference constraints of satisfiability modulo theories (Cotton, Maler 2006), core-guided bounds
//! by soft cardinality constraints (Morgado, Dodaro, Marques-Silva 2014) with stratification
//! (Ansotegui, Bonet, Gabas, Levy 2012), and MaxSAT with dynamic discretisation for train rescheduling
//! (Croella, Luteberget, Mannino, Ventura 2024).

mod analyze;
mod bound;
mod candidate;
mod cost;
mod explain;
mod impossible;
mod model;
mod search;
mod state;
mod theory;
mod tracks;

use bound::{Bound, Step};
use candidate::Candidate;
use model::Model;
use search::Search;

use crate::engine::{Engine, Found, Known};
use crate::{Cost, Plan, Problem};

/// The proving engine.
pub struct Exact {
    problem: Problem,
    search: Option<Search>,
    /// Ranks that carry cost, in order; the one worked on is `at`.
    ranks: Vec<u8>,
    at: usize,
    bound: Option<Bound>,
    /// Optimal costs of the ranks before.
    fixed: Vec<(u8, i64)>,
    best: Option<(Plan, Cost)>,
    /// Why it has nothing (more) to say.
    finished: bool,
}

impl Exact {
    /// Prepares the engine. A problem it cannot work on (a reward for lateness) gives an engine that
    /// has nothing to say.
    pub fn new(problem: &Problem) -> Exact {
        let mut ranks: Vec<u8> = Vec::new();
        let search = Model::new(problem).ok().map(|m| {
            ranks = m.costs.iter().map(|c| c.1).collect();
            Search::new(m)
        });
        if ranks.is_empty() {
            ranks.push(0);
        }
        ranks.sort_unstable();
        ranks.dedup();
        Exact {
            problem: problem.clone(),
            finished: search.is_none(),
            search,
            ranks,
            at: 0,
            bound: None,
            fixed: Vec::new(),
            best: None,
        }
    }

    /// Conflicts, decisions, cores and work so far; for reports.
    pub fn counts(&self) -> [u64; 4] {
        let s = self.search.as_ref();
        [
            s.map_or(0, |s| s.conflicts),
            s.map_or(0, |s| s.decisions),
            self.bound.as_ref().map_or(0, |b| b.cores),
            s.map_or(0, |s| s.t.s.work),
        ]
    }

    fn cost_vector(ranks: &[(u8, i64)]) -> Cost {
        let len = ranks
            .iter()
            .map(|r| usize::from(r.0) + 1)
            .max()
            .unwrap_or(1);
        let mut v = vec![0; len];
        for (r, c) in ranks {
            v[usize::from(*r)] = *c;
        }
        Cost(v)
    }

    /// The full cost of a sequence, all ranks.
    fn full_cost(search: &Search, sequence: &[(i64, u32)]) -> Cost {
        let mut ranks: Vec<(u8, i64)> = Vec::new();
        for (o, rank, f) in &search.t.m.costs {
            let c = sequence
                .iter()
                .find(|e| e.1 == *o)
                .map_or(0, |e| f.eval(e.0));
            match ranks.iter_mut().find(|r| r.0 == *rank) {
                Some(r) => r.1 += c,
                None => ranks.push((*rank, c)),
            }
        }
        Self::cost_vector(&ranks)
    }

    /// The limit that a known plan sets on the rank being worked on.
    fn limit_from(&self, cost: &Cost) -> Option<i64> {
        let rank = self.ranks[self.at];
        self.fixed
            .iter()
            .all(|(r, c)| cost.rank(*r) == *c)
            .then(|| cost.rank(rank))
    }
}

impl Engine for Exact {
    fn round(&mut self, quota: u64, known: &Known, stop: &dyn Fn() -> bool) -> Found {
        let mut found = Found::default();
        if self.finished {
            found.exhausted = true;
            return found;
        }
        let Some(mut search) = self.search.take() else {
            found.exhausted = true;
            return found;
        };
        let until = search.t.s.work.saturating_add(quota);
        loop {
            let mut bound = self
                .bound
                .take()
                .unwrap_or_else(|| Bound::new(&mut search, self.ranks[self.at]));
            let outside = known.incumbent.as_ref().and_then(|i| self.limit_from(&i.1));
            let own = self.best.as_ref().and_then(|b| self.limit_from(&b.1));
            let limit = outside.into_iter().chain(own).min();
            let last = self.at + 1 == self.ranks.len();
            if let Some(limit) = limit {
                // In the last rank only better plans are of interest; before it, as good ones too.
                bound.set_limit(&mut search, if last { limit } else { limit + 1 });
                if !last && bound.lower == limit && !search.dead {
                    self.fixed.push((self.ranks[self.at], limit));
                    self.at += 1;
                    continue;
                }
            }
            match bound.step(&mut search, until, stop) {
                Step::Plan(sequence, _) => {
                    let cost = Self::full_cost(&search, &sequence);
                    let known_cost = known.incumbent.as_ref().map(|i| &i.1);
                    if self.best.as_ref().is_none_or(|b| cost < b.1) {
                        let plan = Candidate::plan(&search.t, &sequence, cost.total());
                        if known_cost.is_none_or(|k| cost < *k) {
                            found.plan = Some(plan.clone());
                        }
                        self.best = Some((plan, cost));
                    }
                    self.bound = Some(bound);
                }
                Step::Raised => self.bound = Some(bound),
                Step::Paused => {
                    self.report(&bound, &mut found);
                    self.bound = Some(bound);
                    break;
                }
                Step::Closed => {
                    self.finished = true;
                    match limit {
                        None => found.infeasible = Some(impossible::minimal(&self.problem, stop)),
                        Some(limit) if last => {
                            let mut ranks = self.fixed.clone();
                            ranks.push((self.ranks[self.at], limit));
                            found.bound = Some(Self::cost_vector(&ranks));
                        }
                        // A plan as good as the known one exists, so this cannot be; claim nothing.
                        Some(_) => {}
                    }
                    break;
                }
            }
            if search.t.s.work >= until || stop() {
                if let Some(b) = &self.bound {
                    self.report(b, &mut found);
                }
                break;
            }
        }
        found.exhausted = self.finished;
        self.search = Some(search);
        found
    }
}

impl Exact {
    fn report(&self, bound: &Bound, found: &mut Found) {
        let mut ranks = self.fixed.clone();
        ranks.push((self.ranks[self.at], bound.lower));
        found.bound = Some(Self::cost_vector(&ranks));
    }
}
