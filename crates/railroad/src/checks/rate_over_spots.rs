//! A shipper orders more cars a week than its spots can take.

use model::{Diagnostics, Rule, Severity};

use super::{
    context::Context,
    spots::{shortest_by_kind, track_of},
};

/// A shipper orders more cars a week than its spots can take.
pub static RULE: Rule = Rule {
    code: "rate-over-spots",
    severity: Severity::Warning,
    title: "A shipper orders more cars a week than its spots can take.",
    explain: "A spot takes a new car at most once a day, and none before the last one has stood its \
              `dwell`. Lower the rate, add spots, or shorten the dwell.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,20
"#,
    rendered: r#"
warning[rate-over-spots]: Alder Milling orders 20 cars a week, and 2 spots take at most 14
 --> shippers.csv:2:60
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,20
  |                                                            ^^
  |
  = help: order fewer cars, add spots, or let cars stand for less time
"#,
    file: file!(),
};

/// Spots named, or the track's spots, or as many cars of the kind as fit.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let shortest = shortest_by_kind(context);
    for flow in &context.road.traffic.flows {
        let (Some(rate), Some((id, track)), Some(name)) = (
            flow.cars_per_week,
            track_of(context, flow),
            &flow.shipper_name,
        ) else {
            continue;
        };
        let car = flow.car_kind.and_then(|kind| shortest.get(&kind.value));
        let spots = match (flow.spots.len(), track.spots.len(), car) {
            (0, 0, Some((length, _))) => (context.usable(id) / *length).floor(),
            (0, 0, None) => continue,
            (0, all, _) => all as f64,
            (some, ..) => some as f64,
        };
        let days = flow
            .dwell
            .map_or(0.0, |dwell| dwell.value.minutes() / (24.0 * 60.0))
            .max(1.0);
        let most = spots * 7.0 / days;
        if rate.value > most {
            let message = format!(
                "{} orders {} cars a week, and {spots} {} take at most {most:.0}",
                name.value,
                rate.value,
                if spots == 1.0 { "spot" } else { "spots" }
            );
            let mut found = RULE.at(rate.span, message);
            if let Some(dwell) = flow.dwell {
                found = found.also(dwell.span, "how long each car stands");
            }
            out.push(found.help("order fewer cars, add spots, or let cars stand for less time"));
        }
    }
}
