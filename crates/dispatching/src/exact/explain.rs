//! Why something is known: the atoms, all true earlier, from which an entry of the trail follows.
//!
//! An explanation is asked for a threshold that may be weaker than what the entry reached, and then
//! asks no more of its own premises than it needs: so learned nogoods speak of whole ranges of time.

use super::model::{INF, plus};
use super::state::{Atom, Reason};
use super::theory::{Edge, Theory};

impl Theory {
    /// Pushes the reasons of "`half` has reached `thr`", which the entry at `pos` brought about.
    pub fn explain(&self, pos: u32, thr: i64, out: &mut Vec<Atom>) {
        let entry = self.s.trail[pos as usize];
        let n = self.s.n;
        let half = entry.half;
        // The operation concerned, where it is one.
        let o = if half >= 2 * n {
            half.wrapping_sub(2 * n)
        } else {
            half / 2
        };
        match entry.reason {
            Reason::None => {}
            Reason::Nogood(g) => {
                out.extend_from_slice(&self.s.nogoods[g as usize].atoms[1..]);
            }
            Reason::Forward => {
                for a in &self.m.pred[o as usize] {
                    let u = self.m.arcs[*a as usize].from;
                    let want = if thr >= INF {
                        INF
                    } else {
                        thr - self.m.dur[u as usize]
                    };
                    self.push_or_skipped(*a, self.s.first_is(u, want), pos, out);
                }
            }
            Reason::Stretch => {
                let most = self.m.max_dur[o as usize];
                for a in &self.m.succ[o as usize] {
                    let v = self.m.arcs[*a as usize].to;
                    let want = plus(thr, most);
                    self.push_or_skipped(*a, self.s.first_is(v, want), pos, out);
                }
            }
            Reason::Backward => {
                let end = -thr + self.m.dur[o as usize];
                for a in &self.m.succ[o as usize] {
                    let v = self.m.arcs[*a as usize].to;
                    self.push_latest(*a, v, end, pos, out);
                }
            }
            Reason::Hurry => {
                for a in &self.m.pred[o as usize] {
                    let u = self.m.arcs[*a as usize].from;
                    let most = self.m.max_dur[u as usize];
                    if most >= INF {
                        self.push_or_skipped(*a, self.s.first_is(u, INF), pos, out);
                    } else {
                        self.push_latest(*a, u, -thr - most, pos, out);
                    }
                }
            }
            Reason::NoTime => {
                let u = -self.s.val_at(2 * o + 1, pos);
                out.push(self.s.first_is(o, u + 1));
                out.push(self.s.latest_is(o, u));
            }
            Reason::NoWayOn => {
                for a in &self.m.succ[o as usize] {
                    self.push_closed(*a, true, pos, out);
                }
            }
            Reason::Excluded(w) => out.push(self.s.on_is(w)),
            Reason::OnlyWayOn(u) => {
                out.push(self.s.on_is(u));
                for a in &self.m.succ[u as usize] {
                    if self.m.arcs[*a as usize].to != o {
                        self.push_closed(*a, true, pos, out);
                    }
                }
            }
            Reason::OnlyWayTo(v) => {
                out.push(self.s.on_is(v));
                for a in &self.m.pred[v as usize] {
                    if self.m.arcs[*a as usize].from != o {
                        self.push_closed(*a, false, pos, out);
                    }
                }
            }
            Reason::After(e) => {
                let edge = self.edges[e as usize];
                out.push(edge.when);
                out.push(self.s.on_is(edge.from));
                let end = if thr >= INF { INF } else { thr - edge.release };
                self.push_over(&edge, end, pos, out);
            }
            Reason::Before(e) => {
                let edge = self.edges[e as usize];
                out.push(edge.when);
                out.push(self.s.on_is(edge.to));
                let own = if edge.at_start {
                    0
                } else {
                    self.m.dur[o as usize]
                };
                let t = -thr + own + edge.release;
                out.push(self.s.latest_is(edge.to, t));
            }
            Reason::EndBefore(e) => {
                let edge = self.edges[e as usize];
                out.push(edge.when);
                out.push(self.s.on_is(edge.to));
                out.push(self.s.on_is(edge.from));
                out.push(self.s.latest_is(edge.to, -thr + edge.release));
            }
            Reason::TooLate(e) => {
                let edge = self.edges[e as usize];
                out.push(self.s.on_is(edge.from));
                out.push(self.s.on_is(edge.to));
                let latest = -self.s.val_at(2 * edge.to + 1, pos);
                out.push(self.s.latest_is(edge.to, latest));
                self.push_over(&edge, latest + 1 - edge.release, pos, out);
            }
            Reason::Summed(c) => self.push_sum(c, u32::MAX, thr, pos, out),
            Reason::Full(c) => {
                let sum = &self.sums[c as usize];
                let most = -self.s.val_at(sum.half + 1, pos);
                out.push(Atom {
                    half: sum.half + 1,
                    thr: -most,
                });
                let own = sum.terms.iter().find(|x| x.0 + 1 == half);
                let own = own.map_or(0, |x| x.1.eval(1 - thr));
                self.push_sum(c, half - 1, most + 1 - own, pos, out);
            }
        }
    }

    /// The atom if it was true, else what closed the arc.
    fn push_or_skipped(&self, a: u32, atom: Atom, pos: u32, out: &mut Vec<Atom>) {
        if self.s.true_at(atom, pos) {
            out.push(atom);
        } else {
            self.push_between(a, pos, out);
        }
    }

    /// "Starts at `t` at the latest, or is off the path, or the arc is skipped."
    fn push_latest(&self, a: u32, v: u32, t: i64, pos: u32, out: &mut Vec<Atom>) {
        let latest = self.s.latest_is(v, t);
        if self.s.true_at(latest, pos) {
            out.push(latest);
        } else {
            self.push_or_skipped(a, self.s.first_is(v, INF), pos, out);
        }
    }

    /// What closed an arc; seen from its start (`on`) or from its end.
    fn push_closed(&self, a: u32, on: bool, pos: u32, out: &mut Vec<Atom>) {
        let arc = &self.m.arcs[a as usize];
        let other = if on { arc.to } else { arc.from };
        self.push_or_skipped(a, self.s.first_is(other, INF), pos, out);
    }

    fn push_between(&self, a: u32, pos: u32, out: &mut Vec<Atom>) {
        let arc = &self.m.arcs[a as usize];
        let z = arc
            .between
            .iter()
            .map(|z| self.s.on_is(*z))
            .find(|x| self.s.true_at(*x, pos));
        debug_assert!(z.is_some(), "an arc was closed for no reason");
        out.extend(z);
    }

    /// "The edge's first side is over at `t` or later."
    fn push_over(&self, edge: &Edge, t: i64, pos: u32, out: &mut Vec<Atom>) {
        if edge.at_start {
            out.push(self.s.first_is(edge.from, t));
        } else {
            self.push_end(edge.from, t, pos, out);
        }
    }

    /// "`u` ends at `t` or later."
    fn push_end(&self, u: u32, t: i64, pos: u32, out: &mut Vec<Atom>) {
        if self.m.succ[u as usize].is_empty() {
            return;
        }
        let t = t.min(INF);
        let own = self.s.first_is(
            u,
            if t >= INF {
                INF
            } else {
                t - self.m.dur[u as usize]
            },
        );
        if self.s.true_at(own, pos) {
            out.push(own);
            return;
        }
        for a in &self.m.succ[u as usize] {
            let v = self.m.arcs[*a as usize].to;
            self.push_or_skipped(*a, self.s.first_is(v, t), pos, out);
        }
    }

    /// "The terms, but for one, come to `want` or more."
    fn push_sum(&self, c: u32, but: u32, want: i64, pos: u32, out: &mut Vec<Atom>) {
        let n = self.s.n;
        let terms: Vec<(u32, i64, usize)> = self.sums[c as usize]
            .terms
            .iter()
            .enumerate()
            .filter(|(_, (h, _))| {
                *h != but && (*h >= 2 * n || self.s.true_at(self.s.on_is(*h / 2), pos))
            })
            .map(|(i, (h, f))| (*h, f.eval(self.s.val_at(*h, pos).min(INF - 1)), i))
            .filter(|t| t.1 > 0)
            .collect();
        let mut spare = terms.iter().map(|t| t.1).sum::<i64>() - want;
        debug_assert!(spare >= 0, "a sum without its terms");
        for (h, value, i) in terms {
            if value <= spare {
                spare -= value;
                continue;
            }
            let f = &self.sums[c as usize].terms[i].1;
            if let Some(t) = f.first_reaching(value - spare) {
                spare -= value - f.eval(t);
                out.push(Atom { half: h, thr: t });
                if h < 2 * n {
                    out.push(self.s.on_is(h / 2));
                }
            }
        }
    }
}
