//! `railroad.toml`: which railroad this is, when, and at what scale.

mod build;
mod page;
mod rules;

pub use build::{ClockFace, Identity, Limits, Place, Road, RoadKind, Session, UnitsStyle};
pub use page::PAGE;
pub use rules::RULES;
