//! A column has a head that means nothing here.

use crate::{Diagnostic, Rule, Severity, Spanned, text::Table};

/// A column has a head that means nothing here.
pub static RULE: Rule = Rule {
    code: "unknown-column",
    severity: Severity::Warning,
    title: "A column has a head that means nothing here.",
    explain: "The column is not read. If it is a slip, mend it; a column of the owner's own is best named with a \
        leading `x_`, but does no harm.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,lenght,length,built
SMR,101,XM,boxcar,6 in,6 in,1928
SMR,90,NE,caboose,5 in,5 in,1920
"#,
    rendered: r#"
warning[unknown-column]: a car has no column `lenght`
 --> cars.csv:1:23
  |
1 | marks,number,aar,kind,lenght,length,built
  |                       ^^^^^^ not read
  |
  = help: did you mean `length`?
"#,
    file: file!(),
};

/// `table` says which columns there may be.
pub(crate) fn diagnostic(table: &Table, cell: &Spanned<String>) -> Diagnostic {
    let keys = table.fields.iter().map(|field| field.key);
    RULE.at(cell.span, format!("a {} has no column `{}`", table.noun, cell.value))
        .label("not read")
        .did_you_mean(&cell.value, keys)
}
