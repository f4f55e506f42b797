//! The dated log of a car's or engine's repairs.

use model::{Spanned, date::PartialDate, text::Record};

/// One entry.
#[derive(Debug, Clone, PartialEq)]
pub struct LogEntry {
    /// When, if the entry begins with a date.
    pub date: Option<PartialDate>,
    /// What was done or found.
    pub what: String,
}

impl LogEntry {
    /// Reads an entry: a date and what was done. Never fails: an entry that begins with no date has none.
    pub fn parse(text: &str) -> Self {
        let text = text.trim();
        let (first, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
        match PartialDate::parse(first.trim_end_matches([':', ','])) {
            Ok(date) => Self {
                date: Some(date),
                what: rest.trim().to_owned(),
            },
            Err(_) => Self {
                date: None,
                what: text.to_owned(),
            },
        }
    }
}

/// The log of a row.
pub(crate) fn read(record: &Record) -> Vec<Spanned<LogEntry>> {
    record
        .texts("log")
        .into_iter()
        .map(|entry| entry.map(LogEntry::parse))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_begins_with_its_date() {
        let entry = LogEntry::parse("1996-05-11: bad order, coupler");
        assert_eq!(entry.date, PartialDate::parse("1996-05-11").ok());
        assert_eq!(entry.what, "bad order, coupler");
        assert_eq!(
            LogEntry::parse("new wheels"),
            LogEntry {
                date: None,
                what: "new wheels".into()
            }
        );
    }
}
