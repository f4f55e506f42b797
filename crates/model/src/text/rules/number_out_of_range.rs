//! A number is outside the range that makes sense.

use crate::{
    Diagnostic, Rule, Severity, Span,
    text::{Field, Kind},
};

/// A number is outside the range that makes sense.
pub static RULE: Rule = Rule {
    code: "number-out-of-range",
    severity: Severity::Error,
    title: "A number is outside the range that makes sense.",
    explain: "Each number has bounds that no railroad passes; a slip of a digit does.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "9 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 60 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
"#,
    rendered: r#"
error[number-out-of-range]: `number` is out of range
  --> stations/birch.toml:11:72
   |
11 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 60 }
   |                                                                        ^^ expected a number from 3 to 30
"#,
    file: file!(),
};

/// `kind` holds the bounds.
pub(crate) fn diagnostic(field: &Field, kind: &Kind, span: Span) -> Diagnostic {
    RULE.at(span, format!("`{}` is out of range", field.key))
        .label(format!("expected {}", kind.expected()))
}
