//! Units, scales, ids, railroad and real time, diagnostics and the plain-text tree: what every department shares.

pub mod scale;
pub mod time;
pub mod units;
