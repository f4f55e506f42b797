//! A car is rebuilt before it is built.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// A car is rebuilt before it is built.
pub static RULE: Rule = Rule {
    code: "car-rebuilt-before-built",
    severity: Severity::Error,
    title: "A car is rebuilt before it is built.",
    explain: "One of the two dates is a slip, or they stand in each other's column.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built,rebuilt
SMR,101,XM,boxcar,6 in,1937,1928
"#,
    rendered: r#"
error[car-rebuilt-before-built]: SMR 101 is rebuilt in 1928 but built in 1937
 --> cars.csv:2:29
  |
2 | SMR,101,XM,boxcar,6 in,1937,1928
  |                        ---- ^^^^
  |                        |
  |                        built
  |
  = help: are the two columns exchanged?
"#,
    file: file!(),
};

/// Certainly before: a year alone may hold both.
pub(crate) fn check(car: &Car, _: &Context, out: &mut Diagnostics) {
    let (Some(built), Some(rebuilt)) = (&car.built, &car.rebuilt) else {
        return;
    };
    if rebuilt.value.last() < built.value.first() {
        let message = format!(
            "{} is rebuilt in {} but built in {}",
            car.name.value, rebuilt.value, built.value
        );
        out.push(
            RULE.at(rebuilt.span, message)
                .also(built.span, "built")
                .help("are the two columns exchanged?"),
        );
    }
}
