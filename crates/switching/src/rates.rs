//! How long moves take: countable effort, seconds per unit of each, and calibration from
//! observed times.
//!
//! The minutes of a move are linear in what can be counted about it,
//!
//! > t = Σ rᵢ xᵢ
//!
//! with x the [`Effort`] (length run, starts, switches lined, couplings, cuts, brakes set and
//! released, length walked, hoses made) and r the [`Rates`]. That makes calibration a linear
//! least-squares problem with known uncertainty ([`calibrate`]).

use std::ops::Add;

/// Number of kinds of effort.
pub const KINDS: usize = 9;

/// What one move costs, in things that can be counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Length run, in the town's unit.
    pub run: u32,
    /// Starts and stops (one for each leg).
    pub starts: u32,
    /// Hand-thrown switches lined for, or restored after, a leg over their reverse side.
    pub throws: u32,
    /// Couplings made.
    pub couplings: u32,
    /// Cuts made.
    pub cuts: u32,
    /// Hand brakes set.
    pub brakes_set: u32,
    /// Hand brakes released.
    pub brakes_released: u32,
    /// Length walked beside the cars to the cut, in the town's unit.
    pub walked: u32,
    /// Air hoses made up and charged.
    pub hoses: u32,
}

impl Effort {
    /// As a row for the linear model, in the order of the fields.
    pub fn row(&self) -> [f64; KINDS] {
        [
            self.run,
            self.starts,
            self.throws,
            self.couplings,
            self.cuts,
            self.brakes_set,
            self.brakes_released,
            self.walked,
            self.hoses,
        ]
        .map(f64::from)
    }
}

impl Add for Effort {
    type Output = Self;

    fn add(self, o: Self) -> Self {
        Self {
            run: self.run + o.run,
            starts: self.starts + o.starts,
            throws: self.throws + o.throws,
            couplings: self.couplings + o.couplings,
            cuts: self.cuts + o.cuts,
            brakes_set: self.brakes_set + o.brakes_set,
            brakes_released: self.brakes_released + o.brakes_released,
            walked: self.walked + o.walked,
            hoses: self.hoses + o.hoses,
        }
    }
}

/// Seconds per unit of each kind of [`Effort`], in the order of its fields, and how well they are
/// known.
#[derive(Clone, Debug, PartialEq)]
pub struct Rates {
    /// Seconds per unit.
    pub seconds: [f64; KINDS],
    /// Covariance of those rates (seconds squared per unit squared).
    pub covariance: [[f64; KINDS]; KINDS],
    /// Variance of one move about the model (seconds squared).
    pub residual: f64,
}

impl Default for Rates {
    /// Plausible times for full-size work with lengths in feet: 6 mph, hand-thrown switches, a
    /// crew on the ground. Common practice, no source; each rate is taken as known to about a
    /// third, independently, until a club calibrates its own.
    fn default() -> Self {
        let seconds = [
            60.0 / 528.0,
            12.0,
            25.0,
            20.0,
            12.0,
            30.0,
            20.0,
            60.0 / 264.0,
            25.0,
        ];
        let mut covariance = [[0.0; KINDS]; KINDS];
        for (i, s) in seconds.iter().enumerate() {
            covariance[i][i] = (s / 3.0) * (s / 3.0);
        }
        Self {
            seconds,
            covariance,
            residual: 400.0,
        }
    }
}

/// A time with its standard deviation, both in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Expected seconds.
    pub seconds: f64,
    /// Standard deviation.
    pub spread: f64,
}

impl Rates {
    /// Expected time of some effort made up of `moves` moves.
    pub fn estimate(&self, effort: &Effort, moves: usize) -> Estimate {
        let x = effort.row();
        let seconds = x.iter().zip(&self.seconds).map(|(a, b)| a * b).sum();
        let mut variance = self.residual * moves as f64;
        for (row, a) in self.covariance.iter().zip(&x) {
            for (c, b) in row.iter().zip(&x) {
                variance += a * b * c;
            }
        }
        Estimate {
            seconds,
            spread: variance.max(0.0).sqrt(),
        }
    }

    /// Expected time as whole hundredths of a second, at least 1: the cost the search adds up.
    pub(crate) fn hundredths(&self, effort: &Effort) -> u32 {
        let s: f64 = effort
            .row()
            .iter()
            .zip(&self.seconds)
            .map(|(a, b)| a * b)
            .sum();
        (s * 100.0).round().max(1.0) as u32
    }
}

/// Why times could not be calibrated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CalibrationError {
    /// Nothing was observed.
    #[error("no observed times; at least one move is needed")]
    NothingObserved,
    /// An observed time is negative or not a number.
    #[error("observation {0} has no usable time; expected seconds, zero or more")]
    BadTime(usize),
}

/// Fits rates to observed moves by least squares, leaning on what is already known.
///
/// `prior` enters as if its rates had been observed with its own covariance, so rates about which
/// the observations say nothing keep their old value and old uncertainty, and none of the normal
/// equations can be singular:
///
/// > minimise Σ (tₖ − xₖ·r)² / σ² + (r − r₀)ᵀ C₀⁻¹ (r − r₀)
///
/// (Bayesian linear regression with a normal prior; textbook.) σ² is the prior's residual
/// variance, and is then estimated anew from the residuals once there are more observations than
/// kinds of effort. Rates below zero are set to zero.
///
/// # Errors
/// If there is nothing to fit, or a time is negative or not finite.
pub fn calibrate(prior: &Rates, observed: &[(Effort, f64)]) -> Result<Rates, CalibrationError> {
    if observed.is_empty() {
        return Err(CalibrationError::NothingObserved);
    }
    if let Some(i) = observed
        .iter()
        .position(|(_, t)| !t.is_finite() || *t < 0.0)
    {
        return Err(CalibrationError::BadTime(i));
    }
    let prior_precision = invert(&prior.covariance);
    let fit = |variance: f64| {
        let mut a = prior_precision;
        let mut b = [0.0; KINDS];
        for i in 0..KINDS {
            b[i] = (0..KINDS)
                .map(|j| prior_precision[i][j] * prior.seconds[j])
                .sum();
        }
        for (effort, t) in observed {
            let x = effort.row();
            for i in 0..KINDS {
                b[i] += x[i] * t / variance;
                for j in 0..KINDS {
                    a[i][j] += x[i] * x[j] / variance;
                }
            }
        }
        let covariance = invert(&a);
        let mut seconds = [0.0; KINDS];
        for i in 0..KINDS {
            seconds[i] = (0..KINDS)
                .map(|j| covariance[i][j] * b[j])
                .sum::<f64>()
                .max(0.0);
        }
        (seconds, covariance)
    };
    let mut variance = prior.residual.max(1e-6);
    let (mut seconds, mut covariance) = fit(variance);
    if observed.len() > KINDS {
        // Two rounds settle the residual variance well enough for a spread on a paper form.
        for _ in 0..2 {
            let sum: f64 = observed
                .iter()
                .map(|(e, t)| {
                    let r: f64 = e.row().iter().zip(&seconds).map(|(a, b)| a * b).sum();
                    (t - r) * (t - r)
                })
                .sum();
            variance = (sum / (observed.len() - KINDS) as f64).max(1e-6);
            (seconds, covariance) = fit(variance);
        }
    }
    Ok(Rates {
        seconds,
        covariance,
        residual: variance,
    })
}

/// Inverse of a symmetric positive definite matrix; a zero on the diagonal (a rate known for
/// certain) is taken as a very small variance. Gauss-Jordan with pivoting is plenty for nine rows.
fn invert(m: &[[f64; KINDS]; KINDS]) -> [[f64; KINDS]; KINDS] {
    let mut a = *m;
    let mut inv = [[0.0; KINDS]; KINDS];
    for i in 0..KINDS {
        if a[i][i] <= 0.0 {
            a[i][i] = 1e-12;
        }
        inv[i][i] = 1.0;
    }
    for col in 0..KINDS {
        let pivot = (col..KINDS)
            .max_by(|&x, &y| a[x][col].abs().total_cmp(&a[y][col].abs()))
            .unwrap_or(col);
        a.swap(col, pivot);
        inv.swap(col, pivot);
        let d = a[col][col];
        for j in 0..KINDS {
            a[col][j] /= d;
            inv[col][j] /= d;
        }
        for row in 0..KINDS {
            if row != col {
                let f = a[row][col];
                for j in 0..KINDS {
                    a[row][j] -= f * a[col][j];
                    inv[row][j] -= f * inv[col][j];
                }
            }
        }
    }
    inv
}

#[cfg(test)]
mod tests {
    use super::*;

    fn samples(true_rates: &[f64; KINDS], n: u32) -> Vec<(Effort, f64)> {
        // A fixed congruential sequence: varied efforts and a noise of known size.
        let mut s = 12345u32;
        let mut next = |m: u32| {
            s = s.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (s >> 16) % m
        };
        (0..n)
            .map(|_| {
                let e = Effort {
                    run: next(1500),
                    starts: 1 + next(4),
                    throws: next(4),
                    couplings: next(2),
                    cuts: next(2),
                    brakes_set: next(5),
                    brakes_released: next(5),
                    walked: next(400),
                    hoses: next(6),
                };
                let noise = f64::from(next(21)) - 10.0;
                let t: f64 = e.row().iter().zip(true_rates).map(|(a, b)| a * b).sum();
                (e, (t + noise).max(0.0))
            })
            .collect()
    }

    #[test]
    fn observed_times_recover_the_rates_within_their_stated_uncertainty() {
        let truth = [0.2, 20.0, 15.0, 30.0, 9.0, 40.0, 10.0, 0.3, 12.0];
        let fitted = calibrate(&Rates::default(), &samples(&truth, 400)).unwrap();
        for (i, t) in truth.iter().enumerate() {
            let sd = fitted.covariance[i][i].sqrt();
            assert!(
                (fitted.seconds[i] - t).abs() < 4.0 * sd,
                "rate {i}: {fitted:?}"
            );
            assert!(sd < Rates::default().covariance[i][i].sqrt());
        }
        // Uniform noise on -10..=10 has variance (21^2 - 1) / 12 = 36.67.
        assert!((fitted.residual - 36.67).abs() < 8.0, "{}", fitted.residual);
    }

    #[test]
    fn what_was_not_observed_keeps_its_old_rate() {
        let prior = Rates::default();
        let only_runs: Vec<_> = (1..40)
            .map(|i| {
                (
                    Effort {
                        run: 100 * i,
                        ..Effort::default()
                    },
                    30.0 * f64::from(i),
                )
            })
            .collect();
        let fitted = calibrate(&prior, &only_runs).unwrap();
        assert!((fitted.seconds[0] - 0.3).abs() < 1e-3);
        for i in 1..KINDS {
            assert!((fitted.seconds[i] - prior.seconds[i]).abs() < 1e-6);
            assert!((fitted.covariance[i][i] - prior.covariance[i][i]).abs() < 1e-6);
        }
    }

    #[test]
    fn nothing_to_fit_is_said_so() {
        assert_eq!(
            calibrate(&Rates::default(), &[]),
            Err(CalibrationError::NothingObserved)
        );
        let bad = [(Effort::default(), f64::NAN)];
        assert_eq!(
            calibrate(&Rates::default(), &bad),
            Err(CalibrationError::BadTime(0))
        );
    }
}
