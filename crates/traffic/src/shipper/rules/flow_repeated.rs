//! A shipper ships or receives the same thing on two rows.

use std::collections::{HashMap, hash_map::Entry};

use model::{Diagnostics, Rule, Severity, Spanned};

use crate::{Traffic, shipper::Flow};

/// A shipper ships or receives the same thing on two rows.
pub static RULE: Rule = Rule {
    code: "flow-repeated",
    severity: Severity::Warning,
    title: "A shipper ships or receives the same thing on two rows.",
    explain: "Same shipper, track, spots, commodity, kind of car, season, days and place: the cars of both \
              rows are ordered. If that is not meant, delete one; if it is, add the cars up on one \
              row.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3
"#,
    rendered: r#"
warning[flow-repeated]: Alder Milling ships flour in the kind `boxcar` on two rows
 --> shippers.csv:3:47
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3
  | ------------------------------------------------------------ first here
3 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3
  |                                               ^^^^^
  |
  = help: delete one of the rows, or add the cars up on one
"#,
    file: file!(),
};

/// Rows that differ in nothing by which cars are ordered but their number.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    let mut first: HashMap<_, &Flow> = HashMap::new();
    for flow in &traffic.flows {
        let (Some(shipper), Some(does), Some(commodity), Some(kind)) =
            (flow.shipper, &flow.does, &flow.commodity, &flow.car_kind)
        else {
            continue;
        };
        let text = |text: &Option<Spanned<String>>| text.as_ref().map(|text| text.value.clone());
        let spots: Vec<&str> = flow.spots.iter().map(|spot| spot.value.as_str()).collect();
        let place = flow.place.as_ref().map(|place| place.name().value.as_str());
        let key = (
            (shipper, text(&flow.station), text(&flow.track), spots),
            (
                does.value,
                commodity.value.as_str(),
                kind.value,
                place,
                flow.season,
                flow.days.value,
            ),
        );
        match first.entry(key) {
            Entry::Vacant(free) => {
                free.insert(flow);
            }
            Entry::Occupied(other) => {
                let message = format!(
                    "{} {} {} in the kind `{}` on two rows",
                    traffic.shipper(shipper).name.value,
                    does.value,
                    commodity.value,
                    kind.value
                );
                out.push(
                    RULE.at(commodity.span, message)
                        .also(other.get().span, "first here")
                        .help("delete one of the rows, or add the cars up on one"),
                );
            }
        }
    }
}
