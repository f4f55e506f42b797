//! A shipper's track does not exist at its station.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A shipper's track does not exist at its station.
pub static RULE: Rule = Rule {
    code: "shipper-track-unknown",
    severity: Severity::Error,
    title: "A shipper's track does not exist at its station.",
    explain: "`track` names a track of the station; cars are spotted there.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mil,door 1; door 2,ships,flour,boxcar,3
"#,
    rendered: r#"
error[shipper-track-unknown]: Alder has no track `mil`
 --> shippers.csv:2:21
  |
2 | Alder Milling,Alder,mil,door 1; door 2,ships,flour,boxcar,3
  |                     ^^^
  |
  = help: did you mean `mill`?
  = help: it has: main, siding, mill
"#,
    file: file!(),
};

/// Each row of the page.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for flow in &context.road.traffic.flows {
        let (Some(station), Some(track)) = (context.station(flow.station.as_ref()), &flow.track)
        else {
            continue;
        };
        let page = context.road.way.station(station);
        if page.find_track(&track.value).is_none() {
            let names: Vec<&str> = page.tracks.iter().map(|t| t.name.value.as_str()).collect();
            let message = format!("{} has no track `{}`", page.name.value, track.value);
            let found = RULE
                .at(track.span, message)
                .did_you_mean(&track.value, names.iter().copied());
            out.push(found.help(format!("it has: {}", names.join(", "))));
        }
    }
}
