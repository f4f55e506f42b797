//! A word is not one of those that may stand here.

use crate::{
    Diagnostic, Rule, Severity, Span,
    diagnostic::nearest,
    text::{Choice, Field},
};

/// A word is not one of those that may stand here.
pub static RULE: Rule = Rule {
    code: "unknown-word",
    severity: Severity::Error,
    title: "A word is not one of those that may stand here.",
    explain: "The words are a closed list, since the program acts on them.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "mian" }
"#,
    rendered: r#"
error[unknown-word]: `use` cannot be `mian`
 --> stations/birch.toml:7:57
  |
7 | main = { from = "W", to = "E", length = "12 ft", use = "mian" }
  |                                                         ^^^^
  |
  = help: did you mean `main`?
  = help: it may be: spur, main, siding, arrival-departure, classification, lead, runaround, house, team, staging, interchange, engine, caboose, repair, ice, wye, tail, crossover, connection, storage, scale
"#,
    file: file!(),
};

/// `choices` are the words that may stand.
pub(crate) fn diagnostic(field: &Field, choices: &[Choice], text: &str, span: Span) -> Diagnostic {
    let words: Vec<&str> = choices.iter().map(|choice| choice.word).collect();
    let found = RULE.at(span, format!("`{}` cannot be `{text}`", field.key));
    match nearest(text, words.iter().copied()) {
        Some(near) => found.help(format!("did you mean `{near}`?")),
        None => found,
    }
    .help(format!("it may be: {}", words.join(", ")))
}
