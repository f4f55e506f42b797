//! What can be wrong with trains: each kind in a file of its own.

pub(crate) mod engine_on_two_trains;
pub(crate) mod helper_is_own_engine;
pub(crate) mod helper_stop_without_helper;
pub(crate) mod meet_named_once;
pub(crate) mod meet_never;
pub(crate) mod meet_places_differ;
pub(crate) mod meet_times_apart;
pub(crate) mod meet_with_itself;
pub(crate) mod pass_without_overtaking;
pub(crate) mod passenger_inferior;
pub(crate) mod perishable_inferior;
pub(crate) mod stop_repeated;
pub(crate) mod stop_shorter_than_its_work;
pub(crate) mod train_times_backwards;
pub(crate) mod train_to_its_start;
pub(crate) mod train_without_engine;

use model::{Diagnostics, Rule};

use crate::{Service, train::TrainKind};

/// All of them.
pub const RULES: &[&Rule] = &[
    &engine_on_two_trains::RULE,
    &helper_is_own_engine::RULE,
    &helper_stop_without_helper::RULE,
    &meet_named_once::RULE,
    &meet_never::RULE,
    &meet_places_differ::RULE,
    &meet_times_apart::RULE,
    &meet_with_itself::RULE,
    &pass_without_overtaking::RULE,
    &passenger_inferior::RULE,
    &perishable_inferior::RULE,
    &stop_repeated::RULE,
    &stop_shorter_than_its_work::RULE,
    &train_times_backwards::RULE,
    &train_to_its_start::RULE,
    &train_without_engine::RULE,
];

/// Looks for all of them.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    train_times_backwards::check(service, out);
    train_to_its_start::check(service, out);
    stop_repeated::check(service, out);
    stop_shorter_than_its_work::check(service, out);
    helper_stop_without_helper::check(service, out);
    helper_is_own_engine::check(service, out);
    meet_named_once::check(service, out);
    meet_places_differ::check(service, out);
    meet_with_itself::check(service, out);
    meet_never::check(service, out);
    meet_times_apart::check(service, out);
    perishable_inferior::check(service, out);
    passenger_inferior::check(service, out);
    pass_without_overtaking::check(service, out);
    engine_on_two_trains::check(service, out);
    train_without_engine::check(service, out);
}

/// Reports trains of the kinds `first` that by their class wait for a train they meet whose kind is
/// `lesser`.
fn waits_for_lesser(
    rule: &'static Rule,
    service: &Service,
    first: impl Fn(TrainKind) -> bool,
    lesser: impl Fn(Option<TrainKind>) -> bool,
    out: &mut Diagnostics,
) {
    for train in &service.trains {
        let Some(kind) = train.kind.filter(|kind| first(kind.value)) else {
            continue;
        };
        let Some(class) = train.class else {
            continue;
        };
        for name in train.meets.iter().filter_map(|meet| meet.train.as_ref()) {
            let Some(other) = service.find_train(&name.value).map(|id| service.train(id)) else {
                continue;
            };
            if let Some(theirs) = other.class
                && theirs.value < class.value
                && lesser(other.kind.map(|kind| kind.value))
            {
                let message = format!(
                    "{} train {} of class {} waits for train {} of class {}",
                    kind.value.word(),
                    train.symbol.value,
                    class.value,
                    name.value,
                    theirs.value
                );
                out.push(
                    rule.at(class.span, message)
                        .also(theirs.span, "the other's class")
                        .help(format!("write `class = {}` or less", theirs.value)),
                );
            }
        }
    }
}
