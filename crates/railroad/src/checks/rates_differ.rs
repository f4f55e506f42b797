//! Two rows speak of the same loads and differ in how many there are.

use model::{Diagnostics, Rule, Severity};
use traffic::demand::{Misfit, lanes};

use super::context::Context;

/// Two rows speak of the same loads and differ in how many there are.
pub static RULE: Rule = Rule {
    code: "rates-differ",
    severity: Severity::Warning,
    title: "Two rows speak of the same loads and differ in how many there are.",
    explain: "What stays on the railroad may be written from both ends: as shipped by the one and as \
              received by the other. Each load is counted once, and the smaller number holds. Make \
              them equal, or name another end for the rest.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Birch
Birch Feed,Birch,siding,,receives,flour,boxcar,2,Alder
"#,
    rendered: r#"
warning[rates-differ]: flour: Alder Milling ships 3 cars a week, and Birch Feed receives 2 cars a week
 --> shippers.csv:2:60
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Birch
  |                                                            ^
3 | Birch Feed,Birch,siding,,receives,flour,boxcar,2,Alder
  |                                                - the other end
  |
  = help: 1 cars a week have no other end: make the two equal, or name another place for the rest
"#,
    file: file!(),
};

/// What is left of a row when the other end has had its own.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let road = context.road;
    for misfit in lanes(&road.traffic, &road.way).1 {
        let Misfit::RatesDiffer { more, fewer, cars } = misfit else {
            continue;
        };
        let [more, fewer] = [more, fewer].map(|id| road.traffic.flow(id));
        let (Some(rate), Some(less)) = (more.cars_per_week, fewer.cars_per_week) else {
            continue;
        };
        let words = |flow: &traffic::Flow| {
            format!(
                "{} {} {} cars a week",
                flow.shipper_name
                    .as_ref()
                    .map_or("a shipper", |name| &name.value),
                flow.does.map_or("ships", |does| does.value.word()),
                flow.cars_per_week.map_or(0.0, |rate| rate.value)
            )
        };
        let commodity = more
            .commodity
            .as_ref()
            .map_or("the same", |commodity| &commodity.value);
        let message = format!("{commodity}: {}, and {}", words(more), words(fewer));
        let cars = (cars * 100.0).round() / 100.0;
        out.push(
            RULE.at(rate.span, message)
                .also(less.span, "the other end")
                .help(format!(
                    "{cars} cars a week have no other end: make the two equal, or name another place for the rest"
                )),
        );
    }
}
