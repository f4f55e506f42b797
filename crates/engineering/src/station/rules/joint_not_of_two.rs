//! A joint does not join two tracks.

use model::{Rule, Severity};

use crate::check::Check;

/// A joint does not join two tracks.
pub static RULE: Rule = Rule {
    code: "joint-not-of-two",
    severity: Severity::Error,
    title: "A joint does not join two tracks.",
    explain: "At a joint exactly two tracks meet end to end. Where three meet there is a switch.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"
joints = { j1 = "40 in" }

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "j1", length = "4 ft", use = "spur" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[joint-not-of-two]: only the track `mill` of Alder reaches the joint `j1`
 --> stations/alder.toml:5:12
  |
5 | joints = { j1 = "40 in" }
  |            ^^
  |
  = help: let exactly two tracks begin or end there
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for joint in &station.joints {
            if joint.tracks.len() == 2 {
                continue;
            }
            let names: Vec<&str> =
                joint.tracks.iter().map(|(track, _)| station.track(*track).name.value.as_str()).collect();
            let reach = match names.len() {
                0 => format!("no track of {} reaches", station.name.value),
                1 => format!("only the track `{}` of {} reaches", names[0], station.name.value),
                n => format!("{n} tracks of {} ({}) reach", station.name.value, names.join(", ")),
            };
            check.out.push(
                RULE.at(
                    joint.name.span,
                    format!("{reach} the joint `{}`", joint.name.value),
                )
                .help("let exactly two tracks begin or end there"),
            );
        }
    }
}
