//! An engine does not stand where its first train begins.

use std::collections::HashMap;

use model::{Diagnostics, Rule, Severity};
use transportation::Train;

use super::context::Context;

/// An engine does not stand where its first train begins.
pub static RULE: Rule = Rule {
    code: "engine-begins-elsewhere",
    severity: Severity::Warning,
    title: "An engine does not stand where its first train begins.",
    explain: "`at` in the engine record is where it stands before the session; its first train of the \
              day leaves from another station.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,at
12,steam,2-8-0,9 in,Birch / siding
"#,
    rendered: r#"
warning[engine-begins-elsewhere]: engine 12 stands at Birch, but its first train, 1, leaves from Alder
 --> engines.csv:2:21
  |
2 | 12,steam,2-8-0,9 in,Birch / siding
  |                     ^^^^^^^^^^^^^^
  |
 ::: trains.toml:5:9
  |
5 | from = "Alder"
  |         ----- the train begins
"#,
    file: file!(),
};

/// The earliest train of each engine.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let roster = &context.road.roster;
    let mut first: HashMap<&str, &Train> = HashMap::new();
    for train in &context.road.service.trains {
        let Some(leave) = train.leave else { continue };
        for engine in &train.engines {
            let known = first.entry(engine.value.as_str()).or_insert(train);
            if known.leave.is_some_and(|other| leave.value < other.value) {
                *known = train;
            }
        }
    }
    for engine in &roster.engines {
        let (Some(at), Some(train)) = (&engine.at, first.get(engine.number.value.as_str())) else {
            continue;
        };
        let Some(track) = context.road.way.find_track(&at.value) else {
            continue;
        };
        let Some(from) = &train.from else { continue };
        let stands = &context.road.way.station(track.station).name.value;
        if *stands != from.value {
            let message = format!(
                "engine {} stands at {stands}, but its first train, {}, leaves from {}",
                engine.number.value, train.symbol.value, from.value
            );
            out.push(
                RULE.at(at.span, message)
                    .also(from.span, "the train begins"),
            );
        }
    }
}
