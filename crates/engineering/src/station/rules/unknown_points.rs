//! The points of a switch face nothing that exists.

use model::{Rule, Severity};

use crate::{check::Check, station::Points};

/// The points of a switch face nothing that exists.
pub static RULE: Rule = Rule {
    code: "unknown-points",
    severity: Severity::Error,
    title: "The points of a switch face nothing that exists.",
    explain: "Write the station end from which a train meets the points first. Where a train \
        from either end may do so, as on a wye or a loop, write `from` or `to`: the beginning or \
        end of the track the switch lies on.",
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
s1 = { on = "main", at = "1 ft", points = "North", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[unknown-points]: Alder has no end `North`
  --> stations/alder.toml:12:44
   |
12 | s1 = { on = "main", at = "1 ft", points = "North", hand = "left", number = 6 }
   |                                            ^^^^^ the points of `s1` face this
   |
   = help: its ends are: W, E; or write `from` or `to`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for switch in &station.switches {
            let (Points::Unknown, Some(written)) = (switch.points, &switch.points_written) else {
                continue;
            };
            let ends: Vec<&str> = station.ends.iter().map(|end| end.name.as_str()).collect();
            check.out.push(
                RULE.at(written.span, format!("{} has no end `{}`", station.name.value, written.value))
                    .label(format!("the points of `{}` face this", switch.name.value))
                    .help(format!("its ends are: {}; or write `from` or `to`", ends.join(", "))),
            );
        }
    }
}
