//! The plain-text tree of a railroad's files, and the shape a page of it should have.
//!
//! A file becomes a tree of [`Node`]s with places ([`toml`], [`csv`]); a [`Page`] says which keys it
//! may hold and what each means ([`schema`]); [`read`] walks the tree by the page and yields typed
//! [`Record`]s and a diagnostic for everything that does not fit. Reading never fails.

pub mod csv;
pub mod names;
pub mod read;
pub mod rules;
pub mod schema;
pub mod toml;
mod tree;
mod words;

pub use names::{Names, Noun};
pub use read::{Reader, Record, Value};
pub use schema::{Choice, Field, Form, Kind, Need, Page, Table};
pub use tree::{Entry, Node, NodeValue};
