//! Two columns have the same head.

use crate::{Diagnostic, Rule, Severity, Span, Spanned};

/// Two columns have the same head.
pub static RULE: Rule = Rule {
    code: "csv-repeated-column",
    severity: Severity::Error,
    title: "Two columns have the same head.",
    explain: "Only the first of them is read. Delete one, or rename it.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,Length,built
SMR,101,XM,boxcar,6 in,6.2 in,1928
SMR,90,NE,caboose,5 in,5 in,1920
"#,
    rendered: r#"
error[csv-repeated-column]: the column `Length` stands here a second time
 --> cars.csv:1:30
  |
1 | marks,number,aar,kind,length,Length,built
  |                       ------ ^^^^^^ not read
  |                       |
  |                       this one is
"#,
    file: file!(),
};

/// `first` is the column that is read.
pub(crate) fn diagnostic(cell: &Spanned<String>, first: Span) -> Diagnostic {
    RULE.at(cell.span, format!("the column `{}` stands here a second time", cell.value))
        .label("not read")
        .also(first, "this one is")
}
