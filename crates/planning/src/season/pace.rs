//! How long a train's work at a stop takes, from how many cars it handles.
//!
//! The exact way is to plan the moves ([`town::estimate`](crate::town::estimate)); that takes seconds a
//! stop, and a season has hundreds of thousands. So a straight line is laid through planned stops of the
//! example railroad: `benches/season pace` plans them, fits the line and prints its error.

use railroad::Railroad;

/// Real seconds for a stop with any work.
pub const FIXED: f64 = 40.0;
/// Real seconds more for each car set out, picked up or moved.
pub const EACH: f64 = 60.0;

/// Seconds of the railroad's clock: for any work, and for each car.
pub(super) fn clock_seconds(railroad: &Railroad) -> (i64, i64) {
    let clock = railroad.identity.clock;
    let seconds = |real: f64| (real * clock).round() as i64;
    (seconds(FIXED), seconds(EACH))
}
