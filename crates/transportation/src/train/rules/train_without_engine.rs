//! A train has no engine.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A train has no engine.
pub static RULE: Rule = Rule {
    code: "train-without-engine",
    severity: Severity::Note,
    title: "A train has no engine.",
    explain: "Running times, the length left for cars and tonnage all need to know the engine. Write \
              `engines = [...]`.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
"#,
    rendered: r#"
note[train-without-engine]: train 1 has no engine
 --> trains.toml:1:9
  |
1 | [trains.1]
  |         ^
  |
  = help: write `engines = ["..."]`
"#,
    file: file!(),
};

/// None written at all.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in service
        .trains
        .iter()
        .filter(|train| train.engines.is_empty())
    {
        out.push(
            RULE.at(
                train.symbol.span,
                format!("train {} has no engine", train.symbol.value),
            )
            .help("write `engines = [\"...\"]`"),
        );
    }
}
