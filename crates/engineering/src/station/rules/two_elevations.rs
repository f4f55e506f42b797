//! Two heights are given for one place.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{
    check::Check,
    profile::written,
    station::{Meets, Named, Station},
};

/// Two heights are given for one place.
pub static RULE: Rule = Rule {
    code: "two-elevations",
    severity: Severity::Error,
    title: "Two heights are given for one place.",
    explain: "Where tracks meet their rails are at one height. It may be written in the page of \
        the station (`elevation`, `elevations`, a track's own) or of the line, and all of them \
        must agree.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["41 in", "42 in"]
"#,
    rendered: r#"
error[two-elevations]: the end `E` of Alder lies at 3'-5" here and at 3'-4" elsewhere
 --> lines/main.toml:7:15
  |
7 | elevation = ["41 in", "42 in"]
  |               ^^^^^
  |
 ::: stations/alder.toml:4:14
  |
4 | elevation = "40 in"
  |              ----- elsewhere
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, station) in way.stations() {
        for (meets, name) in places(station) {
            let mut said = written(way, station, meets);
            // The station's own height holds where its own page says nothing else of the place.
            let own = said.iter().any(|(_, span)| span.file == station.span.file);
            if let (false, Some(elevation)) = (own, station.elevation) {
                said.insert(0, (elevation.value, elevation.span));
            }
            let [(first, first_span), others @ ..] = &said[..] else { continue };
            // Heights are written to the sixteenth of an inch or the millimeter.
            let other = others.iter().find(|(other, _)| !first.is_near(*other, Actual::from_mm(0.5)));
            let Some((other, span)) = other else { continue };
            let message = format!(
                "{name} of {} lies at {} here and at {} elsewhere",
                station.name.value,
                check.show(*other),
                check.show(*first)
            );
            check.out.push(RULE.at(*span, message).also(*first_span, "elsewhere"));
        }
    }
}

fn places(station: &Station) -> Vec<(Meets, String)> {
    let meets = |place| match place {
        Named::End(id) => Some((Meets::End(id), "end")),
        Named::Switch(id) => Some((Meets::Switch(id), "switch")),
        Named::Joint(id) => Some((Meets::Joint(id), "joint")),
        Named::Turntable(id) => Some((Meets::Turntable(id), "turntable")),
        // Nothing begins or ends at a crossing.
        Named::Crossing(_) => None,
    };
    station
        .places()
        .into_iter()
        .filter_map(|(place, name)| meets(place).map(|(meets, word)| (meets, format!("the {word} `{name}`"))))
        .collect()
}
