//! A key means nothing where it stands.

use crate::{
    Diagnostic, Rule, Severity,
    diagnostic::nearest,
    text::{Entry, Table},
};

/// A key means nothing where it stands.
pub static RULE: Rule = Rule {
    code: "unknown-key",
    severity: Severity::Error,
    title: "A key means nothing where it stands.",
    explain: "Nothing reads it, so what was meant by it is lost. The key is misspelt, or belongs to another table.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "9 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", nunber = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
"#,
    rendered: r#"
error[unknown-key]: a switch has no `nunber`
  --> stations/birch.toml:11:63
   |
11 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", nunber = 6 }
   |                                                               ^^^^^^
   |
   = help: did you mean `number`?
"#,
    file: file!(),
};

/// `table` says which keys there may be.
pub(crate) fn diagnostic(table: &Table, entry: &Entry) -> Diagnostic {
    let key = &entry.key.value;
    let keys: Vec<&str> = table.fields.iter().map(|field| field.key).collect();
    let found = RULE.at(entry.key.span, format!("a {} has no `{key}`", table.noun));
    match nearest(key, keys.iter().copied()) {
        Some(near) => found.help(format!("did you mean `{near}`?")),
        None => found.help(format!("it may have: {}", keys.join(", "))),
    }
}
