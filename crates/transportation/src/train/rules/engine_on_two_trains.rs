//! An engine is on two trains at the same time.

use std::collections::HashMap;

use model::{
    Diagnostics, Rule, Severity, Spanned,
    time::{RailTime, TimeStyle},
};

use crate::{
    Service,
    train::{Helper, Train},
};

/// An engine is on two trains at the same time.
pub static RULE: Rule = Rule {
    code: "engine-on-two-trains",
    severity: Severity::Error,
    title: "An engine is on two trains at the same time.",
    explain: "Each engine can pull one train at a time. Give one of them another engine, or other \
              times or days.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]

[trains.2]
class = 2
direction = "west"
from = "Birch"
to = "Alder"
leave = "8:30 AM"
arrive = "9:10 AM"
engines = ["12"]
"#,
    rendered: r#"
error[engine-on-two-trains]: engine 12 is on train 1 until 8:40 AM and on train 2 from 8:30 AM
  --> trains.toml:17:13
   |
 8 | engines = ["12"]
   |             -- the other train
...
17 | engines = ["12"]
   |             ^^
   |
   = help: give one of them another engine, or other times or days
"#,
    file: file!(),
};

/// Trains in order of leaving: only neighbors on one engine's list need comparing, as long as each
/// is compared with the last to arrive before it.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    let mut uses: HashMap<&str, Vec<Use<'_>>> = HashMap::new();
    for train in &service.trains {
        let Some((leave, arrive)) = train.hours() else {
            continue;
        };
        for engine in &train.engines {
            uses.entry(&engine.value).or_default().push(Use {
                leave,
                arrive,
                train,
                engine,
            });
        }
        // A helper is with the train between two stations, if the train is timed there.
        let Some(Helper {
            engine: Some(engine),
            from: Some(from),
            to: Some(to),
            ..
        }) = &train.helper
        else {
            continue;
        };
        // One that is the train's own engine as well is another rule's.
        if train.engines.iter().any(|own| own.value == engine.value) {
            continue;
        }
        if let (Some((_, leave)), Some((arrive, _))) =
            (train.time_at(&from.value), train.time_at(&to.value))
        {
            uses.entry(&engine.value).or_default().push(Use {
                leave,
                arrive,
                train,
                engine,
            });
        }
    }
    for uses in uses.values_mut() {
        uses.sort_by_key(|one| (one.leave, one.arrive, one.train.symbol.span));
        for (at, late) in uses.iter().enumerate() {
            let clash = uses[..at].iter().rev().take(NEIGHBORS).find(|early| {
                early.arrive > late.leave && late.train.shares_a_day_with(early.train)
            });
            if let Some(early) = clash {
                let message = format!(
                    "engine {} is on train {} until {} and on train {} from {}",
                    late.engine.value,
                    early.train.symbol.value,
                    early.arrive.show(TimeStyle::AmPm),
                    late.train.symbol.value,
                    late.leave.show(TimeStyle::AmPm)
                );
                let found = RULE.at(late.engine.span, message);
                out.push(
                    found
                        .also(early.engine.span, "the other train")
                        .help("give one of them another engine, or other times or days"),
                );
            }
        }
    }
}

/// An engine on a train.
struct Use<'a> {
    leave: RailTime,
    arrive: RailTime,
    train: &'a Train,
    engine: &'a Spanned<String>,
}

/// How many earlier trains of an engine are looked at: enough for trains on different days to lie
/// between.
const NEIGHBORS: usize = 16;
