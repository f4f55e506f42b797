//! A train's helper is one of its own engines.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A train's helper is one of its own engines.
pub static RULE: Rule = Rule {
    code: "helper-is-own-engine",
    severity: Severity::Error,
    title: "A train's helper is one of its own engines.",
    explain: "The engine that helps is coupled on for part of the way; it cannot also be what the \
              train has all the way.",
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
helper = { engine = "12", from = "Alder", to = "Birch" }
"#,
    rendered: r#"
error[helper-is-own-engine]: engine 12 is train 1's own
 --> trains.toml:9:22
  |
8 | engines = ["12"]
  |             -- its engines
9 | helper = { engine = "12", from = "Alder", to = "Birch" }
  |                      ^^
  |
  = help: name another engine, or take this one off the train's `engines`
"#,
    file: file!(),
};

/// By number.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in &service.trains {
        let Some(helper) = train
            .helper
            .as_ref()
            .and_then(|helper| helper.engine.as_ref())
        else {
            continue;
        };
        if let Some(own) = train
            .engines
            .iter()
            .find(|engine| engine.value == helper.value)
        {
            let message = format!(
                "engine {} is train {}'s own",
                helper.value, train.symbol.value
            );
            out.push(
                RULE.at(helper.span, message)
                    .also(own.span, "its engines")
                    .help("name another engine, or take this one off the train's `engines`"),
            );
        }
    }
}
