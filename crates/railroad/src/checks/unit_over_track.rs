//! More cars go together than the shipper's track holds.

use model::{Diagnostics, Rule, Severity};

use super::{
    context::Context,
    spots::{shortest_by_kind, track_of},
};

/// More cars go together than the shipper's track holds.
pub static RULE: Rule = Rule {
    code: "unit-over-track",
    severity: Severity::Warning,
    title: "More cars go together than the shipper's track holds.",
    explain: "Cars that go as a unit are loaded and unloaded together: there must be a spot for each, or \
              room for them all where the track has no spots.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
SMR,101,XM,boxcar,6 in
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,cars_at_once
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,4
"#,
    rendered: r#"
warning[unit-over-track]: 4 cars go together, and `Alder / mill` takes 2
 --> shippers.csv:2:62
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,4
  |                                                              ^
  |
  = help: let fewer cars go together, or give the track more spots
"#,
    file: file!(),
};

/// Spots named, or the track's spots, or as many of the shortest cars of the kind as fit.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let shortest = shortest_by_kind(context);
    for flow in &context.road.traffic.flows {
        let unit = flow.cars_at_once;
        let (true, Some((id, track))) = (unit.value > 1, track_of(context, flow)) else {
            continue;
        };
        let car = flow.car_kind.and_then(|kind| shortest.get(&kind.value));
        let holds = match (flow.spots.len(), track.spots.len(), car) {
            (0, 0, Some((length, _))) => (context.usable(id) / *length).floor() as usize,
            (0, 0, None) => continue,
            (0, all, _) => all,
            (some, ..) => some,
        };
        if unit.value as usize > holds {
            let message = format!(
                "{} cars go together, and `{}` takes {holds}",
                unit.value,
                context.road.way.track_name(id)
            );
            out.push(
                RULE.at(unit.span, message)
                    .help("let fewer cars go together, or give the track more spots"),
            );
        }
    }
}
