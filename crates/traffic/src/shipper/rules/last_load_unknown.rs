//! A car must not have carried what nobody ships.

use std::collections::BTreeSet;

use model::{Diagnostics, Rule, Severity};

use crate::Traffic;

/// A car must not have carried what nobody ships.
pub static RULE: Rule = Rule {
    code: "last-load-unknown",
    severity: Severity::Warning,
    title: "A car must not have carried what nobody ships.",
    explain: "`not_after` names commodities as the page's other rows do; one that no row ships or \
              receives keeps no car away, and is most often misspelt.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place,not_after
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Birch,fertilzer
Birch Feed,Birch,siding,,receives,flour,boxcar,3,Alder,
Birch Feed,Birch,siding,,receives,fertilizer,boxcar,1,Alder,
Alder Works,Alder,siding,,ships,fertilizer,boxcar,1,Birch,
"#,
    rendered: r#"
warning[last-load-unknown]: nobody ships or receives fertilzer
 --> shippers.csv:2:68
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Birch,fertilzer
  |                                                                    ^^^^^^^^^
  |
  = help: did you mean `fertilizer`?
  = help: write the commodity as its own row does, or leave it out
"#,
    file: file!(),
};

/// Each commodity named.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    let known: BTreeSet<&str> = traffic
        .flows
        .iter()
        .filter_map(|flow| flow.commodity.as_ref())
        .map(|commodity| commodity.value.as_str())
        .collect();
    for commodity in traffic.flows.iter().flat_map(|flow| &flow.not_after) {
        if !known.contains(commodity.value.as_str()) {
            let message = format!("nobody ships or receives {}", commodity.value);
            out.push(
                RULE.at(commodity.span, message)
                    .did_you_mean(&commodity.value, known.iter().copied())
                    .help("write the commodity as its own row does, or leave it out"),
            );
        }
    }
}
