//! A train ends where it begins.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A train ends where it begins.
pub static RULE: Rule = Rule {
    code: "train-to-its-start",
    severity: Severity::Warning,
    title: "A train ends where it begins.",
    explain: "A train has one direction. One that goes out and comes back is two trains, so that each \
              half has its direction, its number and its times; one job works both.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Alder"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
"#,
    rendered: r#"
warning[train-to-its-start]: train 1 goes from Alder to itself
 --> trains.toml:5:7
  |
4 | from = "Alder"
  |         ----- from
5 | to = "Alder"
  |       ^^^^^
  |
  = help: make it two trains, out and back, worked by one job
"#,
    file: file!(),
};

/// By the names of the ends.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in &service.trains {
        let (Some(from), Some(to)) = (&train.from, &train.to) else {
            continue;
        };
        if from.value == to.value {
            let message = format!(
                "train {} goes from {} to itself",
                train.symbol.value, from.value
            );
            out.push(
                RULE.at(to.span, message)
                    .also(from.span, "from")
                    .help("make it two trains, out and back, worked by one job"),
            );
        }
    }
}
