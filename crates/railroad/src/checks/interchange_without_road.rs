//! There is an interchange track, but no other road.

use engineering::station::TrackUse;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;
use crate::identity::RoadKind;

/// There is an interchange track, but no other road.
pub static RULE: Rule = Rule {
    code: "interchange-without-road",
    severity: Severity::Note,
    title: "There is an interchange track, but no other road.",
    explain: "Cars are handed to another railroad there. Name it under `[roads.MARKS]` in \
              railroad.toml.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
transfer = { from = "s1", to = "s2", length = "9 ft", use = "interchange" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
"#,
    rendered: r#"
note[interchange-without-road]: `transfer` at Birch is an interchange, and no other road is named
 --> stations/birch.toml:8:1
  |
8 | transfer = { from = "s1", to = "s2", length = "9 ft", use = "interchange" }
  | ^^^^^^^^
  |
  = help: write `[roads.MARKS]` with its `name` in railroad.toml
"#,
    file: file!(),
};

/// The first such track.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let other = |kind| matches!(kind, RoadKind::Foreign | RoadKind::Joint);
    if context
        .road
        .identity
        .roads
        .iter()
        .any(|road| other(road.kind))
    {
        return;
    }
    for page in &context.road.way.stations {
        if let Some(track) = page
            .tracks
            .iter()
            .find(|track| track.usage == TrackUse::Interchange)
        {
            let message = format!(
                "`{}` at {} is an interchange, and no other road is named",
                track.name.value, page.name.value
            );
            let found = RULE.at(track.name.span, message);
            out.push(found.help("write `[roads.MARKS]` with its `name` in railroad.toml"));
            return;
        }
    }
}
