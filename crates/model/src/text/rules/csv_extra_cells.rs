//! A row has more cells than the header has columns.

use crate::{Diagnostic, Rule, Severity, Span};

/// A row has more cells than the header has columns.
pub static RULE: Rule = Rule {
    code: "csv-extra-cells",
    severity: Severity::Warning,
    title: "A row has more cells than the header has columns.",
    explain: "The cells past the last column have no meaning and are not read. Usually a text holds a comma and \
        stands without quotation marks, or a column was added without a header.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built
SMR,101,XM,boxcar,6 in,1928,needs paint
SMR,90,NE,caboose,5 in,1920
"#,
    rendered: r#"
warning[csv-extra-cells]: this row has 7 cells under 6 column heads
 --> cars.csv:2:29
  |
2 | SMR,101,XM,boxcar,6 in,1928,needs paint
  |                             ^^^^^^^^^^^ not read
  |
  = help: put a text that holds a comma in quotation marks, or give the column a head
"#,
    file: file!(),
};

/// `span` covers the cells too many.
pub(crate) fn diagnostic(span: Span, columns: usize, cells: usize) -> Diagnostic {
    RULE.at(span, format!("this row has {cells} cells under {columns} column heads"))
        .label("not read")
        .help("put a text that holds a comma in quotation marks, or give the column a head")
}
