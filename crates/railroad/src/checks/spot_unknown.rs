//! A shipper uses a spot that its track does not have.

use model::{Diagnostics, Rule, Severity};

use super::{context::Context, spots::track_of};

/// A shipper uses a spot that its track does not have.
pub static RULE: Rule = Rule {
    code: "spot-unknown",
    severity: Severity::Error,
    title: "A shipper uses a spot that its track does not have.",
    explain: "A track lists its spots in order from its beginning: `spots = [\"door 1\", \"door 2\"]`. \
              A row names some of them.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 3,ships,flour,boxcar,3
"#,
    rendered: r#"
error[spot-unknown]: track `mill` has no spot `door 3`
 --> shippers.csv:2:34
  |
2 | Alder Milling,Alder,mill,door 1; door 3,ships,flour,boxcar,3
  |                                  ^^^^^^
  |
  = help: did you mean `door 1`?
  = help: it has: door 1, door 2
"#,
    file: file!(),
};

/// Each spot of each row.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for flow in &context.road.traffic.flows {
        let Some((_, track)) = track_of(context, flow) else {
            continue;
        };
        for spot in &flow.spots {
            if track.spots.iter().any(|known| known.value == spot.value) {
                continue;
            }
            let names: Vec<&str> = track.spots.iter().map(|spot| spot.value.as_str()).collect();
            let message = format!("track `{}` has no spot `{}`", track.name.value, spot.value);
            let found = RULE
                .at(spot.span, message)
                .did_you_mean(&spot.value, names.iter().copied());
            out.push(if names.is_empty() {
                found.help("the track lists no spots; write `spots = [...]` there, or none here")
            } else {
                found.help(format!("it has: {}", names.join(", ")))
            });
        }
    }
}
