//! What can be wrong with a car: each kind in a file of its own.

pub(crate) mod arch_bar_trucks;
pub(crate) mod car_already_retired;
pub(crate) mod car_designation_against_kind;
pub(crate) mod car_designation_too_new;
pub(crate) mod car_designation_unknown;
pub(crate) mod car_length_implausible;
pub(crate) mod car_light_over_capacity;
pub(crate) mod car_not_yet_built;
pub(crate) mod car_painted_before_built;
pub(crate) mod car_painted_later;
pub(crate) mod car_rebuilt_before_built;
pub(crate) mod car_retired_before_built;
pub(crate) mod car_weight_implausible;
pub(crate) mod k_brakes;
pub(crate) mod marks_and_number_exchanged;
pub(crate) mod no_running_board;
pub(crate) mod not_taken_in_interchange;

use model::{Diagnostics, Rule};

use super::Car;
use crate::Context;

/// All of them.
pub const RULES: &[&Rule] = &[
    &arch_bar_trucks::RULE,
    &car_already_retired::RULE,
    &car_designation_against_kind::RULE,
    &car_designation_too_new::RULE,
    &car_designation_unknown::RULE,
    &car_length_implausible::RULE,
    &car_light_over_capacity::RULE,
    &car_not_yet_built::RULE,
    &car_painted_before_built::RULE,
    &car_painted_later::RULE,
    &car_rebuilt_before_built::RULE,
    &car_retired_before_built::RULE,
    &car_weight_implausible::RULE,
    &k_brakes::RULE,
    &marks_and_number_exchanged::RULE,
    &no_running_board::RULE,
    &not_taken_in_interchange::RULE,
];

/// Looks for all of them in one car.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    car_designation_unknown::check(car, context, out);
    car_designation_against_kind::check(car, context, out);
    car_designation_too_new::check(car, context, out);
    car_length_implausible::check(car, context, out);
    car_weight_implausible::check(car, context, out);
    car_light_over_capacity::check(car, context, out);
    car_not_yet_built::check(car, context, out);
    car_already_retired::check(car, context, out);
    car_rebuilt_before_built::check(car, context, out);
    car_painted_before_built::check(car, context, out);
    car_retired_before_built::check(car, context, out);
    car_painted_later::check(car, context, out);
    arch_bar_trucks::check(car, context, out);
    k_brakes::check(car, context, out);
    no_running_board::check(car, context, out);
    not_taken_in_interchange::check(car, context, out);
    marks_and_number_exchanged::check(car, context, out);
}
