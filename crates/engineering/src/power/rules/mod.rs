//! What can be wrong with a power district: each in a file of its own.

crate::check::rules! {
    reversing_section_missing,
    track_powered_twice,
    track_without_power,
}
