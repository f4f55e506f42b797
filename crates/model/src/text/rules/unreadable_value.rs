//! A length, time, date or other quantity cannot be read.

use crate::{
    Diagnostic, Rule, Severity, Span,
    text::{Field, Kind},
    units::ReadError,
};

/// A length, time, date or other quantity cannot be read.
pub static RULE: Rule = Rule {
    code: "unreadable-value",
    severity: Severity::Error,
    title: "A length, time, date or other quantity cannot be read.",
    explain: "Quantities are written as people write them, always with their unit: `12'-6\"`, `3.81 m`, `25 mph`, \
        `7:05 AM`, `2.2 %`.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 feets", use = "main" }
"#,
    rendered: r#"
error[unreadable-value]: `length`: `feets` is not a unit of length
 --> stations/birch.toml:7:45
  |
7 | main = { from = "W", to = "E", length = "12 feets", use = "main" }
  |                                             ^^^^^ expected a length on the model, like `12'-6"`, `46 in` or `3.81 m`
  |
  = help: did you mean feet?
"#,
    file: file!(),
};

/// `error` is what the unit's own reader says, if it says anything.
pub(crate) fn diagnostic(
    field: &Field,
    kind: &Kind,
    text: &str,
    span: Span,
    error: Option<ReadError>,
) -> Diagnostic {
    let expected = format!("expected {}", kind.expected());
    let Some(error) = error else {
        return RULE.at(span, format!("`{}` cannot be `{text}`", field.key)).label(expected);
    };
    let found = RULE.at(span, format!("`{}`: {}", field.key, error.fault)).label(expected);
    match error.hint {
        Some(hint) => found.help(hint),
        None => found,
    }
}
