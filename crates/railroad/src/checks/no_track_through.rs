//! Trains run through a station whose tracks do not lead through.

use std::collections::HashSet;

use engineering::ids::EndId;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// Trains run through a station whose tracks do not lead through.
pub static RULE: Rule = Rule {
    code: "no-track-through",
    severity: Severity::Error,
    title: "Trains run through a station whose tracks do not lead through.",
    explain: "A train must get from the end by which it comes in to the end by which it leaves without \
              going back. Mend the tracks or the switches of the station: a switch may face the wrong \
              way.",
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
main = { from = "W", to = "bumper", length = "12 ft", use = "main" }
east = { from = "bumper", to = "E", length = "12 ft", use = "main" }
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Cedar"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
"#,
    rendered: r#"
error[no-track-through]: train 1 runs through Birch, but no track leads there from W to E
 --> trains.toml:1:9
  |
1 | [trains.1]
  |         ^
  |
 ::: stations/birch.toml:1:9
  |
1 | name = "Birch"
  |         ----- the station
  |
  = help: see that every switch between them faces as trains run
"#,
    file: file!(),
};

/// Once for each station and pair of ends.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let mut seen = HashSet::new();
    let network = &context.road.network;
    for (_, train, way) in context.trains() {
        for place in 1..way.stations.len().saturating_sub(1) {
            let station = way.stations[place];
            let Some(ends) = context.ends(way, place) else {
                continue;
            };
            if !seen.insert((station, ends)) {
                continue;
            }
            let nodes = ends.map(|end| network.end_node(station, end));
            if network.shortest(station, nodes[0], nodes[1]).is_some() {
                continue;
            }
            let page = context.road.way.station(station);
            let name = |end: EndId| page.ends[end.index()].name.as_str();
            let message = format!(
                "train {} runs through {}, but no track leads there from {} to {}",
                train.symbol.value,
                page.name.value,
                name(ends[0]),
                name(ends[1])
            );
            out.push(
                RULE.at(train.symbol.span, message)
                    .also(page.name.span, "the station")
                    .help("see that every switch between them faces as trains run"),
            );
        }
    }
}
