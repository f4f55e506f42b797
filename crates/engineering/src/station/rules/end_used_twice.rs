//! Two tracks reach the same station end.

use model::{Rule, Severity};

use std::collections::HashMap;

use crate::{check::Check, station::Meets};

/// Two tracks reach the same station end.
pub static RULE: Rule = Rule {
    code: "end-used-twice",
    severity: Severity::Error,
    title: "Two tracks reach the same station end.",
    explain: "One track leaves by each end; others join it at a switch. Where open line is \
        double it has an end for each track.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "E", length = "12 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
 
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[end-used-twice]: a second track reaches the end `E` of Alder
 --> stations/alder.toml:8:31
  |
7 | main = { from = "W", to = "E", length = "14 ft", use = "main" }
  |                            - the first
8 | siding = { from = "s1", to = "E", length = "12 ft", use = "siding" }
  |                               ^
  |
  = help: let it end at a switch on the first
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        let mut first = HashMap::new();
        for track in &station.tracks {
            for (meets, written) in track.meets.iter().zip(&track.at) {
                let (Meets::End(end), Some(written)) = (meets, written) else { continue };
                let Some(other) = first.insert(*end, written.span) else { continue };
                first.insert(*end, other);
                check.out.push(
                    RULE.at(
                        written.span,
                        format!("a second track reaches the end `{}` of {}", written.value, station.name.value),
                    )
                    .also(other, "the first")
                    .help("let it end at a switch on the first"),
                );
            }
        }
    }
}
