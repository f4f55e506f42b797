//! An aisle is too narrow.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{check::Check, room::edges};

/// An aisle is too narrow.
pub static RULE: Rule = Rule {
    code: "aisle-too-narrow",
    severity: Severity::Warning,
    title: "An aisle is too narrow.",
    explain: "Before the edge of this benchwork, where people stand or pass, there is less \
        floor than the limit, `aisle` under `[limits]`; 30 in if that is left out \
        (common practice, no source). Where two people have to pass each other, more \
        is wanted.",
    fixture: r#"
--- rooms/cellar.toml
name = "Cellar"
corners = [["0 ft", "0 ft"], ["12 ft", "0 ft"], ["12 ft", "10 ft"], ["0 ft", "10 ft"]]

[[benchwork]]
name = "shelf"
outline = [["0 ft", "0 ft"], ["2 ft", "0 ft"], ["2 ft", "10 ft"], ["0 ft", "10 ft"]]

[[benchwork]]
name = "table"
outline = [["4 ft", "3 ft"], ["9 ft", "3 ft"], ["9 ft", "7 ft"], ["4 ft", "7 ft"]]
"#,
    rendered: r#"
warning[aisle-too-narrow]: before `shelf` of Cellar the aisle is 2'-0" wide at (2'-0", 3'-0 1/2"); 2'-6" is the limit
 --> rooms/cellar.toml:5:9
  |
5 | name = "shelf"
  |         ^^^^^

warning[aisle-too-narrow]: before `table` of Cellar the aisle is 2'-0" wide at (4'-0", 6'-11"); 2'-6" is the limit
 --> rooms/cellar.toml:9:9
  |
9 | name = "table"
  |         ^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let limit = check.limits.plan.aisle;
    for room in &check.way.rooms {
        let spots = edges(room);
        for (index, piece) in room.benchwork.iter().enumerate() {
            let of = spots.iter().filter(|spot| spot.benchwork == index);
            let Some(narrowest) = of.min_by(|a, b| a.floor.total_cmp(&b.floor)) else { continue };
            let floor = Actual::from_meters(narrowest.floor);
            if floor >= limit - Actual::from_mm(1.0) {
                continue;
            }
            let at = [narrowest.at.x, narrowest.at.y].map(|m| check.show(Actual::from_meters(m)));
            let message = format!(
                "before `{}` of {} the aisle is {} wide at ({}, {}); {} is the limit",
                piece.name.value, room.name.value, check.show(floor), at[0], at[1], check.show(limit)
            );
            check.out.push(RULE.at(piece.name.span, message));
        }
    }
}
