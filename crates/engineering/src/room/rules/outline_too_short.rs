//! An outline has too few corners.

use model::{Rule, Severity};

use model::{Diagnostic, Span};

use crate::check::Check;

/// An outline has too few corners.
pub static RULE: Rule = Rule {
    code: "outline-too-short",
    severity: Severity::Error,
    title: "An outline has too few corners.",
    explain: "An outline needs three corners or more.",
    fixture: r#"
--- rooms/cellar.toml
name = "Cellar"
corners = [["0 ft", "0 ft"], ["12 ft", "0 ft"]]
"#,
    rendered: r#"
error[outline-too-short]: the outline of this room has 2 corners
 --> rooms/cellar.toml:1:1
  |
1 | / name = "Cellar"
2 | | corners = [["0 ft", "0 ft"], ["12 ft", "0 ft"]]
  | |_______________________________________________^
"#,
    file: file!(),
};

pub(crate) fn diagnostic(span: Span, what: &str, corners: usize) -> Diagnostic {
    RULE.at(span, format!("the outline of this {what} has {corners} corners"))
}

/// Found while pages are read.
pub(crate) fn check(_: &mut Check<'_>) {}
