//! Every rule there is, and those about the folder as a whole.

pub(crate) mod missing_page;
pub(crate) mod stray_page;

use model::{Rule, diagnostic::nearest};

use crate::{checks, identity};

static FOLDER: &[&Rule] = &[&missing_page::RULE, &stray_page::RULE];

/// Every rule, by code.
pub fn all_rules() -> Vec<&'static Rule> {
    let mut rules: Vec<&Rule> = Vec::new();
    for some in [model::text::rules::RULES, FOLDER, identity::RULES] {
        rules.extend(some);
    }
    for some in [
        engineering::RULES,
        mechanical::RULES,
        traffic::RULES,
        transportation::RULES,
        &[checks::RULES],
    ] {
        rules.extend(some.iter().copied().flatten());
    }
    rules.sort_by_key(|rule| rule.code);
    rules
}

/// The rule with this code, or the code most like it.
///
/// # Errors
/// The nearest code, if any is near.
pub fn find_rule(code: &str) -> Result<&'static Rule, Option<&'static str>> {
    let rules = all_rules();
    match rules.iter().find(|rule| rule.code == code) {
        Some(rule) => Ok(rule),
        None => Err(nearest(code, rules.iter().map(|rule| rule.code))),
    }
}
