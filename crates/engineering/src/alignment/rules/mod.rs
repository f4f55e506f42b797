//! What can be wrong with an alignment: each in a file of its own.

crate::check::rules! {
    aligned_twice,
    alignment_does_not_close,
    alignment_in_a_circle,
    center_line_begins_nowhere,
    center_line_unclear,
    curve_shorter_than_easements,
    element_unclear,
    length_unknown,
    no_connection,
    no_height_overhead,
    no_room_for_parallel,
    reverse_curves_too_close,
    tape_and_alignment_disagree,
    terminal_unclear,
    turnout_not_there,
    unknown_center_line,
}
