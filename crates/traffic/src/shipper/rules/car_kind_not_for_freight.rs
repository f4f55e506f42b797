//! A shipper orders a kind of car that carries no freight.

use mechanical::CarKind;
use model::{Diagnostics, Rule, Severity};

use crate::Traffic;

/// A shipper orders a kind of car that carries no freight.
pub static RULE: Rule = Rule {
    code: "car-kind-not-for-freight",
    severity: Severity::Warning,
    title: "A shipper orders a kind of car that carries no freight.",
    explain: "Cabooses, passenger cars and the company's own working cars are not loaded by shippers.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 2,ships,flour,caboose,3
"#,
    rendered: r#"
warning[car-kind-not-for-freight]: Alder Milling orders the kind `caboose`, which carries no freight
 --> shippers.csv:2:53
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,caboose,3
  |                                                     ^^^^^^^
  |
  = help: order a freight car, as `boxcar` or `gondola`
"#,
    file: file!(),
};

/// By the kind alone.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    for flow in &traffic.flows {
        let (Some(kind), Some(name)) = (&flow.car_kind, &flow.shipper_name) else {
            continue;
        };
        // Express and mail are loaded at stations; milk is among the kinds that carry freight.
        let express = matches!(kind.value, CarKind::Baggage | CarKind::Mail);
        if !kind.value.carries_freight() && !express {
            let message = format!(
                "{} orders the kind `{}`, which carries no freight",
                name.value, kind.value
            );
            out.push(
                RULE.at(kind.span, message)
                    .help("order a freight car, as `boxcar` or `gondola`"),
            );
        }
    }
}
