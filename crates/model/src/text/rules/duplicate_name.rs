//! Two things of one kind have the same name.

use crate::{Diagnostic, Rule, Severity, Span, text::Noun};

/// Two things of one kind have the same name.
pub static RULE: Rule = Rule {
    code: "duplicate-name",
    severity: Severity::Error,
    title: "Two things of one kind have the same name.",
    explain: "Other files refer to things by name, so a name must stand for one thing only. Give the second \
        another name, or delete it if it is the same thing twice.",
    fixture: r#"
--- stations/cedar.toml
name = "Birch"
line = "Main"
mile = 9

[tracks]
main = { from = "W", to = "E", length = "6 ft", use = "main" }
"#,
    rendered: r#"
error[duplicate-name]: there are two of the station `Birch`
 --> stations/cedar.toml:1:9
  |
1 | name = "Birch"
  |         ^^^^^ again here
  |
 ::: stations/birch.toml:1:9
  |
1 | name = "Birch"
  |         ----- first here

error[duplicate-name]: there are two of the track `Birch / main`
 --> stations/cedar.toml:6:1
  |
6 | main = { from = "W", to = "E", length = "6 ft", use = "main" }
  | ^^^^ again here
  |
 ::: stations/birch.toml:7:1
  |
7 | main = { from = "W", to = "E", length = "12 ft", use = "main" }
  | ---- first here
"#,
    file: file!(),
};

/// `first` is where the name was given first.
pub fn diagnostic(noun: Noun, name: &str, span: Span, first: Span) -> Diagnostic {
    RULE.at(span, format!("there are two of the {} `{name}`", noun.word()))
        .label("again here")
        .also(first, "first here")
}
