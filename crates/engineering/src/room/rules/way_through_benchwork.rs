//! People pass under or through benchwork.

use model::{Rule, Severity};

use crate::{check::Check, room::BenchworkKind};

/// People pass under or through benchwork.
pub static RULE: Rule = Rule {
    code: "way-through-benchwork",
    severity: Severity::Note,
    title: "People pass under or through benchwork.",
    explain: "Every duck-under is a blow to somebody's head or back sooner or later: pad and \
        mark its edge, give it a hand-hold, leave another way out for those who cannot \
        stoop, and keep it out of the way to the door. A lift-out or a gate cuts the \
        power of the track on both sides when it is open, so that no train runs off \
        the end; two people carry a heavy one.",
    fixture: r#"
--- rooms/cellar.toml
name = "Cellar"
corners = [["0 ft", "0 ft"], ["12 ft", "0 ft"], ["12 ft", "10 ft"], ["0 ft", "10 ft"]]

[[benchwork]]
name = "bridge"
outline = [["0 ft", "4 ft"], ["4 ft", "4 ft"], ["4 ft", "5 ft"], ["0 ft", "5 ft"]]
kind = "duck-under"
clear = "38 in"
"#,
    rendered: r#"
note[way-through-benchwork]: in Cellar people stoop under `bridge`, 3'-2" above the floor
 --> rooms/cellar.toml:5:9
  |
5 | name = "bridge"
  |         ^^^^^^
  |
  = help: pad its edge, and see that there is another way out
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for room in &check.way.rooms {
        for piece in &room.benchwork {
            let name = &piece.name.value;
            let found = match piece.kind {
                BenchworkKind::Fixed => continue,
                BenchworkKind::DuckUnder => {
                    let height = piece.clear.map_or_else(String::new, |clear| {
                        format!(", {} above the floor", check.show(clear.value))
                    });
                    RULE.at(piece.name.span, format!("in {} people stoop under `{name}`{height}", room.name.value))
                        .help("pad its edge, and see that there is another way out")
                }
                BenchworkKind::LiftOut | BenchworkKind::Gate => RULE
                    .at(piece.name.span, format!("in {} people pass where `{name}` opens", room.name.value))
                    .help("let it cut the power on both sides while it is open"),
            };
            check.out.push(found);
        }
    }
}
