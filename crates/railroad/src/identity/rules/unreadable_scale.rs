//! The scale is not known.

use model::{Diagnostic, Rule, Severity, Spanned, units::ReadError};

/// The scale is not known.
pub static RULE: Rule = Rule {
    code: "unreadable-scale",
    severity: Severity::Error,
    title: "The scale is not known.",
    explain: "A scale is one of the listed names, or a ratio with the gauge of the track. Until it is mended the \
        railroad is taken to be HO.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HQ"
date = 1941-10-14
equipment_from = 1915
clock = 4
"#,
    rendered: r#"
error[unreadable-scale]: `HQ` is no scale
 --> railroad.toml:4:10
  |
4 | scale = "HQ"
  |          ^^ expected a name like `HO`, or a ratio and a gauge like `1:24 45 mm`
  |
  = help: did you mean HO?
"#,
    file: file!(),
};

/// `error` says what was expected.
pub(crate) fn diagnostic(text: &Spanned<&str>, error: &ReadError) -> Diagnostic {
    let found = RULE
        .at(text.span, format!("`{}` is no scale", text.value))
        .label("expected a name like `HO`, or a ratio and a gauge like `1:24 45 mm`");
    match &error.hint {
        Some(hint) => found.help(hint.as_str()),
        None => found,
    }
}
