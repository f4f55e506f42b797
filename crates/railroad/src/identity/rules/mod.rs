//! What can be wrong with `railroad.toml`, besides what can be wrong with any page.

use model::Rule;

pub(super) mod date_before_equipment;
pub(super) mod equipment_span_backwards;
pub(super) mod newer_format;
pub(super) mod older_format;
pub(super) mod unreadable_scale;

/// All of them.
pub static RULES: &[&Rule] = &[
    &date_before_equipment::RULE,
    &equipment_span_backwards::RULE,
    &newer_format::RULE,
    &older_format::RULE,
    &unreadable_scale::RULE,
];
