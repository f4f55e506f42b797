//! A turnout or crossing is not there.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{
    alignment::{Of, Unclear, solve::FaultKind},
    check::{Check, guess},
};

/// A turnout or crossing is not there.
pub static RULE: Rule = Rule {
    code: "turnout-not-there",
    severity: Severity::Error,
    title: "A turnout or crossing is not there.",
    explain: "A turnout in a station's track is one of the station's switches, by its name \
        there, and a crossing one of its crossings; any other turnout gives its own \
        `number` and `hand`. A switch that lies beyond the end of its track's center \
        line is not there either.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "1 ft" }, { turnout = "s9" }, { tangent = "13 ft" }]
"#,
    rendered: r#"
error[turnout-not-there]: there is no switch or crossing `s9` here
 --> alignments/house.toml:4:48
  |
4 | elements = [{ tangent = "1 ft" }, { turnout = "s9" }, { tangent = "13 ft" }]
  |                                                ^^
  |
  = help: a turnout that no station page describes needs `number` and `hand`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for unclear in &located.unclear {
        match unclear {
            Unclear::NotOfStation(name, line) => {
                let message = format!("there is no switch or crossing `{}` here", name.value);
                let mut found = RULE.at(name.span, message);
                if let Some(Of::Track(track)) = located.described[*line].of {
                    let station = check.way.station(track.station);
                    let names = station.switches.iter().map(|one| one.name.value.as_str());
                    found = match guess(&name.value, names) {
                        Some(near) => found.help(format!("did you mean `{near}`?")),
                        None => found.help("a turnout that no station page describes needs `number` and `hand`"),
                    };
                } else {
                    found = found.help("give it a `number` and a `hand`");
                }
                check.out.push(found);
            }
            Unclear::NoTurnout(name, host) => {
                let host = &located.described[*host];
                let message = format!("`{}` has no turnout `{}`", host.name.value, name.value);
                check.out.push(RULE.at(name.span, message).also(host.name.span, "this center line"));
            }
            _ => {}
        }
    }
    for fault in &located.solved.faults {
        if let FaultKind::BeyondEnd(beyond) = fault.kind {
            let line = &located.described[fault.line];
            let message = format!(
                "the switch where `{}` begins or ends lies {} beyond the center line it is on",
                line.name.value,
                check.show(Actual::from_meters(beyond))
            );
            check.out.push(
                RULE.at(line.name.span, message)
                    .help("make a `turnout` of it among the elements, where it belongs"),
            );
        }
    }
}
