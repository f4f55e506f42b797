//! A train has an engine that is not in service.

use mechanical::CarState;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A train has an engine that is not in service.
pub static RULE: Rule = Rule {
    code: "engine-out-of-service",
    severity: Severity::Warning,
    title: "A train has an engine that is not in service.",
    explain: "The engine record says that it is bad order, on the bench or off the railroad. Give the \
              train another one.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,state
12,steam,2-8-0,9 in,on the bench
14,steam,2-8-0,9 in,in service
"#,
    rendered: r#"
warning[engine-out-of-service]: engine 12 of train 1 is on the bench
 --> trains.toml:9:13
  |
9 | engines = ["12"]
  |             ^^
  |
 ::: engines.csv:2:1
  |
2 | 12,steam,2-8-0,9 in,on the bench
  | -- its record
  |
  = help: give the train another engine, or write `in service` in the record

warning[engine-out-of-service]: engine 12 of train 2 is on the bench
  --> trains.toml:20:13
   |
20 | engines = ["12"]
   |             ^^
   |
  ::: engines.csv:2:1
   |
 2 | 12,steam,2-8-0,9 in,on the bench
   | -- its record
   |
   = help: give the train another engine, or write `in service` in the record
"#,
    file: file!(),
};

/// Engines and helpers.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let roster = &context.road.roster;
    for train in &context.road.service.trains {
        let helper = train
            .helper
            .as_ref()
            .and_then(|helper| helper.engine.as_ref());
        for name in train.engines.iter().chain(helper) {
            let Some(engine) = roster.find_engine(&name.value).map(|id| roster.engine(id)) else {
                continue;
            };
            if engine.state != CarState::InService {
                let message = format!(
                    "engine {} of train {} is {}",
                    name.value, train.symbol.value, engine.state
                );
                out.push(
                    RULE.at(name.span, message)
                        .also(engine.number.span, "its record")
                        .help("give the train another engine, or write `in service` in the record"),
                );
            }
        }
    }
}
