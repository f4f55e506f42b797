//! A switch lies beyond the end of its track.

use model::{Rule, Severity};

use crate::check::Check;

/// A switch lies beyond the end of its track.
pub static RULE: Rule = Rule {
    code: "switch-beyond-track",
    severity: Severity::Error,
    title: "A switch lies beyond the end of its track.",
    explain: "The distance `at` is counted from the beginning of the track the switch lies on.",
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
s2 = { on = "main", at = "15 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[switch-beyond-track]: the switch `s2` lies 15'-0" along `main`, which is 14'-0" long
  --> stations/alder.toml:13:27
   |
 7 | main = { from = "W", to = "E", length = "14 ft", use = "main" }
   |                                          ----- its length
...
13 | s2 = { on = "main", at = "15 ft", points = "E", hand = "right", number = 6 }
   |                           ^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for switch in &station.switches {
            let (Some(track), Some(at)) = (switch.track, switch.at) else { continue };
            let track = station.track(track);
            let Some(length) = track.length else { continue };
            if at.value <= length.value && at.value >= model::units::Actual::ZERO {
                continue;
            }
            let message = format!(
                "the switch `{}` lies {} along `{}`, which is {} long",
                switch.name.value,
                check.show(at.value),
                track.name.value,
                check.show(length.value)
            );
            check.out.push(RULE.at(at.span, message).also(length.span, "its length"));
        }
    }
}
