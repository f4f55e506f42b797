//! A crossing lies on a track that does not exist.

use model::{Rule, Severity};

use crate::check::Check;

/// A crossing lies on a track that does not exist.
pub static RULE: Rule = Rule {
    code: "crossing-on-unknown-track",
    severity: Severity::Error,
    title: "A crossing lies on a track that does not exist.",
    explain: "A crossing lies on two different tracks of its own station, by the very names \
        those tracks have.",
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

[crossings]
x = { on = ["main", "mine"], at = ["7 ft", "2 ft"] }
"#,
    rendered: r#"
error[crossing-on-unknown-track]: Alder has no track `mine`
  --> stations/alder.toml:17:22
   |
17 | x = { on = ["main", "mine"], at = ["7 ft", "2 ft"] }
   |                      ^^^^
   |
   = help: did you mean `main`?
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for crossing in &station.crossings {
            let Some(on) = &crossing.on else { continue };
            for (written, track) in on.iter().zip(crossing.tracks) {
                if track.is_none() {
                    let tracks = station.tracks.iter().map(|track| track.name.value.as_str());
                    check.out.push(
                        RULE.at(written.span, format!("{} has no track `{}`", station.name.value, written.value))
                            .did_you_mean(&written.value, tracks),
                    );
                }
            }
        }
    }
}
