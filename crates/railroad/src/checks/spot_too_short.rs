//! No car of the kind ordered fits a shipper's spot.

use model::{Diagnostics, Rule, Severity};

use super::{
    context::Context,
    spots::{shortest_by_kind, spot_length, track_of},
};

/// No car of the kind ordered fits a shipper's spot.
pub static RULE: Rule = Rule {
    code: "spot-too-short",
    severity: Severity::Warning,
    title: "No car of the kind ordered fits a shipper's spot.",
    explain: "A spot is as long as `spot_length` of its track says, or an even part of the usable \
              length. Even the shortest car of the kind on the roster is longer.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
mill = { from = "s3", to = "bumper", length = "1 ft 6 in", use = "spur", spots = ["door 1", "door 2"], spot_length = "5 in" }

[switches]
s3 = { on = "main", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[spot-too-short]: a spot on `mill` is 5", and the shortest boxcar on the roster, SMR 101, is 6"
 --> shippers.csv:2:26
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3
  |                          ^^^^^^
  |
 ::: stations/alder.toml:8:119
  |
8 | mill = { from = "s3", to = "bumper", length = "1 ft 6 in", use = "spur", spots = ["door 1", "door 2"], spot_length = "5 in" }
  |                                                                                                                       ---- the track
  |
  = help: lengthen the spots, or order a shorter kind of car
"#,
    file: file!(),
};

/// Rows that name spots.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let shortest = shortest_by_kind(context);
    for flow in &context.road.traffic.flows {
        let (Some((id, track)), Some(kind), Some(spot)) =
            (track_of(context, flow), flow.car_kind, flow.spots.first())
        else {
            continue;
        };
        let Some(&(length, car)) = shortest.get(&kind.value) else {
            continue;
        };
        let room = spot_length(context, id, track);
        if length > room {
            let message = format!(
                "a spot on `{}` is {}, and the shortest {} on the roster, {}, is {}",
                track.name.value,
                context.show(room),
                kind.value,
                car.name.value,
                context.show(length)
            );
            let found = RULE.at(spot.span, message);
            out.push(
                found
                    .also(
                        track.spot_length.map_or(track.name.span, |l| l.span),
                        "the track",
                    )
                    .help("lengthen the spots, or order a shorter kind of car"),
            );
        }
    }
}
