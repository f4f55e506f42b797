//! A train takes water, coal or ice where there is none.

use engineering::station::{Facility, TrackUse};
use model::{Diagnostics, Rule, Severity};
use transportation::StopWork;

use super::context::Context;

/// A train takes water, coal or ice where there is none.
pub static RULE: Rule = Rule {
    code: "facility-missing",
    severity: Severity::Warning,
    title: "A train takes water, coal or ice where there is none.",
    explain: "`facilities` of a station lists what stands there.",
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
to = "Cedar"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]

[[trains.1.stops]]
station = "Birch"
work = "water"
"#,
    rendered: r#"
warning[facility-missing]: train 1 takes water at Birch, which has none
  --> trains.toml:12:9
   |
12 | work = "water"
   |         ^^^^^
   |
  ::: stations/birch.toml:1:9
   |
 1 | name = "Birch"
   |         ----- the station
   |
   = help: write `facilities = ["water"]` there if it has
"#,
    file: file!(),
};

/// Work at stops against the station's list. Oil burners take oil where others take coal.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for train in &context.road.service.trains {
        for stop in &train.stops {
            let Some(station) = context.station(stop.station.as_ref()) else {
                continue;
            };
            let page = context.road.way.station(station);
            for work in &stop.work {
                let (needs, word): (&[Facility], _) = match work.value {
                    StopWork::Water => (&[Facility::Water], "water"),
                    StopWork::Coal => (&[Facility::Coal, Facility::Oil], "coal"),
                    StopWork::Ice => (&[Facility::Ice], "ice"),
                    _ => continue,
                };
                let ice_track = work.value == StopWork::Ice
                    && page.tracks.iter().any(|track| track.usage == TrackUse::Ice);
                if ice_track || needs.iter().any(|need| page.facilities.contains(need)) {
                    continue;
                }
                let message = format!(
                    "train {} takes {word} at {}, which has none",
                    train.symbol.value, page.name.value
                );
                let found = RULE
                    .at(work.span, message)
                    .also(page.name.span, "the station");
                out.push(found.help(format!("write `facilities = [\"{word}\"]` there if it has")));
            }
        }
    }
}
