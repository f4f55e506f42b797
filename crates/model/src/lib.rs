//! What every department shares: units, scales, railroad and real time, ids, the text of the
//! railroad's files with places in it, the shape of a page, and diagnostics.
//!
//! This crate opens no file, reads no clock and prints nothing.

pub mod date;
pub mod days;
pub mod diagnostic;
pub mod scale;
pub mod source;
pub mod text;
pub mod time;
pub mod units;

pub use diagnostic::{Diagnostic, Diagnostics, Rule, Severity};
pub use source::{FileId, Sources, Span, Spanned};
