//! A train stops at a station that is not on its way.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A train stops at a station that is not on its way.
pub static RULE: Rule = Rule {
    code: "stop-off-its-way",
    severity: Severity::Error,
    title: "A train stops at a station that is not on its way.",
    explain: "The way runs along the line of the train from its initial to its terminal station, or \
              else over the fewest stations.",
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

[[trains.1.stops]]
station = "Cedar"
work = "set out"
"#,
    rendered: r#"
error[stop-off-its-way]: Cedar is not on the way of train 1
  --> trains.toml:11:12
   |
 4 | from = "Alder"
   |         ----- from
 5 | to = "Birch"
   |       ----- to
...
11 | station = "Cedar"
   |            ^^^^^
   |
   = help: name a station between the train's ends, or move its ends
"#,
    file: file!(),
};

/// Each stop against the way.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for (_, train, way) in context.trains() {
        for stop in &train.stops {
            let (Some(name), Some(station)) =
                (&stop.station, context.station(stop.station.as_ref()))
            else {
                continue;
            };
            if way.position(station).is_none() {
                let message = format!(
                    "{} is not on the way of train {}",
                    name.value, train.symbol.value
                );
                let mut found = RULE.at(name.span, message);
                if let (Some(from), Some(to)) = (&train.from, &train.to) {
                    found = found.also(from.span, "from").also(to.span, "to");
                }
                out.push(found.help("name a station between the train's ends, or move its ends"));
            }
        }
    }
}
