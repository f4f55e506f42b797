//! Reverse curves follow one another too closely.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{
    alignment::{StepWhat, plan::Element},
    check::Check,
    curve::{Piece, PieceKind},
};

/// Reverse curves follow one another too closely.
pub static RULE: Rule = Rule {
    code: "reverse-curves-too-close",
    severity: Severity::Warning,
    title: "Reverse curves follow one another too closely.",
    explain: "Between a curve and one to the other hand a car stands with one truck on each, \
        and its coupler is pulled to one side. A tangent of a car's length between \
        them keeps that small; of easements, half counts, since they curve less than \
        half as much there. The limit is `reverse_tangent` under `[limits]`; if that \
        is left out, 50 ft full size (common practice, no source).",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [
  { tangent = "1 ft" },
  { left = "36 in", angle = 40 },
  { tangent = "2 in" },
  { right = "36 in", angle = 40 },
  { tangent = "8 ft" },
]
"#,
    rendered: r#"
warning[reverse-curves-too-close]: only 2" of tangent lies between these reverse curves of `Alder / main`; 7" is the limit
 --> alignments/house.toml:8:5
  |
6 |   { left = "36 in", angle = 40 },
  |     -------------------------- the one before
7 |   { tangent = "2 in" },
8 |   { right = "36 in", angle = 40 },
  |     ^^^^^^^^^^^^^^^^^^^^^^^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    let limit = check.limits.plan.between_reverse;
    for (line, path) in located.laid() {
        let placed: Vec<(f64, &Piece)> = path.placed().collect();
        // Where the last arc ended and which way it turned.
        let mut last: Option<(f64, f64)> = None;
        for (at, (start, piece)) in placed.iter().enumerate() {
            if piece.kind() != PieceKind::Arc {
                continue;
            }
            let k = piece.curvature[0];
            let element = located.element_at(line, start + 0.5 * piece.length);
            let free = element.is_some_and(|element| {
                let what = &located.described[line].elements[element].what;
                matches!(what, StepWhat::Plain(Element::Curve { .. }) | StepWhat::Connect(..))
            });
            // Turnouts and what leads out of them come as they are made.
            if !free {
                last = None;
                continue;
            }
            if let Some((end, turned)) = last
                && turned * k < 0.0
            {
                let between = placed[..at].iter().filter(|(s, _)| *s >= end - 1e-9);
                let tangent: f64 = between
                    .map(|(_, piece)| match piece.kind() {
                        PieceKind::Spiral => 0.5 * piece.length,
                        _ => piece.length,
                    })
                    .sum();
                let tangent = Actual::from_meters(tangent);
                if tangent < limit - Actual::from_mm(0.1) {
                    let message = format!(
                        "only {} of tangent lies between these reverse curves of `{}`; {} is the limit",
                        check.show(tangent),
                        located.described[line].name.value,
                        check.show(limit)
                    );
                    check.out.push(
                        RULE.at(located.span_at(line, start + 0.5 * piece.length), message)
                            .also(located.span_at(line, end - 1e-6), "the one before"),
                    );
                }
            }
            last = Some((start + piece.length, k));
        }
    }
}
