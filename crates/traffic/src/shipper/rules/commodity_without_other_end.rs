//! A commodity is only shipped or only received, and nothing says where it goes or comes from.

use std::collections::{HashMap, HashSet};

use model::{Diagnostics, Rule, Severity};

use crate::{Traffic, shipper::Does};

/// A commodity is only shipped or only received, and nothing says where it goes or comes from.
pub static RULE: Rule = Rule {
    code: "commodity-without-other-end",
    severity: Severity::Note,
    title: "A commodity is only shipped or only received, and nothing says where it goes or comes from.",
    explain: "Without a `place`, a load goes to whoever on the railroad receives the same, and comes \
              from whoever ships it. If nobody does, name a place off the line, `Harlan via East \
              Staging`.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3
Birch Feed,Birch,siding,,receives,seed,boxcar,1
"#,
    rendered: r#"
note[commodity-without-other-end]: nobody receives flour, and no place says where it goes
 --> shippers.csv:2:47
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3
  |                                               ^^^^^
  |
  = help: name a place: a station, or one off the line as `Harlan via East Staging`

note[commodity-without-other-end]: nobody ships seed, and no place says where it comes from
 --> shippers.csv:3:35
  |
3 | Birch Feed,Birch,siding,,receives,seed,boxcar,1
  |                                   ^^^^
  |
  = help: name a place: a station, or one off the line as `Harlan via East Staging`
"#,
    file: file!(),
};

/// Each commodity and direction is reported once. Where everybody ships or everybody receives, the
/// page is just begun, and its owner knows.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    let does = |what| {
        traffic
            .flows
            .iter()
            .any(|flow| flow.does.is_some_and(|d| d.value == what))
    };
    if !does(Does::Ships) || !does(Does::Receives) {
        return;
    }
    let mut ends: HashMap<&str, [bool; 2]> = HashMap::new();
    for flow in &traffic.flows {
        if let (Some(commodity), Some(does)) = (&flow.commodity, &flow.does) {
            ends.entry(commodity.value.as_str()).or_default()
                [usize::from(does.value == Does::Ships)] = true;
        }
    }
    let mut reported = HashSet::new();
    for flow in traffic.flows.iter().filter(|flow| flow.place.is_none()) {
        let (Some(commodity), Some(does)) = (&flow.commodity, &flow.does) else {
            continue;
        };
        let both = ends.get(commodity.value.as_str()) == Some(&[true, true]);
        if !both && reported.insert((commodity.value.as_str(), does.value)) {
            let (other, whither) = match does.value {
                Does::Ships => ("receives", "where it goes"),
                Does::Receives => ("ships", "where it comes from"),
            };
            let message = format!(
                "nobody {other} {}, and no place says {whither}",
                commodity.value
            );
            out.push(
                RULE.at(commodity.span, message).help(
                    "name a place: a station, or one off the line as `Harlan via East Staging`",
                ),
            );
        }
    }
}
