//! A train is worked by two jobs.

use std::collections::{HashMap, hash_map::Entry};

use model::{Diagnostics, Rule, Severity, Span};

use crate::{Service, job::Job};

/// A train is worked by two jobs.
pub static RULE: Rule = Rule {
    code: "train-in-two-jobs",
    severity: Severity::Error,
    title: "A train is worked by two jobs.",
    explain: "One crew works a train. Take it off one of the jobs.",
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

[jobs."Second Local"]
trains = ["2"]
"#,
    rendered: r#"
error[train-in-two-jobs]: train 2 is worked by `First Local` and by `Second Local`
 --> jobs.toml:5:12
  |
2 | trains = ["1", "2"]
  |                 - first here
...
5 | trains = ["2"]
  |            ^
  |
  = help: name it in one job only
"#,
    file: file!(),
};

/// What jobs list, and what trains say themselves.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    let mut first: HashMap<&str, (&Job, Span)> = HashMap::new();
    for job in &service.jobs {
        for train in &job.trains {
            match first.entry(&train.value) {
                Entry::Vacant(free) => {
                    free.insert((job, train.span));
                }
                Entry::Occupied(taken) => {
                    let (other, span) = taken.get();
                    let message = if other.name.value == job.name.value {
                        format!("job `{}` works train {} twice", job.name.value, train.value)
                    } else {
                        format!(
                            "train {} is worked by `{}` and by `{}`",
                            train.value, other.name.value, job.name.value
                        )
                    };
                    out.push(
                        RULE.at(train.span, message)
                            .also(*span, "first here")
                            .help("name it in one job only"),
                    );
                }
            }
        }
    }
    for train in &service.trains {
        let (Some(said), Some((job, span))) = (&train.job, first.get(train.symbol.value.as_str()))
        else {
            continue;
        };
        if said.value != job.name.value {
            let message = format!(
                "train {} says that `{}` works it, but `{}` lists it",
                train.symbol.value, said.value, job.name.value
            );
            out.push(
                RULE.at(said.span, message)
                    .also(*span, "listed here")
                    .help("name it in one job only"),
            );
        }
    }
}
