//! A car is not yet built on the day that is modelled.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// A car is not yet built on the day that is modelled.
pub static RULE: Rule = Rule {
    code: "car-not-yet-built",
    severity: Severity::Warning,
    title: "A car is not yet built on the day that is modelled.",
    explain: "The railroad is judged by `date` in railroad.toml, stretched to `equipment_to` if that \
              is written. A car from later years can stay on the record as `off the railroad`.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built
SMR,101,XM,boxcar,6 in,1947
"#,
    rendered: r#"
warning[car-not-yet-built]: SMR 101 is built in 1947, too late
 --> cars.csv:2:24
  |
2 | SMR,101,XM,boxcar,6 in,1947
  |                        ^^^^
  |
 ::: railroad.toml:5:8
  |
5 | date = 1941-10-14
  |        ---------- equipment may be up to this day
  |
  = help: give it the state `off the railroad`, or stretch `equipment_to` in railroad.toml
"#,
    file: file!(),
};

/// Cars that are on the railroad.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(built), Some(latest)) = (&car.built, context.era.latest()) else {
        return;
    };
    if car.state.on_the_railroad() && built.value.first() > latest.value {
        let message = format!("{} is built in {}, too late", car.name.value, built.value);
        let found = RULE
            .at(built.span, message)
            .also(latest.span, "equipment may be up to this day");
        out.push(found.help(
            "give it the state `off the railroad`, or stretch `equipment_to` in railroad.toml",
        ));
    }
}
