//! Dates: whole ones, ones of which only the month or the year is known, and ranges of them.

mod partial;
mod range;
mod read;

use std::fmt;

use crate::units::ReadError;

pub use partial::{Answer, PartialDate, Precision};
pub use range::DateRange;

/// A day of the calendar, from 1800 to 2199.
///
/// # Reading
/// `1941-10-14`, `Oct 14, 1941`, `14 October 1941`, `10/14/1941`. Whether 10/4/1941 is in October or April depends on the
/// writer: [`Date::parse`] refuses it and [`Date::parse_with`] takes the order to assume.
///
/// ```
/// use model::date::{Date, DateStyle, NumberOrder, Weekday};
///
/// let day = Date::parse("Oct 14, 1941")?;
/// assert_eq!(day, Date::parse("10/14/1941")?);
/// assert_eq!(day.weekday(), Weekday::Tuesday);
/// assert_eq!(day.to_string(), "1941-10-14");
/// assert_eq!(day.show(DateStyle::MonthName).to_string(), "Oct 14, 1941");
///
/// assert!(Date::parse("10/4/1941").is_err());
/// assert_eq!(Date::parse_with("10/4/1941", NumberOrder::MonthFirst)?.month(), 10);
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(jiff::civil::Date);

/// Years taken for railroad dates; anything else is more likely a slip of the finger.
const YEARS: std::ops::RangeInclusive<i16> = 1800..=2199;

impl Date {
    /// The day so numbered. `None` if there is none, or its year is not from 1800 to 2199.
    #[must_use]
    pub fn new(year: i16, month: u8, day: u8) -> Option<Self> {
        let (month, day) = (i8::try_from(month).ok()?, i8::try_from(day).ok()?);
        jiff::civil::Date::new(year, month, day)
            .ok()
            .and_then(Self::in_years)
    }

    fn in_years(date: jiff::civil::Date) -> Option<Self> {
        YEARS.contains(&date.year()).then_some(Self(date))
    }

    /// The year.
    #[must_use]
    pub fn year(self) -> i16 {
        self.0.year()
    }

    /// The month, from 1.
    #[must_use]
    pub fn month(self) -> u8 {
        self.0.month().unsigned_abs()
    }

    /// The day of the month, from 1.
    #[must_use]
    pub fn day(self) -> u8 {
        self.0.day().unsigned_abs()
    }

    /// The day of the week.
    #[must_use]
    pub fn weekday(self) -> Weekday {
        Weekday::ALL[usize::from(self.0.weekday().to_monday_zero_offset().unsigned_abs())]
    }

    /// The day so many days later, or earlier if negative. `None` outside the years 1800 to 2199.
    #[must_use]
    pub fn plus_days(self, days: i32) -> Option<Self> {
        let span = jiff::Span::new().try_days(days).ok()?;
        self.0.checked_add(span).ok().and_then(Self::in_years)
    }

    /// Days from `earlier` to `self`; negative if it is later.
    #[must_use]
    pub fn days_since(self, earlier: Self) -> i32 {
        // Without further instructions the difference is in days.
        (self.0 - earlier.0).get_days()
    }

    /// The last day of the month.
    fn end_of_month(self) -> Self {
        Self(self.0.last_of_month())
    }

    /// Reads a whole date, and refuses one whose numbers could stand for two; see the type for the spellings.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        Self::parse_with(text, NumberOrder::Unknown)
    }

    /// Reads a whole date, taking dates in numbers in the order given.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault.
    pub fn parse_with(text: &str, order: NumberOrder) -> Result<Self, ReadError> {
        read::whole(text, order)
    }

    /// For printing in `style`.
    #[must_use]
    pub const fn show(self, style: DateStyle) -> ShownDate {
        ShownDate { date: self, style }
    }
}

impl fmt::Display for Date {
    /// `1941-10-14`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.show(DateStyle::Iso).fmt(f)
    }
}

/// In which order the numbers of `10/4/1941` stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum NumberOrder {
    /// Not known: a date that could be read both ways is refused.
    #[default]
    Unknown,
    /// Month, day, year, as in the United States.
    MonthFirst,
    /// Day, month, year.
    DayFirst,
}

/// A day of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // the names say it
pub enum Weekday {
    Monday,
    Tuesday,
    Wednesday,
    Thursday,
    Friday,
    Saturday,
    Sunday,
}

impl Weekday {
    /// All seven, from Monday.
    pub const ALL: [Self; 7] = [
        Self::Monday,
        Self::Tuesday,
        Self::Wednesday,
        Self::Thursday,
        Self::Friday,
        Self::Saturday,
        Self::Sunday,
    ];

    /// Days after Monday: 0 for Monday, 6 for Sunday, as [`Days::contains`](crate::days::Days::contains) takes it.
    #[must_use]
    pub const fn days_after_monday(self) -> u8 {
        self as u8
    }

    /// Its English name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Monday => "Monday",
            Self::Tuesday => "Tuesday",
            Self::Wednesday => "Wednesday",
            Self::Thursday => "Thursday",
            Self::Friday => "Friday",
            Self::Saturday => "Saturday",
            Self::Sunday => "Sunday",
        }
    }
}

impl fmt::Display for Weekday {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// How to print a [`Date`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateStyle {
    /// `1941-10-14`.
    Iso,
    /// `Oct 14, 1941`.
    MonthName,
    /// `Tuesday, October 14, 1941`, as at the head of a form. Not read back.
    Full,
    /// `10/14/1941`.
    MonthFirst,
    /// `14/10/1941`.
    DayFirst,
}

/// A date with the style to print it in; made by [`Date::show`].
#[derive(Debug, Clone, Copy)]
pub struct ShownDate {
    date: Date,
    style: DateStyle,
}

impl fmt::Display for ShownDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = (self.date.year(), self.date.month(), self.date.day());
        let name = read::MONTHS[usize::from(month) - 1];
        match self.style {
            DateStyle::Iso => write!(f, "{year}-{month:02}-{day:02}"),
            DateStyle::MonthName => write!(f, "{} {day}, {year}", &name[..3]),
            DateStyle::Full => write!(f, "{}, {name} {day}, {year}", self.date.weekday()),
            DateStyle::MonthFirst => write!(f, "{month}/{day}/{year}"),
            DateStyle::DayFirst => write!(f, "{day}/{month}/{year}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    pub(super) fn any_date() -> impl Strategy<Value = Date> {
        let first = Date::new(1800, 1, 1).unwrap();
        let last = Date::new(2199, 12, 31).unwrap();
        (0..=last.days_since(first)).prop_map(move |days| first.plus_days(days).unwrap())
    }

    /// C. Zeller, Acta Mathematica 9 (1887): the day of the week, 0 for Saturday.
    fn zeller(date: Date) -> usize {
        let (mut y, mut m, d) = (
            i32::from(date.year()),
            i32::from(date.month()),
            i32::from(date.day()),
        );
        if m < 3 {
            (y, m) = (y - 1, m + 12);
        }
        let (k, j) = (y % 100, y / 100);
        usize::try_from((d + 13 * (m + 1) / 5 + k + k / 4 + j / 4 + 5 * j) % 7).unwrap()
    }

    /// H. F. Fliegel and T. C. Van Flandern, Communications of the ACM 11 (1968): the Julian day number.
    fn julian(date: Date) -> i32 {
        let (y, m, d) = (
            i32::from(date.year()),
            i32::from(date.month()),
            i32::from(date.day()),
        );
        let a = (m - 14) / 12;
        (1461 * (y + 4800 + a)) / 4 + (367 * (m - 2 - 12 * a)) / 12
            - (3 * ((y + 4900 + a) / 100)) / 4
            + d
            - 32075
    }

    #[test]
    fn limits() {
        assert!(Date::new(1900, 2, 29).is_none() && Date::new(2000, 2, 29).is_some());
        assert!(Date::new(1941, 13, 1).is_none() && Date::new(1941, 200, 1).is_none());
        assert!(Date::new(1799, 12, 31).is_none());
        assert!(Date::new(2199, 12, 31).unwrap().plus_days(1).is_none());
        assert!(Date::new(1941, 1, 1).unwrap().plus_days(i32::MAX).is_none());
    }

    #[test]
    fn days_of_the_week_as_sets() {
        let sundays = crate::days::Days::parse("Sun").unwrap();
        let date = Date::new(1941, 10, 5).unwrap();
        assert_eq!(date.weekday(), Weekday::Sunday);
        assert!(sundays.contains(date.weekday().days_after_monday()));
        let monday = date.plus_days(1).unwrap().weekday();
        assert!(!sundays.contains(monday.days_after_monday()));
    }

    #[test]
    fn heads_of_forms() {
        let date = Date::new(1941, 10, 4).unwrap();
        assert_eq!(
            date.show(DateStyle::Full).to_string(),
            "Saturday, October 4, 1941"
        );
        assert_eq!(date.show(DateStyle::DayFirst).to_string(), "4/10/1941");
    }

    proptest! {
        #[test]
        fn calendar_agrees_with_published_formulas(a in any_date(), b in any_date()) {
            let from_saturday = (a.weekday() as usize + 2) % 7;
            prop_assert_eq!(from_saturday, zeller(a));
            prop_assert_eq!(a.days_since(b), julian(a) - julian(b));
            prop_assert_eq!(b.plus_days(a.days_since(b)), Some(a));
        }

        #[test]
        fn print_then_parse(date in any_date()) {
            for (style, order) in [
                (DateStyle::Iso, NumberOrder::Unknown),
                (DateStyle::MonthName, NumberOrder::Unknown),
                (DateStyle::MonthFirst, NumberOrder::MonthFirst),
                (DateStyle::DayFirst, NumberOrder::DayFirst),
            ] {
                prop_assert_eq!(Date::parse_with(&date.show(style).to_string(), order).unwrap(), date);
            }
        }
    }
}
