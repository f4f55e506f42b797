//! What cars should weigh, what trains weigh and measure, and how many cars a track holds.

mod recommended;
mod track;
mod train;

pub use recommended::{LISTED, Listed, Weighed, body_length, recommended, weigh};
pub use track::{TrackRoom, room};
pub use train::{TrainSum, Unit, sum};
