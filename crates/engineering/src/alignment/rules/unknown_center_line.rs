//! A name is no center line's.

use model::{Rule, Severity};

use crate::{alignment::Unclear, check::Check};

/// A name is no center line's.
pub static RULE: Rule = Rule {
    code: "unknown-center-line",
    severity: Severity::Error,
    title: "A name is no center line's.",
    explain: "Center lines refer to one another by name: the `name` that is written, else \
        that of the track, `Station / track`, or of the open line, `From - To`.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "14 ft" }]

[[center_lines]]
name = "future"
begin = { after = "Alder / man" }
elements = [{ tangent = "4 ft" }]
"#,
    rendered: r#"
error[unknown-center-line]: there is no center line `Alder / man`
 --> alignments/house.toml:8:20
  |
8 | begin = { after = "Alder / man" }
  |                    ^^^^^^^^^^^
  |
  = help: did you mean `Alder / main`?
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for unclear in &located.unclear {
        let Unclear::NoSuch(name) = unclear else { continue };
        let names = located.described.iter().map(|line| line.name.value.as_str());
        let message = format!("there is no center line `{}`", name.value);
        check.out.push(RULE.at(name.span, message).did_you_mean(&name.value, names));
    }
}
