//! A train is to meet another at a station it does not come to.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A train is to meet another at a station it does not come to.
pub static RULE: Rule = Rule {
    code: "meet-off-its-way",
    severity: Severity::Error,
    title: "A train is to meet another at a station it does not come to.",
    explain: "Both trains must run through the station, or begin or end there.",
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
siding = { from = "s1", to = "s2", length = "9 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
[[trains.1.meets]]
train = "2"
at = "Cedar"

[trains.2]
class = 2
direction = "west"
from = "Cedar"
to = "Alder"
leave = "8:10 AM"
arrive = "9:10 AM"
engines = ["14"]
[[trains.2.meets]]
train = "1"
at = "Cedar"
"#,
    rendered: r#"
error[meet-off-its-way]: train 1 does not come to Cedar
  --> trains.toml:11:7
   |
 4 | from = "Alder"
   |         ----- from
 5 | to = "Birch"
   |       ----- to
...
11 | at = "Cedar"
   |       ^^^^^
   |
   = help: meet at a station that both trains come to
"#,
    file: file!(),
};

/// Each train against its own way.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for (_, train, way) in context.trains() {
        for meet in &train.meets {
            let (Some(at), Some(station)) = (&meet.at, context.station(meet.at.as_ref())) else {
                continue;
            };
            if way.position(station).is_none() {
                let message = format!("train {} does not come to {}", train.symbol.value, at.value);
                let mut found = RULE.at(at.span, message);
                if let (Some(from), Some(to)) = (&train.from, &train.to) {
                    found = found.also(from.span, "from").also(to.span, "to");
                }
                out.push(found.help("meet at a station that both trains come to"));
            }
        }
    }
}
