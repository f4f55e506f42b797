//! Diagnostics of reading: each in a file of its own.

use crate::Rule;

macro_rules! rules {
    ($($name:ident),* $(,)?) => {
        $(#[allow(missing_docs, reason = "each file says it at its head")] pub mod $name;)*
        /// All rules of reading.
        pub static RULES: &[&Rule] = &[$(&$name::RULE),*];
    };
}

rules! {
    csv_extra_cells,
    csv_no_header,
    csv_repeated_column,
    csv_unclosed_quote,
    duplicate_name,
    empty_value,
    missing_key,
    missing_value,
    not_utf8,
    number_out_of_range,
    toml_syntax,
    unknown_column,
    unknown_key,
    unknown_name,
    unknown_word,
    unreadable_value,
    wrong_kind,
}
