//! Resistance of full-size trains, in pounds per short ton as the handbooks give it.

use model::units::{CurveDefinition, DegreeOfCurve, Prototype, Speed, Weight};

/// Grade resistance of one percent: 20 lb for each short ton, since 2000 lb climb 1 in 100.
pub const GRADE_PER_PERCENT: f64 = 20.0;

/// Curve resistance of a moving train for each degree of curve, lb per short ton (A.R.E.A.; Army TR0603).
pub const CURVE_PER_DEGREE: f64 = 0.8;

/// A share of weight from pounds per short ton.
pub const fn from_lb_per_ton(pounds: f64) -> f64 {
    pounds / 2000.0
}

/// A share of weight in pounds per short ton.
pub const fn lb_per_ton(share: f64) -> f64 {
    share * 2000.0
}

/// Curve resistance as a share of weight, by the degree of curve over an arc of 100 ft.
///
/// `pounds` is lb per ton and degree. The arc serves, and not the chord, since model curves may be sharper than any chord.
pub fn curve_share(radius: Prototype, pounds: f64) -> f64 {
    DegreeOfCurve::of_radius(radius, CurveDefinition::Arc).map_or(0.0, |curve| {
        from_lb_per_ton(pounds * curve.angle().degrees())
    })
}

/// What the trucks' journals run in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Bearings {
    /// Oiled waste and brass.
    #[default]
    Plain,
    /// Rollers.
    Roller,
}

impl Bearings {
    /// Resistance when a train starts after standing, lb per short ton. From memory: 15 to 25 for plain bearings, 5 for
    /// rollers; the middle is taken.
    pub const fn starting_lb_per_ton(self) -> f64 {
        match self {
            Self::Plain => 20.0,
            Self::Roller => 5.0,
        }
    }
}

/// Which of the published formulas.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Formula {
    /// W. J. Davis Jr., General Electric Review, October 1926: for plain bearings at speeds up to about 60 mph.
    #[default]
    Davis1926,
    /// The modification of the 1970s for heavier cars on roller bearings: 0.6 + 20/w + 0.01 V + K V²/(w n) with K = 0.07.
    /// The coefficients are from memory.
    Modified,
}

/// What kind of vehicle, as far as the formula tells them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CarClass {
    /// A freight car.
    Freight,
    /// A passenger-train car.
    Passenger,
    /// An engine.
    Engine,
}

/// What the formula of Davis takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Davis {
    /// Which of the two formulas.
    pub formula: Formula,
    /// Its kind.
    pub class: CarClass,
    /// Its whole weight, full size.
    pub weight: Weight,
    /// How many axles it stands on.
    pub axles: u32,
    /// Its front, square feet.
    pub area_ft2: f64,
}

impl Davis {
    /// A vehicle with the usual front of its class: 85 ft² for freight cars, 110 for engines, 120 for passenger cars.
    pub const fn usual(formula: Formula, class: CarClass, weight: Weight, axles: u32) -> Self {
        let area_ft2 = match class {
            CarClass::Freight => 85.0,
            CarClass::Engine => 110.0,
            CarClass::Passenger => 120.0,
        };
        Self {
            formula,
            class,
            weight,
            axles,
            area_ft2,
        }
    }

    /// Resistance on level straight track, lb per short ton.
    ///
    /// Under five tons an axle, where the formula was not meant to be used, it is used all the same and overstates.
    pub fn lb_per_ton(&self, speed: Speed) -> f64 {
        let (per_ton, of_car) = self.parts(speed);
        per_ton + of_car / self.weight.short_tons().max(0.1)
    }

    /// The same in two parts: pounds for each short ton, and pounds that do not depend on the weight. That the second is
    /// there is why empties pull hard, and what adjusted tonnage adjusts for.
    pub fn parts(&self, speed: Speed) -> (f64, f64) {
        let axles = f64::from(self.axles.max(1));
        let mph = speed.mph();
        match self.formula {
            Formula::Davis1926 => {
                let (flange, air) = match self.class {
                    CarClass::Freight => (0.045, 0.0005),
                    CarClass::Passenger => (0.03, 0.00034),
                    CarClass::Engine => (0.03, 0.0024),
                };
                (
                    1.3 + flange * mph,
                    29.0 * axles + air * self.area_ft2 * mph * mph,
                )
            }
            Formula::Modified => (0.6 + 0.01 * mph, 20.0 * axles + 0.07 * mph * mph),
        }
    }

    /// Resistance on level straight track as a share of the weight.
    pub fn share(&self, speed: Speed) -> f64 {
        from_lb_per_ton(self.lb_per_ton(speed))
    }
}

/// Pounds per short ton that take a train from one speed to another in so many miles, the wheels' spin left out
/// (W. L. Webb, The Economics of Railroad Construction: 0.01267 times the difference of the squares over a mile).
pub fn acceleration(from: Speed, to: Speed, over: Prototype) -> f64 {
    0.01267 * (to.mph().powi(2) - from.mph().powi(2)) / over.miles()
}

/// The height to which a train would climb by its speed alone, its wheels' spin reckoned at 5 % (Webb; g = 32.16 ft/s²).
pub fn velocity_head(speed: Speed) -> Prototype {
    let feet_per_second = speed.mph() * 5280.0 / 3600.0;
    Prototype::from_feet(1.05 * feet_per_second.powi(2) / (2.0 * 32.16))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b}");
    }

    /// W. J. Davis Jr., General Electric Review, Oct 1926; the numbers reckoned apart from this code.
    #[test]
    fn davis_1926() {
        for (tons, area, mph, expected) in [
            (70.0, 85.0, 10.0, 3.4679),
            (70.0, 85.0, 20.0, 4.1000),
            (70.0, 85.0, 40.0, 5.7286),
            (70.0, 85.0, 60.0, 7.8429),
            (50.0, 90.0, 20.0, 4.8800),
            (50.0, 90.0, 40.0, 6.8600),
            (22.0, 85.0, 10.0, 7.2159),
            (22.0, 85.0, 20.0, 8.2455),
            (22.0, 85.0, 40.0, 11.4636),
        ] {
            let car = Davis {
                area_ft2: area,
                ..Davis::usual(
                    Formula::Davis1926,
                    CarClass::Freight,
                    Weight::from_short_tons(tons),
                    4,
                )
            };
            near(car.lb_per_ton(Speed::from_mph(mph)), expected, 5e-5);
        }
    }

    /// A.R.E.A. and Army TR0603: 0.8 lb per ton and degree, 8 lb on 10°; 20 lb for each percent, 10 lb on half a percent.
    #[test]
    fn grades_and_curves() {
        let ten = DegreeOfCurve::new(
            model::units::Angle::from_degrees(10.0),
            CurveDefinition::Arc,
        )
        .unwrap();
        near(
            lb_per_ton(curve_share(ten.radius(), CURVE_PER_DEGREE)),
            8.0,
            1e-9,
        );
        near(GRADE_PER_PERCENT * 0.5, 10.0, 1e-12);
        near(lb_per_ton(0.01), GRADE_PER_PERCENT, 1e-12);
    }

    /// HO, 30 in radius, 26.313° by the arc: 1.053 %; a rule of thumb of hobby practice, no source, says 32 over the radius in
    /// inches, 1.067 %.
    #[test]
    fn a_model_curve() {
        let radius = model::scale::Scale::new(87.1)
            .unwrap()
            .to_prototype(model::units::Actual::from_inches(30.0));
        near(curve_share(radius, CURVE_PER_DEGREE), 0.01053, 5e-6);
        near(curve_share(radius, CURVE_PER_DEGREE), 0.32 / 30.0, 0.00025);
    }

    /// W. L. Webb, The Economics of Railroad Construction: 2.851 lb per ton from a stand to 15 mph in a mile; velocity head 13.378 ft at
    /// 20 mph, 14.046 with 5 % for the wheels.
    #[test]
    fn speed_and_height() {
        near(
            acceleration(
                Speed::ZERO,
                Speed::from_mph(15.0),
                Prototype::from_miles(1.0),
            ),
            2.851,
            5e-4,
        );
        near(velocity_head(Speed::from_mph(20.0)).feet(), 14.046, 1e-3);
        near(
            velocity_head(Speed::from_mph(20.0)).feet() / 1.05,
            13.378,
            1e-3,
        );
    }

    /// The basis of adjusted tonnage: an empty car resists about twice as much for each ton as a loaded one.
    #[test]
    fn empties_pull_hard() {
        let at = Speed::from_mph(10.0);
        let of = |tons| {
            Davis::usual(
                Formula::Davis1926,
                CarClass::Freight,
                Weight::from_short_tons(tons),
                4,
            )
            .lb_per_ton(at)
        };
        let ratio = of(22.0) / of(70.0);
        assert!((1.8..2.3).contains(&ratio), "{ratio}");
    }
}
