//! A file that every railroad has is missing.

use model::{Diagnostic, FileId, Rule, Severity, Span, text::Page};

/// A file that every railroad has is missing.
pub static RULE: Rule = Rule {
    code: "missing-page",
    severity: Severity::Error,
    title: "A file that every railroad has is missing.",
    explain: "Without it the rest cannot be understood. `sawby new` writes a folder that has them all.",
    fixture: r#"
--- railroad.toml -
"#,
    rendered: r#"
error[missing-page]: this folder has no `railroad.toml`
 --> railroad.toml:1:1
  |
1 |
  | ^
  |
  = help: Which railroad this is: its name, scale, date and the limits it is built to.
"#,
    file: file!(),
};

/// `file` stands for the missing one.
pub(crate) fn diagnostic(page: &Page, file: FileId) -> Diagnostic {
    RULE.at(
        Span::new(file, 0..0),
        format!("this folder has no `{}`", page.path),
    )
    .help(page.about)
}
