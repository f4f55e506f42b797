//! What can be wrong with waybills: each kind in a file of its own.

pub(crate) mod waybill_loaded_with_nothing;
pub(crate) mod waybill_to_itself;

use model::{Diagnostics, Rule};

use crate::Traffic;

/// All of them.
pub const RULES: &[&Rule] = &[&waybill_loaded_with_nothing::RULE, &waybill_to_itself::RULE];

/// Looks for all but those found while reading.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    waybill_to_itself::check(traffic, out);
    waybill_loaded_with_nothing::check(traffic, out);
}
