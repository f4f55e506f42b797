//! A switch lies on a track that does not exist.

use model::{Rule, Severity};

use crate::check::Check;

/// A switch lies on a track that does not exist.
pub static RULE: Rule = Rule {
    code: "switch-on-unknown-track",
    severity: Severity::Error,
    title: "A switch lies on a track that does not exist.",
    explain: "A switch lies on one of the tracks of its own station, by the very name that track \
        has.",
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
s3 = { on = "sidding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[switch-on-unknown-track]: Alder has no track `sidding`
  --> stations/alder.toml:14:14
   |
14 | s3 = { on = "sidding", at = "5 ft", points = "W", hand = "left", number = 5 }
   |              ^^^^^^^
   |
   = help: did you mean `siding`?
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for switch in &station.switches {
            let (None, Some(on)) = (switch.track, &switch.on) else { continue };
            let tracks = station.tracks.iter().map(|track| track.name.value.as_str());
            check.out.push(
                RULE.at(on.span, format!("{} has no track `{}`", station.name.value, on.value))
                    .did_you_mean(&on.value, tracks),
            );
        }
    }
}
