//! A car is far longer or shorter than any real one.

use model::{Diagnostics, Rule, Severity};

use crate::{
    Context,
    car::{Car, CarKind},
};

/// A car is far longer or shorter than any real one.
pub static RULE: Rule = Rule {
    code: "car-length-implausible",
    severity: Severity::Warning,
    title: "A car is far longer or shorter than any real one.",
    explain: "The length is that of the model over its couplers. Cars were between 15 and 100 feet \
              long, but for scale test cars. Usually the unit is missing a digit, or the full-size \
              length was written: `40 ft` for `40 scale ft`.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
SMR,101,XM,boxcar,40 ft
"#,
    rendered: r#"
warning[car-length-implausible]: SMR 101 would be 3484 ft long full size
 --> cars.csv:2:19
  |
2 | SMR,101,XM,boxcar,40 ft
  |                   ^^^^^
  |
  = help: if 40 ft is its full-size length, write `40 scale ft`
"#,
    file: file!(),
};

/// Feet, full size: common practice, no source.
const SHORTEST: f64 = 15.0;
const LONGEST: f64 = 100.0;

/// Judged at full size.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let Some(length) = &car.length else { return };
    let feet = context.scale.to_prototype(length.value).feet();
    let shortest = match car.kind.map(|kind| kind.value) {
        Some(CarKind::TestCar) => 8.0,
        _ => SHORTEST,
    };
    if (shortest..=LONGEST).contains(&feet) {
        return;
    }
    let message = format!("{} would be {feet:.0} ft long full size", car.name.value);
    let meant = length.value.feet();
    let mut found = RULE.at(length.span, message);
    if (shortest..=LONGEST).contains(&meant) {
        found = found.help(format!(
            "if {meant:.0} ft is its full-size length, write `{meant:.0} scale ft`"
        ));
    }
    out.push(found);
}
