//! Track lies beyond the benchwork.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{check::Check, room::inside};

/// Track lies beyond the benchwork.
pub static RULE: Rule = Rule {
    code: "track-off-benchwork",
    severity: Severity::Warning,
    title: "Track lies beyond the benchwork.",
    explain: "Within this room, the center line leaves every piece of benchwork, or comes so \
        near to an edge that a car falls to the floor: at least half a car's width \
        should be left.",
    fixture: r#"
--- rooms/cellar.toml
name = "Cellar"
corners = [["0 ft", "0 ft"], ["12 ft", "0 ft"], ["12 ft", "10 ft"], ["0 ft", "10 ft"]]

[[benchwork]]
name = "shelf"
outline = [["0 ft", "0 ft"], ["8 ft", "0 ft"], ["8 ft", "2 ft"], ["0 ft", "2 ft"]]
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "1 ft"], bearing = 90 }
elements = [{ tangent = "10 ft" }]
"#,
    rendered: r#"
warning[track-off-benchwork]: `Alder / main` lies beyond the benchwork of Cellar from 7'-0 3/4" to 10'-0" along it
 --> alignments/house.toml:4:15
  |
4 | elements = [{ tangent = "10 ft" }]
  |               ^^^^^^^^^^^^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for room in &check.way.rooms {
        if room.benchwork.is_empty() {
            continue;
        }
        for (line, path) in located.laid() {
            // The first stretch that lies off.
            let mut off: Option<[f64; 2]> = None;
            for (s, place) in path.places(0.02) {
                let point = place.point();
                let on = room.benchwork.iter().any(|piece| inside(&piece.outline, point));
                match &mut off {
                    Some(_) if on => break,
                    Some(stretch) => stretch[1] = s,
                    None if !on && inside(&room.corners, point) && !room.in_door(point) => off = Some([s, s]),
                    None => {}
                }
            }
            let Some([from, to]) = off else { continue };
            let show = |metres: f64| check.show(Actual::from_meters(metres));
            let message = format!(
                "`{}` lies beyond the benchwork of {} from {} to {} along it",
                located.described[line].name.value, room.name.value, show(from), show(to)
            );
            check.out.push(RULE.at(located.span_at(line, from), message));
        }
    }
}
