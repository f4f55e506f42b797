//! A track passes too closely over another.

use model::{Rule, Severity};

use model::units::{Actual, Prototype};

use crate::{alignment::near::Spots, check::Check};

/// A track passes too closely over another.
pub static RULE: Rule = Rule {
    code: "no-height-overhead",
    severity: Severity::Warning,
    title: "A track passes too closely over another.",
    explain: "Between the railhead below and what carries the track above there must be room \
        for the tallest equipment. Needed are `overhead` (22 ft full size if left out) \
        and, for the track, roadbed and benchwork above it, `roadbed` (1 in on the \
        model), both under `[limits]`; both are common practice without a source. \
        Where the one does not go over the other, but stands on the same level or too \
        near to it, this is not looked at.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
name = "low"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "8 ft" }]
grades = [{ elevation = "40 in" }, { elevation = "40 in" }]

[[center_lines]]
name = "high"
begin = { at = ["4 ft", "0 ft"], bearing = 0 }
elements = [{ tangent = "4 ft" }]
grades = [{ elevation = "43 in" }, { elevation = "43 in" }]
"#,
    rendered: r#"
warning[no-height-overhead]: `high` passes only 3" above `low`, at 2'-11"; 4" is needed
  --> alignments/house.toml:10:15
   |
 4 | elements = [{ tangent = "8 ft" }]
   |               --------------- below
...
10 | elements = [{ tangent = "4 ft" }]
   |               ^^^^^^^^^^^^^^^ 1.03 in (26.2 mm) wanting
   |
   = help: steepen the approach, or cross where the two are farther apart in height
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    if located.described.is_empty() {
        return;
    }
    let limits = check.limits;
    let needed = (limits.plan.overhead + limits.plan.roadbed).meters();
    // As wide as a car may be, 10 ft 8 in full size, on either side.
    let side = limits.scale.to_actual(Prototype::from_inches(128.0)).meters();
    let spots = Spots::new(check.way, limits, 0.02, side);
    let mut worst: std::collections::BTreeMap<(usize, usize), (f64, f64, f64)> = std::collections::BTreeMap::new();
    for spot in spots.spots() {
        let Some(low) = located.elevation(spot.line, spot.s) else { continue };
        for near in spots.near(spot) {
            let Some(high) = located.elevation(near.other.line, near.other.s) else { continue };
            let room = high - low;
            // What is nearer than a third of it is a track on the same level.
            if room < needed / 3.0 || room >= needed - 1e-4 || !spots.apart(spot, &near.other) {
                continue;
            }
            let entry = worst.entry((spot.line, near.other.line)).or_insert((room, spot.s, near.other.s));
            if room < entry.0 {
                *entry = (room, spot.s, near.other.s);
            }
        }
    }
    for ((low, high), (room, s, other)) in worst {
        let show = |metres: f64| check.show(Actual::from_meters(metres));
        let name = |line: usize| &located.described[line].name.value;
        let message = if low == high {
            format!(
                "`{}` passes only {} above itself, at {} and {}; {} is needed",
                name(low), show(room), show(s), show(other), show(needed)
            )
        } else {
            format!(
                "`{}` passes only {} above `{}`, at {}; {} is needed",
                name(high), show(room), name(low), show(s), show(needed)
            )
        };
        let text = format!("{} wanting", check.fine(Actual::from_meters(needed - room)));
        check.out.push(
            RULE.at(located.span_at(high, other), message)
                .label(text)
                .also(located.span_at(low, s), "below")
                .help("steepen the approach, or cross where the two are farther apart in height"),
        );
    }
}
