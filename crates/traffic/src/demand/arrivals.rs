//! When loads are offered: dice of a fixed seed, a stream of its own for each lane.
//!
//! The dice of a lane and a day depend on the seed, the day and the words of the lane's row alone. So
//! a shipper who is added, or a row that is moved, changes no other shipper's orders.

use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

use super::Lane;
use crate::{Moves, Traffic};

/// The stream of a lane's orders.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stream(u64);

impl Stream {
    /// The stream of a lane under a seed. `nth` parts lanes of one row that go to different ends.
    pub fn new(traffic: &Traffic, lane: &Lane, seed: u64, nth: u64) -> Self {
        let flow = traffic.flow(lane.flow);
        let word = |text: &Option<model::Spanned<String>>| {
            text.as_ref()
                .map(|text| text.value.clone())
                .unwrap_or_default()
        };
        let place = flow.place.as_ref().map(|place| place.name().value.clone());
        let mut hash = mix(seed ^ nth.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        for word in [
            word(&flow.shipper_name),
            word(&flow.station),
            word(&flow.track),
            lane.commodity.clone(),
            lane.kind.word().to_owned(),
            flow.does
                .map(|does| does.value.word())
                .unwrap_or_default()
                .to_owned(),
            place.unwrap_or_default(),
            flow.season.to_string(),
        ] {
            for byte in word.bytes().chain([0]) {
                hash = mix(hash ^ u64::from(byte));
            }
        }
        Self(hash)
    }

    /// The same lane's stream under another seed.
    #[must_use]
    pub fn under(self, seed: u64) -> Self {
        Self(mix(self.0 ^ mix(seed)))
    }

    /// How many cars are offered on a day: a multiple of how many go together. `month` is 1 to 12, and
    /// `weekday` 0 is Monday.
    ///
    /// Carloads come at random, a Poisson number a day; house cars are as even as whole cars can be.
    pub fn cars(self, lane: &Lane, day: u32, month: u8, weekday: u8) -> u32 {
        let mean = lane.mean(month, weekday);
        if mean <= 0.0 {
            return 0;
        }
        let mut dice = Pcg64::seed_from_u64(mix(self.0 ^ mix(u64::from(day))));
        if lane.moves == Moves::LessThanCarload {
            let over = dice.random::<f64>() < mean.fract();
            return mean.floor() as u32 + u32::from(over);
        }
        let together = lane.cars_at_once.max(1);
        poisson(mean / f64::from(together), &mut || dice.random::<f64>()).saturating_mul(together)
    }
}

/// A Poisson number of this mean. `dice` gives numbers from 0 to 1.
///
/// Multiplies uniform numbers until the product falls below e^-mean (Knuth, The Art of Computer
/// Programming, vol. 2, 3.4.1, algorithm Q), in pieces of at most 16 so that the product stays far from the
/// smallest numbers: a sum of independent Poisson numbers is one of the sum of their means.
pub fn poisson(mean: f64, dice: &mut impl FnMut() -> f64) -> u32 {
    let mut left = mean;
    let mut sum = 0;
    while left > 0.0 {
        let piece = left.min(16.0);
        left -= piece;
        let floor = (-piece).exp();
        let mut product = dice();
        while product > floor {
            product *= dice();
            sum += 1;
        }
    }
    sum
}

/// Stirs 64 bits: the finalizer of SplitMix64 (Steele, Lea, Flood, Fast splittable pseudorandom number
/// generators, OOPSLA 2014).
fn mix(bits: u64) -> u64 {
    let bits = bits.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    bits ^ (bits >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Means and variances of a Poisson distribution are equal: within five standard errors, for means
    /// on both sides of a piece.
    #[test]
    fn poisson_numbers_have_the_mean_and_the_variance() {
        let mut dice = Pcg64::seed_from_u64(7);
        for mean in [0.05, 0.7, 3.0, 16.0, 41.5] {
            let n = 20_000;
            let drawn: Vec<f64> = (0..n)
                .map(|_| f64::from(poisson(mean, &mut || dice.random::<f64>())))
                .collect();
            let average = drawn.iter().sum::<f64>() / f64::from(n);
            let variance =
                drawn.iter().map(|x| (x - average).powi(2)).sum::<f64>() / f64::from(n - 1);
            let error = (mean / f64::from(n)).sqrt();
            assert!((average - mean).abs() < 5.0 * error, "{mean}: {average}");
            // Var(s^2) is (mean + 2 mean^2) / n for a Poisson distribution.
            let error = ((mean + 2.0 * mean * mean) / f64::from(n)).sqrt();
            assert!((variance - mean).abs() < 5.0 * error, "{mean}: {variance}");
        }
    }
}
