//! Two trains are to meet where there is one track only.

use model::{Diagnostics, Rule, Severity};

use super::{
    context::Context,
    meets::{meets, rooms},
};

/// Two trains are to meet where there is one track only.
pub static RULE: Rule = Rule {
    code: "meet-without-second-track",
    severity: Severity::Error,
    title: "Two trains are to meet where there is one track only.",
    explain: "A meet needs a siding or a second main on which one train stands while the other runs \
              by.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"

[[open]]
from = "Birch"
to = "Cedar"
length = "20 ft"
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "9 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Cedar"
leave = "8:00 AM"
arrive = "9:00 AM"
engines = ["12"]
max_length = "9 ft"
[[trains.1.meets]]
train = "2"
at = "Birch"

[trains.2]
class = 2
direction = "west"
from = "Cedar"
to = "Alder"
leave = "8:10 AM"
arrive = "9:10 AM"
engines = ["14"]
max_length = "8 ft"
[[trains.2.meets]]
train = "1"
at = "Birch"
"#,
    rendered: r#"
error[meet-without-second-track]: trains 1 and 2 cannot meet at Birch: no track there lets the one by while the other stands
  --> trains.toml:12:7
   |
12 | at = "Birch"
   |       ^^^^^
   |
  ::: stations/birch.toml:1:9
   |
 1 | name = "Birch"
   |         ----- the station
   |
   = help: add a siding there, or meet elsewhere
"#,
    file: file!(),
};

/// Meets within the ways of both trains.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for meet in meets(context) {
        if !rooms(context, &meet, meet.station).is_empty() {
            continue;
        }
        let station = context.road.way.station(meet.station);
        let message = format!(
            "trains {} and {} cannot meet at {}: no track there lets the one by while the other stands",
            meet.train.symbol.value, meet.other.symbol.value, station.name.value
        );
        out.push(
            RULE.at(meet.at.span, message)
                .also(station.name.span, "the station")
                .help("add a siding there, or meet elsewhere"),
        );
    }
}
