//! When the work is done.

use super::clear::leaving_positions;
use super::state::{Measure, Stepper};
use crate::work::Goal;

impl Stepper {
    /// Whether the work is done: for a train that leaves, that nothing remains but to leave.
    pub fn is_goal(&mut self, buf: &[u8]) -> bool {
        if self.gone(buf) {
            return true;
        }
        if matches!(self.measure, Measure::Time(_))
            && (self.p.departure.is_some() || self.epoch(buf) < self.p.due.len())
        {
            return false;
        }
        if !self.goal_but_leaving(buf) {
            return false;
        }
        if self.p.departure.is_none() {
            return true;
        }
        let map = self.map_of(buf);
        let Some(rests) = self.rests_of(buf) else {
            return false;
        };
        let length = self.train_len(buf);
        let pos = self.pos(buf);
        let mut comp = vec![];
        self.component(map, &rests, length, (pos.path, pos.o), &mut comp);
        !leaving_positions(self, buf, map, &rests, length, &comp).is_empty()
    }

    /// All goals but the departure itself.
    pub fn goal_but_leaving(&self, buf: &[u8]) -> bool {
        let np = self.np();
        let mut i = 0;
        for g in 0..np {
            let m = buf[g] as usize;
            if m > 0 && self.p.places[g].clear_at_end {
                return false;
            }
            let mut last = None;
            for j in i..i + m {
                let class = self.class(buf, j);
                let c = &self.p.classes[class as usize];
                match &c.goal {
                    Goal::Anywhere => {}
                    Goal::Track { places, rank } => {
                        if !places.iter().any(|p| p.index() == g) {
                            return false;
                        }
                        if let Some(r) = rank {
                            if last.is_some_and(|l| l > *r) {
                                return false;
                            }
                            last = Some(*r);
                        }
                    }
                    Goal::Spot { .. } => {
                        if !self.p.on_goal_spot(class, g, self.at(buf, j)) {
                            return false;
                        }
                    }
                    Goal::Leave { .. } => return false,
                }
                // The train's own engine must leave with the train.
                if c.engine == Some(0) && self.p.departure.is_some() {
                    return false;
                }
            }
            i += m;
        }
        let train = self.group(buf, np);
        let engine = self.engine_at(buf);
        let n = train.len();
        if self.p.departure.is_some() && engine != 0 && engine != n - 1 {
            return false;
        }
        for backwards in [false, true] {
            // From the engine outward, one way and the other.
            let m = if backwards { engine } else { n - 1 - engine };
            let mut last = 0;
            for s in 1..=m {
                let j = train.start + if backwards { engine - s } else { engine + s };
                let c = &self.p.classes[self.class(buf, j) as usize];
                match c.goal {
                    Goal::Leave { block } => {
                        if block < last {
                            return false;
                        }
                        last = block;
                    }
                    Goal::Anywhere => {}
                    _ => return false,
                }
                if c.caboose && s != m {
                    return false;
                }
            }
        }
        true
    }
}
