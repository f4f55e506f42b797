//! The railhead is lower or higher than people like.

use model::{Rule, Severity};

use model::units::Actual;

use crate::check::Check;

/// The railhead is lower or higher than people like.
pub static RULE: Rule = Rule {
    code: "railhead-out-of-comfort",
    severity: Severity::Note,
    title: "The railhead is lower or higher than people like.",
    explain: "Below `lowest` and above `highest` under `[limits]` (30 in and 62 in if left \
        out; common practice, no source) one kneels, or sees the cars from below and \
        works with the arms raised. Standing people like the railhead between elbow \
        and breast, people on chairs a foot lower. A step to stand on is a thing to \
        fall from: make it wide, and fix it.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "1 ft"], bearing = 90 }
elements = [{ tangent = "14 ft" }]
grades = [{ elevation = "60 in" }, { elevation = "63 in" }]
"#,
    rendered: r#"
note[railhead-out-of-comfort]: the railhead of `Alder / main` is 5'-3" above the floor at 14'-0" along it, 1" higher than most people like
 --> alignments/house.toml:2:10
  |
2 | track = "Alder / main"
  |          ^^^^^^^^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let [low, high] = check.limits.plan.railhead;
    let located = &check.way.located;
    for (line, _) in located.laid() {
        let points = located.heights.get(line).map_or(&[][..], |heights| heights.points());
        let lowest = points.iter().min_by(|a, b| a.elevation.total_cmp(&b.elevation));
        let highest = points.iter().max_by(|a, b| a.elevation.total_cmp(&b.elevation));
        for (point, limit, above) in [(lowest, low, false), (highest, high, true)] {
            let Some(point) = point else { continue };
            let height = Actual::from_meters(point.elevation);
            if (above && height <= limit) || (!above && height >= limit) {
                continue;
            }
            let message = format!(
                "the railhead of `{}` is {} above the floor at {} along it, {} {}",
                located.described[line].name.value,
                check.show(height),
                check.show(Actual::from_meters(point.at)),
                check.show((height - limit).abs()),
                if above { "higher than most people like" } else { "lower than most people like" }
            );
            check.out.push(RULE.at(located.span_at(line, point.at), message));
        }
    }
}
