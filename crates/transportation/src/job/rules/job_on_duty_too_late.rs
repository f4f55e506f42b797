//! A job goes on duty after its first train has left.

use model::{Diagnostics, Rule, Severity, time::TimeStyle};

use crate::Service;

/// A job goes on duty after its first train has left.
pub static RULE: Rule = Rule {
    code: "job-on-duty-too-late",
    severity: Severity::Warning,
    title: "A job goes on duty after its first train has left.",
    explain: "A crew is on duty before its train leaves, usually by half an hour or more.",
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
on_duty = "8:30 AM"
"#,
    rendered: r#"
warning[job-on-duty-too-late]: job `First Local` goes on duty after its train 1 has left at 8:00 AM
 --> jobs.toml:3:12
  |
3 | on_duty = "8:30 AM"
  |            ^^^^^^^
  |
 ::: trains.toml:6:10
  |
6 | leave = "8:00 AM"
  |          ------- the train leaves
  |
  = help: go on duty before the train leaves
"#,
    file: file!(),
};

/// On duty against the first train.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for job in &service.jobs {
        let (Some(on_duty), Some(first)) = (&job.on_duty, job.trains.first()) else {
            continue;
        };
        let Some(train) = service.find_train(&first.value).map(|id| service.train(id)) else {
            continue;
        };
        if let Some(leave) = train.leave
            && leave.value < on_duty.value
        {
            let message = format!(
                "job `{}` goes on duty after its train {} has left at {}",
                job.name.value,
                first.value,
                leave.value.show(TimeStyle::AmPm)
            );
            out.push(
                RULE.at(on_duty.span, message)
                    .also(leave.span, "the train leaves")
                    .help("go on duty before the train leaves"),
            );
        }
    }
}
