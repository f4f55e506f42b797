//! A job's trains overlap, or are not in order of time.

use model::{Diagnostics, Rule, Severity, time::TimeStyle};

use crate::Service;

/// A job's trains overlap, or are not in order of time.
pub static RULE: Rule = Rule {
    code: "job-trains-overlap",
    severity: Severity::Error,
    title: "A job's trains overlap, or are not in order of time.",
    explain: "One crew works one train after another. List them in order of time, and give a train \
              that overlaps to another job.",
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
trains = ["2", "1"]
"#,
    rendered: r#"
error[job-trains-overlap]: train 1 leaves at 8:00 AM, before train 2 arrives at 10:40 AM
 --> jobs.toml:2:17
  |
2 | trains = ["2", "1"]
  |            -    ^
  |            |
  |            the train before it
  |
  = help: list them in order of time, or give one to another job
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
            let (a, b) = (service.train(a), service.train(b));
            let (Some((_, arrive)), Some((leave, _))) = (a.hours(), b.hours()) else {
                continue;
            };
            if leave < arrive && a.shares_a_day_with(b) {
                let message = format!(
                    "train {} leaves at {}, before train {} arrives at {}",
                    second.value,
                    leave.show(TimeStyle::AmPm),
                    first.value,
                    arrive.show(TimeStyle::AmPm)
                );
                out.push(
                    RULE.at(second.span, message)
                        .also(first.span, "the train before it")
                        .help("list them in order of time, or give one to another job"),
                );
            }
        }
    }
}
