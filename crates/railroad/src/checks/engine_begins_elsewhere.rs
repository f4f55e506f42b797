//! An engine does not stand where its first train begins.

use std::collections::HashMap;

use model::{Diagnostics, Rule, Severity, Spanned, time::RailTime};
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
warning[engine-begins-elsewhere]: engine 12 stands at Birch, but is first wanted at Alder, by train 1
 --> engines.csv:2:21
  |
2 | 12,steam,2-8-0,9 in,Birch / siding
  |                     ^^^^^^^^^^^^^^
  |
 ::: trains.toml:5:9
  |
5 | from = "Alder"
  |         ----- wanted here
  |
  = help: write a track of Alder in `at`, or give the train another engine
"#,
    file: file!(),
};

/// The earliest use of each engine, on a train or as a helper.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let roster = &context.road.roster;
    let mut first: HashMap<&str, (RailTime, &Train, &Spanned<String>)> = HashMap::new();
    for train in &context.road.service.trains {
        let (Some(leave), Some(from)) = (train.leave, &train.from) else {
            continue;
        };
        let own = train
            .engines
            .iter()
            .map(|engine| (engine, leave.value, from));
        let helper = train.helper.as_ref().and_then(|helper| {
            let (engine, from) = (helper.engine.as_ref()?, helper.from.as_ref()?);
            // It couples on when the train is about to go.
            let time = train
                .time_at(&from.value)
                .map_or(leave.value, |(_, goes)| goes);
            Some((engine, time, from))
        });
        for (engine, time, from) in own.chain(helper) {
            let known = first
                .entry(engine.value.as_str())
                .or_insert((time, train, from));
            if time < known.0 {
                *known = (time, train, from);
            }
        }
    }
    for engine in &roster.engines {
        let Some(at) = &engine.at else { continue };
        let Some((_, train, from)) = first.get(engine.number.value.as_str()) else {
            continue;
        };
        let Some(track) = context.road.way.find_track(&at.value) else {
            continue;
        };
        let stands = &context.road.way.station(track.station).name.value;
        if *stands != from.value {
            let message = format!(
                "engine {} stands at {stands}, but is first wanted at {}, by train {}",
                engine.number.value, from.value, train.symbol.value
            );
            out.push(
                RULE.at(at.span, message)
                    .also(from.span, "wanted here")
                    .help(format!(
                        "write a track of {} in `at`, or give the train another engine",
                        from.value
                    )),
            );
        }
    }
}
