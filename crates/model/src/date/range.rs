//! Ranges of dates.

use std::fmt;

use super::{Date, NumberOrder, PartialDate, read};
use crate::units::ReadError;
use crate::units::read::{Fault, Reader};

/// All the days from one to another, both included; either end may be open.
///
/// # Reading
/// `1937 to 1941`, `1937-05 through 1941-10-14`, `1937-1941`, `1937..1941`, `1937`, `from 1937`, `until 1941`, `before 1937`,
/// `after 1941-10`. A year or month at an end counts whole, but for `before` and `after`, which leave it out.
///
/// ```
/// use model::date::{Date, DateRange};
///
/// let era = DateRange::parse("1937 to 1941-10")?;
/// assert!(era.contains(Date::parse("1941-10-31")?));
/// assert!(!era.contains(Date::parse("1941-11-01")?));
/// assert_eq!(era.to_string(), "1937-01 to 1941-10");
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DateRange {
    first: Option<Date>,
    last: Option<Date>,
}

impl DateRange {
    /// Every day there is.
    pub const ALWAYS: Self = Self {
        first: None,
        last: None,
    };

    /// From `first` to `last`, each open if `None`. `None` if the last is before the first.
    #[must_use]
    pub fn new(first: Option<Date>, last: Option<Date>) -> Option<Self> {
        match (first, last) {
            (Some(first), Some(last)) if last < first => None,
            _ => Some(Self { first, last }),
        }
    }

    /// The first day, if there is one.
    #[must_use]
    pub const fn first(self) -> Option<Date> {
        self.first
    }

    /// The last day, if there is one.
    #[must_use]
    pub const fn last(self) -> Option<Date> {
        self.last
    }

    /// Whether `date` lies in the range.
    #[must_use]
    pub fn contains(self, date: Date) -> bool {
        self.first.is_none_or(|first| first <= date) && self.last.is_none_or(|last| date <= last)
    }

    /// The days that both ranges have. `None` if there are none.
    #[must_use]
    pub fn intersection(self, other: Self) -> Option<Self> {
        let last = match (self.last, other.last) {
            (Some(one), Some(other)) => Some(one.min(other)),
            (one, other) => one.or(other),
        };
        // No first day counts as before all others, which is the order of `Option`.
        Self::new(self.first.max(other.first), last)
    }

    /// Reads a range; see the type for the spellings.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault; a range that ends before it begins is one.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        Self::parse_with(text, NumberOrder::Unknown)
    }

    /// As [`DateRange::parse`], taking dates in numbers in the order given.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse_with(text: &str, order: NumberOrder) -> Result<Self, ReadError> {
        let mut reader = Reader::start(text, "a range of dates such as 1937 to 1941")?;
        let start = reader.pos();
        let range = if reader.word_if(|w| w == "until" || w == "to" || w == "through") {
            Self {
                first: None,
                last: Some(next(&mut reader, order)?.last()),
            }
        } else if reader.word_if(|w| w == "before") {
            let last = next(&mut reader, order)?.first().plus_days(-1);
            Self {
                first: None,
                last: Some(inside(last, &reader, start)?),
            }
        } else if reader.word_if(|w| w == "after") {
            let first = next(&mut reader, order)?.last().plus_days(1);
            Self {
                first: Some(inside(first, &reader, start)?),
                last: None,
            }
        } else if reader.word_if(|w| w == "any") {
            reader.skip_space();
            reader.word_if(|w| w == "date" || w == "time");
            Self::ALWAYS
        } else {
            let from = reader.word_if(|w| w == "from" || w == "since");
            let first = next(&mut reader, order)?;
            reader.skip_space();
            if ["..", "-", "\u{2013}", "\u{2014}"]
                .into_iter()
                .any(|dash| reader.eat(dash))
                || reader.word_if(|w| w == "to" || w == "through" || w == "until")
            {
                let last = next(&mut reader, order)?;
                Self::new(Some(first.first()), Some(last.last())).ok_or_else(|| {
                    let at = start..reader.pos();
                    let found = reader.slice(at.clone()).to_owned();
                    let expected = format!(
                        "a range that does not end before it begins on {}",
                        first.first()
                    );
                    ReadError::new(at, Fault::OutOfRange { found, expected })
                        .hint(format!("write {last} to {first}"))
                })?
            } else {
                let last = (!from).then(|| first.last());
                Self {
                    first: Some(first.first()),
                    last,
                }
            }
        };
        reader.finish("nothing more after the range")?;
        Ok(range)
    }
}

fn next(reader: &mut Reader<'_>, order: NumberOrder) -> Result<PartialDate, ReadError> {
    reader.skip_space();
    read::next(reader, order)
}

/// The day before or after one at the very edge of the calendar is not in it.
fn inside(date: Option<Date>, reader: &Reader<'_>, start: usize) -> Result<Date, ReadError> {
    date.ok_or_else(|| {
        let at = start..reader.pos();
        let found = reader.slice(at.clone()).to_owned();
        ReadError::new(
            at,
            Fault::OutOfRange {
                found,
                expected: "a range from 1800 to 2199".to_owned(),
            },
        )
    })
}

impl From<PartialDate> for DateRange {
    /// All the days that the date can be.
    fn from(date: PartialDate) -> Self {
        Self {
            first: Some(date.first()),
            last: Some(date.last()),
        }
    }
}

impl fmt::Display for DateRange {
    /// In years or months where the range is made up of whole ones: `1937 to 1941`, `1937-05`, `from 1937`, `until 1941-10-14`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let years = self.first.is_none_or(|d| (d.month(), d.day()) == (1, 1))
            && self.last.is_none_or(|d| (d.month(), d.day()) == (12, 31));
        let months = self.first.is_none_or(|d| d.day() == 1)
            && self.last.is_none_or(|d| d == d.end_of_month());
        let show = |date: Date| {
            let partial = if years {
                PartialDate::year(date.year())
            } else if months {
                PartialDate::month(date.year(), date.month())
            } else {
                None
            };
            partial.unwrap_or_else(|| date.into()).to_string()
        };
        match (self.first.map(show), self.last.map(show)) {
            (Some(first), Some(last)) if first == last => f.write_str(&first),
            (Some(first), Some(last)) => write!(f, "{first} to {last}"),
            (Some(first), None) => write!(f, "from {first}"),
            (None, Some(last)) => write!(f, "until {last}"),
            (None, None) => f.write_str("any date"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::any_date;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings() {
        for (text, shown) in [
            ("1937 to 1941", "1937 to 1941"),
            ("1937-1941", "1937 to 1941"),
            ("1937–1941", "1937 to 1941"),
            ("1937..1941", "1937 to 1941"),
            ("from 1937 through 1941", "1937 to 1941"),
            ("1937", "1937"),
            ("May 1937", "1937-05"),
            ("1937-05", "1937-05"),
            ("1937-05-12", "1937-05-12"),
            ("1937-05 to 1941-10-14", "1937-05-01 to 1941-10-14"),
            ("Oct 1, 1941 - Oct 14, 1941", "1941-10-01 to 1941-10-14"),
            ("from 1937", "from 1937"),
            ("since May 1937", "from 1937-05"),
            ("until 1941", "until 1941"),
            ("before 1937", "until 1936"),
            ("before 1937-05", "until 1937-04"),
            ("after 1941", "from 1942"),
            ("any date", "any date"),
        ] {
            let range = DateRange::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert_eq!(range.to_string(), shown, "{text}");
        }
    }

    #[test]
    fn faults() {
        let message = |text: &str| DateRange::parse(text).unwrap_err().to_string();
        assert_eq!(
            message("1941 to 1937"),
            "`1941 to 1937` is out of range: expected a range that does not end before it begins on 1941-01-01 \
             (write 1937 to 1941)"
        );
        assert_eq!(
            message("1937 to"),
            "found the end of the text, expected a date such as 1941-10-14 or Oct 14, 1941"
        );
        assert_eq!(
            message("1937 1941"),
            "found `1941`, expected nothing more after the range"
        );
        assert!(DateRange::parse("before 1800").is_err());
    }

    proptest! {
        #[test]
        fn print_then_parse(a in proptest::option::of(any_date()), b in proptest::option::of(any_date())) {
            let range = DateRange::new(a, b).or_else(|| DateRange::new(b, a)).unwrap();
            prop_assert_eq!(DateRange::parse(&range.to_string()).unwrap(), range);
        }

        #[test]
        fn intersection_has_the_common_days(
            a in any_date(), b in any_date(), c in any_date(), d in any_date(), day in any_date(),
        ) {
            let one = DateRange::new(Some(a.min(b)), Some(a.max(b))).unwrap();
            let other = DateRange::new(Some(c), None).unwrap();
            let third = DateRange::new(None, Some(d)).unwrap();
            for (x, y) in [(one, other), (one, third), (other, third)] {
                let both = x.contains(day) && y.contains(day);
                prop_assert_eq!(x.intersection(y).is_some_and(|r| r.contains(day)), both);
            }
        }
    }
}
