//! A station gives two miles for the same line.

use model::{Rule, Severity};

use crate::check::Check;

/// A station gives two miles for the same line.
pub static RULE: Rule = Rule {
    code: "line-listed-twice",
    severity: Severity::Error,
    title: "A station gives two miles for the same line.",
    explain: "A station lies at one mile of each line that it is on.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"
also = [{ line = "Main", mile = 12 }]

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[line-listed-twice]: Alder is on the line `Main` twice
 --> stations/alder.toml:5:19
  |
2 | line = "Main"
  |         ---- here first
...
5 | also = [{ line = "Main", mile = 12 }]
  |                   ^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for (at, on) in station.lines.iter().enumerate() {
            let (Some(line), Some(name)) = (on.line, &on.name) else { continue };
            let first = station.lines[..at].iter().find(|other| other.line == Some(line));
            let Some(first) = first.and_then(|first| first.name.as_ref()) else { continue };
            check.out.push(
                RULE.at(name.span, format!("{} is on the line `{}` twice", station.name.value, name.value))
                    .also(first.span, "here first"),
            );
        }
    }
}
