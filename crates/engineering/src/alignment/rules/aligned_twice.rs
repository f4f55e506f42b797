//! A track has two center lines.

use model::{Rule, Severity};

use crate::{alignment::Unclear, check::Check};

/// A track has two center lines.
pub static RULE: Rule = Rule {
    code: "aligned-twice",
    severity: Severity::Error,
    title: "A track has two center lines.",
    explain: "The first one holds.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "14 ft" }]

[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "3 ft"], bearing = 90 }
elements = [{ tangent = "14 ft" }]
"#,
    rendered: r#"
error[aligned-twice]: `Alder / main` is laid out a second time
 --> alignments/house.toml:7:10
  |
2 | track = "Alder / main"
  |          ------------ first here
...
7 | track = "Alder / main"
  |          ^^^^^^^^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for unclear in &located.unclear {
        let Unclear::Twice(line, first) = unclear else { continue };
        let message = format!("`{}` is laid out a second time", located.described[*line].name.value);
        check.out.push(
            RULE.at(located.described[*line].of_span, message)
                .also(located.described[*first].of_span, "first here"),
        );
    }
}
