//! Way and structures: lines, stations and their tracks, scenes and power; the track network with its
//! routes, usable lengths and profile; and what can be wrong with them.
//!
//! Nothing here knows trains or cars. Lengths are those on the model unless a name says otherwise.

pub mod alignment;
mod check;
pub mod clearance;
pub mod curve;
mod fields;
#[cfg(test)]
mod fixture;
pub mod helix;
pub mod ids;
pub mod limits;
pub mod line;
pub mod network;
pub mod power;
pub mod profile;
pub mod room;
pub mod scene;
pub mod station;
pub mod survey;
pub mod turnout;
mod way;

use model::{Rule, text::Page};

pub use limits::{Limits, PlanLimits};
pub use network::Network;
pub use profile::Profile;
pub use way::{Lookup, Way, WayPages};

/// The pages of way and structures.
pub static PAGES: &[&Page] = &[
    &line::PAGE,
    &station::PAGE,
    &alignment::PAGE,
    &room::PAGE,
    &scene::PAGE,
    &power::PAGE,
];

/// The diagnostics of way and structures, by noun.
pub const RULES: &[&[&Rule]] = &[
    line::rules::RULES,
    station::rules::RULES,
    alignment::rules::RULES,
    room::rules::RULES,
    scene::rules::RULES,
    power::rules::RULES,
];
