//! Jobs at the same time need more people than there are.

use model::{
    Diagnostics, Rule, Severity,
    time::{RailTime, TimeStyle},
};

use crate::{Service, job::Job, train::Train};

/// Jobs at the same time need more people than there are.
pub static RULE: Rule = Rule {
    code: "too-few-people",
    severity: Severity::Warning,
    title: "Jobs at the same time need more people than there are.",
    explain: "A job lasts from going on duty, or from its first train's leaving, to its last train's \
              arriving; one in a yard or an office lasts all session. Combine jobs, or make them \
              follow each other.",
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
people = 2

[jobs.Desk]
roles = ["dispatcher"]
--- people.csv
name,qualified
Ada Holm,
Ben Ruiz,
"#,
    rendered: r#"
warning[too-few-people]: with job `First Local`, 3 people are on duty at 8:00 AM, and there are 2
 --> jobs.toml:1:8
  |
1 | [jobs."First Local"]
  |        ^^^^^^^^^^^
  |
  = help: let jobs follow each other, combine them, or invite more people
"#,
    file: file!(),
};

/// The most people on duty at one time against the people listed, if any are.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    if service.people.is_empty() {
        return;
    }
    let mut always = 0;
    let mut events: Vec<(RailTime, bool, i64, &Job)> = Vec::new();
    for job in &service.jobs {
        let trains: Vec<&Train> = job
            .trains
            .iter()
            .filter_map(|train| service.find_train(&train.value))
            .map(|id| service.train(id))
            .collect();
        let starts = trains
            .iter()
            .filter_map(|train| train.leave.map(|leave| leave.value));
        let ends = trains
            .iter()
            .filter_map(|train| train.hours().map(|hours| hours.1))
            .max();
        let begins = job
            .on_duty
            .map(|on_duty| on_duty.value)
            .into_iter()
            .chain(starts)
            .min();
        match (begins, ends) {
            (Some(begins), Some(ends)) if begins < ends => {
                events.push((begins, true, job.people.value, job));
                events.push((ends, false, job.people.value, job));
            }
            _ if job.stands() => always += job.people.value,
            _ => {}
        }
    }
    // Those who go off duty come before those who go on.
    events.sort_by_key(|&(time, on, _, job)| (time, on, job.name.span));
    let there_are = service.people.len() as i64;
    let (mut now, mut most) = (always, (always, None));
    for (time, on, people, job) in events {
        now += if on { people } else { -people };
        if now > most.0 {
            most = (now, Some((time, job)));
        }
    }
    if most.0 <= there_are {
        return;
    }
    let found = match most.1 {
        Some((time, job)) => RULE.at(
            job.name.span,
            format!(
                "with job `{}`, {} people are on duty at {}, and there are {there_are}",
                job.name.value,
                most.0,
                time.show(TimeStyle::AmPm)
            ),
        ),
        None => {
            let Some(job) = service.jobs.iter().find(|job| job.stands()) else {
                return;
            };
            let message = format!(
                "jobs that last all session need {always} people, and there are {there_are}"
            );
            RULE.at(job.name.span, message)
        }
    };
    out.push(found.help("let jobs follow each other, combine them, or invite more people"));
}
