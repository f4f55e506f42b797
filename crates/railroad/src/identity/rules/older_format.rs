//! The folder has an older format.

use model::{Diagnostic, Rule, Severity, Span};

/// The folder has an older format.
pub static RULE: Rule = Rule {
    code: "older-format",
    severity: Severity::Error,
    title: "The folder has an older format.",
    explain: "The format number tells how the folder is laid out. There has been only one so far, so a smaller \
        number is a slip; when there are more, the program will say what to change.",
    fixture: r#"
--- railroad.toml
format = 0
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1915
clock = 4
"#,
    rendered: r#"
error[older-format]: there is no format 0
 --> railroad.toml:1:10
  |
1 | format = 0
  |          ^ the format is 1
  |
  = help: write `format = 1`
"#,
    file: file!(),
};

/// `known` is the format this program writes.
pub(crate) fn diagnostic(found: i64, known: i64, span: Span) -> Diagnostic {
    RULE.at(span, format!("there is no format {found}"))
        .label(format!("the format is {known}"))
        .help(format!("write `format = {known}`"))
}
