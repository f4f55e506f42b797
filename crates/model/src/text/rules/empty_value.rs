//! A value is empty.

use crate::{Diagnostic, Rule, Severity, Span, text::Field};

/// A value is empty.
pub static RULE: Rule = Rule {
    code: "empty-value",
    severity: Severity::Error,
    title: "A value is empty.",
    explain: "An empty text says nothing. Write the value, or delete the key so that its default counts.",
    fixture: r#"
--- lines/main.toml
name = ""

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
"#,
    rendered: r#"
error[empty-value]: `name` is empty
 --> lines/main.toml:1:8
  |
1 | name = ""
  |        ^^ expected the name of a line
"#,
    file: file!(),
};

/// `field` says what was expected.
pub(crate) fn diagnostic(field: &Field, span: Span) -> Diagnostic {
    RULE.at(span, format!("`{}` is empty", field.key))
        .label(format!("expected {}", field.kind.expected()))
}
