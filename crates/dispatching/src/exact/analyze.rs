//! From a conflict to a nogood (the first single atom of the deepest level through which all of the
//! conflict runs, and the premises of the levels below), or to the assumptions at fault.

use super::state::{Atom, NONE, Reason};
use super::theory::Theory;

/// What a conflict teaches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Lesson {
    /// The problem, as tightened so far, has no plan.
    Impossible,
    /// These assumptions cannot all hold, even weakened to these thresholds.
    Core(Vec<Atom>),
    /// A nogood; the first atom is to be denied after going back to this level.
    Nogood {
        atoms: Vec<Atom>,
        level: u32,
        levels: u32,
    },
}

/// Scratch space, and who took part in conflicts lately.
#[derive(Debug, Default)]
pub(super) struct Analyzer {
    need: Vec<i64>,
    marked: Vec<bool>,
    reasons: Vec<Atom>,
    /// Halves of the entries that took part in the last conflict.
    pub touched: Vec<u32>,
    /// Nogoods that took part in the last conflict.
    pub used: Vec<u32>,
}

impl Analyzer {
    fn mark(&mut self, t: &Theory, a: Atom) -> Option<(u32, u32)> {
        debug_assert!(t.s.is_true(a), "a premise is not true");
        let e = t.s.entry_of(a);
        if e == NONE {
            return None;
        }
        let level = t.s.trail[e as usize].level;
        if level == 0 {
            return None;
        }
        let i = e as usize;
        if self.marked[i] {
            self.need[i] = self.need[i].max(a.thr);
            return None;
        }
        self.marked[i] = true;
        self.need[i] = a.thr;
        Some((e, level))
    }

    /// Whether an atom was already false before the level: then it is no lesson to deny it, and what
    /// made it true all the same must be found.
    fn denied_below(t: &Theory, a: Atom, level: u32) -> bool {
        let (b, k) = t.s.negation(a);
        b[..k].iter().all(|b| {
            t.s.is_true(*b) && {
                let e = t.s.entry_of(*b);
                e == NONE || t.s.trail[e as usize].level < level
            }
        })
    }

    /// Learns from the conflict noted in the state.
    pub fn learn(&mut self, t: &mut Theory) -> Lesson {
        let len = t.s.trail.len();
        self.need.resize(len.max(self.need.len()), 0);
        self.marked.resize(len.max(self.marked.len()), false);
        self.touched.clear();
        self.used.clear();
        let conflict = std::mem::take(&mut t.s.conflict);
        let mut deepest = conflict
            .iter()
            .map(|a| {
                let e = t.s.entry_of(*a);
                if e == NONE {
                    0
                } else {
                    t.s.trail[e as usize].level
                }
            })
            .max()
            .unwrap_or(0);
        if deepest == 0 {
            return Lesson::Impossible;
        }
        let mut here = 0usize;
        for a in &conflict {
            if let Some((_, level)) = self.mark(t, *a) {
                here += usize::from(level == deepest);
            }
        }
        let mut below: Vec<u32> = Vec::new();
        let mut core: Vec<Atom> = Vec::new();
        let mut uip = None;
        let mut pos = len;
        while pos > 0 {
            pos -= 1;
            if !self.marked[pos] {
                continue;
            }
            let e = t.s.trail[pos];
            if e.level < deepest {
                // What was drawn late, at a deeper level than its premises, has been resolved away.
                debug_assert_eq!(here, 0, "entries stand in the order of their levels");
                deepest = e.level;
                here = (0..=pos)
                    .filter(|i| self.marked[*i] && t.s.trail[*i].level == deepest)
                    .count();
            }
            self.marked[pos] = false;
            let thr = self.need[pos];
            self.touched.push(e.half);
            here -= 1;
            let atom = Atom { half: e.half, thr };
            if deepest > 1 && here == 0 && !Self::denied_below(t, atom, deepest) {
                uip = Some(atom);
                break;
            }
            if e.reason == Reason::None {
                // An assumption (only level 1 has several entries without a reason).
                core.push(atom);
                if here == 0 {
                    break;
                }
                continue;
            }
            if let Reason::Nogood(g) = e.reason {
                self.used.push(g);
            }
            let mut reasons = std::mem::take(&mut self.reasons);
            reasons.clear();
            t.explain(pos as u32, thr, &mut reasons);
            t.s.work += reasons.len() as u64 + 2;
            for a in &reasons {
                if let Some((_, level)) = self.mark(t, *a) {
                    here += usize::from(level == deepest);
                }
            }
            self.reasons = reasons;
            if deepest == 1 && here == 0 {
                break;
            }
        }
        for i in (0..pos.min(len)).rev() {
            if self.marked[i] {
                below.push(i as u32);
            }
        }
        let Some(uip) = uip else {
            for i in below {
                self.marked[i as usize] = false;
            }
            return if core.is_empty() {
                Lesson::Impossible
            } else {
                Lesson::Core(core)
            };
        };
        self.minimize(t, &mut below);
        let mut atoms = vec![uip];
        let mut levels: Vec<u32> = Vec::new();
        let mut per_half: std::collections::BTreeMap<u32, (i64, u32)> =
            std::collections::BTreeMap::new();
        for i in &below {
            let e = t.s.trail[*i as usize];
            let slot = per_half.entry(e.half).or_insert((i64::MIN, 0));
            if self.need[*i as usize] > slot.0 {
                *slot = (self.need[*i as usize], e.level);
            }
            self.marked[*i as usize] = false;
        }
        let mut rest: Vec<(u32, Atom)> = Vec::new();
        for (half, (thr, level)) in per_half {
            if half == uip.half {
                // The deeper atom of the same half says it all.
                continue;
            }
            levels.push(level);
            rest.push((level, Atom { half, thr }));
        }
        rest.sort_by(|x, y| y.0.cmp(&x.0).then(x.1.half.cmp(&y.1.half)));
        let level = rest.first().map_or(0, |r| r.0);
        atoms.extend(rest.iter().map(|r| r.1));
        levels.sort_unstable();
        levels.dedup();
        Lesson::Nogood {
            atoms,
            level,
            levels: levels.len() as u32 + 1,
        }
    }

    /// Drops premises that follow from the others.
    fn minimize(&mut self, t: &mut Theory, below: &mut Vec<u32>) {
        // `below` runs from the latest entry to the earliest, so what a premise rests on, if it is
        // marked, is still there when the premise is judged.
        let mut kept = Vec::with_capacity(below.len());
        let mut reasons = std::mem::take(&mut self.reasons);
        for i in below.iter().copied() {
            let e = t.s.trail[i as usize];
            if e.reason == Reason::None {
                kept.push(i);
                continue;
            }
            reasons.clear();
            t.explain(i, self.need[i as usize], &mut reasons);
            t.s.work += reasons.len() as u64;
            let implied = reasons.iter().all(|a| {
                let r = t.s.entry_of(*a);
                r == NONE
                    || t.s.trail[r as usize].level == 0
                    || (self.marked[r as usize] && self.need[r as usize] >= a.thr)
            });
            if implied {
                self.marked[i as usize] = false;
            } else {
                kept.push(i);
            }
        }
        self.reasons = reasons;
        *below = kept;
    }
}
