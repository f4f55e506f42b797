//! A job's next train leaves from where its crew is not.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A job's next train leaves from where its crew is not.
pub static RULE: Rule = Rule {
    code: "job-trains-apart",
    severity: Severity::Warning,
    title: "A job's next train leaves from where its crew is not.",
    explain: "The crew ends one train at one station and begins the next at another, with no train to \
              take it there. Put a train between, change the order, or give the second train to \
              another job.",
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
direction = "east"
from = "Alder"
to = "Birch"
leave = "10:00 AM"
arrive = "10:40 AM"
engines = ["12"]

--- jobs.toml
[jobs."First Local"]
trains = ["1", "2"]
"#,
    rendered: r#"
warning[job-trains-apart]: train 2 leaves from Alder, but train 1 ends at Birch
 --> jobs.toml:2:17
  |
2 | trains = ["1", "2"]
  |            -    ^
  |            |
  |            the train before it
  |
  = help: put a train between, or give the second one to another job
"#,
    file: file!(),
};

/// Each train against the one before it.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for job in &service.jobs {
        for pair in job.trains.windows(2) {
            let [first, second] = pair else { continue };
            let (Some(a), Some(b)) = (
                service.find_train(&first.value),
                service.find_train(&second.value),
            ) else {
                continue;
            };
            let (Some(to), Some(from)) = (&service.train(a).to, &service.train(b).from) else {
                continue;
            };
            if to.value != from.value {
                let message = format!(
                    "train {} leaves from {}, but train {} ends at {}",
                    second.value, from.value, first.value, to.value
                );
                out.push(
                    RULE.at(second.span, message)
                        .also(first.span, "the train before it")
                        .help("put a train between, or give the second one to another job"),
                );
            }
        }
    }
}
