//! A track begins or ends at something that does not exist.

use model::{Rule, Severity};

use crate::{
    check::Check,
    station::{Meets, Station},
};

/// A track begins or ends at something that does not exist.
pub static RULE: Rule = Rule {
    code: "dangling-track-end",
    severity: Severity::Error,
    title: "A track begins or ends at something that does not exist.",
    explain: "A track runs from one place to another: a station end, a switch, a joint, a \
        turntable, or `bumper` where it simply stops. Mend the name, or write the switch or \
        joint that is missing.",
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
coal = { from = "s4", to = "bumper", length = "3 ft", use = "spur" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[dangling-track-end]: Alder has no end, switch, joint or turntable `s4`
  --> stations/alder.toml:10:18
   |
10 | coal = { from = "s4", to = "bumper", length = "3 ft", use = "spur" }
   |                  ^^
   |
   = help: write `[switches]` `s4 = { on = ..., at = ..., points = ..., hand = ... }`, or `bumper` if the track stops there
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for track in &station.tracks {
            for (meets, written) in track.meets.iter().zip(&track.at) {
                let (Meets::Nowhere, Some(written)) = (meets, written) else { continue };
                if super::double_track_end::named(station, &written.value).is_some() {
                    continue;
                }
                let places: Vec<&str> = places(station).collect();
                let found = RULE.at(
                    written.span,
                    format!("{} has no end, switch, joint or turntable `{}`", station.name.value, written.value),
                );
                let guess = crate::check::guess(&written.value, places.iter().copied());
                check.out.push(match guess {
                    Some(near) => found.help(format!("did you mean `{near}`?")),
                    None => found.help(format!(
                        "write `[switches]` `{} = {{ on = ..., at = ..., points = ..., hand = ... }}`, or `bumper` if the track stops there",
                        written.value
                    )),
                });
            }
        }
    }
}

/// Names that a track may begin or end at.
fn places(station: &Station) -> impl Iterator<Item = &str> {
    let ends = station.ends.iter().map(|end| end.name.as_str());
    let switches = station.switches.iter().map(|one| one.name.value.as_str());
    let joints = station.joints.iter().map(|one| one.name.value.as_str());
    let tables = station.turntables.iter().map(|one| one.name.value.as_str());
    ends.chain(switches).chain(joints).chain(tables).chain(["bumper"])
}
