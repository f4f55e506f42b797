//! Lengths of time by the railroad's clock.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use crate::units::ReadError;
use crate::units::read::{Fault, Quantity, Reader, Unit};

/// A length of railroad time, in whole seconds; negative where a difference runs backward.
///
/// # Reading
/// `25 min`, `1 h 20 min`, `90 s`, `1.5 h`; `1:20` is an hour and 20 minutes, `1:20:30` has seconds too.
///
/// ```
/// use model::time::RailSpan;
///
/// let run = RailSpan::parse("1 h 20 min")?;
/// assert_eq!(run, RailSpan::parse("1:20")?);
/// assert_eq!(run.to_string(), "1 h 20 min");
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct RailSpan(i64);

pub(super) const DURATION: Quantity = Quantity {
    name: "time",
    expected: "a length of time such as 25 min, 1 h 20 min or 1:20",
    units: &[
        Unit::new(1.0, &["s", "sec", "secs", "second", "seconds"]),
        Unit::new(60.0, &["min", "mins", "minute", "minutes"]),
        Unit::new(3600.0, &["h", "hr", "hrs", "hour", "hours"]).then_bare(60.0),
        Unit::new(86_400.0, &["d", "day", "days"]),
    ],
    usual: ["min", "h"],
    marked: false,
    most: (1000.0 * 86_400.0, "1000 days"),
};

impl RailSpan {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// That many seconds.
    #[must_use]
    pub const fn from_seconds(seconds: i64) -> Self {
        Self(seconds)
    }

    /// That many minutes.
    #[must_use]
    pub const fn from_minutes(minutes: i64) -> Self {
        Self(minutes * 60)
    }

    /// In seconds.
    #[must_use]
    pub const fn seconds(self) -> i64 {
        self.0
    }

    /// In minutes, with their fraction.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // exact below 2^53 s
    pub fn minutes(self) -> f64 {
        self.0 as f64 / 60.0
    }

    /// The same length without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Reads a length of time; see the type for the spellings.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault; a bare number and a broken number of seconds are faults too.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        if let Some(seconds) = colons(text)? {
            return Ok(Self(seconds));
        }
        let amount = DURATION.read_all(text)?;
        let seconds = amount.value.round();
        // A third of an hour, as a binary fraction, misses the whole second by far less than this.
        if (amount.value - seconds).abs() > 1e-6 {
            let found = text[amount.at.clone()].to_owned();
            let fault = Fault::OutOfRange {
                found,
                expected: "a whole number of seconds".to_owned(),
            };
            return Err(ReadError::new(amount.at, fault));
        }
        // At most 1000 days by the limit of the reader.
        #[allow(clippy::cast_possible_truncation)]
        Ok(Self(seconds as i64))
    }
}

/// Seconds of `1:20` or `1:20:30`; `None` if that is not the shape of the text.
pub(super) fn colons(text: &str) -> Result<Option<i64>, ReadError> {
    let mut reader = Reader::new(text);
    reader.skip_space();
    let minus = reader.sign();
    let (hours, at) = reader.digits();
    if hours.is_empty() || !reader.rest().starts_with(':') {
        return Ok(None);
    }
    let Some(hours) = hours.parse::<i64>().ok().filter(|h| *h <= 24_000) else {
        let fault = Fault::OutOfRange {
            found: hours.to_owned(),
            expected: "at most 24000 hours".to_owned(),
        };
        return Err(ReadError::new(at, fault));
    };
    let mut seconds = hours * 3600;
    for size in [60, 1] {
        if !reader.eat(":") {
            break;
        }
        let (digits, at) = reader.digits();
        let value = digits
            .parse::<i64>()
            .ok()
            .filter(|v| digits.len() == 2 && *v < 60);
        let Some(value) = value else {
            if digits.is_empty() {
                return Err(reader.unexpected("two digits from 00 to 59"));
            }
            let fault = Fault::OutOfRange {
                found: digits.to_owned(),
                expected: "two digits from 00 to 59".to_owned(),
            };
            return Err(ReadError::new(at, fault));
        };
        seconds += value * size;
    }
    reader.finish("nothing more after hours and minutes")?;
    Ok(Some(if minus { -seconds } else { seconds }))
}

impl fmt::Display for RailSpan {
    /// `1 h 20 min`, `25 min`, `90 s` as `1 min 30 s`; parts of zero are left out.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 == 0 {
            return f.write_str("0 min");
        }
        if self.0 < 0 {
            f.write_str("-")?;
        }
        let seconds = self.0.unsigned_abs();
        let parts = [
            (seconds / 3600, "h"),
            (seconds / 60 % 60, "min"),
            (seconds % 60, "s"),
        ];
        let mut between = "";
        for (value, unit) in parts {
            if value > 0 {
                write!(f, "{between}{value} {unit}")?;
                between = " ";
            }
        }
        Ok(())
    }
}

impl Add for RailSpan {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for RailSpan {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sub for RailSpan {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl SubAssign for RailSpan {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}

impl Neg for RailSpan {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<i64> for RailSpan {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * times)
    }
}

impl Sum for RailSpan {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, |a, b| a + b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings() {
        for (text, seconds) in [
            ("25 min", 1500),
            ("1 h 20 min", 4800),
            ("1h20", 4800),
            ("1:20", 4800),
            ("1:20:30", 4830),
            ("90 s", 90),
            ("1.5 h", 5400),
            ("1/3 h", 1200),
            ("1 1/2 hours", 5400),
            ("1 hour and 5 minutes", 3900),
            ("2 days", 172_800),
            ("-5 min", -300),
            ("0:05", 300),
        ] {
            let span = RailSpan::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert_eq!(span.seconds(), seconds, "{text}");
        }
    }

    #[test]
    fn faults() {
        let message = |text: &str| RailSpan::parse(text).unwrap_err().to_string();
        assert_eq!(
            message("25"),
            "25 of what? Expected a unit of time (write 25 min or 25 h)"
        );
        assert_eq!(
            message("25 mni"),
            "`mni` is not a unit of time (did you mean min?)"
        );
        assert_eq!(
            message("1 h 70 min"),
            "`70 min` is out of range: expected less than 1 h after the h"
        );
        assert_eq!(
            message("1:75"),
            "`75` is out of range: expected two digits from 00 to 59"
        );
        assert_eq!(
            message("1:"),
            "found the end of the text, expected two digits from 00 to 59"
        );
        assert_eq!(
            message("1.5 s"),
            "`1.5 s` is out of range: expected a whole number of seconds"
        );
        assert!(RailSpan::parse("1:20 min").is_err());
    }

    proptest! {
        #[test]
        fn print_then_parse(seconds in -1_000_000..1_000_000i64) {
            let span = RailSpan::from_seconds(seconds);
            prop_assert_eq!(RailSpan::parse(&span.to_string()).unwrap(), span);
        }
    }
}
