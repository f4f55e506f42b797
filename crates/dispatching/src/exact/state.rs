//! The state of the search: what is known, in which order it became known, and why.
//!
//! Everything known is a *half*: a number that only rises as more becomes known. An operation `o`
//! has three: `2o`, its earliest start (rising to "never", when it is off the path); `2o + 1`, minus
//! its latest start, *should it be on the path*; `2n + o`, 1 once it is known to be on the path.
//! Every other variable (an order of two trains, a sum of costs) has two, side by side: its
//! least value and minus its greatest. An [`Atom`] says that a half has reached a threshold.

use super::model::INF;

/// "The half has risen to the threshold."
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Atom {
    pub half: u32,
    pub thr: i64,
}

/// Why a half rose. What exactly is asked for later only; see `explain`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reason {
    /// Assumed, or true from the start.
    None,
    /// The last atom left of a nogood.
    Nogood(u32),
    /// Earliest start from the predecessors'.
    Forward,
    /// Earliest start from the successors', less the greatest duration.
    Stretch,
    /// Latest start from the successors'.
    Backward,
    /// Latest start from the predecessors', plus the greatest duration.
    Hurry,
    /// Off the path: its earliest start is beyond its latest.
    NoTime,
    /// Off the path: no successor is left.
    NoWayOn,
    /// Off the path: another operation, which excludes it, is on it.
    Excluded(u32),
    /// On the path: the only way on from this operation.
    OnlyWayOn(u32),
    /// On the path: the only way to this operation.
    OnlyWayTo(u32),
    /// Earliest start by an order.
    After(u32),
    /// Latest start of the operation before, by an order.
    Before(u32),
    /// Latest start of that operation's successor, by an order.
    EndBefore(u32),
    /// An order is ruled out by the times.
    TooLate(u32),
    /// A sum is at least what its terms are.
    Summed(u32),
    /// A sum allows no more.
    Full(u32),
}

/// One rise of a half.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    pub half: u32,
    /// The entry before of this half.
    pub prev: u32,
    pub level: u32,
    pub old: i64,
    pub new: i64,
    pub reason: Reason,
}

pub(super) const NONE: u32 = u32::MAX;

/// Atoms that cannot all be true.
#[derive(Debug, Clone)]
pub(super) struct Nogood {
    pub atoms: Vec<Atom>,
    pub activity: f64,
    pub levels: u32,
    pub learned: bool,
    pub dead: bool,
}

#[derive(Debug, Clone, Copy)]
struct Watch {
    nogood: u32,
    thr: i64,
}

/// Halves, trail and nogoods.
#[derive(Debug, Default)]
pub(super) struct State {
    /// Number of operations.
    pub n: u32,
    pub val: Vec<i64>,
    pub last: Vec<u32>,
    pub trail: Vec<Entry>,
    /// Length of the trail where each level above 0 began.
    pub levels: Vec<u32>,
    pub nogoods: Vec<Nogood>,
    watches: Vec<Vec<Watch>>,
    /// Atoms all true that cannot all be true, when a propagation fails.
    pub conflict: Vec<Atom>,
    /// Operations of which something has changed, either way, since somebody last looked.
    pub changed: Vec<u32>,
    is_changed: Vec<bool>,
    /// Units of work done.
    pub work: u64,
}

impl State {
    /// `first` and `latest` are the starts, `on` says which are surely on the path.
    pub fn new(first: &[i64], latest: &[i64], on: &[bool]) -> State {
        let n = first.len();
        let mut s = State {
            n: n as u32,
            ..State::default()
        };
        for o in 0..n {
            s.val.push(first[o]);
            s.val.push(-latest[o]);
        }
        s.val.extend(on.iter().map(|m| i64::from(*m)));
        if n % 2 == 1 {
            s.val.push(0);
        }
        s.is_changed = vec![true; n];
        s.changed = (0..n as u32).collect();
        s.last = vec![NONE; s.val.len()];
        s.watches = (0..s.val.len()).map(|_| Vec::new()).collect();
        s
    }

    /// A new variable; returns its lower half.
    pub fn add_var(&mut self, least: i64, greatest: i64) -> u32 {
        let h = self.val.len() as u32;
        self.val.push(least);
        self.val.push(-greatest);
        self.last.extend([NONE; 2]);
        self.watches.push(Vec::new());
        self.watches.push(Vec::new());
        h
    }

    pub fn first(&self, o: u32) -> i64 {
        self.val[2 * o as usize]
    }

    pub fn latest(&self, o: u32) -> i64 {
        -self.val[2 * o as usize + 1]
    }

    pub fn on(&self, o: u32) -> bool {
        self.val[(2 * self.n + o) as usize] > 0
    }

    pub fn off(&self, o: u32) -> bool {
        self.first(o) >= INF
    }

    pub fn first_is(&self, o: u32, t: i64) -> Atom {
        Atom {
            half: 2 * o,
            thr: t.min(INF),
        }
    }

    pub fn latest_is(&self, o: u32, t: i64) -> Atom {
        Atom {
            half: 2 * o + 1,
            thr: -t,
        }
    }

    pub fn on_is(&self, o: u32) -> Atom {
        Atom {
            half: 2 * self.n + o,
            thr: 1,
        }
    }

    pub fn level(&self) -> u32 {
        self.levels.len() as u32
    }

    pub fn is_true(&self, a: Atom) -> bool {
        self.val[a.half as usize] >= a.thr
    }

    /// True whatever is assumed or decided.
    pub fn is_true_at_root(&self, a: Atom) -> bool {
        if !self.is_true(a) {
            return false;
        }
        let e = self.entry_of(a);
        e == NONE || self.trail[e as usize].level == 0
    }

    /// Its negation is known to be true.
    pub fn is_false(&self, a: Atom) -> bool {
        if a.half >= 3 * self.n {
            return self.val[(a.half ^ 1) as usize] > -a.thr;
        }
        if a.half >= 2 * self.n {
            return self.off(a.half - 2 * self.n);
        }
        let o = a.half / 2;
        self.on(o)
            && ((a.half.is_multiple_of(2) && a.thr >= INF)
                || self.val[(a.half ^ 1) as usize] > -a.thr)
    }

    /// The atoms that together are the negation.
    pub fn negation(&self, a: Atom) -> ([Atom; 2], usize) {
        let other = Atom {
            half: a.half ^ 1,
            thr: 1 - a.thr,
        };
        if a.half >= 3 * self.n {
            return ([other, other], 1);
        }
        if a.half >= 2 * self.n {
            let never = self.first_is(a.half - 2 * self.n, INF);
            return ([never, never], 1);
        }
        let on = self.on_is(a.half / 2);
        if a.half.is_multiple_of(2) && a.thr >= INF {
            ([on, on], 1)
        } else {
            ([on, other], 2)
        }
    }

    /// The entry that made an atom true; `NONE` if it always was.
    pub fn entry_of(&self, a: Atom) -> u32 {
        let mut e = self.last[a.half as usize];
        if e == NONE {
            return NONE;
        }
        while e != NONE && self.trail[e as usize].old >= a.thr {
            e = self.trail[e as usize].prev;
        }
        e
    }

    /// The value of a half before the trail had this length.
    pub fn val_at(&self, half: u32, pos: u32) -> i64 {
        let mut e = self.last[half as usize];
        let mut v = self.val[half as usize];
        while e != NONE && e >= pos {
            v = self.trail[e as usize].old;
            e = self.trail[e as usize].prev;
        }
        v
    }

    pub fn true_at(&self, a: Atom, pos: u32) -> bool {
        self.val_at(a.half, pos) >= a.thr
    }

    fn push(&mut self, half: u32, new: i64, reason: Reason) {
        let h = half as usize;
        let e = self.trail.len() as u32;
        self.trail.push(Entry {
            half,
            prev: self.last[h],
            level: self.levels.len() as u32,
            old: self.val[h],
            new,
            reason,
        });
        self.last[h] = e;
        self.val[h] = new;
        self.work += 1;
        self.note_change(half);
    }

    fn note_change(&mut self, half: u32) {
        if half < 3 * self.n {
            let o = if half >= 2 * self.n {
                half - 2 * self.n
            } else {
                half / 2
            };
            if !self.is_changed[o as usize] {
                self.is_changed[o as usize] = true;
                self.changed.push(o);
            }
        }
    }

    /// Somebody has looked at all that changed.
    pub fn seen_changes(&mut self) {
        for o in self.changed.drain(..) {
            self.is_changed[o as usize] = false;
        }
    }

    /// Raises a half. False, with the conflict noted, if that cannot be.
    pub fn set(&mut self, half: u32, new: i64, reason: Reason) -> bool {
        if self.val[half as usize] >= new {
            return true;
        }
        self.push(half, new.min(INF), reason);
        if half >= 3 * self.n {
            let least = self.val[(half & !1) as usize];
            let greatest = -self.val[(half | 1) as usize];
            if least > greatest {
                let h = half & !1;
                self.conflict.clear();
                self.conflict.push(Atom {
                    half: h,
                    thr: greatest + 1,
                });
                self.conflict.push(Atom {
                    half: h | 1,
                    thr: -greatest,
                });
                return false;
            }
            return true;
        }
        let o = if half >= 2 * self.n {
            half - 2 * self.n
        } else {
            half / 2
        };
        if self.first(o) > self.latest(o) {
            if self.on(o) {
                let u = self.latest(o);
                self.conflict.clear();
                self.conflict.push(self.first_is(o, u + 1));
                self.conflict.push(self.latest_is(o, u));
                self.conflict.push(self.on_is(o));
                return false;
            }
            if !self.off(o) {
                self.push(2 * o, INF, Reason::NoTime);
            }
        }
        if self.off(o) && self.on(o) {
            self.conflict.clear();
            self.conflict.push(self.first_is(o, INF));
            self.conflict.push(self.on_is(o));
            return false;
        }
        true
    }

    pub fn set_atom(&mut self, a: Atom, reason: Reason) -> bool {
        self.set(a.half, a.thr, reason)
    }

    /// Makes an atom false.
    pub fn deny(&mut self, a: Atom, reason: Reason) -> bool {
        let (b, k) = self.negation(a);
        b[..k].iter().all(|b| self.set(b.half, b.thr, reason))
    }

    /// Adds a nogood of at least two atoms. The first two are watched; when learned, the first is
    /// the one to deny now and the second the last of the others to have become true.
    pub fn add_nogood(&mut self, atoms: Vec<Atom>, levels: u32, learned: bool) -> u32 {
        let id = self.nogoods.len() as u32;
        for a in &atoms[..2] {
            self.watches[a.half as usize].push(Watch {
                nogood: id,
                thr: a.thr,
            });
        }
        self.nogoods.push(Nogood {
            atoms,
            activity: 0.0,
            levels,
            learned,
            dead: false,
        });
        id
    }

    /// What the nogoods say once this half has risen from `old` to `new`.
    pub fn nogoods_of(&mut self, half: u32, old: i64, new: i64) -> bool {
        let mut ws = std::mem::take(&mut self.watches[half as usize]);
        let (mut i, mut j) = (0, 0);
        let mut good = true;
        self.work += ws.len() as u64 / 8;
        'watch: while i < ws.len() {
            let w = ws[i];
            i += 1;
            if w.thr > new || w.thr <= old {
                ws[j] = w;
                j += 1;
                continue;
            }
            let id = w.nogood as usize;
            if self.nogoods[id].dead {
                continue;
            }
            let me = Atom { half, thr: w.thr };
            if self.nogoods[id].atoms[0] == me {
                self.nogoods[id].atoms.swap(0, 1);
            }
            let first = self.nogoods[id].atoms[0];
            ws[j] = w;
            j += 1;
            if self.is_false(first) {
                continue;
            }
            let atoms = &self.nogoods[id].atoms;
            self.work += atoms.len() as u64 / 4 + 1;
            for (k, a) in atoms.iter().copied().enumerate().skip(2) {
                if self.val[a.half as usize] < a.thr {
                    self.nogoods[id].atoms.swap(1, k);
                    self.watches[a.half as usize].push(Watch {
                        nogood: w.nogood,
                        thr: a.thr,
                    });
                    j -= 1;
                    continue 'watch;
                }
            }
            if self.is_true(first) {
                self.conflict.clear();
                self.conflict.extend_from_slice(&self.nogoods[id].atoms);
                good = false;
                break;
            }
            if !self.deny(first, Reason::Nogood(w.nogood)) {
                good = false;
                break;
            }
        }
        while i < ws.len() {
            ws[j] = ws[i];
            j += 1;
            i += 1;
        }
        ws.truncate(j);
        let added = std::mem::take(&mut self.watches[half as usize]);
        ws.extend(added);
        self.watches[half as usize] = ws;
        good
    }

    /// Forgets everything above a level. `undone` is told each entry.
    pub fn back_to(&mut self, level: u32, mut undone: impl FnMut(&Entry)) {
        if self.level() <= level {
            return;
        }
        let keep = self.levels[level as usize] as usize;
        self.levels.truncate(level as usize);
        while self.trail.len() > keep {
            let Some(e) = self.trail.pop() else { break };
            undone(&e);
            self.val[e.half as usize] = e.old;
            self.last[e.half as usize] = e.prev;
            self.note_change(e.half);
        }
    }

    /// Drops the less useful half of the learned nogoods. Only at level 0.
    pub fn forget(&mut self) {
        debug_assert_eq!(self.level(), 0);
        let mut order: Vec<usize> = (0..self.nogoods.len())
            .filter(|i| self.nogoods[*i].learned && self.nogoods[*i].levels > 2)
            .collect();
        order.sort_by(|a, b| {
            let (x, y) = (&self.nogoods[*a], &self.nogoods[*b]);
            x.activity
                .total_cmp(&y.activity)
                .then(y.levels.cmp(&x.levels))
                .then(a.cmp(b))
        });
        for i in &order[..order.len() / 2] {
            self.nogoods[*i].dead = true;
        }
        // Entries at level 0 need no reasons any more; so the numbers may change.
        for e in &mut self.trail {
            e.reason = Reason::None;
        }
        let mut kept = Vec::with_capacity(self.nogoods.len());
        for g in std::mem::take(&mut self.nogoods) {
            if !g.dead && !g.atoms.iter().any(|a| self.is_false(*a)) {
                kept.push(g);
            }
        }
        for w in &mut self.watches {
            w.clear();
        }
        for mut g in kept {
            // At the fixpoint of level 0 at least two atoms are open.
            g.atoms.sort_by_key(|a| self.is_true(*a));
            let id = self.nogoods.len() as u32;
            for a in &g.atoms[..2] {
                self.watches[a.half as usize].push(Watch {
                    nogood: id,
                    thr: a.thr,
                });
            }
            self.nogoods.push(g);
        }
    }
}
