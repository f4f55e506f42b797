//! The superior direction is not one of the two directions of the line.

use model::{Rule, Severity};

use crate::check::Check;

/// The superior direction is not one of the two directions of the line.
pub static RULE: Rule = Rule {
    code: "unknown-superior-direction",
    severity: Severity::Error,
    title: "The superior direction is not one of the two directions of the line.",
    explain: "Write one of the two words under `directions`; those are `west` and `east` where \
        nothing is written.",
    fixture: r#"
--- lines/main.toml
name = "Main"
directions = ["north", "south"]
superior = "east"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
"#,
    rendered: r#"
error[unknown-superior-direction]: `east` is no direction of the line `Main`
 --> lines/main.toml:3:13
  |
3 | superior = "east"
  |             ^^^^
  |
  = help: write `north` or `south`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for line in &check.way.lines {
        let Some(superior) = &line.superior else { continue };
        if line.directions.contains(&superior.value) {
            continue;
        }
        let [low, high] = &line.directions;
        check.out.push(
            RULE.at(superior.span, format!("`{}` is no direction of the line `{}`", superior.value, line.name.value))
                .help(format!("write `{low}` or `{high}`")),
        );
    }
}
