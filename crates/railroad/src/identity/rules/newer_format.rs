//! The folder was written for a newer Sawby.

use model::{Diagnostic, Rule, Severity, Span};

/// The folder was written for a newer Sawby.
pub static RULE: Rule = Rule {
    code: "newer-format",
    severity: Severity::Error,
    title: "The folder was written for a newer Sawby.",
    explain: "A later format may mean something else by the same words, so nothing is guessed: bring the program \
        up to date. What can be read is still shown.",
    fixture: r#"
--- railroad.toml
format = 9
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1915
clock = 4
"#,
    rendered: r#"
error[newer-format]: this folder has format 9; this program reads up to 1
 --> railroad.toml:1:10
  |
1 | format = 9
  |          ^ newer than the program
  |
  = help: bring Sawby up to date
"#,
    file: file!(),
};

/// `known` is the newest format this program reads.
pub(crate) fn diagnostic(found: i64, known: i64, span: Span) -> Diagnostic {
    RULE.at(
        span,
        format!("this folder has format {found}; this program reads up to {known}"),
    )
    .label("newer than the program")
    .help("bring Sawby up to date")
}
