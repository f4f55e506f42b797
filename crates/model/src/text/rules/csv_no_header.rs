//! A table file has no header row.

use crate::{
    Diagnostic, FileId, Rule, Severity, Span,
    text::schema::{Need, Table},
};

/// A table file has no header row.
pub static RULE: Rule = Rule {
    code: "csv-no-header",
    severity: Severity::Error,
    title: "A table file has no header row.",
    explain: "The first row that is not blank names the columns. Without it nothing in the file can be read. An \
        empty file is best deleted.",
    fixture: r#"
--- engines.csv
"#,
    rendered: r#"
error[csv-no-header]: this table is empty: it has no header row
 --> engines.csv:1:1
  |
1 |
  | ^
  |
  = help: begin with the columns it must have: `number,kind,length`
"#,
    file: file!(),
};

/// `table` says which columns the file might have.
pub(crate) fn diagnostic(file: FileId, table: &Table) -> Diagnostic {
    let needed: Vec<&str> = table
        .fields
        .iter()
        .filter(|field| field.need == Need::Required)
        .map(|field| field.key)
        .collect();
    RULE.at(Span::new(file, 0..0), "this table is empty: it has no header row")
        .help(format!("begin with the columns it must have: `{}`", needed.join(",")))
}
