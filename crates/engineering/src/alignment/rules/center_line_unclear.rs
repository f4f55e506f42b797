//! A center line does not say what it is that of.

use model::{Rule, Severity};

use model::{Diagnostic, Span};

use crate::check::Check;

/// A center line does not say what it is that of.
pub static RULE: Rule = Rule {
    code: "center-line-unclear",
    severity: Severity::Error,
    title: "A center line does not say what it is that of.",
    explain: "A center line is that of a station's `track`, of the open line of a `line` \
        `between` two stations, or has a `name` of its own.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
line = "Main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "14 ft" }]
"#,
    rendered: r#"
error[center-line-unclear]: the center line does not say in one way what it is that of
 --> alignments/house.toml:2:1
  |
2 | / line = "Main"
3 | | begin = { at = ["1 ft", "2 ft"], bearing = 90 }
4 | | elements = [{ tangent = "14 ft" }]
  | |__________________________________^
  |
  = help: write `track`, or `line` with `between`, or neither and a `name`

error[center-line-unclear]: the center line has neither a track nor a name
 --> alignments/house.toml:2:1
  |
2 | / line = "Main"
3 | | begin = { at = ["1 ft", "2 ft"], bearing = 90 }
4 | | elements = [{ tangent = "14 ft" }]
  | |__________________________________^
  |
  = help: add `track = "Station / track"`, or a `name`
"#,
    file: file!(),
};

pub(crate) fn what(span: Span) -> Diagnostic {
    RULE.at(span, "the center line does not say in one way what it is that of")
        .help("write `track`, or `line` with `between`, or neither and a `name`")
}

pub(crate) fn nameless(span: Span) -> Diagnostic {
    RULE.at(span, "the center line has neither a track nor a name")
        .help("add `track = \"Station / track\"`, or a `name`")
}

pub(crate) fn no_open(span: Span, from: &str, to: &str, line: &str) -> Diagnostic {
    RULE.at(span, format!("{line} has no open line from {from} to {to}"))
        .help("name two neighbors on the line, the one at the lower miles first")
}

/// Found while pages are read.
pub(crate) fn check(_: &mut Check<'_>) {}
