//! Seasons: the months in which something is shipped.

use std::fmt;

/// A set of months.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Season(u16);

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];
const WHOLE_YEAR: u16 = 0b1111_1111_1111;

impl Season {
    /// All year.
    pub const ALL_YEAR: Self = Self(WHOLE_YEAR);

    /// Whether a month, 1 to 12, is in it.
    pub const fn contains(self, month: u8) -> bool {
        month >= 1 && month <= 12 && self.0 & (1 << (month - 1)) != 0
    }

    /// How many months it has.
    pub const fn months(self) -> u32 {
        self.0.count_ones()
    }

    /// Reads `Sep-Nov`, `October`, `Jan, Mar-May`, `all year`, `spring`. Winter begins in December.
    ///
    /// # Errors
    /// The first word that is neither a month nor a season.
    pub fn parse(text: &str) -> Result<Self, String> {
        let lower = text
            .trim()
            .to_lowercase()
            .replace(['–', '—'], "-")
            .replace(" to ", "-");
        if matches!(lower.as_str(), "all year" | "year round" | "all") {
            return Ok(Self::ALL_YEAR);
        }
        // `Sep - Nov` is one range.
        let lower = lower.replace(" -", "-").replace("- ", "-");
        let mut months = 0;
        for word in lower
            .split([' ', ',', ';', '/', '&'])
            .filter(|word| !word.is_empty())
        {
            months |= match word {
                "and" => continue,
                "spring" => range(2, 4),
                "summer" => range(5, 7),
                "fall" | "autumn" => range(8, 10),
                "winter" => range(11, 1),
                _ => match word.split_once('-') {
                    None => 1 << month(word)?,
                    Some((first, last)) => range(month(first)?, month(last)?),
                },
            };
        }
        if months == 0 {
            Err(text.trim().to_owned())
        } else {
            Ok(Self(months))
        }
    }
}

/// From one month to another, both included, over the new year if need be; from 0.
fn range(first: usize, last: usize) -> u16 {
    let length = (last + 12 - first) % 12;
    (0..=length).fold(0, |set, step| set | 1 << ((first + step) % 12))
}

fn month(word: &str) -> Result<usize, String> {
    let word = word.trim_matches('.');
    let whole = if word == "sept" { "sep" } else { word };
    if let Ok(number) = whole.parse::<usize>() {
        return if (1..=12).contains(&number) {
            Ok(number - 1)
        } else {
            Err(word.to_owned())
        };
    }
    let found = MONTHS
        .iter()
        .position(|month| whole.len() >= 3 && month.starts_with(whole));
    found.ok_or_else(|| word.to_owned())
}

impl fmt::Display for Season {
    /// Runs of months: `Jun, Sep-Nov`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 == WHOLE_YEAR {
            return f.write_str("all year");
        }
        let inside = |at: usize| self.0 & (1 << (at % 12)) != 0;
        let name = |at: usize| {
            let month = MONTHS[at % 12];
            format!("{}{}", month[..1].to_uppercase(), &month[1..3])
        };
        let starts = (0..12).filter(|&at| inside(at) && !inside(at + 11));
        let runs: Vec<String> = starts
            .map(|start| {
                let last = (start..)
                    .take_while(|&at| inside(at))
                    .last()
                    .unwrap_or(start);
                if last == start {
                    name(start)
                } else {
                    format!("{}-{}", name(start), name(last))
                }
            })
            .collect();
        f.write_str(&runs.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seasons_are_read_as_people_write_them() {
        let read = |text| Season::parse(text).map(|season| season.to_string());
        assert_eq!(read("Sep-Nov"), Ok("Sep-Nov".into()));
        assert_eq!(read("Sept. to November"), Ok("Sep-Nov".into()));
        assert_eq!(read("Nov - Feb"), Ok("Nov-Feb".into()));
        assert_eq!(read("fall; June"), Ok("Jun, Sep-Nov".into()));
        assert_eq!(read("all year"), Ok("all year".into()));
        assert_eq!(read("9-11"), Ok("Sep-Nov".into()));
        assert_eq!(read("harvest"), Err("harvest".into()));
        assert_eq!(read("13"), Err("13".into()));
    }

    #[test]
    fn print_then_parse_is_identity() {
        for set in 1..=WHOLE_YEAR {
            assert_eq!(
                Season::parse(&Season(set).to_string()),
                Ok(Season(set)),
                "{set:b}"
            );
        }
    }

    #[test]
    fn winter_goes_over_the_new_year() {
        let winter = Season::parse("winter").unwrap();
        assert!(winter.contains(12) && winter.contains(2) && !winter.contains(3));
        assert_eq!(winter.months(), 3);
    }
}
