//! Reading of dates in the spellings that people use.

use std::ops::Range;

use super::{Date, NumberOrder, PartialDate, Precision, YEARS};
use crate::units::ReadError;
use crate::units::read::{Fault, Reader, nearest};

/// English names of the months; their first three letters will do.
pub(super) const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

const EXPECTED: &str = "a date such as 1941-10-14 or Oct 14, 1941";

/// Reads all of `text` as a day.
pub(super) fn whole(text: &str, order: NumberOrder) -> Result<Date, ReadError> {
    let date = partial(text, order)?;
    date.exact().ok_or_else(|| {
        let start = text.len() - text.trim_start().len();
        let found = text.trim();
        let expected = match date.precision() {
            Precision::Year => "a month and a day too",
            _ => "a day too",
        };
        let fault = Fault::Unexpected {
            found: format!("`{found}`"),
            expected: expected.to_owned(),
        };
        ReadError::new(start..start + found.len(), fault).hint("as in 1941-10-14")
    })
}

/// Reads all of `text` as a day, month or year.
pub(super) fn partial(text: &str, order: NumberOrder) -> Result<PartialDate, ReadError> {
    let mut reader = Reader::start(text, EXPECTED)?;
    let date = next(&mut reader, order)?;
    reader.finish("nothing more after the date")?;
    Ok(date)
}

/// Digits of a date with their place.
#[derive(Debug, Clone)]
struct Digits<'a> {
    text: &'a str,
    at: Range<usize>,
}

impl Digits<'_> {
    fn is_year(&self) -> bool {
        self.text.len() == 4
    }

    /// The value; digits too many for a number are out of any range and read as the largest.
    fn value(&self) -> i16 {
        self.text.parse().unwrap_or(i16::MAX)
    }

    fn out_of_range(&self, expected: impl Into<String>) -> ReadError {
        let fault = Fault::OutOfRange {
            found: self.text.to_owned(),
            expected: expected.into(),
        };
        ReadError::new(self.at.clone(), fault)
    }

    fn year(&self) -> Result<i16, ReadError> {
        if self.text.len() == 2 {
            let fault = Fault::Ambiguous {
                found: self.text.to_owned(),
                readings: format!("19{0} or 20{0}", self.text),
            };
            return Err(
                ReadError::new(self.at.clone(), fault).hint("write the year in four digits")
            );
        }
        if !self.is_year() || !YEARS.contains(&self.value()) {
            return Err(self.out_of_range(format!(
                "a year from {} to {}",
                YEARS.start(),
                YEARS.end()
            )));
        }
        Ok(self.value())
    }

    fn month(&self) -> Result<u8, ReadError> {
        u8::try_from(self.value())
            .ok()
            .filter(|m| (1..=12).contains(m))
            .ok_or_else(|| self.out_of_range("a month from 1 to 12"))
    }
}

fn day(year: i16, month: u8, day: &Digits<'_>) -> Result<PartialDate, ReadError> {
    let date = u8::try_from(day.value())
        .ok()
        .and_then(|d| Date::new(year, month, d));
    date.map(PartialDate::from).ok_or_else(|| {
        let last = PartialDate::month(year, month).map_or(31, |m| m.last().day());
        let name = MONTHS[usize::from(month) - 1];
        day.out_of_range(format!("a day of {name} {year}, from 1 to {last}"))
    })
}

/// The date that stands here, which must start here.
pub(super) fn next(reader: &mut Reader<'_>, order: NumberOrder) -> Result<PartialDate, ReadError> {
    if reader.peek().is_some_and(char::is_alphabetic) {
        let month = month_name(reader)?;
        return after_month_name(reader, month);
    }
    let Some(first) = digits(reader) else {
        return Err(reader.unexpected(EXPECTED));
    };
    let mut ahead = reader.clone();
    let Some(mark) = ahead.eat_any(&['-', '/', '.']) else {
        if first.is_year() {
            return whole_year(&first);
        }
        return day_then_month_name(reader, &first);
    };
    let second = digits(&mut ahead);
    let Some(second) = second.filter(|second| !(first.is_year() && second.is_year())) else {
        // `1937..1941`, `1937 - 1941` and `1937-1941` are ranges, and this is the first year.
        if first.is_year() {
            return whole_year(&first);
        }
        return Err(ahead.unexpected("a month or a day in digits"));
    };
    *reader = ahead.clone();
    let third = if ahead.eat(mark.encode_utf8(&mut [0; 4])) {
        digits(&mut ahead)
    } else {
        None
    };
    if third.is_some() {
        *reader = ahead;
    }
    match third {
        Some(third) if first.is_year() => day(first.year()?, second.month()?, &third),
        Some(third) => in_numbers(reader, &first, &second, &third, order),
        None if first.is_year() => month_of(first.year()?, &second),
        None if second.is_year() => month_of(second.year()?, &first),
        None => {
            let at = first.at.start..second.at.end;
            let found = reader.slice(at.clone()).to_owned();
            let fault = Fault::Unexpected {
                found: format!("`{found}`"),
                expected: "a year in four digits".to_owned(),
            };
            Err(ReadError::new(at, fault)
                .hint("a car stenciled 5-37 was built in May 1937: write 1937-05"))
        }
    }
}

fn whole_year(year: &Digits<'_>) -> Result<PartialDate, ReadError> {
    let value = year.year()?;
    PartialDate::year(value).ok_or_else(|| year.out_of_range("a year"))
}

fn month_of(year: i16, month: &Digits<'_>) -> Result<PartialDate, ReadError> {
    PartialDate::month(year, month.month()?).ok_or_else(|| month.out_of_range("a month"))
}

/// `10/14/1941`: two numbers, of which one is the month.
fn in_numbers(
    reader: &Reader<'_>,
    first: &Digits<'_>,
    second: &Digits<'_>,
    third: &Digits<'_>,
    order: NumberOrder,
) -> Result<PartialDate, ReadError> {
    let year = third.year()?;
    let (month, date) = match order {
        NumberOrder::MonthFirst => (first, second),
        NumberOrder::DayFirst => (second, first),
        NumberOrder::Unknown => match (first.value(), second.value()) {
            (a, b) if a == b || b > 12 => (first, second),
            (a, _) if a > 12 => (second, first),
            (a, b) => {
                let at = first.at.start..third.at.end;
                let one = format!("{year}-{a:02}-{b:02}");
                let other = format!("{year}-{b:02}-{a:02}");
                let fault = Fault::Ambiguous {
                    found: reader.slice(at.clone()).to_owned(),
                    readings: format!("month first, {one}, or day first, {other}"),
                };
                return Err(ReadError::new(at, fault).hint(format!("write {one} or {other}")));
            }
        },
    };
    let number = month.month().map_err(|error| match date.month() {
        Ok(swapped) if (1..=31).contains(&month.value()) => {
            let name = &MONTHS[usize::from(swapped) - 1][..3];
            error.hint(format!("did you mean {name} {}, {year}?", month.value()))
        }
        _ => error,
    })?;
    day(year, number, date)
}

/// `Oct 14, 1941` or `Oct 1941`, from behind the month.
fn after_month_name(reader: &mut Reader<'_>, month: u8) -> Result<PartialDate, ReadError> {
    blank(reader);
    let Some(number) = digits(reader) else {
        return Err(reader.unexpected("a day and a year, or a year"));
    };
    if number.is_year() {
        let year = number.year()?;
        return PartialDate::month(year, month).ok_or_else(|| number.out_of_range("a year"));
    }
    ordinal(reader);
    blank(reader);
    let Some(year) = digits(reader) else {
        return Err(reader.unexpected("a year in four digits"));
    };
    day(year.year()?, month, &number)
}

/// `14 Oct 1941`, from behind the day.
fn day_then_month_name(
    reader: &mut Reader<'_>,
    number: &Digits<'_>,
) -> Result<PartialDate, ReadError> {
    ordinal(reader);
    blank(reader);
    if !reader.peek().is_some_and(char::is_alphabetic) {
        let fault = Fault::Unexpected {
            found: format!("`{}`", number.text),
            expected: EXPECTED.to_owned(),
        };
        return Err(ReadError::new(number.at.clone(), fault));
    }
    let month = month_name(reader)?;
    blank(reader);
    let Some(year) = digits(reader) else {
        return Err(reader.unexpected("a year in four digits"));
    };
    day(year.year()?, month, number)
}

fn digits<'a>(reader: &mut Reader<'a>) -> Option<Digits<'a>> {
    let (text, at) = reader.digits();
    (!text.is_empty()).then_some(Digits { text, at })
}

/// The `th` of `14th`.
fn ordinal(reader: &mut Reader<'_>) {
    reader.word_if(|w| matches!(w, "st" | "nd" | "rd" | "th"));
}

/// What may stand between the parts of a date in words.
fn blank(reader: &mut Reader<'_>) {
    reader.eat(".");
    reader.skip_space();
    reader.eat(",");
    reader.skip_space();
}

fn month_name(reader: &mut Reader<'_>) -> Result<u8, ReadError> {
    let before = reader.clone();
    let (word, at) = reader.word();
    let lower = word.to_lowercase();
    let is_short = |name: &str| name.starts_with(&lower) && lower.len() >= 3;
    for (number, name) in (1..).zip(MONTHS) {
        // `Sept` is four letters and the beginning of its name like the rest.
        if is_short(&name.to_lowercase()) {
            return Ok(number);
        }
    }
    Err(match nearest(word, MONTHS.into_iter()) {
        Some(near) => {
            let fault = Fault::Unexpected {
                found: format!("`{word}`"),
                expected: "the name of a month".to_owned(),
            };
            ReadError::new(at, fault).hint(format!("did you mean {near}?"))
        }
        None => before.unexpected(EXPECTED),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn whole_dates() {
        let expected = Date::new(1941, 10, 14).unwrap();
        for text in [
            "1941-10-14",
            "1941/10/14",
            "10/14/1941",
            "14/10/1941",
            "14.10.1941",
            "10-14-1941",
            "Oct 14, 1941",
            "Oct. 14, 1941",
            "October 14th, 1941",
            "oct 14 1941",
            "14 Oct 1941",
            "14th October, 1941",
            " 1941-10-14 ",
        ] {
            assert_eq!(
                Date::parse(text).unwrap_or_else(|e| panic!("{text}: {e}")),
                expected,
                "{text}"
            );
        }
        assert_eq!(Date::parse("Sept 1, 1941").unwrap().month(), 9);
        assert_eq!(
            Date::parse("4/4/1941").unwrap(),
            Date::new(1941, 4, 4).unwrap()
        );
    }

    #[test]
    fn parts_of_dates() {
        for (text, shown) in [
            ("1937", "1937"),
            ("1937-05", "1937-05"),
            ("1937-5", "1937-05"),
            ("May 1937", "1937-05"),
            ("May, 1937", "1937-05"),
            ("5/1937", "1937-05"),
            ("1937-05-12", "1937-05-12"),
        ] {
            assert_eq!(
                PartialDate::parse(text).unwrap().to_string(),
                shown,
                "{text}"
            );
        }
    }

    #[track_caller]
    fn refused(text: &str, order: NumberOrder, at: Range<usize>, message: &str) {
        let error = whole(text, order).expect_err(text);
        assert_eq!(
            (error.to_string().as_str(), error.at),
            (message, at),
            "{text}"
        );
    }

    #[test]
    fn faults() {
        use NumberOrder::{MonthFirst, Unknown};
        refused(
            "10/4/1941",
            Unknown,
            0..9,
            "`10/4/1941` can be read two ways: month first, 1941-10-04, or day first, 1941-04-10 \
             (write 1941-10-04 or 1941-04-10)",
        );
        refused(
            "14/10/1941",
            MonthFirst,
            0..2,
            "`14` is out of range: expected a month from 1 to 12 (did you mean Oct 14, 1941?)",
        );
        refused(
            "1941-02-29",
            Unknown,
            8..10,
            "`29` is out of range: expected a day of February 1941, from 1 to 28",
        );
        refused(
            "1941-13-01",
            Unknown,
            5..7,
            "`13` is out of range: expected a month from 1 to 12",
        );
        refused(
            "10/14/41",
            Unknown,
            6..8,
            "`41` can be read two ways: 1941 or 2041 (write the year in four digits)",
        );
        refused(
            "1037-05-01",
            Unknown,
            0..4,
            "`1037` is out of range: expected a year from 1800 to 2199",
        );
        refused(
            "Ocotber 14, 1941",
            Unknown,
            0..7,
            "found `Ocotber`, expected the name of a month (did you mean October?)",
        );
        refused(
            "1937",
            Unknown,
            0..4,
            "found `1937`, expected a month and a day too (as in 1941-10-14)",
        );
        refused(
            " May 1937",
            Unknown,
            1..9,
            "found `May 1937`, expected a day too (as in 1941-10-14)",
        );
        refused(
            "5-37",
            Unknown,
            0..4,
            "found `5-37`, expected a year in four digits (a car stenciled 5-37 was built in May 1937: write 1937-05)",
        );
        refused(
            "14",
            Unknown,
            0..2,
            "found `14`, expected a date such as 1941-10-14 or Oct 14, 1941",
        );
        refused(
            "yesterday",
            Unknown,
            0..9,
            "found `yesterday`, expected a date such as 1941-10-14 or Oct 14, 1941",
        );
        refused(
            "1941-10-14 AD",
            Unknown,
            11..13,
            "found `AD`, expected nothing more after the date",
        );
        refused(
            "",
            Unknown,
            0..0,
            "nothing is written here: expected a date such as 1941-10-14 or Oct 14, 1941",
        );
        refused(
            "Oct",
            Unknown,
            3..3,
            "found the end of the text, expected a day and a year, or a year",
        );
    }

    proptest! {
        #[test]
        fn no_text_breaks_the_reader(text in "[0-9/. ,OctMayé-]{0,14}") {
            if let Err(error) = PartialDate::parse(&text) {
                prop_assert!(text.get(error.at).is_some());
            }
        }
    }
}
