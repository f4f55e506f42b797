//! A helper couples on or cuts off where its train does not run.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A helper couples on or cuts off where its train does not run.
pub static RULE: Rule = Rule {
    code: "helper-off-its-way",
    severity: Severity::Error,
    title: "A helper couples on or cuts off where its train does not run.",
    explain: "A helper helps from one station of the train's way to a later one.",
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
helper = { engine = "14", from = "Birch", to = "Alder" }
"#,
    rendered: r#"
error[helper-off-its-way]: train 1 comes to Alder before Birch
 --> trains.toml:9:49
  |
9 | helper = { engine = "14", from = "Birch", to = "Alder" }
  |                                   -----         ^^^^^
  |                                   |
  |                                   the helper couples on
  |
  = help: name stations of the train's way, in the order it comes to them
"#,
    file: file!(),
};

/// Both stations, and their order.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for (_, train, way) in context.trains() {
        let Some(helper) = &train.helper else {
            continue;
        };
        let mut places = Vec::new();
        for name in [&helper.from, &helper.to].into_iter().flatten() {
            let Some(station) = context.station(Some(name)) else {
                continue;
            };
            match way.position(station) {
                Some(place) => places.push((place, name)),
                None => {
                    let message = format!(
                        "{} is not on the way of train {}",
                        name.value, train.symbol.value
                    );
                    out.push(
                        RULE.at(name.span, message).help(
                            "name stations of the train's way, in the order it comes to them",
                        ),
                    );
                }
            }
        }
        if let [(from, first), (to, second)] = places[..]
            && from >= to
        {
            let message = format!(
                "train {} comes to {} before {}",
                train.symbol.value, second.value, first.value
            );
            out.push(
                RULE.at(second.span, message)
                    .also(first.span, "the helper couples on")
                    .help("name stations of the train's way, in the order it comes to them"),
            );
        }
    }
}
