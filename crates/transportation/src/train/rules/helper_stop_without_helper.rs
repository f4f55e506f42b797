//! A train takes a helper on or off, but has none.

use model::{Diagnostics, Rule, Severity};

use crate::{Service, train::StopWork};

/// A train takes a helper on or off, but has none.
pub static RULE: Rule = Rule {
    code: "helper-stop-without-helper",
    severity: Severity::Warning,
    title: "A train takes a helper on or off, but has none.",
    explain: "`helper on` and `helper off` are the work at a stop; which engine helps, from where to \
              where, stands in `helper`.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Cedar"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]

[[trains.1.stops]]
station = "Birch"
work = "helper on"
"#,
    rendered: r#"
warning[helper-stop-without-helper]: train 1 has no helper
  --> trains.toml:12:9
   |
12 | work = "helper on"
   |         ^^^^^^^^^
   |
   = help: write `helper = { engine = "...", from = "...", to = "..." }` in the train
"#,
    file: file!(),
};

/// Work at stops against the table.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in service.trains.iter().filter(|train| train.helper.is_none()) {
        for work in train.stops.iter().flat_map(|stop| &stop.work) {
            if matches!(work.value, StopWork::HelperOn | StopWork::HelperOff) {
                let message = format!("train {} has no helper", train.symbol.value);
                out.push(RULE.at(work.span, message).help(
                    "write `helper = { engine = \"...\", from = \"...\", to = \"...\" }` in the train",
                ));
            }
        }
    }
}
