//! The normal position of a switch is for a track that does not meet it.

use model::{Rule, Severity};

use crate::check::Check;

/// The normal position of a switch is for a track that does not meet it.
pub static RULE: Rule = Rule {
    code: "unknown-normal-track",
    severity: Severity::Error,
    title: "The normal position of a switch is for a track that does not meet it.",
    explain: "Write the track the switch lies on, or the one that begins or ends at it; the \
        first is what counts if nothing is written.",
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
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6, normal = "mill" }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[unknown-normal-track]: the track `mill` does not meet the switch `s1`
  --> stations/alder.toml:12:85
   |
12 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6, normal = "mill" }
   |                                                                                     ^^^^
   |
   = help: write one of: main, siding
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for switch in &station.switches {
            let Some(normal) = &switch.normal else { continue };
            let legs: Vec<&str> = switch
                .track
                .into_iter()
                .chain(switch.diverging.iter().map(|(track, _)| *track))
                .map(|track| station.track(track).name.value.as_str())
                .collect();
            if legs.contains(&normal.value.as_str()) || legs.is_empty() {
                continue;
            }
            check.out.push(
                RULE.at(normal.span, format!("the track `{}` does not meet the switch `{}`", normal.value, switch.name.value))
                    .help(format!("write one of: {}", legs.join(", "))),
            );
        }
    }
}
