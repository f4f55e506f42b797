//! A connection cannot be made.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{alignment::solve::FaultKind, check::Check};

/// A connection cannot be made.
pub static RULE: Rule = Rule {
    code: "no-connection",
    severity: Severity::Error,
    title: "A connection cannot be made.",
    explain: "No curve between two tangents, and no two curves with a tangent between, lead \
        from the one end to the other with this radius, these easements and, between \
        reverse curves, so much tangent. The largest radius that would do is said.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ connect = "30 in", easement = "6 in" }]
end = { at = ["4 ft", "3 ft"], bearing = 90 }
"#,
    rendered: r#"
error[no-connection]: no way leads there with this radius
 --> alignments/house.toml:4:15
  |
4 | elements = [{ connect = "30 in", easement = "6 in" }]
  |               ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  |
  = help: a radius of 1'-6 1/4" would do
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for fault in &located.solved.faults {
        let Some(element) = fault.element else { continue };
        let span = located.described[fault.line].elements[element].span;
        let found = match fault.kind {
            FaultKind::Connect(Some(radius)) => RULE.at(span, "no way leads there with this radius").help(format!(
                "a radius of {} would do",
                check.fine(Actual::from_meters(radius))
            )),
            FaultKind::Connect(None) => RULE
                .at(span, "no way leads there with this radius, nor with a smaller one")
                .help("move one of the two ends, or shorten the easements"),
            FaultKind::Between(tangent) => RULE
                .at(
                    span,
                    format!("only {} of tangent is left between its reverse curves", check.fine(Actual::from_meters(tangent))),
                )
                .help("take a smaller radius, or set the two ends farther apart"),
            FaultKind::NoEnd => RULE
                .at(span, "there is nothing to connect to")
                .help("give the center line an `end`, or the connection a point `to` and a `bearing`"),
            _ => continue,
        };
        check.out.push(found);
    }
}
