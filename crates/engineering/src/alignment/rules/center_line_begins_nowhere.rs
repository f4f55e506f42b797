//! A center line begins nowhere.

use model::{Rule, Severity};

use crate::{alignment::Unclear, check::Check};

/// A center line begins nowhere.
pub static RULE: Rule = Rule {
    code: "center-line-begins-nowhere",
    severity: Severity::Error,
    title: "A center line begins nowhere.",
    explain: "Without a `begin`, a center line begins where its track does: at a switch, \
        joint or station end on a center line that is there. The first of those that \
        hang together needs a point and a bearing.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
elements = [{ tangent = "14 ft" }]
"#,
    rendered: r#"
error[center-line-begins-nowhere]: `Alder / main` begins at nothing that has its place
 --> alignments/house.toml:2:10
  |
2 | track = "Alder / main"
  |          ^^^^^^^^^^^^
  |
  = help: add `begin = { at = ["4 ft", "2 ft"], bearing = 90 }` with its point and bearing
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for unclear in &located.unclear {
        let Unclear::NoBeginning(line) = unclear else { continue };
        let line = &located.described[*line];
        let message = format!("`{}` begins at nothing that has its place", line.name.value);
        check.out.push(
            RULE.at(line.name.span, message)
                .help("add `begin = { at = [\"4 ft\", \"2 ft\"], bearing = 90 }` with its point and bearing"),
        );
    }
}
