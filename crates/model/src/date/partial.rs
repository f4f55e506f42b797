//! Dates of which only the month or the year is known.

use std::fmt;

use super::{Date, DateRange, NumberOrder, read};
use crate::units::ReadError;

/// A date as well as it is known: a day, a month or a year, as the built dates of cars often are.
///
/// Comparing two gives an [`Answer`], which may be "perhaps".
///
/// ```
/// use model::date::{Answer, PartialDate};
///
/// let built = PartialDate::parse("1937")?;
/// assert_eq!(built.before(PartialDate::parse("1941-10-14")?), Answer::Yes);
/// assert_eq!(built.before(PartialDate::parse("May 1937")?), Answer::Perhaps);
/// assert_eq!(built.after(PartialDate::parse("1938")?), Answer::No);
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct PartialDate {
    /// The first day it can be.
    first: Date,
    precision: Precision,
}

/// How much of a date is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Precision {
    /// The year.
    Year,
    /// The year and month.
    Month,
    /// The day.
    Day,
}

/// Whether something is so, as far as partial dates can tell. `No` is less than `Perhaps` is less than `Yes`, so that `min`
/// is "and" and `max` is "or".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Answer {
    /// It cannot be.
    No,
    /// It may be, and the dates do not say.
    Perhaps,
    /// It must be.
    Yes,
}

impl PartialDate {
    /// Some day of a year. `None` outside 1800 to 2199.
    #[must_use]
    pub fn year(year: i16) -> Option<Self> {
        Some(Self {
            first: Date::new(year, 1, 1)?,
            precision: Precision::Year,
        })
    }

    /// Some day of a month. `None` for no month, or a year outside 1800 to 2199.
    #[must_use]
    pub fn month(year: i16, month: u8) -> Option<Self> {
        Some(Self {
            first: Date::new(year, month, 1)?,
            precision: Precision::Month,
        })
    }

    /// How much is known.
    #[must_use]
    pub const fn precision(self) -> Precision {
        self.precision
    }

    /// The first day it can be.
    #[must_use]
    pub const fn first(self) -> Date {
        self.first
    }

    /// The last day it can be.
    #[must_use]
    pub fn last(self) -> Date {
        match self.precision {
            Precision::Day => self.first,
            Precision::Month => self.first.end_of_month(),
            Precision::Year => Date(self.first.0.last_of_year()),
        }
    }

    /// The day, if it is known.
    #[must_use]
    pub fn exact(self) -> Option<Date> {
        (self.precision == Precision::Day).then_some(self.first)
    }

    /// Whether this is an earlier day than `other`.
    #[must_use]
    pub fn before(self, other: impl Into<Self>) -> Answer {
        let other = other.into();
        if self.last() < other.first {
            Answer::Yes
        } else if self.first >= other.last() {
            Answer::No
        } else {
            Answer::Perhaps
        }
    }

    /// Whether this is a later day than `other`.
    #[must_use]
    pub fn after(self, other: impl Into<Self>) -> Answer {
        other.into().before(self)
    }

    /// Whether this is `other` or an earlier day.
    #[must_use]
    pub fn on_or_before(self, other: impl Into<Self>) -> Answer {
        self.after(other).not()
    }

    /// Whether this is `other` or a later day.
    #[must_use]
    pub fn on_or_after(self, other: impl Into<Self>) -> Answer {
        self.before(other).not()
    }

    /// Whether this day lies in a range.
    #[must_use]
    pub fn within(self, range: DateRange) -> Answer {
        let from = range
            .first()
            .map_or(Answer::Yes, |first| self.on_or_after(first));
        let to = range
            .last()
            .map_or(Answer::Yes, |last| self.on_or_before(last));
        from.min(to)
    }

    /// Reads `1937`, `1937-05`, `May 1937`, `5/1937` or a whole date as [`Date::parse`] does.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        Self::parse_with(text, NumberOrder::Unknown)
    }

    /// As [`PartialDate::parse`], taking dates in numbers in the order given.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse_with(text: &str, order: NumberOrder) -> Result<Self, ReadError> {
        read::partial(text, order)
    }
}

impl From<Date> for PartialDate {
    fn from(date: Date) -> Self {
        Self {
            first: date,
            precision: Precision::Day,
        }
    }
}

impl fmt::Display for PartialDate {
    /// `1937`, `1937-05` or `1937-05-12`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.precision {
            Precision::Year => write!(f, "{}", self.first.year()),
            Precision::Month => write!(f, "{}-{:02}", self.first.year(), self.first.month()),
            Precision::Day => self.first.fmt(f),
        }
    }
}

impl Answer {
    /// The answer to the opposite question.
    #[must_use]
    #[allow(clippy::should_implement_trait)] // `!` on three answers would read as two
    pub const fn not(self) -> Self {
        match self {
            Self::No => Self::Yes,
            Self::Perhaps => Self::Perhaps,
            Self::Yes => Self::No,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::any_date;
    use super::*;
    use proptest::prelude::*;

    pub(in super::super) fn any_partial() -> impl Strategy<Value = PartialDate> {
        (any_date(), 0..3u8).prop_map(|(date, precision)| match precision {
            0 => PartialDate::year(date.year()).unwrap(),
            1 => PartialDate::month(date.year(), date.month()).unwrap(),
            _ => date.into(),
        })
    }

    fn partial(text: &str) -> PartialDate {
        PartialDate::parse(text).unwrap()
    }

    #[test]
    fn ends() {
        assert_eq!(partial("1940-02").last(), Date::new(1940, 2, 29).unwrap());
        assert_eq!(partial("1937").first(), Date::new(1937, 1, 1).unwrap());
        assert_eq!(partial("1937").last(), Date::new(1937, 12, 31).unwrap());
        assert_eq!(partial("1937").exact(), None);
        assert!(partial("1937-05-12").exact().is_some());
    }

    #[test]
    fn comparing() {
        use Answer::{No, Perhaps, Yes};
        for (one, other, before, after) in [
            ("1937", "1938", Yes, No),
            ("1937", "1937", Perhaps, Perhaps),
            ("1937", "1937-01-01", No, Perhaps),
            ("1937", "1937-12-31", Perhaps, No),
            ("1937-05", "1937-06-01", Yes, No),
            ("1937-05-12", "1937-05-12", No, No),
        ] {
            let (one, other) = (partial(one), partial(other));
            assert_eq!(
                (one.before(other), one.after(other)),
                (before, after),
                "{one} and {other}"
            );
        }
        assert_eq!(partial("1937").on_or_before(partial("1937-12-31")), Yes);
        assert_eq!(partial("1937").on_or_after(partial("1938")), No);
        let range = DateRange::parse("1936-07 to 1937-06").unwrap();
        assert_eq!(partial("1937").within(range), Perhaps);
        assert_eq!(partial("1937-06").within(range), Yes);
        assert_eq!(partial("1938").within(range), No);
        assert_eq!(partial("1938").within(DateRange::ALWAYS), Yes);
    }

    proptest! {
        #[test]
        fn print_then_parse(date in any_partial()) {
            prop_assert_eq!(partial(&date.to_string()), date);
        }

        /// The answer about two partial dates is the answer about all the days that they can be.
        #[test]
        fn answers_hold_for_every_day(
            month in 1..=12u8, one in 0..3u8, other_month in 1..=12u8, other in 0..3u8, a in 0..366i32, b in 0..366i32,
        ) {
            let make = |month, precision| match precision {
                0 => PartialDate::year(1940).unwrap(),
                1 => PartialDate::month(1940, month).unwrap(),
                _ => Date::new(1940, month, 15).unwrap().into(),
            };
            let (one, other) = (make(month, one), make(other_month, other));
            let pick = |p: PartialDate, n: i32| {
                p.first().plus_days(n % (p.last().days_since(p.first()) + 1)).unwrap()
            };
            let (a, b) = (pick(one, a), pick(other, b));
            match one.before(other) {
                Answer::Yes => prop_assert!(a < b),
                Answer::No => prop_assert!(a >= b),
                Answer::Perhaps => {
                    prop_assert!(one.first() < other.last() && one.last() >= other.first());
                }
            }
        }
    }
}
