//! A helper has no track to wait on.

use std::collections::HashSet;

use engineering::station::TrackUse;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A helper has no track to wait on.
pub static RULE: Rule = Rule {
    code: "helper-without-track",
    severity: Severity::Warning,
    title: "A helper has no track to wait on.",
    explain: "Where a helper couples on and where it cuts off it needs a track besides the main, and \
              not the siding that trains meet on alone: an engine track, a spur, a runaround or a wye.",
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
arrive = "8:40 AM"
engines = ["12"]
helper = { engine = "14", from = "Alder", to = "Birch" }
"#,
    rendered: r#"
warning[helper-without-track]: a helper has no track to wait on at Birch
 --> trains.toml:9:49
  |
9 | helper = { engine = "14", from = "Alder", to = "Birch" }
  |                                                 ^^^^^
  |
 ::: stations/birch.toml:1:9
  |
1 | name = "Birch"
  |         ----- the station
  |
  = help: add an engine track, a spur or a siding there
"#,
    file: file!(),
};

/// Once for each station.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let mut seen = HashSet::new();
    for train in &context.road.service.trains {
        let Some(helper) = &train.helper else {
            continue;
        };
        for name in [&helper.from, &helper.to].into_iter().flatten() {
            let Some(station) = context.station(Some(name)) else {
                continue;
            };
            let page = context.road.way.station(station);
            let waits = |usage| {
                !matches!(
                    usage,
                    TrackUse::Main | TrackUse::Crossover | TrackUse::Connection
                )
            };
            if !page.tracks.iter().any(|track| waits(track.usage)) && seen.insert(station) {
                let message = format!("a helper has no track to wait on at {}", name.value);
                out.push(
                    RULE.at(name.span, message)
                        .also(page.name.span, "the station")
                        .help("add an engine track, a spur or a siding there"),
                );
            }
        }
    }
}
