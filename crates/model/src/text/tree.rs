//! The neutral tree that TOML and CSV files both become.

use crate::source::{Span, Spanned};

/// A value as written, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// What was written.
    pub value: NodeValue,
    /// Where: for a text in quotation marks, the text within them.
    pub span: Span,
}

/// What was written.
#[derive(Debug, Clone, PartialEq)]
pub enum NodeValue {
    /// A text; every cell of a CSV file is one.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number with a fraction, or too large for [`NodeValue::Whole`].
    Number(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A date or time without quotation marks, as written.
    Date(String),
    /// A list.
    List(Vec<Node>),
    /// Keys and values, in the order written.
    Table(Vec<Entry>),
}

/// A key and its value.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The key and where it stands.
    pub key: Spanned<String>,
    /// The value.
    pub node: Node,
}

impl NodeValue {
    /// What kind of value it is, as a noun with its article.
    pub fn noun(&self) -> &'static str {
        match self {
            Self::Text(_) => "a text",
            Self::Whole(_) => "a whole number",
            Self::Number(_) => "a number",
            Self::Flag(_) => "true or false",
            Self::Date(_) => "a date",
            Self::List(_) => "a list",
            Self::Table(_) => "a table",
        }
    }
}
