//! Times of the railroad's day.

use std::fmt;
use std::ops::{Add, AddAssign, Range, Sub, SubAssign};

use super::span::RailSpan;
use crate::units::ReadError;
use crate::units::read::{Fault, Reader};

/// A time by the railroad's clock, in whole seconds from midnight at the start of the operating day.
///
/// The day does not end it: a train that leaves at 11:50 PM arrives at 24:30, also written `12:30 AM +1`.
///
/// # Reading
/// `7:05`, `07:05:30` and `7.05` are by the 24-hour clock, as is `0705`; `7:05 AM`, `7.05 p.m.`, `705p` and `7 PM` by the
/// other one; `noon` is 12:00. `midnight` is refused: nobody can say which end of the day it is. `+1` at the end is the next
/// day, `-1` the day before.
///
/// ```
/// use model::time::{RailSpan, RailTime, TimeStyle};
///
/// let leaves = RailTime::parse("11:50 PM")?;
/// let arrives = leaves + RailSpan::parse("40 min")?;
/// assert_eq!(arrives.show(TimeStyle::TwentyFour).to_string(), "24:30");
/// assert_eq!(arrives.show(TimeStyle::AmPm).to_string(), "12:30 AM +1");
/// assert_eq!(RailTime::parse("12:30 AM +1")?, arrives);
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct RailTime(i64);

const DAY: i64 = 86_400;
const HOUR: i64 = 3600;
const EXPECTED: &str = "a time such as 7:05, 19:05 or 7:05 PM";
/// Hours past midnight at the start of the day that are still written without a day: four days.
const MOST_HOURS: i64 = 99;

impl RailTime {
    /// Midnight at the start of the operating day.
    pub const MIDNIGHT: Self = Self(0);
    /// Noon.
    pub const NOON: Self = Self(12 * HOUR);

    /// That many seconds after midnight at the start of the day; before it, if negative.
    #[must_use]
    pub const fn from_seconds(seconds: i64) -> Self {
        Self(seconds)
    }

    /// By the 24-hour clock; hours may pass 24.
    #[must_use]
    pub const fn from_hm(hours: u16, minutes: u16) -> Self {
        Self(hours as i64 * HOUR + minutes as i64 * 60)
    }

    /// Seconds after midnight at the start of the day.
    #[must_use]
    pub const fn seconds(self) -> i64 {
        self.0
    }

    /// Days after the operating day: 0 on it, 1 from 24:00 on, -1 before 0:00.
    #[must_use]
    pub const fn day(self) -> i64 {
        self.0.div_euclid(DAY)
    }

    /// The same time of day, on the operating day.
    #[must_use]
    pub const fn of_day(self) -> Self {
        Self(self.0.rem_euclid(DAY))
    }

    /// How much later `self` is than `earlier`; negative if it is earlier.
    #[must_use]
    pub const fn since(self, earlier: Self) -> RailSpan {
        RailSpan::from_seconds(self.0 - earlier.0)
    }

    /// Reads a time; see the type for the spellings.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault: minutes over 59, `13:00 PM`, `midnight`, text left over.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        let mut reader = Reader::start(text, EXPECTED)?;
        let start = reader.pos();
        let seconds = if reader.peek().is_some_and(char::is_alphabetic) {
            named(&mut reader)?
        } else {
            clock(&mut reader)?
        };
        reader.skip_space();
        let days = match reader.eat_any(&['+', '-', '\u{2212}']) {
            None => 0,
            Some(sign) => {
                let (digits, at) = reader.digits();
                let days: i64 = match digits.parse() {
                    Ok(days) if days <= 99 => days,
                    Ok(_) => return Err(out_of_range(&reader, at, "up to 99 days")),
                    Err(_) => return Err(reader.unexpected("the number of days, as in +1")),
                };
                reader.skip_space();
                reader.word_if(|w| w == "day" || w == "days");
                if seconds >= DAY {
                    let at = start..reader.pos();
                    let found = reader.slice(at.clone()).to_owned();
                    let fault = Fault::Unexpected {
                        found: format!("`{found}`"),
                        expected: "either hours past 24 or a day after the time".to_owned(),
                    };
                    return Err(ReadError::new(at, fault));
                }
                if sign == '+' { days } else { -days }
            }
        };
        reader.finish("nothing more")?;
        Ok(Self(seconds + days * DAY))
    }

    /// For printing in `style`.
    #[must_use]
    pub const fn show(self, style: TimeStyle) -> ShownTime {
        ShownTime { time: self, style }
    }
}

/// `noon`; `midnight` is understood, but not which.
fn named(reader: &mut Reader<'_>) -> Result<i64, ReadError> {
    let before = reader.clone();
    let (word, at) = reader.word();
    match word.to_lowercase().as_str() {
        "noon" => Ok(12 * HOUR),
        "midnight" => Err(midnight(word, at)),
        _ => Err(before.unexpected(EXPECTED)),
    }
}

fn midnight(found: &str, at: Range<usize>) -> ReadError {
    ReadError::new(
        at,
        Fault::Ambiguous {
            found: found.to_owned(),
            readings: "the start of the day (0:00) or its end (24:00)".to_owned(),
        },
    )
    .hint("write 0:00 or 24:00, or a minute past, as timetables do")
}

fn out_of_range(reader: &Reader<'_>, at: Range<usize>, expected: &str) -> ReadError {
    let found = reader.slice(at.clone()).to_owned();
    ReadError::new(
        at,
        Fault::OutOfRange {
            found,
            expected: expected.to_owned(),
        },
    )
}

/// Hours, minutes and seconds with what marks the half of the day.
fn clock(reader: &mut Reader<'_>) -> Result<i64, ReadError> {
    const MARKS: [char; 2] = [':', '.'];
    let start = reader.pos();
    let (hours, hours_at) = reader.digits();
    if hours.is_empty() {
        return Err(reader.unexpected(EXPECTED));
    }
    // Hours, minutes, seconds, each with its place.
    let mut parts = vec![(hours, hours_at.clone())];
    while parts.len() < 3 {
        let mut ahead = reader.clone();
        if ahead.eat_any(&MARKS).is_none() {
            break;
        }
        let (part, at) = ahead.digits();
        if part.is_empty() {
            break;
        }
        *reader = ahead;
        parts.push((part, at));
    }
    if parts.len() == 1 && (3..=4).contains(&hours.len()) {
        let middle = hours.len() - 2;
        let cut = hours_at.start + middle;
        parts = vec![
            (&hours[..middle], hours_at.start..cut),
            (&hours[middle..], cut..hours_at.end),
        ];
    }
    let bare = parts.len() == 1;
    let number = |(digits, at): &(&str, Range<usize>), most: i64| match digits.parse::<i64>() {
        Ok(value) if value <= most => Ok(value),
        _ => Err((at.clone(), most)),
    };
    let mut seconds = 0;
    for (part, size) in parts.iter().zip([HOUR, 60, 1]) {
        let (most, what) = if size == HOUR {
            (MOST_HOURS, "hours")
        } else {
            (59, "minutes or seconds")
        };
        let value = number(part, most)
            .map_err(|(at, most)| out_of_range(reader, at, &format!("{what} from 0 to {most}")))?;
        if size != HOUR && part.0.len() != 2 {
            let fault = Fault::Unexpected {
                found: format!("`{}`", part.0),
                expected: "two digits of minutes or seconds".to_owned(),
            };
            return Err(ReadError::new(part.1.clone(), fault));
        }
        seconds += value * size;
    }
    let clock_end = reader.pos();
    reader.skip_space();
    let hour = seconds / HOUR;
    match half(reader) {
        Some(Half::Am | Half::Pm) if !(1..=12).contains(&hour) => {
            let at = hours_at.start..reader.pos();
            let mut error = out_of_range(reader, at, "hours from 1 to 12 with AM or PM");
            if hour > 12 {
                error = error.hint("leave AM or PM away for the 24-hour clock");
            }
            Err(error)
        }
        Some(Half::Am) => Ok(seconds - if hour == 12 { 12 * HOUR } else { 0 }),
        Some(Half::Pm) => Ok(seconds + if hour == 12 { 0 } else { 12 * HOUR }),
        Some(Half::Noon) if seconds == 12 * HOUR => Ok(seconds),
        Some(Half::Midnight) if seconds == 12 * HOUR => {
            let at = start..reader.pos();
            Err(midnight(reader.slice(at.clone()), at))
        }
        Some(Half::Noon | Half::Midnight) => {
            Err(out_of_range(reader, start..reader.pos(), "12:00 noon"))
        }
        None if bare => {
            let found = reader.slice(start..clock_end).to_owned();
            let hint = format!("write {found}:00, or {found} AM or {found} PM");
            let fault = Fault::Unexpected {
                found: format!("`{found}`"),
                expected: "hours and minutes".to_owned(),
            };
            Err(ReadError::new(start..clock_end, fault).hint(hint))
        }
        None => Ok(seconds),
    }
}

enum Half {
    Am,
    Pm,
    Noon,
    Midnight,
}

/// `AM`, `a.m.`, `a`, `PM`, `p.m.`, `p`, `noon`, `midnight`.
fn half(reader: &mut Reader<'_>) -> Option<Half> {
    let before = reader.clone();
    let (first, _) = reader.word();
    let mut word = first.to_lowercase();
    if (word == "a" || word == "p") && reader.eat(".") {
        let (second, _) = reader.word();
        word.push_str(&second.to_lowercase());
    }
    let half = match word.as_str() {
        "a" | "am" => Half::Am,
        "p" | "pm" => Half::Pm,
        "noon" => Half::Noon,
        "midnight" => Half::Midnight,
        _ => {
            *reader = before;
            return None;
        }
    };
    if word.len() == 2 {
        reader.eat(".");
    }
    Some(half)
}

/// How to print a [`RailTime`]. Seconds are printed where there are any.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeStyle {
    /// `7:05`, `19:05:30`, and on past midnight as `24:30`.
    TwentyFour,
    /// `7:05 AM`, `7:05:30 PM`, and past midnight `12:30 AM +1`.
    AmPm,
}

/// A time with the style to print it in; made by [`RailTime::show`].
#[derive(Debug, Clone, Copy)]
pub struct ShownTime {
    time: RailTime,
    style: TimeStyle,
}

impl fmt::Display for ShownTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let seconds = self.time.0;
        let written_through = (0..(MOST_HOURS + 1) * HOUR).contains(&seconds);
        let (seconds, day) = if self.style == TimeStyle::TwentyFour && written_through {
            (seconds, 0)
        } else {
            (seconds.rem_euclid(DAY), self.time.day())
        };
        let (hour, minute, second) = (seconds / HOUR, seconds / 60 % 60, seconds % 60);
        match self.style {
            TimeStyle::TwentyFour => write!(f, "{hour}:{minute:02}")?,
            TimeStyle::AmPm => write!(f, "{}:{minute:02}", (hour + 11) % 12 + 1)?,
        }
        if second != 0 {
            write!(f, ":{second:02}")?;
        }
        if self.style == TimeStyle::AmPm {
            f.write_str(if hour < 12 { " AM" } else { " PM" })?;
        }
        if day == 0 {
            Ok(())
        } else {
            write!(f, " {day:+}")
        }
    }
}

impl Add<RailSpan> for RailTime {
    type Output = Self;
    fn add(self, span: RailSpan) -> Self {
        Self(self.0 + span.seconds())
    }
}

impl AddAssign<RailSpan> for RailTime {
    fn add_assign(&mut self, span: RailSpan) {
        *self = *self + span;
    }
}

impl Sub<RailSpan> for RailTime {
    type Output = Self;
    fn sub(self, span: RailSpan) -> Self {
        Self(self.0 - span.seconds())
    }
}

impl SubAssign<RailSpan> for RailTime {
    fn sub_assign(&mut self, span: RailSpan) {
        *self = *self - span;
    }
}

impl Sub for RailTime {
    type Output = RailSpan;
    fn sub(self, earlier: Self) -> RailSpan {
        self.since(earlier)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings() {
        let at = |h: i64, m: i64, s: i64| RailTime(h * HOUR + m * 60 + s);
        for (text, expected) in [
            ("7:05", at(7, 5, 0)),
            ("07:05:30", at(7, 5, 30)),
            ("7.05", at(7, 5, 0)),
            ("0705", at(7, 5, 0)),
            ("1905", at(19, 5, 0)),
            ("7:05 AM", at(7, 5, 0)),
            ("7:05am", at(7, 5, 0)),
            ("7.05 p.m.", at(19, 5, 0)),
            ("705p", at(19, 5, 0)),
            ("705 PM", at(19, 5, 0)),
            ("1130 P.M.", at(23, 30, 0)),
            ("7 PM", at(19, 0, 0)),
            ("12:01 AM", at(0, 1, 0)),
            ("12:01 PM", at(12, 1, 0)),
            ("12:00 PM", at(12, 0, 0)),
            ("noon", at(12, 0, 0)),
            ("12 noon", at(12, 0, 0)),
            ("12:00 Noon", at(12, 0, 0)),
            ("0:00", at(0, 0, 0)),
            ("24:00", at(24, 0, 0)),
            ("24:30", at(24, 30, 0)),
            ("25:10", at(25, 10, 0)),
            ("12:30 AM +1", at(24, 30, 0)),
            ("0:30+1", at(24, 30, 0)),
            ("0:30 +1 day", at(24, 30, 0)),
            ("11:30 PM -1", at(0, -30, 0)),
            (" 7:05 ", at(7, 5, 0)),
        ] {
            assert_eq!(
                RailTime::parse(text).unwrap_or_else(|e| panic!("{text}: {e}")),
                expected,
                "{text}"
            );
        }
    }

    #[track_caller]
    fn refused(text: &str, at: Range<usize>, message: &str) {
        let error = RailTime::parse(text).expect_err(text);
        assert_eq!(
            (error.to_string().as_str(), error.at),
            (message, at),
            "{text}"
        );
    }

    #[test]
    fn faults() {
        refused(
            "",
            0..0,
            "nothing is written here: expected a time such as 7:05, 19:05 or 7:05 PM",
        );
        refused(
            "7",
            0..1,
            "found `7`, expected hours and minutes (write 7:00, or 7 AM or 7 PM)",
        );
        refused(
            "7:65",
            2..4,
            "`65` is out of range: expected minutes or seconds from 0 to 59",
        );
        refused(
            "0765",
            2..4,
            "`65` is out of range: expected minutes or seconds from 0 to 59",
        );
        refused(
            "7:5",
            2..3,
            "found `5`, expected two digits of minutes or seconds",
        );
        refused(
            "13:05 PM",
            0..8,
            "`13:05 PM` is out of range: expected hours from 1 to 12 with AM or PM \
             (leave AM or PM away for the 24-hour clock)",
        );
        refused(
            "0:05 AM",
            0..7,
            "`0:05 AM` is out of range: expected hours from 1 to 12 with AM or PM",
        );
        refused(
            "12 midnight",
            0..11,
            "`12 midnight` can be read two ways: the start of the day (0:00) or its end (24:00) \
             (write 0:00 or 24:00, or a minute past, as timetables do)",
        );
        refused("7:05 EST", 5..8, "found `EST`, expected nothing more");
        refused(
            "100:00",
            0..3,
            "`100` is out of range: expected hours from 0 to 99",
        );
        refused(
            "24:30 +1",
            0..8,
            "found `24:30 +1`, expected either hours past 24 or a day after the time",
        );
        refused(
            "teatime",
            0..7,
            "found `teatime`, expected a time such as 7:05, 19:05 or 7:05 PM",
        );
        assert!(RailTime::parse("midnight").is_err());
        assert!(RailTime::parse("7:05 noon").is_err());
    }

    #[test]
    fn printing() {
        let show = |seconds, style| RailTime(seconds).show(style).to_string();
        use TimeStyle::{AmPm, TwentyFour};
        assert_eq!(show(0, AmPm), "12:00 AM");
        assert_eq!(show(0, TwentyFour), "0:00");
        assert_eq!(show(12 * HOUR, AmPm), "12:00 PM");
        assert_eq!(show(25 * HOUR + 600, TwentyFour), "25:10");
        assert_eq!(show(-1800, TwentyFour), "23:30 -1");
        assert_eq!(show(100 * HOUR, TwentyFour), "4:00 +4");
        assert_eq!(show(7 * HOUR + 330, AmPm), "7:05:30 AM");
    }

    #[test]
    fn arithmetic() {
        let mut time = RailTime::from_hm(23, 50);
        time += RailSpan::from_minutes(40);
        assert_eq!((time.day(), time.of_day()), (1, RailTime::from_hm(0, 30)));
        assert_eq!(time - RailTime::NOON, RailSpan::from_minutes(750));
        assert_eq!(time - RailSpan::from_minutes(30), RailTime::from_hm(24, 0));
        assert!(RailTime::from_hm(23, 0) < time);
    }

    proptest! {
        #[test]
        fn print_then_parse(seconds in -5 * DAY..20 * DAY, whole_minutes in any::<bool>()) {
            let time = RailTime(if whole_minutes { seconds / 60 * 60 } else { seconds });
            for style in [TimeStyle::TwentyFour, TimeStyle::AmPm] {
                prop_assert_eq!(RailTime::parse(&time.show(style).to_string()).unwrap(), time);
            }
        }

        #[test]
        fn no_text_breaks_the_reader(text in "[0-9:. +apmnoon-]{0,12}") {
            if let Err(error) = RailTime::parse(&text) {
                prop_assert!(text.get(error.at).is_some());
            }
        }
    }
}
