//! A job works no train.

use std::collections::HashSet;

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A job works no train.
pub static RULE: Rule = Rule {
    code: "job-without-trains",
    severity: Severity::Warning,
    title: "A job works no train.",
    explain: "A job of a train crew lists its trains. One in a yard or an office has none, but says so \
              with its roles: `dispatcher`, `yardmaster`, `operator` or `hostler`.",
    fixture: r#"
--- jobs.toml
[jobs."First Local"]
people = 2
roles = ["conductor", "engineer"]
"#,
    rendered: r#"
warning[job-without-trains]: job `First Local` works no train
 --> jobs.toml:1:8
  |
1 | [jobs."First Local"]
  |        ^^^^^^^^^^^
  |
  = help: write `trains = [...]`, or the role that needs none, as `roles = ["yardmaster"]`
"#,
    file: file!(),
};

/// Trains may name the job instead.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    let named: HashSet<&str> = service
        .trains
        .iter()
        .filter_map(|train| train.job.as_ref().map(|job| job.value.as_str()))
        .collect();
    for job in &service.jobs {
        if job.trains.is_empty() && !job.stands() && !named.contains(job.name.value.as_str()) {
            let found = RULE.at(
                job.name.span,
                format!("job `{}` works no train", job.name.value),
            );
            out.push(found.help(
                "write `trains = [...]`, or the role that needs none, as `roles = [\"yardmaster\"]`",
            ));
        }
    }
}
