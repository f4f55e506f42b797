//! How long a train crew might lawfully work, by date.

use model::{date::Date, time::RailSpan};

/// A limit on the time of train crews.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ServiceLimit {
    /// The longest a crew may be on duty at once.
    pub on_duty: RailSpan,
    /// How long it must be off after that.
    pub then_off: RailSpan,
    /// Where this was read.
    pub source: &'static str,
    /// Whether the day from which it held is from memory.
    pub day_from_memory: bool,
}

/// The limit in force on a date in the United States; none before the first act.
///
/// The Hours of Service Act of March 4, 1907 (34 Stat. 1415) allowed 16 hours and asked for 10 off; that
/// it took effect a year later is from memory. Public Law 91-169 of December 26, 1969 made it 14 hours;
/// that the 12 of its present text came two years later is from memory.
pub fn service_limit(date: Date) -> Option<ServiceLimit> {
    let from = |year, month, day| Date::new(year, month, day).is_some_and(|from| date >= from);
    let limit = |hours: i64, source, day_from_memory| ServiceLimit {
        on_duty: RailSpan::from_minutes(hours * 60),
        then_off: RailSpan::from_minutes(10 * 60),
        source,
        day_from_memory,
    };
    if from(1971, 12, 26) {
        Some(limit(12, "Public Law 91-169", true))
    } else if from(1969, 12, 26) {
        Some(limit(14, "Public Law 91-169", false))
    } else if from(1908, 3, 4) {
        Some(limit(16, "Hours of Service Act, 34 Stat. 1415", true))
    } else {
        None
    }
}
