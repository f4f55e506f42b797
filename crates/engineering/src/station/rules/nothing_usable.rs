//! A track is too short to hold anything clear of other tracks.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{check::Check, ids::TrackRef};

/// A track is too short to hold anything clear of other tracks.
pub static RULE: Rule = Rule {
    code: "nothing-usable",
    severity: Severity::Warning,
    title: "A track is too short to hold anything clear of other tracks.",
    explain: "Its clearance point lies beyond its end: whatever stands on it is in the way of \
        trains on the track it leaves. Lengthen it, or give `usable` by tape.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "5 in", use = "spur" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[nothing-usable]: nothing can stand clear on the track `mill` of Alder: it is only 5" long
 --> stations/alder.toml:9:48
  |
9 | mill = { from = "s3", to = "bumper", length = "5 in", use = "spur" }
  |                                                ^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let (way, network) = (check.way, check.network);
    for (id, station) in way.stations() {
        for (track_id, track) in station.tracks() {
            let (true, Some(length)) = (track.usage.holds_cars(), track.length) else { continue };
            let here = TrackRef { station: id, track: track_id };
            if network.usable(way, here).length > Actual::ZERO {
                continue;
            }
            let message = format!(
                "nothing can stand clear on the track `{}` of {}: it is only {} long",
                track.name.value,
                station.name.value,
                check.show(length.value)
            );
            check.out.push(RULE.at(length.span, message));
        }
    }
}
