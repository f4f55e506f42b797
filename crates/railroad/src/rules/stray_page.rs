//! A file of the folder belongs to no page.

use model::{Diagnostic, FileId, Rule, Severity, Sources, Span, diagnostic::nearest, text::Page};

/// A file of the folder belongs to no page.
pub static RULE: Rule = Rule {
    code: "stray-page",
    severity: Severity::Warning,
    title: "A file of the folder belongs to no page.",
    explain: "TOML and CSV files in the folder are read by their names; this one has a name that means \
        nothing, so it is not read. A misspelt name is the usual reason. Other tables are best kept \
        outside the folder.",
    fixture: r#"
--- engine.csv
number,kind,wheels,length,built
12,steam,2-8-0,9 in,1912
"#,
    rendered: r#"
warning[stray-page]: `engine.csv` is not read
 --> engine.csv:1:1
  |
1 | number,kind,wheels,length,built
  | ^
  |
  = help: did you mean `engines.csv`?
"#,
    file: file!(),
};

/// Points at the head of the file.
pub(crate) fn diagnostic(sources: &Sources, file: FileId, pages: &[&Page]) -> Diagnostic {
    let path = &sources.get(file).path;
    let found = RULE.at(Span::new(file, 0..0), format!("`{path}` is not read"));
    match nearest(path, pages.iter().map(|page| page.path)) {
        Some(near) => found.help(format!("did you mean `{near}`?")),
        None => {
            let known: Vec<&str> = pages.iter().map(|page| page.path).collect();
            found.help(format!("the pages are: {}", known.join(", ")))
        }
    }
}
