//! A car is painted as it was only after the day that is modelled.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// A car is painted as it was only after the day that is modelled.
pub static RULE: Rule = Rule {
    code: "car-painted-later",
    severity: Severity::Warning,
    title: "A car is painted as it was only after the day that is modelled.",
    explain: "The car may have existed, but not with this paint and lettering. Give it the state `off \
              the railroad`, find an earlier lettering, or stretch `equipment_to` in railroad.toml.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built,painted
SMR,101,XM,boxcar,6 in,1937,1946
"#,
    rendered: r#"
warning[car-painted-later]: SMR 101 is painted in 1946, too late
 --> cars.csv:2:29
  |
2 | SMR,101,XM,boxcar,6 in,1937,1946
  |                             ^^^^
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

/// Cars that are on the railroad. Rebuilding changes a car's looks as paint does.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let Some(latest) = context.era.latest() else {
        return;
    };
    if !car.state.on_the_railroad() {
        return;
    }
    for (word, date) in [("painted", &car.painted), ("rebuilt", &car.rebuilt)] {
        if let Some(date) = date
            && date.value.first() > latest.value
        {
            let message = format!("{} is {word} in {}, too late", car.name.value, date.value);
            let found = RULE
                .at(date.span, message)
                .also(latest.span, "equipment may be up to this day");
            out.push(found.help(
                "give it the state `off the railroad`, or stretch `equipment_to` in railroad.toml",
            ));
        }
    }
}
