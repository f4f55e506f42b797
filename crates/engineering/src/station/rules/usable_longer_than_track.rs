//! More of a track is said to be usable than there is.

use model::{Rule, Severity};

use crate::check::Check;

/// More of a track is said to be usable than there is.
pub static RULE: Rule = Rule {
    code: "usable-longer-than-track",
    severity: Severity::Error,
    title: "More of a track is said to be usable than there is.",
    explain: "`usable` is the part of the `length` on which cars may stand.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", usable = "11 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[usable-longer-than-track]: 11'-0" of the track `siding` are usable, but it is 10'-0" long
 --> stations/alder.toml:8:64
  |
8 | siding = { from = "s1", to = "s2", length = "10 ft", usable = "11 ft", use = "siding" }
  |                                              ----- its length  ^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for track in &station.tracks {
            let (Some(usable), Some(length)) = (track.usable, track.length) else { continue };
            if usable.value <= length.value {
                continue;
            }
            let message = format!(
                "{} of the track `{}` are usable, but it is {} long",
                check.show(usable.value),
                track.name.value,
                check.show(length.value)
            );
            check.out.push(RULE.at(usable.span, message).also(length.span, "its length"));
        }
    }
}
