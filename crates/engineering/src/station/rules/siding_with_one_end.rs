//! A siding is joined at one end only.

use model::{Rule, Severity};

use crate::{
    check::Check,
    station::{Meets, TrackUse},
};

/// A siding is joined at one end only.
pub static RULE: Rule = Rule {
    code: "siding-with-one-end",
    severity: Severity::Warning,
    title: "A siding is joined at one end only.",
    explain: "Trains meet at a siding because they can enter it by one end and leave it by the \
        other. A track that stops at a bumper is a `spur`, or is used for `storage`.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "bumper", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
 
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[siding-with-one-end]: the siding `siding` of Alder ends at a bumper
 --> stations/alder.toml:8:1
  |
8 | siding = { from = "s1", to = "bumper", length = "10 ft", use = "siding" }
  | ^^^^^^
  |
  = help: let it end at a switch, or write `use = "spur"`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for track in &station.tracks {
            let passing = matches!(track.usage, TrackUse::Siding | TrackUse::Runaround | TrackUse::Crossover);
            if !passing || !track.meets.contains(&Meets::Bumper) {
                continue;
            }
            check.out.push(
                RULE.at(
                    track.name.span,
                    format!("the {} `{}` of {} ends at a bumper", track.usage, track.name.value, station.name.value),
                )
                .help("let it end at a switch, or write `use = \"spur\"`"),
            );
        }
    }
}
