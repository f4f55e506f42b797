//! The modelled day lies before the span of years for equipment.

use model::{Diagnostic, Rule, Severity, Span};

/// The modelled day lies before the span of years for equipment.
pub static RULE: Rule = Rule {
    code: "date-before-equipment",
    severity: Severity::Error,
    title: "The modelled day lies before the span of years for equipment.",
    explain: "Equipment could then only be from after the modelled day.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1951
clock = 4
"#,
    rendered: r#"
error[date-before-equipment]: the modelled day lies before all equipment that is allowed
 --> railroad.toml:5:8
  |
5 | date = 1941-10-14
  |        ^^^^^^^^^^ the modelled day
6 | equipment_from = 1951
  |                  ---- equipment from here on
"#,
    file: file!(),
};

/// Points at the modelled day.
pub(crate) fn diagnostic(date: Span, from: Span) -> Diagnostic {
    RULE.at(
        date,
        "the modelled day lies before all equipment that is allowed",
    )
    .label("the modelled day")
    .also(from, "equipment from here on")
}
