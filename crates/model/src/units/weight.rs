//! Weights.

use std::fmt;

use super::quantity::{in_units, quantity};
use super::read::{Quantity, ReadError, Unit, decimal};

quantity! {
    /// A weight, of a model in ounces or of a car in tons. Kept in kilograms.
    ///
    /// A model's weight stands for nothing: it does not scale, so there is one type for both.
    ///
    /// ```
    /// use model::units::{Weight, WeightStyle};
    ///
    /// let car = Weight::parse("4 oz")?;
    /// assert_eq!(car.show(WeightStyle::Grams { decimals: 1 }).to_string(), "113.4 g");
    /// assert_eq!(Weight::parse("50 tons")?, Weight::parse("100,000 lb")?);
    /// # Ok::<(), model::units::ReadError>(())
    /// ```
    Weight in "kilograms"
}

/// Kilograms in an avoirdupois pound, exact by definition (international yard and pound agreement of 1959).
const POUND: f64 = 0.453_592_37;
const OUNCE: f64 = POUND / 16.0;
const SHORT_TON: f64 = 2000.0 * POUND;
const LONG_TON: f64 = 2240.0 * POUND;

in_units! { Weight {
    from_kg, kg: 1.0, "kilograms";
    from_grams, grams: 0.001, "grams";
    from_ounces, ounces: OUNCE, "ounces";
    from_pounds, pounds: POUND, "pounds";
    from_short_tons, short_tons: SHORT_TON, "short tons of 2000 lb";
    from_long_tons, long_tons: LONG_TON, "long tons of 2240 lb";
    from_tonnes, tonnes: 1000.0, "metric tons";
} }

const WEIGHT: Quantity = Quantity {
    name: "weight",
    expected: "a weight such as 4 oz, 120 g or 50 tons",
    units: &[
        Unit::new(OUNCE, &["oz", "ozs", "ounce", "ounces"]),
        Unit::new(POUND, &["lb", "lbs", "pound", "pounds", "#"]).in_thousands(),
        Unit::new(SHORT_TON, &["tons", "ton", "short tons", "short ton"]).in_thousands(),
        Unit::new(LONG_TON, &["long tons", "long ton"]),
        Unit::new(0.001, &["g", "gm", "gram", "grams"]),
        Unit::new(1.0, &["kg", "kilo", "kilos", "kilogram", "kilograms"]),
        Unit::new(
            1000.0,
            &["t", "tonne", "tonnes", "metric tons", "metric ton"],
        ),
    ],
    usual: ["oz", "lb"],
    marked: false,
    most: (1e9, "a million tonnes"),
};

impl Weight {
    /// Reads a weight: `4 oz`, `1 lb 4 oz`, `120 g`, `50 tons`, `50 short tons`, `50 long tons`, `45 t`, `45 metric tons`.
    ///
    /// A ton without more is the short ton of 2000 lb. In pounds and short tons the comma of `169,000 lb` separates thousands,
    /// since nobody gives a thousandth of a pound; in other units such a number is refused, for it may be a decimal comma.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault. `T` is refused, since some write it for short tons and some for tonnes.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        WEIGHT.read_all(text).map(|amount| Self(amount.value))
    }

    /// For printing in `style`.
    #[must_use]
    pub fn show(self, style: WeightStyle) -> ShownWeight {
        ShownWeight {
            weight: self,
            style,
        }
    }
}

/// How to print a [`Weight`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeightStyle {
    /// `4.0 oz`.
    Ounces {
        /// Digits after the point.
        decimals: u8,
    },
    /// `125000 lb`.
    Pounds {
        /// Digits after the point.
        decimals: u8,
    },
    /// `62.5 tons`, of 2000 lb.
    ShortTons {
        /// Digits after the point.
        decimals: u8,
    },
    /// `113 g`.
    Grams {
        /// Digits after the point.
        decimals: u8,
    },
    /// `1.25 kg`.
    Kilograms {
        /// Digits after the point.
        decimals: u8,
    },
    /// `56.7 t`.
    Tonnes {
        /// Digits after the point.
        decimals: u8,
    },
}

/// A weight with the style to print it in; made by [`Weight::show`].
#[derive(Debug, Clone, Copy)]
pub struct ShownWeight {
    weight: Weight,
    style: WeightStyle,
}

impl fmt::Display for ShownWeight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let weight = self.weight;
        let (value, decimals, unit) = match self.style {
            WeightStyle::Ounces { decimals } => (weight.ounces(), decimals, "oz"),
            WeightStyle::Pounds { decimals } => (weight.pounds(), decimals, "lb"),
            WeightStyle::ShortTons { decimals } => (weight.short_tons(), decimals, "tons"),
            WeightStyle::Grams { decimals } => (weight.grams(), decimals, "g"),
            WeightStyle::Kilograms { decimals } => (weight.kg(), decimals, "kg"),
            WeightStyle::Tonnes { decimals } => (weight.tonnes(), decimals, "t"),
        };
        write!(f, "{} {unit}", decimal(value, decimals))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// NMRA RP-20.1, as reprinted: an HO car 6 in long weighs 4 oz, 113.40 g; an O car of 10½ in 15½ oz, 439.42 g.
    #[test]
    fn ounces_and_grams() {
        assert!((Weight::from_ounces(4.0).grams() - 113.40).abs() < 0.006);
        assert!((Weight::from_ounces(15.5).grams() - 439.42).abs() < 0.006);
    }

    #[test]
    fn spellings() {
        for (text, pounds) in [
            ("20 oz", 1.25),
            ("1 lb 4 oz", 1.25),
            ("1¼ lbs", 1.25),
            ("50 tons", 100_000.0),
            ("50 short tons", 100_000.0),
            ("50 Long Tons", 112_000.0),
            ("1 long ton 500 lb", 2740.0),
            ("169,000 lb", 169_000.0),
            ("1,234,567 lb", 1_234_567.0),
            ("1,5 lb", 1.5),
            ("45.359237 t", 100_000.0),
            ("45.359237 metric tons", 100_000.0),
            ("453.59237 g", 1.0),
        ] {
            assert!(
                (Weight::parse(text).unwrap().pounds() - pounds).abs() < 1e-6,
                "{text}"
            );
        }
    }

    #[test]
    fn faults() {
        let error = |text: &str| Weight::parse(text).unwrap_err();
        assert_eq!(
            error("4").to_string(),
            "4 of what? Expected a unit of weight (write 4 oz or 4 lb)"
        );
        assert_eq!(
            error("4 ozz").to_string(),
            "`ozz` is not a unit of weight (did you mean oz?)"
        );
        assert_eq!(error("50 T").at, 3..4);
        assert_eq!(
            error("1,250 kg").to_string(),
            "`1,250` can be read two ways: 1250 or 1.250 (write 1250 or 1.250)"
        );
        assert_eq!(error("50 long tonss").at, 3..7);
    }

    proptest! {
        #[test]
        fn print_then_parse(pounds in 0.0..500_000.0f64, decimals in 0..4u8, kind in 0..6u8) {
            let (style, pounds_each) = match kind {
                0 => (WeightStyle::Ounces { decimals }, 1.0 / 16.0),
                1 => (WeightStyle::Pounds { decimals }, 1.0),
                2 => (WeightStyle::ShortTons { decimals }, 2000.0),
                3 => (WeightStyle::Grams { decimals }, 0.001 / POUND),
                4 => (WeightStyle::Kilograms { decimals }, 1.0 / POUND),
                _ => (WeightStyle::Tonnes { decimals }, 1000.0 / POUND),
            };
            let printed = Weight::from_pounds(pounds).show(style).to_string();
            let back = Weight::parse(&printed).unwrap();
            let step = pounds_each / 10f64.powi(i32::from(decimals));
            prop_assert!((back.pounds() - pounds).abs() <= step * 0.500_001 + 1e-6, "{printed}");
            prop_assert_eq!(back.show(style).to_string(), printed);
        }
    }
}
