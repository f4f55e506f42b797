//! Adjusted tonnage: one rating for loads and empties.
//!
//! A car resists with so much for each ton and so much of its own, whatever it weighs. Counted as tons, the second is the
//! allowance added to each car's weight; then one rating serves any mix, as far as all of it stands on one grade.

use model::units::{Speed, Weight};

use crate::resistance::{Davis, GRADE_PER_PERCENT};

/// An adjusted rating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adjusted {
    /// The most that weights and allowances of all cars may come to.
    pub rating: Weight,
    /// The allowance added to the weight of each car.
    pub per_car: Weight,
}

/// The adjusted rating on a grade, a share with its curves counted, for what is left of the pull when the engine has moved
/// itself. `car` stands for all: its class, axles and front count, its weight does not. `None` if the grade carries the cars.
pub fn adjusted(left: Weight, car: &Davis, speed: Speed, grade: f64) -> Option<Adjusted> {
    let (per_ton, of_car) = car.parts(speed);
    let per_ton = per_ton + GRADE_PER_PERCENT * 100.0 * grade;
    (per_ton > 0.0).then(|| Adjusted {
        rating: Weight::from_short_tons(left.pounds() / per_ton),
        per_car: Weight::from_short_tons(of_car / per_ton),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::resistance::{CarClass, Formula};

    fn car(formula: Formula, tons: f64) -> Davis {
        Davis::usual(formula, CarClass::Freight, Weight::from_short_tons(tons), 4)
    }

    /// With the formula of W. J. Davis Jr. at 10 mph on 1 %, a car of 70 tons resists with 242.75 lb and 1400 lb of grade, an
    /// empty of 22 tons with 158.75 and 440: reckoned apart from this code. What both come to is what the rating says.
    #[test]
    fn loads_and_empties_by_one_rating() {
        let speed = Speed::from_mph(10.0);
        let pull = 20.0 * 1642.75 + 10.0 * 598.75;
        let found = adjusted(
            Weight::from_pounds(pull),
            &car(Formula::Davis1926, 50.0),
            speed,
            0.01,
        )
        .unwrap();
        let allowance = found.per_car.short_tons();
        let counted = 20.0 * (70.0 + allowance) + 10.0 * (22.0 + allowance);
        assert!(
            (found.rating.short_tons() - counted).abs() < 0.01,
            "{} and {counted}",
            found.rating.short_tons()
        );
        // 120.25 lb of its own over 21.75 lb a ton.
        assert!((allowance - 120.25 / 21.75).abs() < 1e-9, "{allowance}");
    }

    proptest! {
        #[test]
        fn a_mix_is_within_the_rating_when_it_can_be_moved(
            tons in prop::collection::vec(18.0_f64..90.0, 1..60), pull in 5_000.0_f64..120_000.0,
            mph in 5.0_f64..40.0, grade in 0.0_f64..0.03, modified in any::<bool>(),
        ) {
            let formula = if modified { Formula::Modified } else { Formula::Davis1926 };
            let speed = Speed::from_mph(mph);
            let found = adjusted(Weight::from_pounds(pull), &car(formula, 50.0), speed, grade).unwrap();
            let resists: f64 = tons.iter().map(|&tons| tons * (car(formula, tons).lb_per_ton(speed) + 2000.0 * grade)).sum();
            let counted: f64 = tons.iter().map(|tons| tons + found.per_car.short_tons()).sum();
            if (resists - pull).abs() > 1e-6 * pull {
                prop_assert_eq!(counted <= found.rating.short_tons(), resists <= pull);
            }
        }
    }
}
