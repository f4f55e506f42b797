//! An element of a center line is unclear.

use model::{Rule, Severity};

use model::{Diagnostic, Span};

use crate::check::Check;

/// An element of a center line is unclear.
pub static RULE: Rule = Rule {
    code: "element-unclear",
    severity: Severity::Error,
    title: "An element of a center line is unclear.",
    explain: "Each element is one thing: a `tangent`, a curve to the `left` or `right`, a \
        `connect`, a `parallel`, a `turnout` or a `crossing`. A curve also says how \
        far it goes, in one way: the `angle` between its tangents, its `length`, or \
        the `bearing` on which it ends.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [
  { tangent = "4 ft" },
  { left = "30 in" },
  { length = "3 ft" },
]
"#,
    rendered: r#"
error[element-unclear]: the curve does not say how far it goes
 --> alignments/house.toml:6:5
  |
6 |   { left = "30 in" },
  |     ^^^^^^^^^^^^^
  |
  = help: add `angle = 60`, `length = "4 ft"` or `bearing = 45`

error[element-unclear]: the element does not say what it is
 --> alignments/house.toml:7:5
  |
7 |   { length = "3 ft" },
  |     ^^^^^^^^^^^^^^
  |
  = help: write one of `tangent`, `left`, `right`, `connect`, `parallel`, `turnout` or `crossing`
"#,
    file: file!(),
};

/// Why.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Why {
    /// So many heads instead of one.
    Heads(usize),
    /// So many measures of a curve instead of one.
    Measure(usize),
    /// A target point without bearing, or the other way.
    Target,
}

pub(crate) fn diagnostic(span: Span, why: Why) -> Diagnostic {
    match why {
        Why::Heads(0) => RULE
            .at(span, "the element does not say what it is")
            .help("write one of `tangent`, `left`, `right`, `connect`, `parallel`, `turnout` or `crossing`"),
        Why::Heads(_) => RULE
            .at(span, "the element says to be several things at once")
            .help("make an element of each, in the order in which one comes to them"),
        Why::Measure(0) => RULE
            .at(span, "the curve does not say how far it goes")
            .help("add `angle = 60`, `length = \"4 ft\"` or `bearing = 45`"),
        Why::Measure(_) => RULE
            .at(span, "the curve says in several ways how far it goes")
            .help("leave one of `angle`, `length` and `bearing`"),
        Why::Target => RULE
            .at(span, "a connection to a point needs both `to` and `bearing`")
            .help("leave out both to connect to the end of the center line"),
    }
}

/// Found while pages are read.
pub(crate) fn check(_: &mut Check<'_>) {}
