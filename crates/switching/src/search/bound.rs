//! Lower bounds on the moves (and the time) that remain, and a guide that is no bound.
//!
//! Four bounds hold at once, and the largest counts.
//!
//! 1. *Visits.* Every place that must still receive a car needs a set-out of its own, every place
//!    from which a car must go needs a coupling of its own. A car that is right but stands between
//!    a wrong one and the only way out must come out and go back.
//! 2. *Wrong neighbours.* A coupling or a set-out parts at most one pair of neighbours. Every pair
//!    that cannot be neighbours when all is done must be parted.
//! 3. *Missing neighbours.* Each joins at most one pair. When all is done the items form one
//!    group for the train and one for each place that may then hold cars.
//! 4. *One car alone* ([`super::lone`]): what the most awkward car would take by itself.

use std::cell::{Cell, RefCell};

use super::lone::Lone;
use super::map::Maps;
use super::problem::{LOOSE, Problem};
use super::state::{Measure, Stepper};
use crate::rates::Effort;
use crate::town::Town;
use crate::work::{Goal, Work};

/// Weights found by trial on towns of our own; none is best everywhere.
pub(crate) const WEIGHTS: [(u32, u32); 4] = [(2, 4), (3, 3), (1, 4), (4, 2)];

pub(crate) struct Bounds {
    /// Which classes may be neighbours when all is done.
    compatible: Vec<bool>,
    n_classes: usize,
    /// Most groups when all is done.
    groups_at_end: u32,
    /// Which places have a way out at either end.
    open: Vec<[bool; 2]>,
    leaves: bool,
    couple_cost: u32,
    set_out_cost: u32,
    start_cost: u32,
    timed: bool,
    lone: RefCell<Lone>,
    /// Weights of the guide, in quarters: runs of like cars count by what they would take alone,
    /// pairs to be parted count again.
    weights: Cell<(u32, u32)>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Left {
    /// Never more than what remains.
    pub bound: u32,
    /// A guess at what remains, in quarters of that unit.
    pub guide: u32,
}

impl Bounds {
    pub fn new(s: &Stepper, town: &Town, work: &Work, maps: &Maps) -> Self {
        let p = &s.p;
        let n = p.classes.len();
        let leaves = p.departure.is_some();
        let mut compatible = vec![false; n * n];
        for a in 0..n {
            for b in 0..n {
                compatible[a * n + b] = may_be_neighbours(p, a, b, leaves);
            }
        }
        let mut may_hold = vec![false; p.places.len()];
        for c in &p.classes {
            match &c.goal {
                Goal::Anywhere => may_hold
                    .iter_mut()
                    .zip(&p.places)
                    .filter(|(_, q)| !q.clear_at_end)
                    .for_each(|(m, _)| *m = true),
                Goal::Track { places, .. } => {
                    places.iter().for_each(|q| may_hold[q.index()] = true);
                }
                Goal::Spot { place, .. } => may_hold[place.index()] = true,
                Goal::Leave { .. } => {}
            }
            if c.engine == Some(1) {
                may_hold.iter_mut().for_each(|m| *m = true);
            }
        }
        let shortest = p
            .classes
            .iter()
            .filter(|c| c.engine.is_none())
            .map(|c| c.len)
            .min();
        let cost = |e: Effort| match &s.measure {
            Measure::Time(r) => r.hundredths(&e),
            Measure::Moves => 1,
        };
        Self {
            compatible,
            n_classes: n,
            groups_at_end: 1 + may_hold.iter().filter(|m| **m).count() as u32,
            open: p
                .places
                .iter()
                .map(|q| [0, 1].map(|e| !p.next[q.out(e) as usize].is_empty()))
                .collect(),
            leaves,
            couple_cost: cost(Effort {
                couplings: 1,
                hoses: 1,
                ..Effort::default()
            }),
            set_out_cost: cost(Effort {
                cuts: 1,
                walked: shortest.unwrap_or(0),
                ..Effort::default()
            }),
            start_cost: cost(Effort {
                starts: 1,
                ..Effort::default()
            }),
            timed: matches!(s.measure, Measure::Time(_)),
            lone: RefCell::new(Lone::new(town, work, p, maps)),
            weights: Cell::new(WEIGHTS[0]),
        }
    }

    /// Changes how the guide is made up; the bound stays what it is.
    pub fn weigh(&self, weights: (u32, u32)) {
        self.weights.set(weights);
    }

    /// Which pairs of classes may stay coupled.
    pub fn glue(&self) -> Vec<bool> {
        self.compatible.clone()
    }

    fn fits(&self, a: u8, b: u8) -> bool {
        self.compatible[a as usize * self.n_classes + b as usize]
    }

    pub fn left(&self, s: &mut Stepper, buf: &[u8]) -> Left {
        if s.gone(buf) {
            return Left::default();
        }
        let map = s.map_of(buf);
        let s = &*s;
        let pos = s.pos(buf);
        let mut lone = self.lone.borrow_mut();
        let row = lone.row(map, pos);
        let mut hardest = 0;
        let mut each_run = 0;
        let p = &s.p;
        let np = s.np();
        let mut takes: u64 = 0;
        let mut gives: u64 = 0;
        let mut wrong_pairs = 0u32;
        let mut groups = 1u32;
        let mut from = 0;
        for g in 0..np {
            let m = buf[g] as usize;
            if m == 0 {
                continue;
            }
            groups += 1;
            let mut run = 0;
            let mut first_wrong = usize::MAX;
            let mut last_wrong = 0;
            for j in 0..m {
                let class = s.class(buf, from + j);
                let home = only_home(p, class);
                if j > 0 && !self.fits(s.class(buf, from + j - 1), class) {
                    wrong_pairs += 1;
                    each_run += std::mem::take(&mut run);
                }
                if !right_here(p, class, g, s.at(buf, from + j)) {
                    first_wrong = first_wrong.min(j);
                    last_wrong = j;
                    gives |= 1 << g;
                    if let Some(h) = home {
                        takes |= 1 << h;
                    }
                    let d = lone.moves(row, s, map, pos, class, g);
                    hardest = hardest.max(d);
                    run = run.max(d);
                }
            }
            each_run += run;
            if gives >> g & 1 == 1 {
                // Right cars that must come out with the wrong ones and go back.
                let stuck = |r: std::ops::Range<usize>| {
                    r.into_iter()
                        .any(|j| only_home(p, s.class(buf, from + j)) == Some(g))
                };
                // To reach all wrong cars from end 0, everything before the last of them moves.
                let through0 = stuck(0..last_wrong);
                let through1 = stuck(first_wrong + 1..m);
                let must = match self.open[g] {
                    [true, false] => through0,
                    [false, true] => through1,
                    _ => {
                        // From both ends: all right cars outside the innermost wrong span remain
                        // only if every wrong car is reached without passing a right one.
                        through0 && through1 && {
                            let mut seen_right = false;
                            let mut blocked = false;
                            let mut after = false;
                            for j in 0..m {
                                let class = s.class(buf, from + j);
                                if right_here(p, class, g, s.at(buf, from + j)) {
                                    if only_home(p, class) == Some(g) {
                                        if after {
                                            blocked = true;
                                        }
                                        seen_right = true;
                                    }
                                } else if seen_right {
                                    after = true;
                                }
                            }
                            blocked
                        }
                    }
                };
                if must {
                    takes |= 1 << g;
                }
            }
            from += m;
        }
        let train = s.group(buf, np);
        let engine = train.start + s.engine_at(buf);
        let mut run = 0;
        for j in train.clone() {
            let class = s.class(buf, j);
            if j > train.start && !self.fits(s.class(buf, j - 1), class) {
                wrong_pairs += 1;
                each_run += std::mem::take(&mut run);
            }
            if j == engine {
                each_run += std::mem::take(&mut run);
            } else {
                let d = lone.moves(row, s, map, pos, class, np + usize::from(j > engine));
                hardest = hardest.max(d);
                run = run.max(d);
                if let Some(h) = only_home(p, class) {
                    takes |= 1 << h;
                }
            }
        }
        each_run += run;
        if self.leaves
            && engine > train.start
            && engine + 1 < train.end
            && self.fits(s.class(buf, engine - 1), s.class(buf, engine))
            && self.fits(s.class(buf, engine), s.class(buf, engine + 1))
        {
            // The engine leaves at an end of the train: one of its neighbours must go.
            wrong_pairs += 1;
        }
        let visits = takes.count_ones() + gives.count_ones();
        let missing = (groups + wrong_pairs).saturating_sub(self.groups_at_end);
        let mut moves = visits.max(wrong_pairs).max(missing).max(hardest);
        let (run, pair) = self.weights.get();
        let mut guide = (run * each_run + pair * wrong_pairs).max(4 * moves);
        if moves == 0 && !s.goal_but_leaving(buf) {
            moves = 1;
        }
        guide = guide.max(4 * moves);
        if !self.timed {
            return Left {
                bound: moves,
                guide,
            };
        }
        let (t, g) = (takes.count_ones(), gives.count_ones());
        let cheap = self.couple_cost.min(self.set_out_cost);
        let places = (takes | gives).count_ones().saturating_sub(1);
        let bound = t * self.set_out_cost
            + g * self.couple_cost
            + (moves - moves.min(visits)) * cheap
            + places * self.start_cost;
        let each = cheap + 3 * self.start_cost;
        Left {
            bound,
            guide: (4 * bound).max(guide * each),
        }
    }
}

/// The only place where a car may end up, if there is only one.
fn only_home(p: &Problem, class: u8) -> Option<usize> {
    match &p.classes[class as usize].goal {
        Goal::Track { places, .. } if places.len() == 1 => Some(places[0].index()),
        Goal::Spot { place, .. } => Some(place.index()),
        _ => None,
    }
}

/// Whether a car may stay where it is as far as its own goal goes.
fn right_here(p: &Problem, class: u8, g: usize, at: u16) -> bool {
    let c = &p.classes[class as usize];
    if p.places[g].clear_at_end {
        return false;
    }
    match &c.goal {
        Goal::Anywhere => !(c.engine == Some(0) && p.departure.is_some()),
        Goal::Track { places, .. } => places.iter().any(|q| q.index() == g),
        Goal::Spot { .. } => at != LOOSE && p.on_goal_spot(class, g, at),
        Goal::Leave { .. } => false,
    }
}

fn may_be_neighbours(p: &Problem, a: usize, b: usize, leaves: bool) -> bool {
    let (x, y) = (&p.classes[a], &p.classes[b]);
    for (c, d) in [(x, y), (y, x)] {
        if c.engine == Some(0) && leaves && d.engine.is_none() {
            // In the train that leaves.
            return match d.goal {
                Goal::Leave { block } => {
                    !lower_block(p, block) && (!d.caboose || !any_other_leaves(p))
                }
                Goal::Anywhere => true,
                _ => false,
            };
        }
        if c.engine.is_some() || c.goal == Goal::Anywhere {
            return true;
        }
    }
    let places = |g: &Goal| match g {
        Goal::Track { places, .. } => places.clone(),
        Goal::Spot { place, .. } => vec![*place],
        _ => vec![],
    };
    match (&x.goal, &y.goal) {
        (Goal::Leave { block: i }, Goal::Leave { block: j }) => {
            let (lo, hi) = (i.min(j), i.max(j));
            !p.classes.iter().any(|c| match c.goal {
                Goal::Leave { block } => lo < &block && &block < hi,
                _ => false,
            })
        }
        (Goal::Leave { .. }, _) | (_, Goal::Leave { .. }) => false,
        (
            Goal::Track {
                places: u,
                rank: Some(i),
            },
            Goal::Track {
                places: v,
                rank: Some(j),
            },
        ) if u.len() == 1 && u == v => {
            let (lo, hi) = (i.min(j), i.max(j));
            !p.classes.iter().any(|c| match &c.goal {
                Goal::Track {
                    places,
                    rank: Some(r),
                } => places == u && lo < r && r < hi,
                _ => false,
            })
        }
        (g, h) => {
            let v = places(h);
            places(g).iter().any(|q| v.contains(q))
        }
    }
}

fn lower_block(p: &Problem, block: u16) -> bool {
    p.classes
        .iter()
        .any(|c| matches!(c.goal, Goal::Leave { block: b } if b < block))
}

fn any_other_leaves(p: &Problem) -> bool {
    p.classes
        .iter()
        .any(|c| !c.caboose && matches!(c.goal, Goal::Leave { .. }))
}
