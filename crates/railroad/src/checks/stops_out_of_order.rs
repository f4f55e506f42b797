//! A train's stops are not in the order of its way.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A train's stops are not in the order of its way.
pub static RULE: Rule = Rule {
    code: "stops-out-of-order",
    severity: Severity::Error,
    title: "A train's stops are not in the order of its way.",
    explain: "Stops are listed in the order in which the train comes to them.",
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

[[open]]
from = "Cedar"
to = "Dogwood"
length = "20 ft"
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "16 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "13 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "15 ft", points = "E", hand = "right", number = 6 }
--- stations/dogwood.toml
name = "Dogwood"
line = "Main"
mile = 13
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Dogwood"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]

[[trains.1.stops]]
station = "Cedar"

[[trains.1.stops]]
station = "Birch"
"#,
    rendered: r#"
error[stops-out-of-order]: train 1 comes to Birch before Cedar
  --> trains.toml:14:12
   |
11 | station = "Cedar"
   |            ----- listed before it
...
14 | station = "Birch"
   |            ^^^^^
   |
   = help: list the stops in the order of the way
"#,
    file: file!(),
};

/// Each stop against the one before it.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for (_, train, way) in context.trains() {
        let places = train.stops.iter().filter_map(|stop| {
            let name = stop.station.as_ref()?;
            Some((name, way.position(context.station(Some(name))?)?))
        });
        let places: Vec<_> = places.collect();
        for pair in places.windows(2) {
            let [(first, before), (second, after)] = pair else {
                continue;
            };
            if after < before {
                let message = format!(
                    "train {} comes to {} before {}",
                    train.symbol.value, second.value, first.value
                );
                out.push(
                    RULE.at(second.span, message)
                        .also(first.span, "listed before it")
                        .help("list the stops in the order of the way"),
                );
            }
        }
    }
}
