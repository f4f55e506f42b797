//! Two districts of open line join the same station end.

use model::{Rule, Severity};

use crate::check::Check;

/// Two districts of open line join the same station end.
pub static RULE: Rule = Rule {
    code: "end-joined-twice",
    severity: Severity::Error,
    title: "Two districts of open line join the same station end.",
    explain: "One track leaves by each end of a station. A branch leaves a junction by an end of \
        its own: give the open line `from_end` or `to_end`, and let a track of the station lead \
        there.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]

[[open]]
from = "Alder"
to = "Cedar"
length = "12 ft"
elevation = ["40 in", "42 in"]
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "6 ft", use = "main" }
"#,
    rendered: r#"
error[end-joined-twice]: the end `E` of Alder is joined twice
  --> lines/main.toml:10:9
   |
 4 | from = "Alder"
   |         ----- by this one first
...
10 | from = "Alder"
   |         ^^^^^ here too
   |
   = help: write `from_end = ...` with the end by which this one leaves
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, station) in way.stations() {
        for end in &station.ends {
            let [first, others @ ..] = &end.joins[..] else { continue };
            for join in others {
                let place = |join: &crate::station::EndJoin| {
                    way.open(join.open).ends[usize::from(join.which)].end.span
                };
                let key = if join.which == 0 { "from_end" } else { "to_end" };
                check.out.push(
                    RULE.at(place(join), format!("the end `{}` of {} is joined twice", end.name, station.name.value))
                        .label("here too")
                        .also(place(first), "by this one first")
                        .help(format!("write `{key} = ...` with the end by which this one leaves")),
                );
            }
        }
    }
}
