//! What can be wrong with what the owner rates by.

pub(crate) mod test_pulls_disagree;
pub(crate) mod unknown_season;

use model::{Diagnostics, Rule};

use super::Tonnage;

/// All of them.
pub const RULES: &[&Rule] = &[&test_pulls_disagree::RULE, &unknown_season::RULE];

/// Looks for all of them.
pub(crate) fn check(tonnage: &Tonnage, out: &mut Diagnostics) {
    unknown_season::check(tonnage, out);
    test_pulls_disagree::check(tonnage, out);
}
