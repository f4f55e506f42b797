//! What can be wrong with a line: each in a file of its own.

crate::check::rules! {
    beyond_its_track,
    compensated_grade_too_steep,
    curve_too_sharp,
    end_joined_twice,
    end_not_listed,
    end_without_track,
    gap_longer_than_miles,
    grade_too_steep,
    line_broken,
    line_ends_alike,
    miles_not_increasing,
    not_on_the_line,
    open_line_skips_station,
    profile_out_of_order,
    stretch_backwards,
    stretches_overlap,
    unknown_superior_direction,
}
