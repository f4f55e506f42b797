//! A length is neither measured nor laid out.

use model::{Rule, Severity};

use crate::check::Check;

/// A length is neither measured nor laid out.
pub static RULE: Rule = Rule {
    code: "length-unknown",
    severity: Severity::Error,
    title: "A length is neither measured nor laid out.",
    explain: "The length of a track or of open line, and the place of a switch, are measured \
        along the track and written in the page of the station or line; or an \
        alignment describes the track, with the switch among its elements, and they \
        follow from that.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }

[switches]
s1 = { on = "main", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
"#,
    rendered: r#"
error[length-unknown]: nobody says how long the track `main` is
 --> stations/birch.toml:7:1
  |
7 | main = { from = "W", to = "E", use = "main" }
  | ^^^^
  |
  = help: write its `length` as measured along the track, or describe its center line in an alignment

error[length-unknown]: nobody says where the switch `s1` is
  --> stations/birch.toml:11:1
   |
11 | s1 = { on = "main", points = "W", hand = "left", number = 6 }
   | ^^
   |
   = help: write `at` as measured along its track, or make it a `turnout` of that track's alignment
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, open) in way.opens() {
        if open.length.is_none() && !open.measured {
            check.out.push(
                RULE.at(open.span, "nobody says how long this open line is")
                    .help("write its `length` as measured along the track, or describe its center line in an alignment"),
            );
        }
    }
    for station in &way.stations {
        for track in &station.tracks {
            if track.length.is_none() && !track.measured {
                let message = format!("nobody says how long the track `{}` is", track.name.value);
                check.out.push(RULE.at(track.name.span, message).help(
                    "write its `length` as measured along the track, or describe its center line in an alignment",
                ));
            }
        }
        for switch in &station.switches {
            if switch.at.is_none() && !switch.measured {
                let message = format!("nobody says where the switch `{}` is", switch.name.value);
                check.out.push(RULE.at(switch.name.span, message).help(
                    "write `at` as measured along its track, or make it a `turnout` of that track's alignment",
                ));
            }
        }
    }
}
