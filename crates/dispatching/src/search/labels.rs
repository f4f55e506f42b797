//! What the two searches for a run share: which labels need not be taken up.

use super::fine::Fine;

/// What a label says of a train in an operation.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reach {
    /// Where it must have left, or where others stand in line.
    pub(super) end: Fine,
    /// Its start.
    pub(super) start: Fine,
    /// The latest start that the label stands for.
    pub(super) late: Fine,
    /// Cost so far.
    pub(super) cost: i64,
}

/// The labels that were taken up: nothing worse need be.
#[derive(Debug, Default)]
pub(super) struct Taken {
    of: Vec<Vec<Reach>>,
    touched: Vec<usize>,
}

impl Taken {
    /// Nothing is taken up yet, at none of so many places.
    pub(super) fn clear(&mut self, places: usize) {
        for place in self.touched.drain(..) {
            self.of[place].clear();
        }
        if self.of.len() < places {
            self.of.resize(places, Vec::new());
        }
    }

    /// Whether a label is to be taken up at a place: not if one there begins no later, lasts as long and
    /// costs no more. Where a train may not wait, that one must also stand for starts as late.
    pub(super) fn take(&mut self, place: usize, may_wait: bool, label: Reach) -> bool {
        let taken = &mut self.of[place];
        if taken.iter().any(|d| {
            d.end >= label.end
                && d.start <= label.start
                && d.cost <= label.cost
                && (may_wait || d.late >= label.late)
        }) {
            return false;
        }
        if taken.is_empty() {
            self.touched.push(place);
        }
        taken.push(label);
        true
    }
}
