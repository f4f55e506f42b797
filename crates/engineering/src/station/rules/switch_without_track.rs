//! No track begins or ends at a switch.

use model::{Rule, Severity};

use crate::{check::Check, station::Hand};

/// No track begins or ends at a switch.
pub static RULE: Rule = Rule {
    code: "switch-without-track",
    severity: Severity::Error,
    title: "No track begins or ends at a switch.",
    explain: "A switch lies on one track, and another begins or ends at it. Write that track, \
        with `from` or `to` the name of the switch, or leave the switch out.",
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
s4 = { on = "main", at = "6 ft", points = "E", hand = "left", number = 6 }
"#,
    rendered: r#"
error[switch-without-track]: no track of Alder begins or ends at the switch `s4`
  --> stations/alder.toml:15:1
   |
15 | s4 = { on = "main", at = "6 ft", points = "E", hand = "left", number = 6 }
   | ^^
   |
   = help: write a track `{ from = "s4", to = ..., length = ..., use = ... }`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for switch in &station.switches {
            let wanted = if switch.hand == Hand::ThreeWay { 2 } else { 1 };
            let there = switch.diverging.len();
            if there >= wanted {
                continue;
            }
            let name = &switch.name.value;
            let message = if there == 0 {
                format!("no track of {} begins or ends at the switch `{name}`", station.name.value)
            } else {
                format!("the three-way switch `{name}` of {} needs a second track", station.name.value)
            };
            check.out.push(RULE.at(switch.name.span, message).help(format!(
                "write a track `{{ from = \"{name}\", to = ..., length = ..., use = ... }}`"
            )));
        }
    }
}
