//! More tracks begin or end at a switch than it has legs for.

use model::{Rule, Severity};

use crate::{check::Check, station::Hand};

/// More tracks begin or end at a switch than it has legs for.
pub static RULE: Rule = Rule {
    code: "switch-with-two-tracks",
    severity: Severity::Error,
    title: "More tracks begin or end at a switch than it has legs for.",
    explain: "One track begins or ends at a switch, besides the one it lies on; two at a \
        three-way. Give the other track a switch of its own, or say `hand = \"three-way\"`.",
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
coal = { from = "s1", to = "bumper", length = "3 ft", use = "spur" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[switch-with-two-tracks]: the switch `s1` of Alder already has its track
  --> stations/alder.toml:10:18
   |
 8 | siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
   | ------ the first
 9 | mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }
10 | coal = { from = "s1", to = "bumper", length = "3 ft", use = "spur" }
   |                  ^^ `coal` comes here too
   |
   = help: give it a switch of its own, or write `hand = "three-way"`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for switch in &station.switches {
            let wanted = if switch.hand == Hand::ThreeWay { 2 } else { 1 };
            let [first, ..] = &switch.diverging[..] else { continue };
            // A track with both its ends here is another mistake.
            let others = &switch.diverging[1..];
            if others.iter().any(|(track, _)| *track == first.0) {
                continue;
            }
            for (track, end) in switch.diverging.iter().skip(wanted) {
                let track = station.track(*track);
                let place = track.at[end.index()].as_ref().map_or(track.name.span, |at| at.span);
                check.out.push(
                    RULE.at(
                        place,
                        format!("the switch `{}` of {} already has its track", switch.name.value, station.name.value),
                    )
                    .label(format!("`{}` comes here too", track.name.value))
                    .also(station.track(first.0).name.span, "the first")
                    .help("give it a switch of its own, or write `hand = \"three-way\"`"),
                );
            }
        }
    }
}
