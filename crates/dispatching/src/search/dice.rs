//! The only source of chance: a generator seeded from outside.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A seeded random generator.
#[derive(Debug, Clone)]
pub(crate) struct Dice(Pcg64Mcg);

impl Dice {
    /// The same seed gives the same throws.
    pub(crate) fn new(seed: u64) -> Self {
        Self(Pcg64Mcg::seed_from_u64(seed))
    }

    /// A number below `n` (0 when `n` is 0).
    pub(crate) fn below(&mut self, n: usize) -> usize {
        if n < 2 { 0 } else { self.0.random_range(0..n) }
    }

    /// True `part` times out of `whole`.
    pub(crate) fn chance(&mut self, part: u32, whole: u32) -> bool {
        self.0.random_range(0..whole) < part
    }

    /// A number from 0 (inclusive) to 1 (exclusive).
    pub(crate) fn share(&mut self) -> f64 {
        self.0.random::<f64>()
    }

    /// Mixes a list.
    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, self.below(i + 1));
        }
    }
}
