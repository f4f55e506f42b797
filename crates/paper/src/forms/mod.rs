//! The forms, a file each, beside the sheets under `forms/`.

pub mod stations;
pub mod timetable;
