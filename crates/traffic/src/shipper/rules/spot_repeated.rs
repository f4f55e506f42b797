//! A spot is named twice on one row.

use model::{Diagnostics, Rule, Severity};

use crate::Traffic;

/// A spot is named twice on one row.
pub static RULE: Rule = Rule {
    code: "spot-repeated",
    severity: Severity::Warning,
    title: "A spot is named twice on one row.",
    explain: "The spot holds one car, however often it is named.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 1,ships,flour,boxcar,3
"#,
    rendered: r#"
warning[spot-repeated]: spot `door 1` is named twice
 --> shippers.csv:2:34
  |
2 | Alder Milling,Alder,mill,door 1; door 1,ships,flour,boxcar,3
  |                          ------  ^^^^^^
  |                          |
  |                          first here
  |
  = help: name each spot once
"#,
    file: file!(),
};

/// Within one row: two rows may share a spot.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    for flow in &traffic.flows {
        for (at, spot) in flow.spots.iter().enumerate() {
            if let Some(first) = flow.spots[..at]
                .iter()
                .find(|first| first.value == spot.value)
            {
                let message = format!("spot `{}` is named twice", spot.value);
                out.push(
                    RULE.at(spot.span, message)
                        .also(first.span, "first here")
                        .help("name each spot once"),
                );
            }
        }
    }
}
