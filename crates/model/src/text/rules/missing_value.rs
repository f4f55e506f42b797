//! A cell that must be filled is blank.

use crate::{
    Diagnostic, Rule, Severity, Span,
    text::{Field, Table},
};

/// A cell that must be filled is blank.
pub static RULE: Rule = Rule {
    code: "missing-value",
    severity: Severity::Error,
    title: "A cell that must be filled is blank.",
    explain: "The column has no default. Fill the cell, or delete the row.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built
SMR,101,XM,boxcar,,1928
SMR,90,NE,caboose,5 in,1920
"#,
    rendered: r#"
error[missing-value]: this car has nothing under `length`
 --> cars.csv:2:1
  |
2 | SMR,101,XM,boxcar,,1928
  | ^^^^^^^^^^^^^^^^^^^^^^^
  |
  = help: write a length on the model, like `12'-6"`, `46 in` or `3.81 m`
"#,
    file: file!(),
};

/// `row` is the whole row.
pub(crate) fn diagnostic(table: &Table, field: &Field, row: Span) -> Diagnostic {
    RULE.at(row, format!("this {} has nothing under `{}`", table.noun, field.key))
        .help(format!("write {}", field.kind.expected()))
}
