//! Lengths: [`Actual`] ones on the model and [`Prototype`] ones in the world it represents.

use std::fmt;

use super::quantity::{in_units, quantity};
use super::read::{Amount, Fault, Mark, Quantity, ReadError, Unit, decimal};
use crate::scale::Scale;

quantity! {
    /// A length on the model itself, as a tape measure in the layout room would give it. Kept in meters.
    ///
    /// It becomes a [`Prototype`] length only through a [`Scale`].
    ///
    /// ```
    /// use model::units::{Actual, Fraction, LengthStyle};
    ///
    /// let siding = Actual::parse("12'-6 1/2\"")?;
    /// assert!(siding.is_near(Actual::from_inches(150.5), Actual::from_mm(0.001)));
    /// assert_eq!(siding.show(LengthStyle::FeetInches(Fraction::Eighth)).to_string(), "12'-6 1/2\"");
    /// assert_eq!(siding.show(LengthStyle::Meters { decimals: 2 }).to_string(), "3.82 m");
    ///
    /// let error = Actual::parse("12").unwrap_err();
    /// assert_eq!(
    ///     error.to_string(),
    ///     "12 of what? Expected a unit of length (write 12 ft or 12 in)"
    /// );
    /// # Ok::<(), model::units::ReadError>(())
    /// ```
    Actual in "meters"
}

quantity! {
    /// A length in the real world, or one that the model represents ("40 scale feet"). Kept in meters.
    ///
    /// It becomes an [`Actual`] length only through a [`Scale`].
    ///
    /// ```
    /// use model::units::Prototype;
    ///
    /// let car = Prototype::parse("40'-6\"")?;
    /// assert_eq!(car.feet(), 40.5);
    /// # Ok::<(), model::units::ReadError>(())
    /// ```
    Prototype in "meters"
}

/// Meters in an inch, exact by definition (international yard and pound agreement of 1959).
const INCH: f64 = 0.0254;
/// Meters in a foot.
const FOOT: f64 = 0.3048;
/// Meters in a statute mile.
const MILE: f64 = 1609.344;

in_units! { Actual {
    from_meters, meters: 1.0, "meters";
    from_cm, cm: 0.01, "centimeters";
    from_mm, mm: 0.001, "millimeters";
    from_km, km: 1000.0, "kilometers";
    from_inches, inches: INCH, "inches";
    from_feet, feet: FOOT, "feet";
    from_miles, miles: MILE, "statute miles";
} }

in_units! { Prototype {
    from_meters, meters: 1.0, "meters";
    from_cm, cm: 0.01, "centimeters";
    from_mm, mm: 0.001, "millimeters";
    from_km, km: 1000.0, "kilometers";
    from_inches, inches: INCH, "inches";
    from_feet, feet: FOOT, "feet";
    from_miles, miles: MILE, "statute miles";
} }

pub(crate) const LENGTH: Quantity = Quantity {
    name: "length",
    expected: "a length such as 12'-6\", 46 in or 3.81 m",
    units: &[
        Unit::new(
            FOOT,
            &[
                "ft", "foot", "feet", "'", "\u{2032}", "\u{2019}", "\u{2018}",
            ],
        )
        .then_bare(INCH),
        Unit::new(
            INCH,
            &[
                "in",
                "ins",
                "inch",
                "inches",
                "\"",
                "''",
                "\u{2033}",
                "\u{201d}",
                "\u{201c}",
                "\u{2032}\u{2032}",
                "\u{2019}\u{2019}",
            ],
        ),
        Unit::new(1.0, &["m", "meter", "meters", "metre", "metres"]),
        Unit::new(
            0.01,
            &[
                "cm",
                "centimeter",
                "centimeters",
                "centimetre",
                "centimetres",
            ],
        ),
        Unit::new(
            0.001,
            &[
                "mm",
                "millimeter",
                "millimeters",
                "millimetre",
                "millimetres",
            ],
        ),
        Unit::new(MILE, &["mi", "mile", "miles"]),
        Unit::new(
            1000.0,
            &["km", "kilometer", "kilometers", "kilometre", "kilometres"],
        ),
        Unit::new(3.0 * FOOT, &["yd", "yds", "yard", "yards"]),
        // Surveyor's chain of 66 ft; British lines are measured in miles and chains.
        Unit::new(66.0 * FOOT, &["chain", "chains"]),
    ],
    usual: ["ft", "in"],
    marked: true,
    most: (1e8, "100,000 km"),
};

/// A length as written, before it is known which of the two kinds is wanted.
///
/// Plain text is neither: `40 ft` is what the place where it stands says it is. `40 scale ft` (or `40 sft`) is a prototype
/// length wherever it stands, and `6 actual in` (or `6 real in`) is one on the model.
///
/// ```
/// use model::scale::Scale;
/// use model::units::{Actual, LengthText, Prototype};
///
/// let ho = Scale::new(87.1).unwrap();
/// assert_eq!(LengthText::parse("40 scale ft")?, LengthText::Scale(Prototype::from_feet(40.0)));
/// assert_eq!(LengthText::parse("40 scale ft")?.to_actual(ho), ho.to_actual(Prototype::from_feet(40.0)));
/// assert_eq!(LengthText::parse("40 in")?.to_actual(ho), Actual::from_inches(40.0));
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LengthText {
    /// No mark: meters of whichever kind the place calls for.
    Plain(f64),
    /// Marked as a scale length.
    Scale(Prototype),
    /// Marked as a length on the model.
    Actual(Actual),
}

impl LengthText {
    /// Reads a length with or without a mark.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault, for anything that is not one length.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        LENGTH
            .read_all(text)
            .map(|amount| Self::from_amount(&amount))
    }

    pub(crate) fn from_amount(amount: &Amount) -> Self {
        match amount.mark {
            None => Self::Plain(amount.value),
            Some(Mark::Scale) => Self::Scale(Prototype(amount.value)),
            Some(Mark::Actual) => Self::Actual(Actual(amount.value)),
        }
    }

    /// As a length on the model; a plain length is one already.
    #[must_use]
    pub fn to_actual(self, scale: Scale) -> Actual {
        match self {
            Self::Plain(meters) => Actual(meters),
            Self::Scale(prototype) => scale.to_actual(prototype),
            Self::Actual(actual) => actual,
        }
    }

    /// As a prototype length; a plain length is one already.
    #[must_use]
    pub fn to_prototype(self, scale: Scale) -> Prototype {
        match self {
            Self::Plain(meters) => Prototype(meters),
            Self::Scale(prototype) => prototype,
            Self::Actual(actual) => scale.to_prototype(actual),
        }
    }
}

fn needs_scale(text: &str) -> ReadError {
    let start = text.len() - text.trim_start().len();
    let found = text.trim();
    ReadError::new(
        start..start + found.len(),
        Fault::NeedsScale {
            found: found.to_owned(),
        },
    )
}

impl Actual {
    /// Reads a length on the model: `12'-6"`, `12' 6 1/2"`, `12'-6½"`, `1 ft 3 in`, `46"`, `3.81 m`, `3,81 m`, `0.8 mi`.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault: no unit, an unknown unit, 12 inches or more after feet, text left over,
    /// or a scale length, which [`Actual::parse_in`] reads.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        match LengthText::parse(text)? {
            LengthText::Plain(meters) => Ok(Self(meters)),
            LengthText::Actual(actual) => Ok(actual),
            LengthText::Scale(_) => {
                Err(needs_scale(text).hint("give the length on the model, as in 12'-6\""))
            }
        }
    }

    /// Reads a length on the model that may be given in scale feet: `40 scale ft`, `40 sft`, `scale 40'-6"`.
    ///
    /// # Errors
    /// As [`Actual::parse`], but for scale lengths.
    pub fn parse_in(text: &str, scale: Scale) -> Result<Self, ReadError> {
        LengthText::parse(text).map(|length| length.to_actual(scale))
    }

    /// For printing in `style`.
    #[must_use]
    pub fn show(self, style: LengthStyle) -> ShownLength {
        ShownLength {
            meters: self.0,
            style,
            scale: false,
        }
    }
}

impl Prototype {
    /// Reads a prototype length, in the same spellings as [`Actual::parse`]; `40 scale ft` is 40 ft.
    ///
    /// # Errors
    /// As [`Actual::parse`]; a length marked `actual` needs [`Prototype::parse_in`].
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        match LengthText::parse(text)? {
            LengthText::Plain(meters) => Ok(Self(meters)),
            LengthText::Scale(prototype) => Ok(prototype),
            LengthText::Actual(_) => {
                Err(needs_scale(text).hint("give the length of the real thing, as in 40'-6\""))
            }
        }
    }

    /// Reads a prototype length that may be given as measured on the model: `6 actual in`.
    ///
    /// # Errors
    /// As [`Prototype::parse`], but for actual lengths.
    pub fn parse_in(text: &str, scale: Scale) -> Result<Self, ReadError> {
        LengthText::parse(text).map(|length| length.to_prototype(scale))
    }

    /// For printing in `style`.
    #[must_use]
    pub fn show(self, style: LengthStyle) -> ShownLength {
        ShownLength {
            meters: self.0,
            style,
            scale: false,
        }
    }

    /// For printing in `style` and marked as a scale length: `40 scale ft`, `scale 40'-6"`.
    #[must_use]
    pub fn show_as_scale(self, style: LengthStyle) -> ShownLength {
        ShownLength {
            meters: self.0,
            style,
            scale: true,
        }
    }
}

/// The finest part of an inch to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fraction {
    /// Whole inches.
    Whole,
    /// Halves.
    Half,
    /// Quarters.
    Quarter,
    /// Eighths.
    Eighth,
    /// Sixteenths.
    Sixteenth,
    /// 32nds.
    ThirtySecond,
    /// 64ths.
    SixtyFourth,
}

impl Fraction {
    /// Parts to the inch.
    #[must_use]
    pub const fn denominator(self) -> u32 {
        match self {
            Self::Whole => 1,
            Self::Half => 2,
            Self::Quarter => 4,
            Self::Eighth => 8,
            Self::Sixteenth => 16,
            Self::ThirtySecond => 32,
            Self::SixtyFourth => 64,
        }
    }
}

/// How to print a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthStyle {
    /// `12'-6 1/2"`, to the nearest part of an inch.
    FeetInches(Fraction),
    /// `150 1/2"`, to the nearest part of an inch.
    InchFractions(Fraction),
    /// `12.54 ft`.
    Feet {
        /// Digits after the point.
        decimals: u8,
    },
    /// `150.50 in`.
    Inches {
        /// Digits after the point.
        decimals: u8,
    },
    /// `3823 mm`.
    Millimeters {
        /// Digits after the point.
        decimals: u8,
    },
    /// `382.3 cm`.
    Centimeters {
        /// Digits after the point.
        decimals: u8,
    },
    /// `3.82 m`.
    Meters {
        /// Digits after the point.
        decimals: u8,
    },
    /// `1.25 mi`.
    Miles {
        /// Digits after the point.
        decimals: u8,
    },
    /// `2.01 km`.
    Kilometers {
        /// Digits after the point.
        decimals: u8,
    },
}

/// A length with the style to print it in; made by [`Actual::show`] and [`Prototype::show`].
#[derive(Debug, Clone, Copy)]
pub struct ShownLength {
    meters: f64,
    style: LengthStyle,
    scale: bool,
}

impl ShownLength {
    /// Feet and inches, or inches alone. Rounded once, in the smallest part, so that a carry reaches the feet: never 12".
    fn inches(&self, f: &mut fmt::Formatter<'_>, fraction: Fraction, feet: bool) -> fmt::Result {
        let below = fraction.denominator();
        let parts = (self.meters.abs() / INCH * f64::from(below)).round();
        if !parts.is_finite() || parts > 1e15 {
            return write!(f, "{} m", self.meters);
        }
        // Whole and at most 10^15 by the line above.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let parts = parts as u64;
        let below = u64::from(below);
        let (inches, rest) = (parts / below, parts % below);
        if self.meters < 0.0 && parts > 0 {
            f.write_str("-")?;
        }
        let inches = if feet {
            write!(f, "{}'-", inches / 12)?;
            inches % 12
        } else {
            inches
        };
        if rest == 0 {
            return write!(f, "{inches}\"");
        }
        // A power of two below the line, so halving is all the reduction there is.
        let (mut above, mut below) = (rest, below);
        while above % 2 == 0 {
            above /= 2;
            below /= 2;
        }
        if inches == 0 && !feet {
            write!(f, "{above}/{below}\"")
        } else {
            write!(f, "{inches} {above}/{below}\"")
        }
    }
}

impl fmt::Display for ShownLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (size, unit, decimals) = match self.style {
            LengthStyle::FeetInches(fraction) | LengthStyle::InchFractions(fraction) => {
                if self.scale {
                    f.write_str("scale ")?;
                }
                let feet = matches!(self.style, LengthStyle::FeetInches(_));
                return self.inches(f, fraction, feet);
            }
            LengthStyle::Feet { decimals } => (FOOT, "ft", decimals),
            LengthStyle::Inches { decimals } => (INCH, "in", decimals),
            LengthStyle::Millimeters { decimals } => (0.001, "mm", decimals),
            LengthStyle::Centimeters { decimals } => (0.01, "cm", decimals),
            LengthStyle::Meters { decimals } => (1.0, "m", decimals),
            LengthStyle::Miles { decimals } => (MILE, "mi", decimals),
            LengthStyle::Kilometers { decimals } => (1000.0, "km", decimals),
        };
        let mark = if self.scale { "scale " } else { "" };
        write!(f, "{} {mark}{unit}", decimal(self.meters / size, decimals))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[track_caller]
    fn inches(text: &str, expected: f64) {
        let found = Actual::parse(text)
            .unwrap_or_else(|e| panic!("{text}: {e}"))
            .inches();
        assert!(
            (found - expected).abs() < 1e-9,
            "{text}: {found} in, expected {expected}"
        );
    }

    #[test]
    fn spellings() {
        for text in [
            "12'-6\"",
            "12' 6\"",
            "12'6\"",
            "12 ft 6 in",
            "12 ft.-6 in.",
            "12 ft. 6 in.",
            "12ft6in",
            "12.5 ft",
            "12,5 ft",
            "12 1/2 ft",
            "12½'",
            "12′-6″",
            "12’-6”",
            "12'-6''",
            "12'-6",
            "150 in",
            "150\"",
            " 150 inches ",
            "12 feet and 6 inches",
            "12 FT 6 IN",
            "4 yd 6 in",
            "12\u{2032}\u{2011}6\u{2033}",
        ] {
            inches(text, 150.0);
        }
        for text in [
            "12' 6 1/2\"",
            "12'-6½\"",
            "12'-6-1/2\"",
            "150 1/2\"",
            "150.5 in",
            "12'-6 ½ in",
        ] {
            inches(text, 150.5);
        }
        for text in [
            "3.81 m",
            "3,81 m",
            "381 cm",
            "3810 mm",
            "3 m 81 cm",
            "0,00381 km",
            "3 meters 81 cm",
        ] {
            inches(text, 150.0);
        }
        inches("0.8 mi", 0.8 * 63360.0);
        inches("1 mile 3 chains", 63360.0 + 3.0 * 66.0 * 12.0);
        inches("1,234.5 in", 1234.5);
        inches("1.234.567,5 in", 1_234_567.5);
        inches("0,125 in", 0.125);
        inches(".5 in", 0.5);
        inches("1/8\"", 0.125);
        inches("-0'-6\"", -6.0);
        inches("−6 in", -6.0);
        inches("46 actual in", 46.0);
    }

    /// Fault, hint and bytes of the input, as a reader sees them.
    #[track_caller]
    fn refused(text: &str, at: std::ops::Range<usize>, message: &str) {
        let error = Actual::parse(text).expect_err(text);
        assert_eq!(error.to_string(), message, "{text}");
        assert_eq!(error.at, at, "{text}");
    }

    #[test]
    fn faults() {
        refused(
            "12",
            0..2,
            "12 of what? Expected a unit of length (write 12 ft or 12 in)",
        );
        refused(
            "  ",
            0..2,
            "nothing is written here: expected a length such as 12'-6\", 46 in or 3.81 m",
        );
        refused(
            "12 fet",
            3..6,
            "`fet` is not a unit of length (did you mean ft?)",
        );
        refused(
            "12 M",
            3..4,
            "`M` is not a unit of length (did you mean m?)",
        );
        refused(
            "12 furlongs",
            3..11,
            "`furlongs` is not a unit of length (units of length: ft, in, m, cm, mm, mi, km, yd, chain)",
        );
        refused(
            "12'-14\"",
            4..7,
            "`14\"` is out of range: expected less than 1 ft after the ft",
        );
        refused(
            "6 in 12 ft",
            5..10,
            "`12 ft` is out of range: expected less than 1 in after the in",
        );
        refused(
            "12.5' 6\"",
            6..8,
            "found `6\"` after a broken number of ft, expected a fraction in the last part only",
        );
        refused("12 ft long", 6..10, "found `long`, expected nothing more");
        refused(
            "long",
            0..4,
            "found `long`, expected a length such as 12'-6\", 46 in or 3.81 m",
        );
        refused(
            "1,000 ft",
            0..5,
            "`1,000` can be read two ways: 1000 or 1.000 (write 1000 or 1.000)",
        );
        refused(
            "1/0 in",
            0..3,
            "`1/0` is out of range: expected a fraction with something other than 0 below the line",
        );
        refused(
            "1.2.3 m",
            0..5,
            "found `1.2.3`, expected a number such as 1234.5 or 1234,5",
        );
        refused(
            "999999 km",
            0..9,
            "`999999 km` is out of range: expected at most 100,000 km",
        );
        refused(
            "40 sft",
            0..6,
            "`40 sft` can be converted only where the railroad's scale is known (give the length on the model, as in 12'-6\")",
        );
        refused("12 $", 3..4, "found `$`, expected a unit of length");
    }

    #[test]
    fn scale_feet() {
        let ho = Scale::new(87.1).unwrap();
        for text in [
            "40 scale ft",
            "40 sft",
            "40 scale feet",
            "scale 40 ft",
            "40 scale-feet",
            "scale 40'-0\"",
        ] {
            assert_eq!(
                LengthText::parse(text).unwrap(),
                LengthText::Scale(Prototype::from_feet(40.0)),
                "{text}"
            );
            assert_eq!(Prototype::parse(text).unwrap(), Prototype::from_feet(40.0));
            let actual = Actual::parse_in(text, ho).unwrap();
            assert!((actual.inches() - 480.0 / 87.1).abs() < 1e-9);
        }
        assert_eq!(
            Prototype::parse("2 smi").unwrap(),
            Prototype::from_miles(2.0)
        );
        assert!(Prototype::parse("6 actual in").is_err());
        let measured = Prototype::parse_in("1 real in", ho).unwrap();
        assert!((measured.inches() - 87.1).abs() < 1e-9);
        assert!(LengthText::parse("3 scale ft 2 actual in").is_err());
    }

    #[track_caller]
    fn shows(inches: f64, style: LengthStyle, expected: &str) {
        assert_eq!(
            Actual::from_inches(inches).show(style).to_string(),
            expected
        );
    }

    #[test]
    fn carrying() {
        use Fraction::*;
        use LengthStyle::*;
        shows(11.999, FeetInches(Sixteenth), "1'-0\"");
        shows(23.97, FeetInches(Sixteenth), "2'-0\"");
        shows(23.96, FeetInches(Sixteenth), "1'-11 15/16\"");
        shows(11.5, FeetInches(Whole), "1'-0\"");
        shows(150.5, FeetInches(SixtyFourth), "12'-6 1/2\"");
        shows(0.25, FeetInches(Eighth), "0'-0 1/4\"");
        shows(-6.0, FeetInches(Eighth), "-0'-6\"");
        shows(-0.01, FeetInches(Eighth), "0'-0\"");
        shows(150.5, InchFractions(Eighth), "150 1/2\"");
        shows(0.375, InchFractions(Eighth), "3/8\"");
        shows(0.0, InchFractions(Eighth), "0\"");
        shows(150.5, Feet { decimals: 2 }, "12.54 ft");
        shows(150.5, Millimeters { decimals: 0 }, "3823 mm");
        shows(-0.001, Meters { decimals: 2 }, "0.00 m");
        let car = Prototype::from_feet(40.5);
        assert_eq!(
            car.show_as_scale(Feet { decimals: 1 }).to_string(),
            "40.5 scale ft"
        );
        assert_eq!(
            car.show_as_scale(FeetInches(Whole)).to_string(),
            "scale 40'-6\""
        );
    }

    #[test]
    fn arithmetic() {
        let foot = Actual::from_feet(1.0);
        let total: Actual = [foot, foot * 2.0, 0.5 * foot].iter().sum();
        assert!(total.is_near(Actual::from_inches(42.0), Actual::from_mm(1e-9)));
        assert!((total / foot - 3.5).abs() < 1e-12);
        assert!(foot < total && -foot < foot && (-foot).abs() == foot);
        assert_eq!(foot.total_cmp(&total), std::cmp::Ordering::Less);
    }

    fn style() -> impl Strategy<Value = LengthStyle> {
        use Fraction::*;
        let fraction = proptest::sample::select(vec![
            Whole,
            Half,
            Quarter,
            Eighth,
            Sixteenth,
            ThirtySecond,
            SixtyFourth,
        ]);
        (0..9u8, 0..7u8, fraction).prop_map(|(kind, decimals, fraction)| match kind {
            0 => LengthStyle::FeetInches(fraction),
            1 => LengthStyle::InchFractions(fraction),
            2 => LengthStyle::Feet { decimals },
            3 => LengthStyle::Inches { decimals },
            4 => LengthStyle::Millimeters { decimals },
            5 => LengthStyle::Centimeters { decimals },
            6 => LengthStyle::Meters { decimals },
            7 => LengthStyle::Miles { decimals },
            _ => LengthStyle::Kilometers { decimals },
        })
    }

    /// The smallest difference a style can print, in meters.
    fn step(style: LengthStyle) -> f64 {
        let (size, decimals) = match style {
            LengthStyle::FeetInches(f) | LengthStyle::InchFractions(f) => {
                return INCH / f64::from(f.denominator());
            }
            LengthStyle::Feet { decimals } => (FOOT, decimals),
            LengthStyle::Inches { decimals } => (INCH, decimals),
            LengthStyle::Millimeters { decimals } => (0.001, decimals),
            LengthStyle::Centimeters { decimals } => (0.01, decimals),
            LengthStyle::Meters { decimals } => (1.0, decimals),
            LengthStyle::Miles { decimals } => (MILE, decimals),
            LengthStyle::Kilometers { decimals } => (1000.0, decimals),
        };
        size / 10f64.powi(i32::from(decimals))
    }

    proptest! {
        #[test]
        fn print_then_parse_is_the_printed_value(meters in -20_000.0..20_000.0f64, small in any::<bool>(), style in style()) {
            let meters = if small { meters / 1e4 } else { meters };
            let printed = Actual::from_meters(meters).show(style).to_string();
            let back = Actual::parse(&printed).unwrap();
            prop_assert!((back.meters() - meters).abs() <= step(style) * 0.500_001 + 1e-9, "{printed}");
            prop_assert_eq!(back.show(style).to_string(), printed);
        }

        #[test]
        fn scale_mark_survives(feet in 0.0..10_000.0f64, style in style()) {
            let printed = Prototype::from_feet(feet).show_as_scale(style).to_string();
            let LengthText::Scale(back) = LengthText::parse(&printed).unwrap() else {
                panic!("{printed} lost its mark");
            };
            prop_assert_eq!(back.show_as_scale(style).to_string(), printed);
        }

        #[test]
        fn no_text_breaks_the_reader(text in "[0-9 '\"./,½′”a-z°%-]{0,12}") {
            if let Err(error) = LengthText::parse(&text) {
                prop_assert!(text.get(error.at).is_some());
            }
        }
    }
}
