//! A crossing lies beyond the end of a track.

use model::{Rule, Severity};

use crate::check::Check;

/// A crossing lies beyond the end of a track.
pub static RULE: Rule = Rule {
    code: "crossing-beyond-track",
    severity: Severity::Error,
    title: "A crossing lies beyond the end of a track.",
    explain: "The two distances under `at` are counted from the beginnings of the two tracks, in \
        the order of `on`.",
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
x = { on = ["main", "mill"], at = ["7 ft", "5 ft"] }
"#,
    rendered: r#"
error[crossing-beyond-track]: the crossing `x` lies 5'-0" along `mill`, which is 4'-0" long
  --> stations/alder.toml:17:45
   |
 9 | mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }
   |                                                ---- its length
...
17 | x = { on = ["main", "mill"], at = ["7 ft", "5 ft"] }
   |                                             ^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for crossing in &station.crossings {
            let Some(at) = crossing.at else { continue };
            for (at, track) in at.into_iter().zip(crossing.tracks) {
                let Some(track) = track.map(|track| station.track(track)) else { continue };
                let Some(length) = track.length.filter(|length| at.value > length.value) else { continue };
                let message = format!(
                    "the crossing `{}` lies {} along `{}`, which is {} long",
                    crossing.name.value,
                    check.show(at.value),
                    track.name.value,
                    check.show(length.value)
                );
                check.out.push(RULE.at(at.span, message).also(length.span, "its length"));
            }
        }
    }
}
