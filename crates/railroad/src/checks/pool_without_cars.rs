//! A shipper uses a pool in which there is no car of the kind.

use std::collections::BTreeSet;

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A shipper uses a pool in which there is no car of the kind.
pub static RULE: Rule = Rule {
    code: "pool-without-cars",
    severity: Severity::Warning,
    title: "A shipper uses a pool in which there is no car of the kind.",
    explain: "A pool is the cars that name it in the column `pool` of the car record. Without any, a \
              captive shipper gets no cars at all, and any other gets whatever there is.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,pool
SMR,101,XM,boxcar,6 in,flower
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place,pool
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Birch,flour
Birch Feed,Birch,siding,,receives,flour,boxcar,3,Alder,
"#,
    rendered: r#"
warning[pool-without-cars]: no car of the kind `boxcar` is in the pool `flour`
 --> shippers.csv:2:1
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Birch,flour
  | ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  |
  = help: did you mean `flower`?
  = help: write `flour` in the column `pool` of the cars that belong to it
"#,
    file: file!(),
};

/// Each pool and kind is reported once.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let road = context.road;
    let pools: BTreeSet<&str> = road
        .roster
        .cars
        .iter()
        .filter_map(|car| car.pool.as_deref())
        .collect();
    let mut seen = BTreeSet::new();
    for flow in &road.traffic.flows {
        let (Some(pool), Some(kind)) = (&flow.pool, flow.car_kind) else {
            continue;
        };
        let has = road.roster.cars.iter().any(|car| {
            car.pool.as_ref() == Some(pool) && car.kind.is_some_and(|of| of.value == kind.value)
        });
        if has || !seen.insert((pool.as_str(), kind.value.word())) {
            continue;
        }
        let message = format!(
            "no car of the kind `{}` is in the pool `{pool}`",
            kind.value
        );
        out.push(
            RULE.at(flow.span, message)
                .did_you_mean(pool, pools.iter().copied())
                .help(format!(
                    "write `{pool}` in the column `pool` of the cars that belong to it"
                )),
        );
    }
}
