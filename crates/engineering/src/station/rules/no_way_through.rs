//! No track leads through a station from the open line on one side to that on the other.

use model::{Rule, Severity};

use crate::{Network, check::Check};

/// No track leads through a station from the open line on one side to that on the other.
pub static RULE: Rule = Rule {
    code: "no-way-through",
    severity: Severity::Error,
    title: "No track leads through a station from the open line on one side to that on the other.",
    explain: "Trains that pass here need a way from end to end on which they never have to back. \
        Let the main run from the one end to the other, or mend the points of a switch on the \
        way.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]

[[open]]
from = "Birch"
to = "Cedar"
length = "12 ft"
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "6 ft", use = "main" }
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "bumper", length = "12 ft", use = "main" }
other = { from = "s1", to = "E", length = "9 ft", use = "main" }

[switches]
s1 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
"#,
    rendered: r#"
error[no-way-through]: no track of Birch leads from `W` through to `E`
 --> stations/birch.toml:1:9
  |
1 | name = "Birch"
  |         ^^^^^
  |
  = help: write a track with `from = "W"`, `to = "E"` and `use = "main"`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let (way, network) = (check.way, check.network);
    for (id, station) in way.stations() {
        for on in &station.lines {
            let Some(line) = on.line else { continue };
            let joined = |ends: Vec<crate::ids::EndId>| -> Vec<crate::ids::EndId> {
                let open = |end: &crate::ids::EndId| !station.ends[end.index()].joins.is_empty();
                ends.into_iter().filter(open).collect()
            };
            let [low, high] = Network::line_ends(way, id, line).map(joined);
            let node = |end: &crate::ids::EndId| network.end_node(id, *end);
            if low.is_empty() || high.is_empty() {
                continue;
            }
            // Without a track at either end, that has been said already.
            let bare = |ends: &[crate::ids::EndId]| ends.iter().all(|end| network.departures(node(end)).count() < 2);
            if bare(&low) || bare(&high) {
                continue;
            }
            let through = low.iter().any(|from| {
                let reached = network.reach(id, network.departures(node(from)));
                high.iter().any(|to| reached.iter().any(|run| network.head(*run).0 == node(to)))
            });
            if !through {
                let name = |ends: &[crate::ids::EndId]| station.ends[ends[0].index()].name.clone();
                check.out.push(
                    RULE.at(
                        station.name.span,
                        format!(
                            "no track of {} leads from `{}` through to `{}`",
                            station.name.value,
                            name(&low),
                            name(&high)
                        ),
                    )
                    .help(format!(
                        "write a track with `from = \"{}\"`, `to = \"{}\"` and `use = \"main\"`",
                        name(&low),
                        name(&high)
                    )),
                );
            }
        }
    }
}
