//! A car is retired before the day that is modelled.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// A car is retired before the day that is modelled.
pub static RULE: Rule = Rule {
    code: "car-already-retired",
    severity: Severity::Warning,
    title: "A car is retired before the day that is modelled.",
    explain: "The railroad is judged by `date` in railroad.toml, stretched back to `equipment_from` if \
              that is written. A car from earlier years can stay on the record as `off the railroad`.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built,retired
SMR,101,XM,boxcar,6 in,1899,1912
"#,
    rendered: r#"
warning[car-already-retired]: SMR 101 is retired in 1912, too early
 --> cars.csv:2:29
  |
2 | SMR,101,XM,boxcar,6 in,1899,1912
  |                             ^^^^
  |
 ::: railroad.toml:6:18
  |
6 | equipment_from = 1915
  |                  ---- equipment is from this day on
  |
  = help: give it the state `off the railroad`, or stretch `equipment_from` in railroad.toml
"#,
    file: file!(),
};

/// Cars that are on the railroad.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(retired), Some(earliest)) = (&car.retired, context.era.earliest()) else {
        return;
    };
    if car.state.on_the_railroad() && retired.value.last() < earliest.value {
        let message = format!(
            "{} is retired in {}, too early",
            car.name.value, retired.value
        );
        let found = RULE
            .at(retired.span, message)
            .also(earliest.span, "equipment is from this day on");
        out.push(found.help(
            "give it the state `off the railroad`, or stretch `equipment_from` in railroad.toml",
        ));
    }
}
