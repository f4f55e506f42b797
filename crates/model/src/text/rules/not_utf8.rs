//! A file is not in UTF-8.

use crate::{Diagnostic, FileId, Rule, Severity, Sources, Span};

/// A file is not in UTF-8.
pub static RULE: Rule = Rule {
    code: "not-utf8",
    severity: Severity::Note,
    title: "A file is not in UTF-8.",
    explain: "It was read as Windows-1252, which is what older spreadsheets save. If a name looks wrong, save the \
        file again as UTF-8.",
    fixture: r#"
--- cars.csv windows-1252
marks,number,aar,kind,length,built,notes
SMR,101,XM,boxcar,6 in,1928,from André
SMR,90,NE,caboose,5 in,1920,
"#,
    rendered: r#"
note[not-utf8]: this file is not in UTF-8; it was read as Windows-1252
 --> cars.csv:2:38
  |
2 | SMR,101,XM,boxcar,6 in,1928,from André
  |                                      ^ the first character that tells
  |
  = help: if this looks wrong, save the file again as UTF-8
"#,
    file: file!(),
};

/// Points at the first character that is not plain ASCII.
pub(crate) fn diagnostic(sources: &Sources, file: FileId) -> Diagnostic {
    let text = &sources.get(file).text;
    let at = text.find(|c: char| !c.is_ascii()).unwrap_or(0);
    let length = text[at..].chars().next().map_or(0, char::len_utf8);
    RULE.at(
        Span::new(file, at..at + length),
        "this file is not in UTF-8; it was read as Windows-1252",
    )
    .label("the first character that tells")
    .help("if this looks wrong, save the file again as UTF-8")
}
