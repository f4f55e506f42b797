//! Resistance of the model's own trains, as shares of what they weigh.
//!
//! No standard has these figures. The defaults are common practice without a source; test pulls on the owner's own railroad
//! ([`calibrate`](super::calibrate())) are better.

use model::{
    scale::Scale,
    units::{Actual, Prototype},
};

use super::{CURVE_PER_DEGREE, curve_share};

/// How hard the model's cars roll.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelRolling {
    /// On level straight track while moving: a car begins to roll by itself on this grade. Common practice, no source: 1 to
    /// 4 %, with trucks of pointed axles 1 to 2 %.
    pub rolling: f64,
    /// The same when a train starts.
    pub starting: f64,
    /// What a curve adds: its share of weight times its radius in meters.
    pub curve_m: f64,
    /// What an engine pulls as a share of its weight where it was not measured. Common practice, no source: 20 to 25 %.
    pub pull_share: f64,
}

impl ModelRolling {
    /// The defaults of common practice: 2 % rolling, 2½ % starting, engines that pull 22 % of their weight, and curves as
    /// the prototype's 0.8 lb per ton and degree makes them at this scale (about 32 % over the radius in inches in HO).
    pub fn usual(scale: Scale) -> Self {
        let meter = Actual::from_meters(1.0);
        Self {
            rolling: 0.02,
            starting: 0.025,
            curve_m: curve_share(scale.to_prototype(meter), CURVE_PER_DEGREE),
            pull_share: 0.22,
        }
    }

    /// What a curve of this radius adds, as a share of weight.
    pub fn curve(&self, radius: Actual) -> f64 {
        if radius > Actual::ZERO {
            self.curve_m / radius.meters()
        } else {
            0.0
        }
    }

    /// The same coefficient as lb per ton and degree of a full-size curve, for comparing with handbooks.
    pub fn curve_lb_per_ton_degree(&self, scale: Scale) -> f64 {
        let one: Prototype = scale.to_prototype(Actual::from_meters(1.0));
        CURVE_PER_DEGREE * self.curve_m / curve_share(one, CURVE_PER_DEGREE)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: in HO a curve is as good as 32 % of grade over its radius in inches.
    #[test]
    fn the_usual_curve_is_the_hobbys_rule() {
        let usual = ModelRolling::usual(Scale::new(87.1).unwrap());
        for inches in [18.0, 24.0, 30.0, 36.0] {
            let share = usual.curve(Actual::from_inches(inches));
            assert!(
                (share / (0.32 / inches) - 1.0).abs() < 0.02,
                "{inches} in: {share}"
            );
        }
        assert!((usual.curve_lb_per_ton_degree(Scale::new(87.1).unwrap()) - 0.8).abs() < 1e-12);
    }
}
