//! Angles.

use std::fmt;

use super::quantity::{in_units, quantity};
use super::read::{Quantity, ReadError, Unit, decimal};

quantity! {
    /// A plane angle. Kept in radians.
    ///
    /// ```
    /// use model::units::{Angle, AngleStyle};
    ///
    /// let frog = Angle::parse("9° 31' 38\"")?;
    /// assert_eq!(frog.show(AngleStyle::Degrees { decimals: 4 }).to_string(), "9.5272°");
    /// assert_eq!(frog.show(AngleStyle::Seconds).to_string(), "9°31'38\"");
    /// # Ok::<(), model::units::ReadError>(())
    /// ```
    Angle in "radians"
}

const DEGREE: f64 = std::f64::consts::PI / 180.0;

in_units! { Angle {
    from_radians, radians: 1.0, "radians";
    from_degrees, degrees: DEGREE, "degrees";
} }

pub(crate) const ANGLE: Quantity = Quantity {
    name: "angle",
    expected: "an angle such as 12.5° or 12°30'",
    units: &[
        Unit::new(DEGREE, &["deg", "degree", "degrees", "\u{b0}", "\u{ba}"])
            .then_bare(DEGREE / 60.0),
        Unit::new(
            DEGREE / 60.0,
            &[
                "minutes", "minute", "min", "'", "\u{2032}", "\u{2019}", "\u{2018}",
            ],
        )
        .then_bare(DEGREE / 3600.0),
        Unit::new(
            DEGREE / 3600.0,
            &[
                "seconds", "second", "sec", "\"", "\u{2033}", "\u{201d}", "\u{201c}", "''",
            ],
        ),
        Unit::new(1.0, &["rad", "radian", "radians"]),
    ],
    usual: ["deg", "rad"],
    marked: false,
    most: (DEGREE * 3600.0, "3600°"),
};

impl Angle {
    /// Reads an angle: `12.5°`, `12 deg`, `12°30'`, `12° 30' 15"`, `0.2 rad`.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        ANGLE.read_all(text).map(|amount| Self(amount.value))
    }

    /// The sine.
    #[must_use]
    pub fn sin(self) -> f64 {
        self.0.sin()
    }

    /// The cosine.
    #[must_use]
    pub fn cos(self) -> f64 {
        self.0.cos()
    }

    /// The tangent.
    #[must_use]
    pub fn tan(self) -> f64 {
        self.0.tan()
    }

    /// For printing in `style`.
    #[must_use]
    pub fn show(self, style: AngleStyle) -> ShownAngle {
        ShownAngle { angle: self, style }
    }
}

/// How to print an [`Angle`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AngleStyle {
    /// `12.50°`.
    Degrees {
        /// Digits after the point.
        decimals: u8,
    },
    /// `12°30'`, to the nearest minute.
    Minutes,
    /// `12°30'15"`, to the nearest second.
    Seconds,
}

/// An angle with the style to print it in; made by [`Angle::show`].
#[derive(Debug, Clone, Copy)]
pub struct ShownAngle {
    angle: Angle,
    style: AngleStyle,
}

impl fmt::Display for ShownAngle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let degrees = self.angle.degrees();
        let parts_of_degree = match self.style {
            AngleStyle::Degrees { decimals } => {
                return write!(f, "{}°", decimal(degrees, decimals));
            }
            AngleStyle::Minutes => 60.0,
            AngleStyle::Seconds => 3600.0,
        };
        let parts = (degrees.abs() * parts_of_degree).round();
        // Saturates for angles beyond any use, which parsing refuses anyway.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let parts = parts as u64;
        if degrees < 0.0 && parts > 0 {
            f.write_str("-")?;
        }
        match self.style {
            AngleStyle::Seconds => {
                write!(
                    f,
                    "{}°{:02}'{:02}\"",
                    parts / 3600,
                    parts / 60 % 60,
                    parts % 60
                )
            }
            _ => write!(f, "{}°{:02}'", parts / 60, parts % 60),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings() {
        for text in [
            "12.5°",
            "12°30'",
            "12° 30′",
            "12° 30",
            "12 deg 30 min",
            "12½°",
            "12,5 degrees",
            "12°30'0\"",
        ] {
            assert!(
                (Angle::parse(text).unwrap().degrees() - 12.5).abs() < 1e-9,
                "{text}"
            );
        }
        assert!((Angle::parse("14°15'00\"").unwrap().degrees() - 14.25).abs() < 1e-9);
        assert_eq!(
            Angle::parse("12").unwrap_err().to_string(),
            "12 of what? Expected a unit of angle (write 12 deg or 12 rad)"
        );
        assert!(Angle::parse("12° 75'").is_err());
    }

    proptest! {
        #[test]
        fn print_then_parse(degrees in -360.0..360.0f64, style in 0..5u8) {
            let (style, step) = match style {
                0 => (AngleStyle::Minutes, 1.0 / 60.0),
                1 => (AngleStyle::Seconds, 1.0 / 3600.0),
                n => (AngleStyle::Degrees { decimals: n }, 10f64.powi(-i32::from(n))),
            };
            let printed = Angle::from_degrees(degrees).show(style).to_string();
            let back = Angle::parse(&printed).unwrap();
            prop_assert!((back.degrees() - degrees).abs() <= step * 0.501, "{printed}");
            prop_assert_eq!(back.show(style).to_string(), printed);
        }
    }
}
