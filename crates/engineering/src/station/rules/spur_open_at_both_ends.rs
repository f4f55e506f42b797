//! A spur is joined at both ends.

use model::{Rule, Severity};

use crate::{
    check::Check,
    station::{Meets, TrackUse},
};

/// A spur is joined at both ends.
pub static RULE: Rule = Rule {
    code: "spur-open-at-both-ends",
    severity: Severity::Warning,
    title: "A spur is joined at both ends.",
    explain: "A spur ends by itself. If trains can run through, call the track `siding`, \
        `runaround` or `connection`; if not, let it end at a `bumper`.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "spur" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[spur-open-at-both-ends]: the spur `siding` of Alder is joined at both ends
 --> stations/alder.toml:8:1
  |
8 | siding = { from = "s1", to = "s2", length = "10 ft", use = "spur" }
  | ^^^^^^
  |
  = help: write `to = "bumper"`, or another `use`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for track in &station.tracks {
            let joined = |meets| matches!(meets, Meets::Switch(_) | Meets::End(_));
            if track.usage != TrackUse::Spur || !track.meets.iter().all(|meets| joined(*meets)) {
                continue;
            }
            check.out.push(
                RULE.at(
                    track.name.span,
                    format!("the spur `{}` of {} is joined at both ends", track.name.value, station.name.value),
                )
                .help("write `to = \"bumper\"`, or another `use`"),
            );
        }
    }
}
