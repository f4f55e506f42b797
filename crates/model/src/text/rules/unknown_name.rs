//! A name refers to nothing.

use crate::{
    Diagnostic, Rule, Severity, Spanned,
    diagnostic::nearest,
    text::{Names, Noun},
};

/// A name refers to nothing.
pub static RULE: Rule = Rule {
    code: "unknown-name",
    severity: Severity::Error,
    title: "A name refers to nothing.",
    explain: "Things are referred to by the very name they were given, with its capitals and blanks. Mend the \
        slip, or declare what is missing.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Brich"
length = "20 ft"
elevation = ["40 in", "42 in"]
"#,
    rendered: r#"
error[unknown-name]: there is no station `Brich`
 --> lines/main.toml:5:7
  |
5 | to = "Brich"
  |       ^^^^^
  |
  = help: did you mean `Birch`?
"#,
    file: file!(),
};

/// `names` holds what there is.
pub(crate) fn diagnostic(names: &Names, noun: Noun, name: &Spanned<String>) -> Diagnostic {
    let known = names.all(noun);
    let word = noun.word();
    let found = RULE.at(name.span, format!("there is no {word} `{}`", name.value));
    match nearest(&name.value, known.iter().copied()) {
        Some(near) => found.help(format!("did you mean `{near}`?")),
        None if known.is_empty() => found.help(format!("this railroad declares no {word} at all")),
        None if known.len() <= 12 => found.help(format!("there are: {}", known.join(", "))),
        None => found,
    }
}
