//! What can be wrong with a room: each in a file of its own.

crate::check::rules! {
    aisle_too_narrow,
    outline_too_short,
    railhead_out_of_comfort,
    track_off_benchwork,
    track_out_of_reach,
    way_through_benchwork,
}
