//! The session's fast clock: railroad time from real time, kept in events so that it survives restarts.

use model::time::{FastClock, RailSpan, RailTime, RealSpan};
use serde::{Deserialize, Serialize};

use crate::wire;

/// Real time: milliseconds since the beginning of 1970, UTC. Handed in by whoever has a clock.
pub type RealMillis = i64;

/// The clock as the last event left it.
///
/// While it runs, railroad time is what it showed at `since` and what has passed since then at its ratio;
/// never less than [`Clock::shown`], so that a computer's clock set back does not set the railroad's back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Clock {
    /// Railroad time at `since`.
    #[serde(with = "wire::time")]
    pub rail: RailTime,
    /// Real time of the last start, stop, jump or change of ratio.
    pub since: RealMillis,
    /// Railroad seconds in real seconds, such as 6 in 1.
    pub ratio: [u32; 2],
    /// Whether it runs.
    pub runs: bool,
    /// The latest railroad time that any event carries.
    #[serde(with = "wire::time")]
    pub shown: RailTime,
}

impl Clock {
    /// Standing at a time.
    pub fn standing(rail: RailTime, ratio: [u32; 2], now: RealMillis) -> Self {
        Self {
            rail,
            since: now,
            ratio,
            runs: false,
            shown: rail,
        }
    }

    /// What it shows.
    pub fn at(&self, now: RealMillis) -> RailTime {
        if !self.runs {
            return self.rail.max(self.shown);
        }
        // A hundred days of real time are more than any session; the bound keeps the sum in range.
        let passed = now.saturating_sub(self.since).clamp(0, 8_640_000_000);
        let span = self.fast().to_railroad_floor(RealSpan::from_millis(passed));
        (self.rail + span).max(self.shown)
    }

    /// Real milliseconds in which it goes on by so much, at its ratio.
    pub fn real_millis(&self, span: RailSpan) -> i64 {
        self.fast().to_real(span).millis()
    }

    fn fast(&self) -> FastClock {
        FastClock::new(self.ratio[0], self.ratio[1]).unwrap_or(FastClock::REAL)
    }

    /// Taken up anew at a moment, running or not.
    pub(crate) fn set(&mut self, rail: RailTime, now: RealMillis, runs: bool) {
        self.rail = rail.max(self.shown);
        self.since = now;
        self.runs = runs;
        self.shown = self.rail;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_running_clock_keeps_its_ratio_and_never_goes_back() {
        let mut clock = Clock::standing(RailTime::from_hm(6, 0), [6, 1], 1_000);
        assert_eq!(clock.at(99_000), RailTime::from_hm(6, 0));
        clock.set(RailTime::from_hm(6, 0), 1_000, true);
        // Ten real minutes at 6:1 are an hour.
        assert_eq!(clock.at(601_000), RailTime::from_hm(7, 0));
        clock.shown = RailTime::from_hm(7, 0);
        assert_eq!(clock.at(500), RailTime::from_hm(7, 0));
        assert_eq!(clock.real_millis(RailSpan::from_minutes(60)), 600_000);
    }
}
