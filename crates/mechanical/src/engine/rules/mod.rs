//! What can be wrong with an engine: each kind in a file of its own.

pub(crate) mod address_shared;
pub(crate) mod cylinders_unreadable;
pub(crate) mod drivers_heavier_than_engine;
pub(crate) mod engine_already_retired;
pub(crate) mod engine_length_implausible;
pub(crate) mod engine_not_yet_built;
pub(crate) mod engine_retired_before_built;
pub(crate) mod tractive_effort_disagrees;
pub(crate) mod tractive_effort_over_adhesion;
pub(crate) mod wheels_unreadable;

use model::{Diagnostics, Rule};

use super::Engine;
use crate::Context;

/// All of them.
pub const RULES: &[&Rule] = &[
    &address_shared::RULE,
    &cylinders_unreadable::RULE,
    &drivers_heavier_than_engine::RULE,
    &engine_already_retired::RULE,
    &engine_length_implausible::RULE,
    &engine_not_yet_built::RULE,
    &engine_retired_before_built::RULE,
    &tractive_effort_disagrees::RULE,
    &tractive_effort_over_adhesion::RULE,
    &wheels_unreadable::RULE,
];

/// Looks for all that concern one engine.
pub(crate) fn check(engine: &Engine, context: &Context, out: &mut Diagnostics) {
    engine_not_yet_built::check(engine, context, out);
    engine_already_retired::check(engine, context, out);
    engine_retired_before_built::check(engine, context, out);
    engine_length_implausible::check(engine, context, out);
    drivers_heavier_than_engine::check(engine, context, out);
    tractive_effort_disagrees::check(engine, context, out);
    tractive_effort_over_adhesion::check(engine, context, out);
    wheels_unreadable::check(engine, context, out);
    cylinders_unreadable::check(engine, context, out);
}

/// Looks for all that concern several.
pub(crate) fn check_all(engines: &[Engine], out: &mut Diagnostics) {
    address_shared::check_all(engines, out);
}
