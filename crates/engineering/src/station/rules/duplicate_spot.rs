//! Two spots of a station have the same name.

use model::{Rule, Severity};

use std::collections::HashMap;

use crate::check::Check;

/// Two spots of a station have the same name.
pub static RULE: Rule = Rule {
    code: "duplicate-spot",
    severity: Severity::Error,
    title: "Two spots of a station have the same name.",
    explain: "Shippers and switch lists refer to a spot by its name, so a station has each name \
        once.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door", "door"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[duplicate-spot]: Alder has two spots `door`
 --> stations/alder.toml:9:87
  |
9 | mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door", "door"] }
  |                                                                               ----    ^^^^
  |                                                                               |
  |                                                                               the first
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        let mut first = HashMap::new();
        for spot in station.tracks.iter().flat_map(|track| &track.spots) {
            match first.get(spot.value.as_str()) {
                None => {
                    first.insert(spot.value.as_str(), spot.span);
                }
                Some(other) => check.out.push(
                    RULE.at(spot.span, format!("{} has two spots `{}`", station.name.value, spot.value))
                        .also(*other, "the first"),
                ),
            }
        }
    }
}
