//! The span of years for equipment ends before it begins.

use model::{Diagnostic, Rule, Severity, Span};

/// The span of years for equipment ends before it begins.
pub static RULE: Rule = Rule {
    code: "equipment-span-backwards",
    severity: Severity::Error,
    title: "The span of years for equipment ends before it begins.",
    explain: "Nothing can be within such a span. The two may be exchanged.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1941
equipment_to = 1915
clock = 4
"#,
    rendered: r#"
error[equipment-span-backwards]: the span for equipment ends before it begins
 --> railroad.toml:7:16
  |
6 | equipment_from = 1941
  |                  ---- the beginning
7 | equipment_to = 1915
  |                ^^^^ the end
  |
  = help: exchange the two
"#,
    file: file!(),
};

/// Points at the end, beside the beginning.
pub(crate) fn diagnostic(from: Span, to: Span) -> Diagnostic {
    RULE.at(to, "the span for equipment ends before it begins")
        .label("the end")
        .also(from, "the beginning")
        .help("exchange the two")
}
