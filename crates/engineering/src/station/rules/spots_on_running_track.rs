//! A track on which trains run has spots.

use model::{Rule, Severity};

use crate::check::Check;

/// A track on which trains run has spots.
pub static RULE: Rule = Rule {
    code: "spots-on-running-track",
    severity: Severity::Error,
    title: "A track on which trains run has spots.",
    explain: "Cars are not left standing on the main, on leads or on connections. Put the spots \
        on a spur, a siding or a team track.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main", spots = ["platform"] }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[spots-on-running-track]: the track `main` of Alder is for `main` and has spots
 --> stations/alder.toml:7:74
  |
7 | main = { from = "W", to = "E", length = "14 ft", use = "main", spots = ["platform"] }
  |                                                                          ^^^^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for track in &station.tracks {
            let Some(spot) = track.spots.first() else { continue };
            if track.usage.holds_cars() {
                continue;
            }
            check.out.push(RULE.at(
                spot.span,
                format!("the track `{}` of {} is for `{}` and has spots", track.name.value, station.name.value, track.usage),
            ));
        }
    }
}
