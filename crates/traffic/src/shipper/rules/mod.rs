//! What can be wrong with shippers and what they ship: each kind in a file of its own.

pub(crate) mod captive_without_pool;
pub(crate) mod car_kind_not_for_freight;
pub(crate) mod commodity_spelt_two_ways;
pub(crate) mod commodity_without_other_end;
pub(crate) mod flow_of_nothing;
pub(crate) mod flow_repeated;
pub(crate) mod last_load_unknown;
pub(crate) mod season_unreadable;
pub(crate) mod spot_repeated;

use model::{Diagnostics, Rule};

use crate::Traffic;

/// All of them.
pub const RULES: &[&Rule] = &[
    &captive_without_pool::RULE,
    &car_kind_not_for_freight::RULE,
    &commodity_spelt_two_ways::RULE,
    &commodity_without_other_end::RULE,
    &flow_of_nothing::RULE,
    &flow_repeated::RULE,
    &last_load_unknown::RULE,
    &season_unreadable::RULE,
    &spot_repeated::RULE,
];

/// Looks for all but those found while reading.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    flow_repeated::check(traffic, out);
    commodity_spelt_two_ways::check(traffic, out);
    commodity_without_other_end::check(traffic, out);
    flow_of_nothing::check(traffic, out);
    car_kind_not_for_freight::check(traffic, out);
    spot_repeated::check(traffic, out);
    captive_without_pool::check(traffic, out);
    last_load_unknown::check(traffic, out);
}
