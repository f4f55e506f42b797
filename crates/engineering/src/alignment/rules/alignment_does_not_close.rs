//! A center line does not meet its end.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{alignment::solve::FaultKind, check::Check};

/// A center line does not meet its end.
pub static RULE: Rule = Rule {
    code: "alignment-does-not-close",
    severity: Severity::Error,
    title: "A center line does not meet its end.",
    explain: "Where its elements lead and where it is to end are more than half a millimetre \
        or a twentieth of a degree apart. Mark with `adjust` what may be changed, a \
        tangent or how far a curve goes: three such things close it in every respect, \
        more share the change; or put a `connect` last.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "13 ft" }]

[[center_lines]]
name = "loop"
begin = { after = "Alder / main" }
elements = [{ right = "30 in", angle = 180 }, { tangent = "4 ft" }, { right = "29 in", angle = 180 }, { tangent = "4 ft" }]
end = { closed = true }
"#,
    rendered: r#"
error[alignment-does-not-close]: `loop` misses its end: 2.00 in (50.8 mm) to the right
  --> alignments/house.toml:7:9
   |
 7 | name = "loop"
   |         ^^^^
...
10 | end = { closed = true }
   |         ------------- its end
   |
   = help: mark elements that may be changed with `adjust = "length"`, or let a `connect` come last
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for fault in &located.solved.faults {
        let FaultKind::Open(misfit) = fault.kind else { continue };
        // Said already of what it was to be connected by.
        if located.solved.faults.iter().any(|other| other.line == fault.line && other.element.is_some()) {
            continue;
        }
        let line = &located.described[fault.line];
        let tell = |value: f64, one: &str, other: &str| {
            let side = if value > 0.0 { one } else { other };
            (value.abs() > 5e-5).then(|| format!("{} {side}", check.fine(Actual::from_meters(value.abs()))))
        };
        let mut parts: Vec<String> = [
            tell(misfit.short, "too short", "too long"),
            tell(misfit.left, "to the left", "to the right"),
        ]
        .into_iter()
        .flatten()
        .collect();
        if misfit.turned.abs() > 1e-4 {
            let side = if misfit.turned > 0.0 { "left" } else { "right" };
            parts.push(format!("turned {:.2}° to the {side}", misfit.turned.to_degrees().abs()));
        }
        let message = format!("`{}` misses its end: {}", line.name.value, parts.join(", "));
        let adjusted = located.solved.lines[fault.line]
            .as_ref()
            .and_then(|laid| laid.closure.as_ref())
            .is_some_and(|closure| !closure.adjusted.is_empty());
        let help = if adjusted {
            "what is marked `adjust` cannot take it up: mark more, or an element that lies across"
        } else {
            "mark elements that may be changed with `adjust = \"length\"`, or let a `connect` come last"
        };
        let mut found = RULE.at(line.name.span, message).help(help);
        if let Some(end) = &line.end {
            found = found.also(end.span, "its end");
        }
        check.out.push(found);
    }
}
