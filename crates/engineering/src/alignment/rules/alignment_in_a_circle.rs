//! Center lines wait for one another.

use model::{Rule, Severity};

use crate::{alignment::solve::FaultKind, check::Check};

/// Center lines wait for one another.
pub static RULE: Rule = Rule {
    code: "alignment-in-a-circle",
    severity: Severity::Error,
    title: "Center lines wait for one another.",
    explain: "One begins, ends or runs beside another, which in turn depends on the first. \
        Give one of them a point and a bearing.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
name = "one"
begin = { after = "other" }
elements = [{ tangent = "1 ft" }]

[[center_lines]]
name = "other"
begin = { after = "one" }
elements = [{ tangent = "1 ft" }]
"#,
    rendered: r#"
error[alignment-in-a-circle]: `one` depends on itself by way of others
 --> alignments/house.toml:2:9
  |
2 | name = "one"
  |         ^^^

error[alignment-in-a-circle]: `other` depends on itself by way of others
 --> alignments/house.toml:7:9
  |
7 | name = "other"
  |         ^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for fault in &located.solved.faults {
        if fault.kind == FaultKind::Circle {
            let line = &located.described[fault.line];
            let message = format!("`{}` depends on itself by way of others", line.name.value);
            check.out.push(RULE.at(line.name.span, message));
        }
    }
}
