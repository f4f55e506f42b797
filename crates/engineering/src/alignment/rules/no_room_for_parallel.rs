//! There is no room to run parallel.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{alignment::solve::FaultKind, check::Check};

/// There is no room to run parallel.
pub static RULE: Rule = Rule {
    code: "no-room-for-parallel",
    severity: Severity::Error,
    title: "There is no room to run parallel.",
    explain: "Between the turnout and the parallel lie the way out to the distance of the \
        parallel and a curve back; at its other end the same. If the whole is too \
        short, or the radius of that curve too large for the distance, it cannot be \
        laid.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "1 ft" }, { turnout = "s1" }, { tangent = "18 in" }, { turnout = "s2" }, { tangent = "2 ft" }]

[[center_lines]]
track = "Alder / siding"
elements = [{ parallel = "Alder / main" }]
"#,
    rendered: r#"
error[no-room-for-parallel]: there is no room to become parallel: about 1'-7" is wanting
 --> alignments/house.toml:8:15
  |
8 | elements = [{ parallel = "Alder / main" }]
  |               ^^^^^^^^^^^^^^^^^^^^^^^^
  |
  = help: give it a smaller `radius`, wider `centers`, or more length
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for fault in &located.solved.faults {
        let Some(element) = fault.element else { continue };
        let span = located.described[fault.line].elements[element].span;
        let found = match fault.kind {
            FaultKind::Parallel(short) => RULE
                .at(
                    span,
                    format!("there is no room to become parallel: about {} is wanting", check.fine(Actual::from_meters(short))),
                )
                .help("give it a smaller `radius`, wider `centers`, or more length"),
            FaultKind::TooFarInside => RULE
                .at(span, "the parallel would lie at the center of a curve of the other, or beyond")
                .help("run on the other side, or nearer"),
            _ => continue,
        };
        check.out.push(found);
    }
}
