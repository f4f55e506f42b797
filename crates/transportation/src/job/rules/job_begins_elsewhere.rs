//! A job goes on duty where its first train does not begin.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A job goes on duty where its first train does not begin.
pub static RULE: Rule = Rule {
    code: "job-begins-elsewhere",
    severity: Severity::Warning,
    title: "A job goes on duty where its first train does not begin.",
    explain: "The crew reports at one station and its train leaves from another.",
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
trains = ["1", "2"]
at = "Birch"
"#,
    rendered: r#"
warning[job-begins-elsewhere]: job `First Local` goes on duty at Birch, but its train 1 leaves from Alder
 --> jobs.toml:3:7
  |
3 | at = "Birch"
  |       ^^^^^
  |
 ::: trains.toml:4:9
  |
4 | from = "Alder"
  |         ----- the train begins
  |
  = help: write `at = "Alder"`
"#,
    file: file!(),
};

/// Place of going on duty against the first train.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for job in &service.jobs {
        let (Some(at), Some(first)) = (&job.at, job.trains.first()) else {
            continue;
        };
        let Some(train) = service.find_train(&first.value).map(|id| service.train(id)) else {
            continue;
        };
        if let Some(from) = &train.from
            && from.value != at.value
        {
            let message = format!(
                "job `{}` goes on duty at {}, but its train {} leaves from {}",
                job.name.value, at.value, first.value, from.value
            );
            out.push(
                RULE.at(at.span, message)
                    .also(from.span, "the train begins")
                    .help(format!("write `at = \"{}\"`", from.value)),
            );
        }
    }
}
