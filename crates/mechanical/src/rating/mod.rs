//! Tonnage ratings: what an engine may take over a line, which grade sets it, where a helper goes on and off, where a heavy
//! train must not stop, and where to double the hill.
//!
//! A train is a row of uniform blocks (the engine, the cars) that lie on the line over their whole length. What they resist
//! with at one placing is
//!
//! > Σ weight × (rolling + (height under its front − height under its rear) / its length)
//!
//! where *height* is that of a [`Slope`]: the railhead's, with each curve counted as the grade that resists as much. Between
//! two placings at which neither end of a block passes a break of grade it changes along a straight line, so the hardest
//! placings are among those where an end lies on a break, and only those need to be tried.
//!
//! Weights and forces may be full-size tons or ounces on a scale, as long as they are the same throughout; lengths are
//! always those of the model, for a model train lies on model grades.

mod adjusted;
mod helper;
mod profile;
mod rate;
mod slope;
mod stops;

pub use adjusted::{Adjusted, adjusted};
pub use helper::{Doubling, Help, Hill, hills};
pub use profile::{GradeProfile, Piece, Place, Stretch};
pub use rate::{
    Block, Demands, Engine, Hardest, Limit, Rating, demand, demands, exceeds, hardest, rate,
    rated_weight,
};
pub use slope::Slope;
pub use stops::{Momentum, Reach, momentum, reaches};
