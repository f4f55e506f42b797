//! A train has no job, though other trains have.

use std::collections::HashSet;

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A train has no job, though other trains have.
pub static RULE: Rule = Rule {
    code: "train-without-job",
    severity: Severity::Note,
    title: "A train has no job, though other trains have.",
    explain: "Somebody has to run it. Add it to a job's `trains`, or name its `job`.",
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
leave = "10:00 AM"
arrive = "10:40 AM"
engines = ["12"]

--- jobs.toml
[jobs."First Local"]
trains = ["1"]
"#,
    rendered: r#"
note[train-without-job]: no job works train 2
  --> trains.toml:10:9
   |
10 | [trains.2]
   |         ^
   |
   = help: add it to a job's `trains` in jobs.toml
"#,
    file: file!(),
};

/// Where there are jobs with trains at all.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    let worked: HashSet<&str> = service
        .jobs
        .iter()
        .flat_map(|job| job.trains.iter().map(|train| train.value.as_str()))
        .collect();
    if worked.is_empty() {
        return;
    }
    for train in service.trains.iter().filter(|train| train.job.is_none()) {
        let symbol = train.symbol.value.as_str();
        if !worked.contains(symbol) {
            out.push(
                RULE.at(train.symbol.span, format!("no job works train {symbol}"))
                    .help("add it to a job's `trains` in jobs.toml"),
            );
        }
    }
}
