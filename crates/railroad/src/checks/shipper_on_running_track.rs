//! A shipper's cars are spotted on a track where none are left.

use model::{Diagnostics, Rule, Severity};

use super::{context::Context, spots::track_of};

/// A shipper's cars are spotted on a track where none are left.
pub static RULE: Rule = Rule {
    code: "shipper-on-running-track",
    severity: Severity::Warning,
    title: "A shipper's cars are spotted on a track where none are left.",
    explain: "Cars are spotted on spurs, house and team tracks and the like, not on a track that must \
              be kept clear for trains or that another use needs.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,main,,ships,flour,boxcar,3
"#,
    rendered: r#"
warning[shipper-on-running-track]: Alder Milling has its cars on `main`, a main track
 --> shippers.csv:2:21
  |
2 | Alder Milling,Alder,main,,ships,flour,boxcar,3
  |                     ^^^^
  |
 ::: stations/alder.toml:7:1
  |
7 | main = { from = "W", to = "E", length = "14 ft", use = "main" }
  | ---- the track
  |
  = help: add a spur, or say what the track is by its `use`
"#,
    file: file!(),
};

/// By the use of the track.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for flow in &context.road.traffic.flows {
        let Some((_, track)) = track_of(context, flow) else {
            continue;
        };
        let (usage, Some(written), Some(name)) = (track.usage, &flow.track, &flow.shipper_name)
        else {
            continue;
        };
        // Staging stands for the rest of the world: what only crosses the railroad begins there.
        if !usage.may_have_spots() && usage != engineering::station::TrackUse::Staging {
            let message = format!(
                "{} has its cars on `{}`, a {usage} track",
                name.value, written.value
            );
            let found = RULE
                .at(written.span, message)
                .also(track.name.span, "the track");
            out.push(found.help("add a spur, or say what the track is by its `use`"));
        }
    }
}
