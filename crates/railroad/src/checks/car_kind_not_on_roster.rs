//! A shipper orders a kind of car of which there is none.

use std::collections::HashSet;

use mechanical::CarKind;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A shipper orders a kind of car of which there is none.
pub static RULE: Rule = Rule {
    code: "car-kind-not-on-roster",
    severity: Severity::Warning,
    title: "A shipper orders a kind of car of which there is none.",
    explain: "No car of that kind is in service. The order can never be filled.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 2,ships,flour,covered hopper,3
"#,
    rendered: r#"
warning[car-kind-not-on-roster]: Alder Milling orders the kind `covered hopper`, and there is none in service
 --> shippers.csv:2:53
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,covered hopper,3
  |                                                     ^^^^^^^^^^^^^^
  |
  = help: enter one in cars.csv, or order another kind
"#,
    file: file!(),
};

/// Where there is a roster. Each kind is reported once.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let road = context.road;
    if road.roster.cars.is_empty() {
        return;
    }
    let there: HashSet<CarKind> = road
        .roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad())
        .filter_map(|car| car.kind.map(|kind| kind.value))
        .collect();
    let mut seen = HashSet::new();
    for flow in &road.traffic.flows {
        let (Some(kind), Some(name)) = (flow.car_kind, &flow.shipper_name) else {
            continue;
        };
        if !there.contains(&kind.value) && seen.insert(kind.value) {
            let message = format!(
                "{} orders the kind `{}`, and there is none in service",
                name.value, kind.value
            );
            out.push(
                RULE.at(kind.span, message)
                    .help("enter one in cars.csv, or order another kind"),
            );
        }
    }
}
