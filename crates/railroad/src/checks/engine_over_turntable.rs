//! An engine is longer than the turntable where its train ends.

use std::collections::HashSet;

use engineering::station::{Facility, TrackUse};
use mechanical::EngineKind;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// An engine is longer than the turntable where its train ends.
pub static RULE: Rule = Rule {
    code: "engine-over-turntable",
    severity: Severity::Warning,
    title: "An engine is longer than the turntable where its train ends.",
    explain: "A steam engine is turned at the end of its run. If the turntable is too short and there \
              is no wye, it has to run backward or be turned elsewhere.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "9 ft", use = "siding" }
engine = { from = "s3", to = "table", length = "3 ft", use = "engine" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }

[turntables]
table = { length = "8 in" }
"#,
    rendered: r#"
warning[engine-over-turntable]: engine 12 is 9", 1" longer than the turntable at Birch
  --> trains.toml:9:13
   |
 9 | engines = ["12"]
   |             ^^
   |
  ::: stations/birch.toml:17:21
   |
17 | table = { length = "8 in" }
   |                     ---- the turntable
   |
  ::: engines.csv:2:16
   |
 2 | 12,steam,2-8-0,9 in,1912
   |                ---- the engine
   |
   = help: turn it on a wye, or at another station
"#,
    file: file!(),
};

/// Steam engines at stations that have a turntable and nothing else to turn on. Once for each engine
/// and station.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let roster = &context.road.roster;
    let mut seen = HashSet::new();
    for train in &context.road.service.trains {
        let Some(station) = context.station(train.to.as_ref()) else {
            continue;
        };
        let page = context.road.way.station(station);
        let wye = page.facilities.contains(&Facility::Wye)
            || page.tracks.iter().any(|track| track.usage == TrackUse::Wye);
        let table = page
            .turntables
            .iter()
            .filter_map(|table| table.length)
            .reduce(|a, b| if b.value > a.value { b } else { a });
        let (Some(table), false) = (table, wye) else {
            continue;
        };
        for name in &train.engines {
            let Some(id) = roster.find_engine(&name.value) else {
                continue;
            };
            let engine = roster.engine(id);
            let steam = engine
                .kind
                .is_some_and(|kind| kind.value == EngineKind::Steam);
            let Some(length) = engine.length.filter(|_| steam) else {
                continue;
            };
            if length.value > table.value && seen.insert((id, station)) {
                let message = format!(
                    "engine {} is {}, {} longer than the turntable at {}",
                    name.value,
                    context.show(length.value),
                    context.show(length.value - table.value),
                    page.name.value
                );
                let found = RULE
                    .at(name.span, message)
                    .also(table.span, "the turntable");
                out.push(
                    found
                        .also(length.span, "the engine")
                        .help("turn it on a wye, or at another station"),
                );
            }
        }
    }
}
