//! Days of the week on which a train runs or a shipper works.

use std::fmt;

/// A set of days of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Days(u8);

const WORDS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

impl Days {
    /// Every day.
    pub const DAILY: Self = Self(0b111_1111);

    /// Whether a day is among them; Monday is 0, Sunday 6.
    pub fn contains(self, weekday: u8) -> bool {
        weekday < 7 && self.0 & (1 << weekday) != 0
    }

    /// How many days.
    pub fn count(self) -> u32 {
        self.0.count_ones()
    }

    /// Reads `daily`, `daily except Sunday`, `Mon Wed Fri`, `Mon-Fri`, `weekdays`.
    ///
    /// # Errors
    /// [`DaysError`] with the first word that is no day.
    pub fn parse(text: &str) -> Result<Self, DaysError> {
        let mut days = 0_u8;
        let mut except = 0_u8;
        let mut excepting = false;
        let lower = text.to_lowercase();
        for word in lower
            .split([' ', ',', ';', '.'])
            .filter(|word| !word.is_empty())
        {
            let set = match word {
                "and" | "&" => continue,
                "except" | "ex" | "but" => {
                    excepting = true;
                    continue;
                }
                "daily" => 0b111_1111,
                "weekdays" => 0b001_1111,
                _ => match word.split_once(['-', '–']) {
                    None => 1 << day(word)?,
                    Some((first, last)) => {
                        let (first, last) = (day(first)?, day(last)?);
                        let length = (last + 7 - first) % 7;
                        (0..=length).fold(0, |set, step| set | 1 << ((first + step) % 7))
                    }
                },
            };
            if excepting {
                except |= set;
            } else {
                days |= set;
            }
        }
        match days & !except {
            0 => Err(DaysError(text.to_owned())),
            left => Ok(Self(left)),
        }
    }
}

fn day(word: &str) -> Result<u8, DaysError> {
    let found = WORDS.iter().position(|day| {
        let day = day.to_lowercase();
        word.len() >= 2
            && (day.starts_with(word) || (word.len() <= 5 && word.trim_end_matches('s') == day))
    });
    found
        .map(|at| at as u8)
        .ok_or_else(|| DaysError(word.to_owned()))
}

/// A word that is no day of the week.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` names no day of the week")]
pub struct DaysError(String);

impl fmt::Display for Days {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names = |set: Self| {
            let words = WORDS
                .iter()
                .enumerate()
                .filter(|(at, _)| set.contains(*at as u8));
            words
                .map(|(_, day)| &day[..3])
                .collect::<Vec<_>>()
                .join(" ")
        };
        match self.count() {
            7 => f.write_str("daily"),
            5 | 6 => write!(f, "daily except {}", names(Self(!self.0 & 0b111_1111))),
            _ => f.write_str(&names(*self)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_read_as_timetables_print_them() {
        let read = |text: &str| Days::parse(text).map(|days| days.to_string());
        assert_eq!(read("daily"), Ok("daily".into()));
        assert_eq!(read("Daily except Sunday"), Ok("daily except Sun".into()));
        assert_eq!(read("Mon-Fri"), Ok("daily except Sat Sun".into()));
        assert_eq!(read("Mo, We & Fri"), Ok("Mon Wed Fri".into()));
        assert_eq!(read("Sat-Mon"), Ok("Mon Sat Sun".into()));
        assert!(read("Blursday").is_err());
        assert!(read("Mon except Mon").is_err());
    }

    #[test]
    fn print_then_parse_is_identity() {
        for set in 1..128 {
            assert_eq!(Days::parse(&Days(set).to_string()), Ok(Days(set)));
        }
    }
}
