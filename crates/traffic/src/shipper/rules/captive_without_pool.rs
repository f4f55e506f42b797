//! A shipper uses captive cars, and no pool says which.

use model::{Diagnostics, Rule, Severity};

use crate::Traffic;

/// A shipper uses captive cars, and no pool says which.
pub static RULE: Rule = Rule {
    code: "captive-without-pool",
    severity: Severity::Error,
    title: "A shipper uses captive cars, and no pool says which.",
    explain: "Where `captive` is yes, only the cars of the row's `pool` are loaded, and they go back \
              empty to where they are loaded. Write the same pool here and in the car record, or leave \
              `captive` out.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,captive
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,yes
"#,
    rendered: r#"
error[captive-without-pool]: Alder Milling uses captive cars, and of no pool
 --> shippers.csv:2:62
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,yes
  |                                                              ^^^
  |
  = help: name the pool in the column `pool`, here and in the car record
"#,
    file: file!(),
};

/// Each row that says so.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    for flow in &traffic.flows {
        let Some(span) = flow.captive.filter(|_| flow.pool.is_none()) else {
            continue;
        };
        let who = flow
            .shipper_name
            .as_ref()
            .map_or("this shipper", |name| &name.value);
        out.push(
            RULE.at(span, format!("{who} uses captive cars, and of no pool"))
                .help("name the pool in the column `pool`, here and in the car record"),
        );
    }
}
