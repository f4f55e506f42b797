//! The forms, a file each, beside the sheets under `forms/`.

pub mod stations;
