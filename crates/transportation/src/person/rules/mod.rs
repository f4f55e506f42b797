//! What can be wrong with people: each kind in a file of its own.

pub(crate) mod role_nobody_qualified;
pub(crate) mod too_few_people;

use model::{Diagnostics, Rule};

use crate::Service;

/// All of them.
pub const RULES: &[&Rule] = &[&role_nobody_qualified::RULE, &too_few_people::RULE];

/// Looks for all of them.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    role_nobody_qualified::check(service, out);
    too_few_people::check(service, out);
}
