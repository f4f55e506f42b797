//! The spots of a track are longer together than the track.

use model::{Rule, Severity};

use crate::{check::Check, ids::TrackRef};

/// The spots of a track are longer together than the track.
pub static RULE: Rule = Rule {
    code: "spots-longer-than-track",
    severity: Severity::Warning,
    title: "The spots of a track are longer together than the track.",
    explain: "As many cars as there are spots do not fit on it. Leave out a spot, shorten \
        `spot_length`, or lengthen the track.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"], spot_length = "24 in" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[spots-longer-than-track]: 2 spots of 2'-0" take 4'-0", but the track `mill` holds 2'-11 3/4"
 --> stations/alder.toml:9:114
  |
9 | mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"], spot_length = "24 in" }
  |                                                                                                                  ^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let (way, network) = (check.way, check.network);
    for (id, station) in way.stations() {
        for (track_id, track) in station.tracks() {
            let (Some(spot), false) = (track.spot_length, track.spots.is_empty()) else { continue };
            let usable = network.usable(way, TrackRef { station: id, track: track_id }).length;
            let needed = spot.value * track.spots.len() as f64;
            if needed <= usable * 1.001 {
                continue;
            }
            let message = format!(
                "{} spots of {} take {}, but the track `{}` holds {}",
                track.spots.len(),
                check.show(spot.value),
                check.show(needed),
                track.name.value,
                check.show(usable)
            );
            check.out.push(RULE.at(spot.span, message));
        }
    }
}
