//! A shipper ships or receives no cars.

use model::{Diagnostics, Rule, Severity};

use crate::Traffic;

/// A shipper ships or receives no cars.
pub static RULE: Rule = Rule {
    code: "flow-of-nothing",
    severity: Severity::Note,
    title: "A shipper ships or receives no cars.",
    explain: "With 0 cars a week the row orders nothing. Delete it, or write how often a car moves: \
              0.25 is one a month.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,0
"#,
    rendered: r#"
note[flow-of-nothing]: this row of Alder Milling moves no cars
 --> shippers.csv:2:60
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,0
  |                                                            ^
  |
  = help: write how often a car moves (0.25 is one a month), or delete the row
"#,
    file: file!(),
};

/// Exactly nothing.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    for flow in &traffic.flows {
        let (Some(rate), Some(name)) = (&flow.cars_per_week, &flow.shipper_name) else {
            continue;
        };
        if rate.value == 0.0 {
            out.push(
                RULE.at(
                    rate.span,
                    format!("this row of {} moves no cars", name.value),
                )
                .help("write how often a car moves (0.25 is one a month), or delete the row"),
            );
        }
    }
}
