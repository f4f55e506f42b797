//! One day's luck, drawn from the day's own seed, so that the answer is the same on any number of threads.

use dispatching::Time;
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

use super::{Chances, Sort, Worked, chain::Luck};

/// What happens to each train at each of its stations and on the stretch after it.
#[derive(Debug)]
pub(super) struct Luckbook {
    /// By train of the plan and call: at the station, and on the open line beyond.
    of: Vec<Vec<[Luck; 2]>>,
    /// By train of the plan: how late it comes out.
    late: Vec<Time>,
}

impl Luckbook {
    pub fn draw(worked: &Worked<'_>, chances: &Chances, seed: u64, number: u32) -> Self {
        let mut dice = Pcg64::seed_from_u64(
            seed ^ (u64::from(number) + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15),
        );
        let mut of = Vec::with_capacity(worked.booked.len());
        let mut late = Vec::with_capacity(worked.booked.len());
        for train in &worked.booked {
            // One crew runs all day at its pace, a little different at each place.
            let crew = bell(&mut dice) * chances.pace;
            late.push(
                if train.from_staging && dice.random_bool(chances.late_out) {
                    rounded(spell(&mut dice) * seconds(chances.late_by))
                } else {
                    0
                },
            );
            of.push(
                train
                    .places
                    .iter()
                    .map(|_| {
                        let work = (bell(&mut dice) * chances.work_pace).exp();
                        let run = (crew + bell(&mut dice) * chances.pace / 4.0).exp();
                        let derailed = dice.random_bool(chances.derailment);
                        let long = dice.random_range(-1.0..1.0_f64).exp2();
                        let delay = if derailed {
                            rounded(long * seconds(chances.rerailing))
                        } else {
                            0
                        };
                        [
                            Luck {
                                factor: work,
                                ..Luck::PLAIN
                            },
                            Luck {
                                factor: run,
                                delay,
                                late: 0,
                            },
                        ]
                    })
                    .collect(),
            );
        }
        Self { of, late }
    }

    /// What happens to an operation.
    pub fn of(&self, worked: &Worked<'_>, train: usize, operation: usize) -> Luck {
        let Some(meaning) = worked.meanings[train].get(operation).copied().flatten() else {
            return Luck::PLAIN;
        };
        let Some([station, open]) = self.of[meaning.train].get(meaning.call) else {
            return Luck::PLAIN;
        };
        match meaning.sort {
            Sort::Open => *open,
            Sort::Station => *station,
            Sort::Before => Luck {
                late: self.late[meaning.train],
                ..Luck::PLAIN
            },
            Sort::After => Luck::PLAIN,
        }
    }
}

/// About the normal distribution, of mean 0 and deviation 1: the sum of twelve even chances less six,
/// which never leaves ±6 (Irwin-Hall).
fn bell(dice: &mut Pcg64) -> f64 {
    (0..12)
        .map(|_| dice.random_range(0.0..1.0_f64))
        .sum::<f64>()
        - 6.0
}

/// Mean 1, most of them short: the exponential distribution.
fn spell(dice: &mut Pcg64) -> f64 {
    -(1.0 - dice.random_range(0.0..1.0_f64)).ln()
}

#[allow(clippy::cast_precision_loss)]
fn seconds(time: Time) -> f64 {
    time as f64
}

#[allow(clippy::cast_possible_truncation)]
fn rounded(seconds: f64) -> Time {
    seconds.round() as Time
}
