//! A car stands on a track that is kept clear.

use engineering::station::StationKind;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A car stands on a track that is kept clear.
pub static RULE: Rule = Rule {
    code: "car-on-running-track",
    severity: Severity::Warning,
    title: "A car stands on a track that is kept clear.",
    explain: "Cars are not left on mains, leads, crossovers, connections or the legs and tails of wyes \
              between trains.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,at
SMR,101,XM,boxcar,6 in,Alder / main
SMR,90,NE,caboose,5 in,Birch / siding
"#,
    rendered: r#"
warning[car-on-running-track]: SMR 101 stands on `Alder / main`, a main track, which is kept clear
 --> cars.csv:2:24
  |
2 | SMR,101,XM,boxcar,6 in,Alder / main
  |                        ^^^^^^^^^^^^
  |
  = help: write another track of that station in `at`
"#,
    file: file!(),
};

/// Where it stands before the first session. A station that is all main, as hidden staging may be, is
/// left alone.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let way = &context.road.way;
    for car in context
        .road
        .roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad())
    {
        let Some(at) = &car.at else { continue };
        let Some(track) = way.find_track(&at.value) else {
            continue;
        };
        let usage = way.track(track).usage;
        if !usage.holds_cars() && way.station(track.station).kind != StationKind::Staging {
            let message = format!(
                "{} stands on `{}`, a {} track, which is kept clear",
                car.name.value,
                way.track_name(track),
                usage
            );
            out.push(
                RULE.at(at.span, message)
                    .help("write another track of that station in `at`"),
            );
        }
    }
}
