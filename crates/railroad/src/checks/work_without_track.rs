//! A train sets out or picks up where there is no track for cars.

use model::{Diagnostics, Rule, Severity};
use transportation::StopWork;

use super::context::Context;

/// A train sets out or picks up where there is no track for cars.
pub static RULE: Rule = Rule {
    code: "work-without-track",
    severity: Severity::Warning,
    title: "A train sets out or picks up where there is no track for cars.",
    explain: "The station has no spur, siding or other track on which cars are left.",
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

[[trains.1.stops]]
station = "Birch"
work = ["pick up", "set out"]
"#,
    rendered: r#"
warning[work-without-track]: train 1 works at Birch, which has no track for cars
  --> trains.toml:12:10
   |
12 | work = ["pick up", "set out"]
   |          ^^^^^^^
   |
  ::: stations/birch.toml:1:9
   |
 1 | name = "Birch"
   |         ----- the station
   |
   = help: add a spur or siding there, or work elsewhere
"#,
    file: file!(),
};

/// Work with cars against the uses of the tracks.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for train in &context.road.service.trains {
        for stop in &train.stops {
            let Some(station) = context.station(stop.station.as_ref()) else {
                continue;
            };
            let page = context.road.way.station(station);
            let work = stop.work.iter().find(|work| {
                matches!(
                    work.value,
                    StopWork::PickUp | StopWork::SetOut | StopWork::Switch
                )
            });
            let Some(work) = work else { continue };
            if !page.tracks.iter().any(|track| track.usage.holds_cars()) {
                let message = format!(
                    "train {} works at {}, which has no track for cars",
                    train.symbol.value, page.name.value
                );
                out.push(
                    RULE.at(work.span, message)
                        .also(page.name.span, "the station")
                        .help("add a spur or siding there, or work elsewhere"),
                );
            }
        }
    }
}
