//! Real time and the fast clock.

use std::cmp::Ordering;
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Sub};

use super::RailSpan;
use super::span::{DURATION, colons};
use crate::units::ReadError;
use crate::units::read::{Fault, Reader};

/// A length of real time, by the clock on the wall: an exact fraction of seconds.
///
/// ```
/// use model::time::RealSpan;
///
/// let third = RealSpan::from_seconds(1, 3).unwrap();
/// assert_eq!(third + third + third, RealSpan::parse("1 s")?);
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RealSpan {
    // In lowest terms, `below` positive, so that equal spans are equal field by field.
    above: i64,
    below: i64,
}

fn greatest_common_divisor(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.abs(), b.abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl RealSpan {
    /// No time at all.
    pub const ZERO: Self = Self { above: 0, below: 1 };

    /// `above`/`below` seconds. `None` if `below` is zero.
    #[must_use]
    pub fn from_seconds(above: i64, below: i64) -> Option<Self> {
        Self::reduced(above.into(), below.into())
    }

    /// That many milliseconds.
    #[must_use]
    pub fn from_millis(millis: i64) -> Self {
        Self::reduced(millis.into(), 1000).unwrap_or(Self::ZERO)
    }

    fn reduced(above: i128, below: i128) -> Option<Self> {
        if below == 0 {
            return None;
        }
        let common = greatest_common_divisor(above, below) * below.signum();
        let above = i64::try_from(above / common).ok()?;
        let below = i64::try_from(below / common).ok()?;
        Some(Self { above, below })
    }

    /// In seconds.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // this is the way out of exact arithmetic
    pub fn seconds(self) -> f64 {
        self.above as f64 / self.below as f64
    }

    /// In minutes.
    #[must_use]
    pub fn minutes(self) -> f64 {
        self.seconds() / 60.0
    }

    /// In whole milliseconds, rounded down.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)] // saturated first
    pub fn millis(self) -> i64 {
        let millis = (i128::from(self.above) * 1000).div_euclid(i128::from(self.below));
        millis.clamp(i64::MIN.into(), i64::MAX.into()) as i64
    }

    /// The sum, or `None` if its exact value no longer fits.
    #[must_use]
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let (a, b) = (i128::from(self.below), i128::from(other.below));
        // Each product of two 63-bit numbers has 126 bits, and the sum of two of those 127.
        Self::reduced(
            i128::from(self.above) * b + i128::from(other.above) * a,
            a * b,
        )
    }

    /// Reads a length of real time in the spellings of [`RailSpan::parse`], and with broken seconds: `1.5 s`.
    ///
    /// Parts of a second are taken to the nearest millisecond.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        if let Some(seconds) = colons(text)? {
            return Ok(Self {
                above: seconds,
                below: 1,
            });
        }
        let amount = DURATION.read_all(text)?;
        // At most 1000 days by the limit of the reader.
        #[allow(clippy::cast_possible_truncation)]
        Ok(Self::from_millis((amount.value * 1000.0).round() as i64))
    }
}

impl Default for RealSpan {
    fn default() -> Self {
        Self::ZERO
    }
}

impl PartialOrd for RealSpan {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for RealSpan {
    fn cmp(&self, other: &Self) -> Ordering {
        let cross = |a: &Self, b: &Self| i128::from(a.above) * i128::from(b.below);
        cross(self, other).cmp(&cross(other, self))
    }
}

impl Add for RealSpan {
    type Output = Self;

    /// # Panics
    /// If the exact sum no longer fits; sums of clock times at one ratio do for thousands of years.
    fn add(self, other: Self) -> Self {
        self.checked_add(other)
            .expect("sum of real times beyond any railroad")
    }
}

impl Sub for RealSpan {
    type Output = Self;

    /// # Panics
    /// As for the sum.
    fn sub(self, other: Self) -> Self {
        self + Self {
            above: -other.above,
            below: other.below,
        }
    }
}

impl Sum for RealSpan {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, |a, b| a + b)
    }
}

impl fmt::Display for RealSpan {
    /// `2 h 40 min`, with seconds to the nearest tenth where they do not come out whole.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.below == 1 {
            return RailSpan::from_seconds(self.above).fmt(f);
        }
        // Rounded once, in tenths, so that 59.96 s becomes a minute.
        let (above, below) = (
            i128::from(self.above.unsigned_abs()) * 10,
            i128::from(self.below),
        );
        let tenths = (above * 2 + below) / (below * 2);
        if self.above < 0 && tenths > 0 {
            f.write_str("-")?;
        }
        let (minutes, tenths) = (tenths / 600, tenths % 600);
        let minutes = i64::try_from(minutes).unwrap_or(i64::MAX / 60);
        if minutes > 0 {
            write!(f, "{}", RailSpan::from_minutes(minutes))?;
        }
        match (minutes > 0, tenths / 10, tenths % 10) {
            (true, 0, 0) => Ok(()),
            (true, whole, 0) => write!(f, " {whole} s"),
            (true, whole, part) => write!(f, " {whole}.{part} s"),
            (false, whole, part) => write!(f, "{whole}.{part} s"),
        }
    }
}

/// How many railroad seconds pass in real ones: an exact ratio such as 6:1 or 9:2.
///
/// It speeds up the railroad's day, not its trains: scale speed has no part in it.
///
/// ```
/// use model::time::{FastClock, RailSpan, RealSpan};
///
/// let clock = FastClock::parse("6:1")?;
/// assert_eq!(clock.to_real(RailSpan::parse("24 h")?), RealSpan::parse("4 h")?);
/// assert_eq!(clock.to_railroad_floor(RealSpan::parse("10 min")?), RailSpan::parse("1 h")?);
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct FastClock {
    railroad: u32,
    real: u32,
}

impl FastClock {
    /// A clock that keeps real time.
    pub const REAL: Self = Self {
        railroad: 1,
        real: 1,
    };

    /// The largest number in a ratio.
    const MOST: u32 = 1000;

    /// `railroad` seconds in `real` seconds. `None` unless both are from 1 to 1000.
    #[must_use]
    pub fn new(railroad: u32, real: u32) -> Option<Self> {
        let range = 1..=Self::MOST;
        if !range.contains(&railroad) || !range.contains(&real) {
            return None;
        }
        let (mut a, mut b) = (railroad, real);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        Some(Self {
            railroad: railroad / a,
            real: real / a,
        })
    }

    /// As a number: 6 for 6:1.
    #[must_use]
    pub fn ratio(self) -> f64 {
        f64::from(self.railroad) / f64::from(self.real)
    }

    /// Real time that passes in a length of railroad time; exact.
    ///
    /// # Panics
    /// Beyond some 290 million years of railroad time.
    #[must_use]
    pub fn to_real(self, span: RailSpan) -> RealSpan {
        RealSpan::reduced(
            i128::from(span.seconds()) * i128::from(self.real),
            self.railroad.into(),
        )
        .expect("a railroad day shorter than the age of the rocks it crosses")
    }

    /// Whole railroad seconds that have passed in a length of real time: what the fast clock shows.
    #[must_use]
    pub fn to_railroad_floor(self, real: RealSpan) -> RailSpan {
        let (above, below) = self.railroad_seconds(real);
        saturated(above.div_euclid(below))
    }

    /// The first whole railroad second by which a length of real time is over: what a schedule must allow.
    #[must_use]
    pub fn to_railroad_ceiling(self, real: RealSpan) -> RailSpan {
        let (above, below) = self.railroad_seconds(real);
        saturated(-(-above).div_euclid(below))
    }

    fn railroad_seconds(self, real: RealSpan) -> (i128, i128) {
        let above = i128::from(real.above) * i128::from(self.railroad);
        (above, i128::from(real.below) * i128::from(self.real))
    }

    /// Reads a ratio: `6:1`, `6 to 1`, `6`, `4.5:1`, `9:2`.
    ///
    /// # Errors
    /// A [`ReadError`] for anything else, and for a ratio that needs numbers over 1000.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        const EXPECTED: &str = "a clock ratio such as 6:1";
        let mut reader = Reader::start(text, EXPECTED)?;
        let start = reader.pos();
        let railroad = reader
            .number()?
            .ok_or_else(|| reader.unexpected(EXPECTED))?;
        reader.skip_space();
        let mut real = 1.0;
        if reader.eat(":") || reader.word_if(|w| w == "to") {
            reader.skip_space();
            real = reader
                .number()?
                .ok_or_else(|| reader.unexpected("a number of real seconds"))?
                .value;
        }
        let end = reader.pos();
        reader.finish("nothing more")?;
        // The smallest multiple that makes both sides whole; decimals of a half, a quarter or tenths are what people write.
        let whole = (1..=Self::MOST).find_map(|times| {
            let side = |value: f64| {
                let product = value * f64::from(times);
                let whole = product.round();
                let fits = (product - whole).abs() < 1e-9 && whole <= f64::from(Self::MOST);
                // Not negative and at most 1000.
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                fits.then_some(whole as u32)
            };
            Some((side(railroad.value)?, side(real)?))
        });
        whole
            .and_then(|(railroad, real)| Self::new(railroad, real))
            .ok_or_else(|| {
                let found = reader.slice(start..end).trim_end().to_owned();
                let expected = "a ratio of whole numbers from 1 to 1000".to_owned();
                ReadError::new(
                    start..start + found.len(),
                    Fault::OutOfRange { found, expected },
                )
            })
    }
}

/// Railroad time cannot leave the range of its type but by an absurd real time.
#[allow(clippy::cast_possible_truncation)]
fn saturated(seconds: i128) -> RailSpan {
    RailSpan::from_seconds(seconds.clamp(i64::MIN.into(), i64::MAX.into()) as i64)
}

impl fmt::Display for FastClock {
    /// `6:1`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.railroad, self.real)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::Scale;
    use crate::units::{Actual, Prototype, Speed};
    use proptest::prelude::*;

    fn clock(text: &str) -> FastClock {
        FastClock::parse(text).unwrap()
    }

    /// Common practice, no source: the usual ratios; the times follow by division.
    #[test]
    fn whole_days() {
        for (ratio, railroad, real) in [
            ("4:1", "12 h", "3 h"),
            ("6:1", "24 h", "4 h"),
            ("3:1", "8 h", "2 h 40 min"),
            ("12", "1 h", "5 min"),
        ] {
            let railroad = RailSpan::parse(railroad).unwrap();
            let real = RealSpan::parse(real).unwrap();
            assert_eq!(clock(ratio).to_real(railroad), real);
            assert_eq!(clock(ratio).to_railroad_floor(real), railroad);
        }
    }

    /// 30 scale mph over 5 scale miles takes 10 real minutes in any scale, and 60 railroad minutes at 6:1.
    #[test]
    fn a_train_and_two_clocks() {
        let seconds = Speed::from_mph(30.0).seconds_over(Prototype::from_miles(5.0));
        assert!((seconds - 600.0).abs() < 1e-9);
        let railroad = clock("6:1").to_railroad_floor(RealSpan::parse("10 min").unwrap());
        assert_eq!(railroad, RailSpan::from_minutes(60));

        // 40 ft of HO track at 30 scale mph: 79.18 s real, 5.28 minutes at 4:1.
        let ho = Scale::new(87.1).unwrap();
        let speed = ho.to_actual_speed(Speed::from_mph(30.0));
        let real = speed.seconds_over(Actual::from_feet(40.0));
        assert!((real - 79.18).abs() < 0.006);
        assert!((real * clock("4:1").ratio() / 60.0 - 5.28).abs() < 0.006);
    }

    #[test]
    fn ratios() {
        for (text, shown) in [
            ("6:1", "6:1"),
            ("6", "6:1"),
            ("6 to 1", "6:1"),
            ("12:2", "6:1"),
            ("4.5:1", "9:2"),
            ("9:2", "9:2"),
            ("2½", "5:2"),
            ("1:2", "1:2"),
        ] {
            assert_eq!(clock(text).to_string(), shown, "{text}");
        }
        for text in [
            "",
            "0:1",
            "6:0",
            "fast",
            "6:1:1",
            "2000",
            "3.14159265",
            "6:x",
        ] {
            assert!(FastClock::parse(text).is_err(), "{text}");
        }
        let error = FastClock::parse(" 0:1").unwrap_err();
        assert_eq!(error.at, 1..4);
        assert_eq!(
            error.to_string(),
            "`0:1` is out of range: expected a ratio of whole numbers from 1 to 1000"
        );
    }

    #[test]
    fn real_spans() {
        let sixth = RealSpan::from_seconds(1, 6).unwrap();
        let half = RealSpan::from_seconds(-1, -2).unwrap();
        assert_eq!(sixth + sixth + sixth, half);
        assert_eq!(half - sixth, RealSpan::from_seconds(2, 6).unwrap());
        assert!(sixth < half && sixth - half < RealSpan::ZERO);
        assert_eq!((sixth.millis(), (sixth - half).millis()), (166, -334));
        assert_eq!(
            [sixth; 6].into_iter().sum::<RealSpan>(),
            RealSpan::from_millis(1000)
        );
        assert!(RealSpan::from_seconds(1, 0).is_none());
        for (span, shown) in [
            (RealSpan::from_millis(59_960), "1 min"),
            (RealSpan::from_millis(61_500), "1 min 1.5 s"),
            (RealSpan::from_millis(62_001), "1 min 2 s"),
            (RealSpan::from_millis(-500), "-0.5 s"),
            (RealSpan::from_millis(9_600_000), "2 h 40 min"),
            (RealSpan::ZERO, "0 min"),
        ] {
            assert_eq!(span.to_string(), shown);
        }
        assert_eq!(
            RealSpan::parse("1.5 s").unwrap(),
            RealSpan::from_millis(1500)
        );
        assert_eq!(
            RealSpan::parse("1:20").unwrap(),
            RealSpan::parse("80 min").unwrap()
        );
    }

    proptest! {
        #[test]
        fn there_and_back_is_exact(seconds in -10_000_000..10_000_000i64, railroad in 1..=1000u32, real in 1..=1000u32) {
            let clock = FastClock::new(railroad, real).unwrap();
            let span = RailSpan::from_seconds(seconds);
            let wall = clock.to_real(span);
            prop_assert_eq!(clock.to_railroad_floor(wall), span);
            prop_assert_eq!(clock.to_railroad_ceiling(wall), span);
            prop_assert_eq!(FastClock::parse(&clock.to_string()).unwrap(), clock);
        }

        #[test]
        fn floor_and_ceiling_bracket(millis in -10_000_000..10_000_000i64, railroad in 1..=60u32, real in 1..=60u32) {
            let clock = FastClock::new(railroad, real).unwrap();
            let wall = RealSpan::from_millis(millis);
            let (low, high) = (clock.to_railroad_floor(wall), clock.to_railroad_ceiling(wall));
            prop_assert!(clock.to_real(low) <= wall && wall <= clock.to_real(high));
            prop_assert!((high - low).seconds() <= 1);
        }
    }
}
