//! A quotation mark in a table is never closed.

use crate::{Diagnostic, Rule, Severity, Span};

/// A quotation mark in a table is never closed.
pub static RULE: Rule = Rule {
    code: "csv-unclosed-quote",
    severity: Severity::Error,
    title: "A quotation mark in a table is never closed.",
    explain: "Everything after it counts as one cell, to the end of the file. Close it, or write a mark that \
        belongs to the text twice (`\"\"`).",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built,notes
SMR,101,XM,boxcar,6 in,1928,"needs paint
SMR,90,NE,caboose,5 in,1920,
"#,
    rendered: r#"
error[csv-unclosed-quote]: this quotation mark is never closed
 --> cars.csv:2:29
  |
2 | SMR,101,XM,boxcar,6 in,1928,"needs paint
  |                             ^ opened here
  |
  = help: close it at the end of the cell; write a mark within a text twice
"#,
    file: file!(),
};

/// `span` is the opening mark.
pub(crate) fn diagnostic(span: Span) -> Diagnostic {
    RULE.at(span, "this quotation mark is never closed")
        .label("opened here")
        .help("close it at the end of the cell; write a mark within a text twice")
}
