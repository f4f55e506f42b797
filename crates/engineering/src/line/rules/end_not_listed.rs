//! Open line joins a station end that the station does not have.

use model::{Rule, Severity};

use crate::check::Check;

/// Open line joins a station end that the station does not have.
pub static RULE: Rule = Rule {
    code: "end-not-listed",
    severity: Severity::Error,
    title: "Open line joins a station end that the station does not have.",
    explain: "The page of the station lists its `ends`, and this one is not among them. Add it \
        there, or mend the end in the page of the line; where `ends` is left out, open line \
        makes its own.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
from_end = "N"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"
ends = ["W", "E"]

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
error[end-not-listed]: Alder has no end `N`
 --> lines/main.toml:8:13
  |
8 | from_end = "N"
  |             ^
  |
 ::: stations/alder.toml:1:9
  |
1 | name = "Alder"
  |         ----- its ends are: W, E
  |
  = help: add it there, or let the open line leave by one of them
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, open) in way.opens() {
        for end in &open.ends {
            let Some(station) = end.id.map(|id| way.station(id)) else { continue };
            for track in 1..=open.tracks.value {
                let name = end.end_name(open.tracks.value, track);
                if station.find_end(&name).is_some() {
                    continue;
                }
                let ends: Vec<&str> = station.ends.iter().map(|end| end.name.as_str()).collect();
                check.out.push(
                    RULE.at(end.end.span, format!("{} has no end `{name}`", station.name.value))
                        .also(station.name.span, format!("its ends are: {}", ends.join(", ")))
                        .help("add it there, or let the open line leave by one of them"),
                );
            }
        }
    }
}
