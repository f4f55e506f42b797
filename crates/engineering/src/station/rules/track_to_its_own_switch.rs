//! A track begins and ends at the same switch.

use model::{Rule, Severity};

use crate::{check::Check, station::Meets};

/// A track begins and ends at the same switch.
pub static RULE: Rule = Rule {
    code: "track-to-its-own-switch",
    severity: Severity::Error,
    title: "A track begins and ends at the same switch.",
    explain: "A switch has one leg for it. A loop that comes back to its own switch is written \
        as the track on which the switch lies: it begins elsewhere, and ends at the switch.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s1", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }
coal = { from = "s2", to = "bumper", length = "3 ft", use = "spur" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
 
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
"#,
    rendered: r#"
error[track-to-its-own-switch]: the track `siding` of Alder begins and ends at `s1`
 --> stations/alder.toml:8:31
  |
8 | siding = { from = "s1", to = "s1", length = "10 ft", use = "siding" }
  |                               ^^
  |
  = help: let one of its ends be another switch
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for track in &station.tracks {
            let [Meets::Switch(from), Meets::Switch(to)] = track.meets else { continue };
            let (true, Some(written)) = (from == to, &track.at[1]) else { continue };
            check.out.push(
                RULE.at(
                    written.span,
                    format!("the track `{}` of {} begins and ends at `{}`", track.name.value, station.name.value, written.value),
                )
                .help("let one of its ends be another switch"),
            );
        }
    }
}
