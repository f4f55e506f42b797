//! The two ends or the two directions of a line have the same name.

use model::{Rule, Severity};

use crate::check::Check;

/// The two ends or the two directions of a line have the same name.
pub static RULE: Rule = Rule {
    code: "line-ends-alike",
    severity: Severity::Error,
    title: "The two ends or the two directions of a line have the same name.",
    explain: "By these words stations tell their ends apart, and the timetable its trains. Give \
        each its own.",
    fixture: r#"
--- lines/main.toml
name = "Main"
ends = ["W", "W"]

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
"#,
    rendered: r#"
error[line-ends-alike]: both ends of the line `Main` are called `W`
 --> lines/main.toml:1:9
  |
1 | name = "Main"
  |         ^^^^
  |
  = help: write `ends = [..., ...]` with a word for lower miles and one for higher
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for line in &check.way.lines {
        for (what, [low, high]) in [("ends", &line.ends), ("directions", &line.directions)] {
            if low != high {
                continue;
            }
            check.out.push(
                RULE.at(line.name.span, format!("both {what} of the line `{}` are called `{low}`", line.name.value))
                    .help(format!("write `{what} = [..., ...]` with a word for lower miles and one for higher")),
            );
        }
    }
}
