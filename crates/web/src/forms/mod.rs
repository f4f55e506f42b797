//! Forms and tables for the pages of the folder, from the pages' own declarations; and what becomes of
//! a form that is sent: checked while one types, reviewed as a change of text, written, taken back.

pub mod changes;
pub mod desk;
pub mod document;
pub mod fields;
pub mod notes;
pub mod place;
