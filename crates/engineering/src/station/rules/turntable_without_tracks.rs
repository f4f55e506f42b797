//! A turntable has no track.

use model::{Rule, Severity};

use crate::check::Check;

/// A turntable has no track.
pub static RULE: Rule = Rule {
    code: "turntable-without-tracks",
    severity: Severity::Warning,
    title: "A turntable has no track.",
    explain: "Tracks begin or end at a turntable by its name.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }

[turntables]
table = { length = "9 in" }
"#,
    rendered: r#"
warning[turntable-without-tracks]: no track of Alder reaches the turntable `table`
  --> stations/alder.toml:17:1
   |
17 | table = { length = "9 in" }
   | ^^^^^
   |
   = help: write a track with `to = "table"`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for table in station.turntables.iter().filter(|table| table.tracks.is_empty()) {
            let name = &table.name.value;
            check.out.push(
                RULE.at(table.name.span, format!("no track of {} reaches the turntable `{name}`", station.name.value))
                    .help(format!("write a track with `to = \"{name}\"`")),
            );
        }
    }
}
