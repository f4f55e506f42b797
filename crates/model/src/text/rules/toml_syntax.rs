//! A file is not written as TOML.

use crate::{Diagnostic, Rule, Severity, Sources, Span};

/// A file is not written as TOML.
pub static RULE: Rule = Rule {
    code: "toml-syntax",
    severity: Severity::Error,
    title: "A file is not written as TOML.",
    explain: "What can be read of the file is read; the line pointed at is not. Texts stand in quotation marks, \
        keys before an `=`, tables in brackets.",
    fixture: r#"
--- stations/birch.toml
name = Birch
line = "Main"
mile = 4.5

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
"#,
    rendered: r#"
error[toml-syntax]: this is not TOML: string values must be quoted, expected literal string
 --> stations/birch.toml:1:8
  |
1 | name = Birch
  |        ^^^^^
  |
  = help: a text stands in quotation marks
"#,
    file: file!(),
};

/// `message` is the parser's.
pub(crate) fn diagnostic(sources: &Sources, span: Span, message: &str) -> Diagnostic {
    // An error at a line's end is shown there, not on the next line.
    let text = &sources.get(span.file).text;
    let mut range = span.range();
    range.start = range.start.min(text.len());
    range.end = range.end.clamp(range.start, text.len());
    if range.is_empty() && range.start > 0 {
        range.start = text[..range.start].trim_end_matches(['\n', '\r']).len();
        range.end = range.start;
    }
    let message = message.replace('\n', "; ");
    let found = RULE.at(Span::new(span.file, range), format!("this is not TOML: {message}"));
    match message.contains("unquoted") || message.contains("string values must be quoted") {
        true => found.help("a text stands in quotation marks"),
        false => found,
    }
}
