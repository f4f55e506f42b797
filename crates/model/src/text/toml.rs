//! TOML text to a tree, keeping what is sound of a file with mistakes in it.

use toml::{
    Spanned as TomlSpanned,
    de::{DeTable, DeValue},
};

use super::{
    rules::toml_syntax,
    tree::{Entry, Node, NodeValue},
};
use crate::{Diagnostics, FileId, Sources, Span, Spanned};

/// Reads a whole file. Several syntax errors are reported at once.
pub fn parse(sources: &Sources, file: FileId, out: &mut Diagnostics) -> Node {
    let text = &sources.get(file).text;
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        out.push(toml_syntax::diagnostic(
            sources,
            Span::new(file, span),
            error.message(),
        ));
    }
    let entries = entries(text, file, table.into_inner());
    Node {
        value: NodeValue::Table(entries),
        span: Span::new(file, 0..0),
    }
}

fn entries(text: &str, file: FileId, table: DeTable<'_>) -> Vec<Entry> {
    let mut entries: Vec<Entry> = table
        .into_iter()
        .map(|(key, value)| {
            let span = Span::new(file, unquoted(text, key.span()));
            Entry {
                key: Spanned {
                    value: key.into_inner().into_owned(),
                    span,
                },
                node: node(text, file, value),
            }
        })
        .collect();
    // The parser's map sorts by key; people expect the order in which they wrote.
    entries.sort_by_key(|entry| entry.key.span.start);
    entries
}

fn node(text: &str, file: FileId, value: TomlSpanned<DeValue<'_>>) -> Node {
    let mut range = value.span();
    let value = match value.into_inner() {
        DeValue::String(string) => {
            range = unquoted(text, range);
            NodeValue::Text(string.into_owned())
        }
        DeValue::Integer(number) => match i64::from_str_radix(number.as_str(), number.radix()) {
            Ok(whole) => NodeValue::Whole(whole),
            Err(_) => NodeValue::Number(number.as_str().parse().unwrap_or(f64::INFINITY)),
        },
        DeValue::Float(number) => NodeValue::Number(number.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(flag) => NodeValue::Flag(flag),
        DeValue::Datetime(date) => NodeValue::Date(date.to_string()),
        DeValue::Array(array) => NodeValue::List(
            array
                .into_iter()
                .map(|item| node(text, file, item))
                .collect(),
        ),
        DeValue::Table(table) => NodeValue::Table(entries(text, file, table)),
    };
    Node {
        value,
        span: Span::new(file, range),
    }
}

/// The place within the quotation marks, so that a caret can point into the text.
fn unquoted(text: &str, range: std::ops::Range<usize>) -> std::ops::Range<usize> {
    let written = text.get(range.clone()).unwrap_or("");
    let quotes = ["\"\"\"", "'''", "\"", "'"];
    for quote in quotes {
        if written.len() > 2 * quote.len() && written.starts_with(quote) && written.ends_with(quote)
        {
            return range.start + quote.len()..range.end - quote.len();
        }
    }
    range
}
