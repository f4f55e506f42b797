//! Nobody is qualified for a role that a job needs.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// Nobody is qualified for a role that a job needs.
pub static RULE: Rule = Rule {
    code: "role-nobody-qualified",
    severity: Severity::Warning,
    title: "Nobody is qualified for a role that a job needs.",
    explain: "Somebody has to be qualified, or the job cannot be called. People whose `qualified` is \
              empty can take any role.",
    fixture: r#"
--- jobs.toml
[jobs.Desk]
roles = ["dispatcher"]
--- people.csv
name,qualified
Ada Holm,engineer; brakeman
"#,
    rendered: r#"
warning[role-nobody-qualified]: job `Desk` needs a person qualified as dispatcher, and nobody is
 --> jobs.toml:2:11
  |
2 | roles = ["dispatcher"]
  |           ^^^^^^^^^^
  |
  = help: add `dispatcher` to somebody's `qualified` in people.csv
"#,
    file: file!(),
};

/// Where people are listed at all.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    if service.people.is_empty() {
        return;
    }
    for job in &service.jobs {
        for role in &job.roles {
            if !service.people.iter().any(|person| person.can(role.value)) {
                let message = format!(
                    "job `{}` needs a person qualified as {}, and nobody is",
                    job.name.value, role.value
                );
                out.push(RULE.at(role.span, message).help(format!(
                    "add `{}` to somebody's `qualified` in people.csv",
                    role.value
                )));
            }
        }
    }
}
