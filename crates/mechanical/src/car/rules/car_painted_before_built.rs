//! A car is painted before it is built.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// A car is painted before it is built.
pub static RULE: Rule = Rule {
    code: "car-painted-before-built",
    severity: Severity::Error,
    title: "A car is painted before it is built.",
    explain: "`painted` is when the car was first painted and lettered as the model is: not before it \
              was built.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built,painted
SMR,101,XM,boxcar,6 in,1937,1928
"#,
    rendered: r#"
error[car-painted-before-built]: SMR 101 is painted in 1928 but built in 1937
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
    let (Some(built), Some(painted)) = (&car.built, &car.painted) else {
        return;
    };
    if painted.value.last() < built.value.first() {
        let message = format!(
            "{} is painted in {} but built in {}",
            car.name.value, painted.value, built.value
        );
        out.push(
            RULE.at(painted.span, message)
                .also(built.span, "built")
                .help("are the two columns exchanged?"),
        );
    }
}
