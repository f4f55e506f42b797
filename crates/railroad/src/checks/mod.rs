//! What is wrong across departments: does the train fit the siding, does the shipper's track exist,
//! is there a car for the order. Each kind stands in a file of its own.

mod car_kind_not_on_roster;
mod car_on_running_track;
pub(crate) mod context;
mod couplers_part_over_grade;
mod curve_sharp_for_cars;
mod curves;
mod direction_against_way;
mod direction_unknown;
mod engine_begins_elsewhere;
mod engine_needs_wider_curves;
mod engine_out_of_service;
mod engine_over_turntable;
mod facility_missing;
mod foreign_marks_undeclared;
mod helper_off_its_way;
mod helper_without_track;
mod interchange_without_road;
mod meet_off_its_way;
mod meet_siding_too_short;
mod meet_without_second_track;
mod meets;
mod no_caboose;
mod no_track_through;
mod place_unknown;
mod pool_without_cars;
mod rate_over_spots;
mod rates_differ;
mod schedule_too_fast;
mod session_without_trains;
mod shipper_on_running_track;
mod shipper_track_unknown;
mod spot_too_short;
mod spot_unknown;
mod spots;
mod staging_overflow;
mod stop_off_its_way;
mod stops_out_of_order;
mod swings;
mod track_near_wall;
mod track_overfull;
mod tracks_too_close;
mod train_longer_than_its_track;
mod train_over_its_rating;
mod train_over_the_limit;
mod train_track_unknown;
mod train_without_room;
mod train_without_way;
mod unit_over_track;
mod waybill_after_the_day;
mod work_without_track;

use mechanical::{Context as Shop, Era, car::canonical_marks};
use model::{Diagnostics, Rule};

use crate::{Railroad, identity::RoadKind};
use context::Context;

/// All of them.
pub const RULES: &[&Rule] = &[
    &car_kind_not_on_roster::RULE,
    &car_on_running_track::RULE,
    &couplers_part_over_grade::RULE,
    &curve_sharp_for_cars::RULE,
    &direction_against_way::RULE,
    &direction_unknown::RULE,
    &engine_begins_elsewhere::RULE,
    &engine_needs_wider_curves::RULE,
    &engine_out_of_service::RULE,
    &engine_over_turntable::RULE,
    &facility_missing::RULE,
    &foreign_marks_undeclared::RULE,
    &helper_off_its_way::RULE,
    &helper_without_track::RULE,
    &interchange_without_road::RULE,
    &meet_off_its_way::RULE,
    &meet_siding_too_short::RULE,
    &meet_without_second_track::RULE,
    &no_caboose::RULE,
    &no_track_through::RULE,
    &place_unknown::RULE,
    &pool_without_cars::RULE,
    &rate_over_spots::RULE,
    &rates_differ::RULE,
    &schedule_too_fast::RULE,
    &session_without_trains::RULE,
    &shipper_on_running_track::RULE,
    &shipper_track_unknown::RULE,
    &spot_too_short::RULE,
    &spot_unknown::RULE,
    &staging_overflow::RULE,
    &stop_off_its_way::RULE,
    &stops_out_of_order::RULE,
    &track_near_wall::RULE,
    &track_overfull::RULE,
    &tracks_too_close::RULE,
    &train_longer_than_its_track::RULE,
    &train_over_its_rating::RULE,
    &train_over_the_limit::RULE,
    &train_track_unknown::RULE,
    &train_without_room::RULE,
    &train_without_way::RULE,
    &unit_over_track::RULE,
    &waybill_after_the_day::RULE,
    &work_without_track::RULE,
];

/// Looks for all that is wrong within departments and across them.
pub(crate) fn check(railroad: &Railroad, out: &mut Diagnostics) {
    mechanical::check(&railroad.roster, &railroad.tonnage, &shop(railroad), out);
    traffic::check(&railroad.traffic, out);
    transportation::check(&railroad.service, out);
    let context = Context::new(railroad);
    meet_siding_too_short::check(&context, out);
    meet_without_second_track::check(&context, out);
    meet_off_its_way::check(&context, out);
    train_without_way::check(&context, out);
    unit_over_track::check(&context, out);
    no_track_through::check(&context, out);
    stop_off_its_way::check(&context, out);
    stops_out_of_order::check(&context, out);
    schedule_too_fast::check(&context, out);
    direction_unknown::check(&context, out);
    direction_against_way::check(&context, out);
    train_track_unknown::check(&context, out);
    train_longer_than_its_track::check(&context, out);
    train_over_its_rating::check(&context, out);
    train_over_the_limit::check(&context, out);
    train_without_room::check(&context, out);
    engine_needs_wider_curves::check(&context, out);
    curve_sharp_for_cars::check(&context, out);
    tracks_too_close::check(&context, out);
    track_near_wall::check(&context, out);
    couplers_part_over_grade::check(&context, out);
    engine_over_turntable::check(&context, out);
    engine_out_of_service::check(&context, out);
    engine_begins_elsewhere::check(&context, out);
    track_overfull::check(&context, out);
    car_on_running_track::check(&context, out);
    shipper_track_unknown::check(&context, out);
    shipper_on_running_track::check(&context, out);
    spot_unknown::check(&context, out);
    spot_too_short::check(&context, out);
    car_kind_not_on_roster::check(&context, out);
    place_unknown::check(&context, out);
    pool_without_cars::check(&context, out);
    rate_over_spots::check(&context, out);
    rates_differ::check(&context, out);
    waybill_after_the_day::check(&context, out);
    interchange_without_road::check(&context, out);
    foreign_marks_undeclared::check(&context, out);
    helper_off_its_way::check(&context, out);
    helper_without_track::check(&context, out);
    work_without_track::check(&context, out);
    facility_missing::check(&context, out);
    session_without_trains::check(&context, out);
    no_caboose::check(&context, out);
    staging_overflow::check(&context, out);
}

/// By what cars and engines are judged.
pub fn shop(railroad: &Railroad) -> Shop {
    let identity = &railroad.identity;
    let own = identity
        .roads
        .iter()
        .filter(|road| road.kind == RoadKind::Own)
        .map(|r| &r.marks);
    Shop {
        era: Era {
            date: identity.date,
            from: identity.equipment_from,
            to: identity.equipment_to,
        },
        scale: identity.scale.scale,
        own_marks: own
            .chain([&identity.marks])
            .map(|marks| canonical_marks(marks))
            .collect(),
        country: identity.country,
    }
}
