//! How long things take on a model: the same kinds of effort as full size, at a model crew's pace.

use model::{scale::Scale, units::Prototype};
use switching::{KINDS, Rates};

use super::compile::PER_INCH;

/// What a crew of a model train takes for each thing, in real seconds. Common practice, no source;
/// replaced by a club's own once it has timed moves ([`switching::calibrate`]).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Speed while switching, scale miles per hour.
    pub speed: f64,
    /// To start and to stop.
    pub start: f64,
    /// To line a switch by hand.
    pub throw: f64,
    /// To couple, gently.
    pub couple: f64,
    /// To cut off with a pick.
    pub cut: f64,
    /// To hold a car on a grade.
    pub brake: f64,
    /// To release it.
    pub release: f64,
    /// Seconds that hoses are pretended to take.
    pub hose: f64,
    /// How well these are known, as a part of each.
    pub doubt: f64,
    /// Standard deviation of one move about what is reckoned.
    pub spread: f64,
}

impl Default for Pace {
    fn default() -> Self {
        Self {
            speed: 10.0,
            start: 2.0,
            throw: 4.0,
            couple: 4.0,
            cut: 6.0,
            brake: 5.0,
            release: 3.0,
            hose: 0.0,
            doubt: 1.0 / 3.0,
            spread: 8.0,
        }
    }
}

/// Rates of a pace for towns in tenths of an inch. Seconds are real ones, not the railroad clock's.
/// Walking takes nothing: the crew stands where the cars are.
pub fn model_rates(scale: Scale, pace: &Pace) -> Rates {
    let unit_feet = scale.to_prototype(model::units::Actual::from_inches(1.0 / PER_INCH))
        / Prototype::from_feet(1.0);
    let feet_a_second = pace.speed * 5280.0 / 3600.0;
    let seconds = [
        unit_feet / feet_a_second,
        pace.start,
        pace.throw,
        pace.couple,
        pace.cut,
        pace.brake,
        pace.release,
        0.0,
        pace.hose,
    ];
    let mut covariance = [[0.0; KINDS]; KINDS];
    for (at, rate) in seconds.iter().enumerate() {
        covariance[at][at] = (rate * pace.doubt).powi(2);
    }
    Rates {
        seconds,
        covariance,
        residual: pace.spread * pace.spread,
    }
}
