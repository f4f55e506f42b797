//! A height is given for a place that does not exist.

use model::{Rule, Severity};

use crate::check::Check;

/// A height is given for a place that does not exist.
pub static RULE: Rule = Rule {
    code: "elevation-of-nothing",
    severity: Severity::Error,
    title: "A height is given for a place that does not exist.",
    explain: "Under `elevations` stand the names of station ends, switches, joints and \
        turntables.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"
elevations = { s9 = "40 in" }

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[elevation-of-nothing]: Alder has no end, switch, joint or turntable `s9`
 --> stations/alder.toml:5:16
  |
5 | elevations = { s9 = "40 in" }
  |                ^^
  |
  = help: there are: W, E, s1, s2, s3
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        if station.elevations.is_empty() {
            continue;
        }
        let places = station.places();
        for (name, _) in &station.elevations {
            if places.iter().any(|(_, place)| *place == name.value) {
                continue;
            }
            let found = RULE.at(
                name.span,
                format!("{} has no end, switch, joint or turntable `{}`", station.name.value, name.value),
            );
            let names = || places.iter().map(|(_, place)| *place);
            check.out.push(match crate::check::guess(&name.value, names()) {
                Some(near) => found.help(format!("did you mean `{near}`?")),
                None => found.help(format!("there are: {}", names().collect::<Vec<_>>().join(", "))),
            });
        }
    }
}
