//! Speeds: [`Speed`] of the prototype, [`ActualSpeed`] of a model over the track.

use std::fmt;

use super::length::{Actual, Prototype};
use super::quantity::{in_units, quantity};
use super::read::{Mark, Quantity, ReadError, Unit, decimal};

quantity! {
    /// A prototype speed, or the scale speed of a model. Kept in meters per second of real time.
    ///
    /// How fast the model itself moves is [`Scale::to_actual_speed`](crate::scale::Scale::to_actual_speed).
    ///
    /// ```
    /// use model::units::{Speed, SpeedStyle};
    ///
    /// let limit = Speed::parse("30 mph")?;
    /// assert_eq!(limit, Speed::parse("30 scale mph")?);
    /// assert_eq!(limit.show(SpeedStyle::KilometersPerHour { decimals: 1 }).to_string(), "48.3 km/h");
    /// # Ok::<(), model::units::ReadError>(())
    /// ```
    Speed in "meters per second"
}

quantity! {
    /// How fast a model moves over its track. Kept in meters per second.
    ActualSpeed in "meters per second"
}

const MPH: f64 = 0.44704;
const KMH: f64 = 1.0 / 3.6;

in_units! { Speed {
    from_meters_per_second, meters_per_second: 1.0, "meters per second";
    from_mph, mph: MPH, "statute miles per hour";
    from_kmh, kmh: KMH, "kilometers per hour";
} }

in_units! { ActualSpeed {
    from_meters_per_second, meters_per_second: 1.0, "meters per second";
    from_inches_per_second, inches_per_second: 0.0254, "inches per second";
    from_mm_per_second, mm_per_second: 0.001, "millimeters per second";
} }

const SPEED: Quantity = Quantity {
    name: "speed",
    expected: "a speed such as 30 mph or 50 km/h",
    units: &[
        Unit::new(MPH, &["mph", "mi/h", "mi/hr", "miles/hour"]),
        Unit::new(KMH, &["km/h", "kmh", "kph", "km/hr"]),
        Unit::new(1.0, &["m/s"]),
    ],
    usual: ["mph", "km/h"],
    marked: true,
    most: (1000.0 * MPH, "1000 mph"),
};

const ACTUAL_SPEED: Quantity = Quantity {
    name: "speed",
    expected: "a speed such as 12 in/s or 300 mm/s",
    units: &[
        Unit::new(0.0254, &["in/s", "in/sec", "inches/second", "ips"]),
        Unit::new(0.001, &["mm/s", "mm/sec"]),
        Unit::new(0.01, &["cm/s", "cm/sec"]),
        Unit::new(0.3048, &["ft/s", "ft/sec"]),
        Unit::new(1.0, &["m/s"]),
    ],
    usual: ["in/s", "mm/s"],
    marked: false,
    most: (100.0, "100 m/s"),
};

impl Speed {
    /// Reads a prototype or scale speed: `30 mph`, `30 scale mph`, `50 km/h`.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        let amount = SPEED.read_all(text)?;
        if amount.mark == Some(Mark::Actual) {
            let fault = super::read::Fault::NeedsScale {
                found: text.trim().to_owned(),
            };
            return Err(ReadError::new(amount.at, fault).hint("give the scale speed, as in 30 mph"));
        }
        Ok(Self(amount.value))
    }

    /// Real seconds to cover a prototype length, which are also those a model takes at scale speed over the scale length.
    ///
    /// Infinite at a stand.
    #[must_use]
    pub fn seconds_over(self, length: Prototype) -> f64 {
        length.meters() / self.0
    }

    /// For printing in `style`.
    #[must_use]
    pub fn show(self, style: SpeedStyle) -> ShownSpeed {
        ShownSpeed { speed: self, style }
    }
}

impl ActualSpeed {
    /// Reads the speed of a model over its track: `12 in/s`, `300 mm/s`.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        ACTUAL_SPEED.read_all(text).map(|amount| Self(amount.value))
    }

    /// Real seconds to cover a length of track. Infinite at a stand.
    #[must_use]
    pub fn seconds_over(self, length: Actual) -> f64 {
        length.meters() / self.0
    }
}

/// How to print a [`Speed`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedStyle {
    /// `30 mph`.
    MilesPerHour {
        /// Digits after the point.
        decimals: u8,
    },
    /// `48 km/h`.
    KilometersPerHour {
        /// Digits after the point.
        decimals: u8,
    },
}

/// A speed with the style to print it in; made by [`Speed::show`].
#[derive(Debug, Clone, Copy)]
pub struct ShownSpeed {
    speed: Speed,
    style: SpeedStyle,
}

impl fmt::Display for ShownSpeed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (value, decimals, unit) = match self.style {
            SpeedStyle::MilesPerHour { decimals } => (self.speed.mph(), decimals, "mph"),
            SpeedStyle::KilometersPerHour { decimals } => (self.speed.kmh(), decimals, "km/h"),
        };
        write!(f, "{} {unit}", decimal(value, decimals))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings() {
        for text in [
            "60 mph",
            "60 scale mph",
            "60 smph",
            "96.56064 km/h",
            "96,56064 kph",
            "60 MPH",
        ] {
            let speed = Speed::parse(text).unwrap();
            assert!((speed.mph() - 60.0).abs() < 1e-9, "{text}");
        }
        // 88 ft/s is 1056 in/s.
        assert!((Speed::from_mph(60.0).meters_per_second() / 0.0254 - 1056.0).abs() < 1e-9);
        assert!((ActualSpeed::parse("12 in/s").unwrap().mm_per_second() - 304.8).abs() < 1e-9);
        assert!(
            (Speed::from_mph(60.0).seconds_over(Prototype::from_miles(1.0)) - 60.0).abs() < 1e-9
        );
    }

    #[test]
    fn faults() {
        let message = |text: &str| Speed::parse(text).unwrap_err().to_string();
        assert_eq!(
            message("30"),
            "30 of what? Expected a unit of speed (write 30 mph or 30 km/h)"
        );
        assert_eq!(
            message("30 mhp"),
            "`mhp` is not a unit of speed (did you mean mph?)"
        );
        assert_eq!(
            message("5000 mph"),
            "`5000 mph` is out of range: expected at most 1000 mph"
        );
        assert_eq!(
            message("30 actual mph"),
            "`30 actual mph` can be converted only where the railroad's scale is known \
             (give the scale speed, as in 30 mph)"
        );
    }

    proptest! {
        #[test]
        fn print_then_parse(mph in 0.0..200.0f64, decimals in 0..5u8, metric in any::<bool>()) {
            let style = if metric {
                SpeedStyle::KilometersPerHour { decimals }
            } else {
                SpeedStyle::MilesPerHour { decimals }
            };
            let printed = Speed::from_mph(mph).show(style).to_string();
            let back = Speed::parse(&printed).unwrap();
            prop_assert!((back.mph() - mph).abs() < 0.51 / 10f64.powi(i32::from(decimals)));
            prop_assert_eq!(back.show(style).to_string(), printed);
        }
    }
}
