//! A beginning or end of a center line is unclear.

use model::{Rule, Severity};

use model::{Diagnostic, Span};

use crate::check::Check;

/// A beginning or end of a center line is unclear.
pub static RULE: Rule = Rule {
    code: "terminal-unclear",
    severity: Severity::Error,
    title: "A beginning or end of a center line is unclear.",
    explain: "A center line begins at a point with a bearing (`at` and `bearing`), where \
        another ends (`after`), where another begins, the other way (`back_from`), or \
        at a `turnout` `on` another. It ends likewise at a point, `before` another, at \
        a `turnout`, or, with `closed = true`, where it began.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"] }
elements = [{ tangent = "14 ft" }]
"#,
    rendered: r#"
error[terminal-unclear]: the beginning is not told in one way, and wholly
 --> alignments/house.toml:3:11
  |
3 | begin = { at = ["1 ft", "2 ft"] }
  |           ^^^^^^^^^^^^^^^^^^^^^
  |
  = help: write `at` with `bearing`, `after`, `back_from`, or `turnout` with `on`
"#,
    file: file!(),
};

pub(crate) fn diagnostic(span: Span, begin: bool) -> Diagnostic {
    let (what, ways) = if begin {
        ("beginning", "`at` with `bearing`, `after`, `back_from`, or `turnout` with `on`")
    } else {
        ("end", "`at` with `bearing`, `before`, `turnout` with `on`, or `closed = true`")
    };
    RULE.at(span, format!("the {what} is not told in one way, and wholly"))
        .help(format!("write {ways}"))
}

/// Found while pages are read.
pub(crate) fn check(_: &mut Check<'_>) {}
