//! A loaded car carries nothing, or an empty one something.

use model::{Diagnostics, Rule, Severity};

use crate::{Traffic, waybill::CarLoad};

/// A loaded car carries nothing, or an empty one something.
pub static RULE: Rule = Rule {
    code: "waybill-loaded-with-nothing",
    severity: Severity::Warning,
    title: "A loaded car carries nothing, or an empty one something.",
    explain: "A waybill of a loaded car names its commodity; one of an empty car has none.",
    fixture: r#"
--- waybills.csv
date,car,from,to,commodity,state
1941-10-13,SMR 101,Alder,Birch,,loaded
1941-10-13,SMR 102,Alder,Birch,flour,empty
"#,
    rendered: r#"
warning[waybill-loaded-with-nothing]: SMR 101 is loaded, but nothing says with what
 --> waybills.csv:2:1
  |
2 | 1941-10-13,SMR 101,Alder,Birch,,loaded
  | ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  |
  = help: name the commodity, or write `empty`

warning[waybill-loaded-with-nothing]: SMR 102 is empty, but carries flour
 --> waybills.csv:3:32
  |
3 | 1941-10-13,SMR 102,Alder,Birch,flour,empty
  |                                ^^^^^
"#,
    file: file!(),
};

/// State against commodity.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    for waybill in &traffic.waybills {
        let car = waybill
            .car
            .as_ref()
            .map_or("this car", |car| car.value.as_str());
        match (waybill.state.map(|state| state.value), &waybill.commodity) {
            (Some(CarLoad::Loaded), None) => {
                let message = format!("{car} is loaded, but nothing says with what");
                out.push(
                    RULE.at(waybill.span, message)
                        .help("name the commodity, or write `empty`"),
                );
            }
            (Some(CarLoad::Empty), Some(commodity)) => {
                let message = format!("{car} is empty, but carries {}", commodity.value);
                out.push(RULE.at(commodity.span, message));
            }
            _ => {}
        }
    }
}
