//! Something that must be written is missing.

use crate::{
    Diagnostic, Rule, Severity, Span,
    diagnostic::nearest,
    text::{Entry, Field, Table},
};

/// Something that must be written is missing.
pub static RULE: Rule = Rule {
    code: "missing-key",
    severity: Severity::Error,
    title: "Something that must be written is missing.",
    explain: "The key or column named has no default: nobody but the owner knows what to put there.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", length = "12 ft", use = "main" }
"#,
    rendered: r#"
error[missing-key]: this track has no `to`
 --> stations/birch.toml:7:10
  |
7 | main = { from = "W", length = "12 ft", use = "main" }
  |          ^^^^
  |
  = help: write `to = ...` with a text
"#,
    file: file!(),
};

/// A key missing from a table of TOML. `place` is where to point in a table that is empty.
pub(crate) fn diagnostic(
    table: &Table,
    field: &Field,
    entries: &[Entry],
    place: Span,
) -> Diagnostic {
    let span = entries.first().map_or(place, |entry| entry.key.span);
    let found = RULE
        .at(span, format!("this {} has no `{}`", table.noun, field.key))
        .help(format!("write `{} = ...` with {}", field.key, field.kind.expected()));
    // A key spelt nearly like this one is reported as unknown; say so here too.
    let strangers = entries
        .iter()
        .map(|entry| entry.key.value.as_str())
        .filter(|key| table.fields.iter().all(|field| field.key != *key));
    match nearest(field.key, strangers) {
        Some(near) => found.help(format!("`{near}` may be meant for it")),
        None => found,
    }
}

/// A column missing from a table file.
pub(crate) fn column(table: &Table, field: &Field, header: Span) -> Diagnostic {
    RULE.at(header, format!("this table has no column `{}`", field.key))
        .help(format!("every {} needs it: {}", table.noun, field.kind.expected()))
}
