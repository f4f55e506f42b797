//! Time on the two clocks: [`RailTime`] and [`RailSpan`] by the railroad's fast clock, [`RealSpan`] by the clock on the wall,
//! and the [`FastClock`] between them.
//!
//! Railroad time is whole seconds. Real time is an exact fraction of seconds, since at 6:1 a railroad second is a sixth of a
//! real one; so going there and back loses nothing on any ratio.

mod clock;
mod of_day;
mod span;

pub use clock::{FastClock, RealSpan};
pub use of_day::{RailTime, ShownTime, TimeStyle};
pub use span::RailSpan;
