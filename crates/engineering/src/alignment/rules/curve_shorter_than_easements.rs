//! A curve is shorter than its easements.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{alignment::solve::FaultKind, check::Check};

/// A curve is shorter than its easements.
pub static RULE: Rule = Rule {
    code: "curve-shorter-than-easements",
    severity: Severity::Error,
    title: "A curve is shorter than its easements.",
    explain: "The easements alone would turn farther than the curve is to turn, or are \
        longer than it is to be. They are taken shorter, so that there is something to \
        see. Make the curve longer or wider, or give it shorter easements.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "4 ft" }, { left = "30 in", angle = 20, easement = "18 in" }, { tangent = "8 ft" }]
"#,
    rendered: r#"
error[curve-shorter-than-easements]: the curve is 7 1/2" too short for its easements
 --> alignments/house.toml:4:37
  |
4 | elements = [{ tangent = "4 ft" }, { left = "30 in", angle = 20, easement = "18 in" }, { tangent = "8 ft" }]
  |                                     ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  |
  = help: shorten the easements, or turn farther
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for fault in &located.solved.faults {
        let (Some(element), FaultKind::Easements(short)) = (fault.element, fault.kind) else { continue };
        let span = located.described[fault.line].elements[element].span;
        let message = format!(
            "the curve is {} too short for its easements",
            check.fine(Actual::from_meters(short))
        );
        check.out.push(RULE.at(span, message).help("shorten the easements, or turn farther"));
    }
    for fault in &located.solved.faults {
        let (Some(element), FaultKind::Negative) = (fault.element, fault.kind) else { continue };
        let span = located.described[fault.line].elements[element].span;
        check.out.push(RULE.at(span, "to close, this would have to be less than nothing"));
    }
}
