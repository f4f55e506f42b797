//! A waybill moves a car from a place to the same place.

use model::{Diagnostics, Rule, Severity};

use crate::Traffic;

/// A waybill moves a car from a place to the same place.
pub static RULE: Rule = Rule {
    code: "waybill-to-itself",
    severity: Severity::Warning,
    title: "A waybill moves a car from a place to the same place.",
    explain: "Either the car did not move, or one of the two is a slip.",
    fixture: r#"
--- waybills.csv
date,car,from,to,commodity,state
1941-10-13,SMR 101,Alder,Alder,flour,loaded
"#,
    rendered: r#"
warning[waybill-to-itself]: this waybill goes from Alder to itself
 --> waybills.csv:2:26
  |
2 | 1941-10-13,SMR 101,Alder,Alder,flour,loaded
  |                    ----- ^^^^^
  |                    |
  |                    from
  |
  = help: is one of the two a slip?
"#,
    file: file!(),
};

/// By the names alone.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    for waybill in &traffic.waybills {
        let (Some(from), Some(to)) = (&waybill.from, &waybill.to) else {
            continue;
        };
        if from.name().value == to.name().value {
            let message = format!("this waybill goes from {} to itself", from.name().value);
            out.push(
                RULE.at(to.name().span, message)
                    .also(from.name().span, "from")
                    .help("is one of the two a slip?"),
            );
        }
    }
}
