//! A track names an end of double track as if it were single, or the other way around.

use model::{Rule, Severity};

use crate::{
    check::Check,
    station::{Meets, Station},
};

/// A track names an end of double track as if it were single, or the other way around.
pub static RULE: Rule = Rule {
    code: "double-track-end",
    severity: Severity::Error,
    title: "A track names an end of double track as if it were single, or the other way around.",
    explain: "Where open line has two tracks the station has an end for each, `E1` and `E2`; \
        where it has one the end is `E`. The number of tracks stands in the page of the line.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E1", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[double-track-end]: Alder has the end `E`, not `E1`
 --> stations/alder.toml:7:28
  |
7 | main = { from = "W", to = "E1", length = "14 ft", use = "main" }
  |                            ^^
  |
  = help: write `E`, or `tracks = 2` for the open line beyond
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        for track in &station.tracks {
            for (meets, written) in track.meets.iter().zip(&track.at) {
                let (Meets::Nowhere, Some(written)) = (meets, written) else { continue };
                let Some(real) = named(station, &written.value) else { continue };
                check.out.push(
                    RULE.at(
                        written.span,
                        format!("{} has the end `{real}`, not `{}`", station.name.value, written.value),
                    )
                    .help(format!(
                        "write `{real}`, or `tracks = {}` for the open line beyond",
                        if real.len() > written.value.len() { 1 } else { 2 }
                    )),
                );
            }
        }
    }
}

/// The end that is probably meant, when a number is missing or too much.
pub(crate) fn named<'a>(station: &'a Station, written: &str) -> Option<&'a str> {
    let stem = written.trim_end_matches(['1', '2']);
    let names = || station.ends.iter().map(|end| end.name.as_str());
    names()
        .find(|name| stem != written && *name == stem)
        .or_else(|| names().find(|name| stem == written && *name == format!("{written}1")))
}
