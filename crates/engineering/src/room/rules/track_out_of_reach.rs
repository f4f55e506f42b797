//! Track lies out of reach.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{
    check::Check,
    room::{edges, inside},
};

/// Track lies out of reach.
pub static RULE: Rule = Rule {
    code: "track-out-of-reach",
    severity: Severity::Warning,
    title: "Track lies out of reach.",
    explain: "From the nearest edge where someone can stand, this track is farther than the \
        limit, `reach` under `[limits]`; 30 in if that is left out (common practice, \
        no source), less over scenery or above shoulder height. A derailed car there \
        is out of reach, and so is the rail to be cleaned. Whoever leans over track on \
        a stool or a ladder should have someone to hold it.",
    fixture: r#"
--- rooms/cellar.toml
name = "Cellar"
corners = [["0 ft", "0 ft"], ["12 ft", "0 ft"], ["12 ft", "10 ft"], ["0 ft", "10 ft"]]

[[benchwork]]
name = "table"
outline = [["0 ft", "0 ft"], ["12 ft", "0 ft"], ["12 ft", "5 ft"], ["0 ft", "5 ft"]]
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "1 ft"], bearing = 90 }
elements = [{ tangent = "10 ft" }]
"#,
    rendered: r#"
warning[track-out-of-reach]: `Alder / main` lies up to 4'-0" from where one can stand in Cellar, at 0" along it; 2'-6" is the limit
 --> alignments/house.toml:4:15
  |
4 | elements = [{ tangent = "10 ft" }]
  |               ^^^^^^^^^^^^^^^^
  |
  = help: 10'-0" of it is out of reach
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let limit = check.limits.plan.reach;
    let located = &check.way.located;
    for room in &check.way.rooms {
        let spots = edges(room);
        if spots.is_empty() {
            continue;
        }
        for (line, path) in located.laid() {
            let mut worst: Option<(f64, f64)> = None;
            let mut far = 0.0;
            let mut last: Option<f64> = None;
            for (s, place) in path.places(0.05) {
                let point = place.point();
                if !inside(&room.corners, point) {
                    last = None;
                    continue;
                }
                let reach = spots.iter().map(|spot| spot.at.distance(point)).fold(f64::INFINITY, f64::min);
                if reach > limit.meters() + 1e-3 {
                    far += last.map_or(0.0, |before| s - before);
                    last = Some(s);
                    if worst.is_none_or(|(most, _)| reach > most) {
                        worst = Some((reach, s));
                    }
                } else {
                    last = None;
                }
            }
            let Some((reach, s)) = worst else { continue };
            let show = |metres: f64| check.show(Actual::from_meters(metres));
            let message = format!(
                "`{}` lies up to {} from where one can stand in {}, at {} along it; {} is the limit",
                located.described[line].name.value, show(reach), room.name.value, show(s), check.show(limit)
            );
            check.out.push(
                RULE.at(located.span_at(line, s), message).help(format!("{} of it is out of reach", show(far))),
            );
        }
    }
}
