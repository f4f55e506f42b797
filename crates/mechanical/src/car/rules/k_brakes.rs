//! A foreign car with K brakes comes in interchange after they were barred.

use model::{Diagnostics, Rule, Severity, date::DateStyle};

use crate::{
    Context,
    car::{Car, CarKind},
    era::{Applies, barred_since},
};

/// A foreign car with K brakes comes in interchange after they were barred.
pub static RULE: Rule = Rule {
    code: "k-brakes",
    severity: Severity::Warning,
    title: "A foreign car with K brakes comes in interchange after they were barred.",
    explain: "K brakes were not accepted in interchange from 1 July 1953 on, tank cars' from 1 October \
              1953, as lists kept by students of freight cars give it. A road could keep its own such \
              cars at home.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1954-10-14
equipment_from = 1915
clock = 4

[roads.BTC]
name = "Basin & Tule Creek"
--- cars.csv
marks,number,aar,kind,length,brake
BTC,4410,XM,boxcar,6 in,K
"#,
    rendered: r#"
warning[k-brakes]: BTC 4410 has K brakes, barred since Jul 1, 1953
 --> cars.csv:2:25
  |
2 | BTC,4410,XM,boxcar,6 in,K
  |                         ^
  |
 ::: railroad.toml:5:8
  |
5 | date = 1954-10-14
  |        ---------- the modelled day
  |
  = help: change its brakes, keep it `off the railroad`, or model an earlier day
"#,
    file: file!(),
};

/// Judged by the modelled day itself.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(brake), Some(day)) = (&car.brake, &context.era.date) else {
        return;
    };
    let tank = car.kind.is_some_and(|kind| kind.value == CarKind::Tank);
    let applies = if tank {
        Applies::KBrakesOnTanks
    } else {
        Applies::KBrakes
    };
    if let Some(since) = barred_since(applies, day.value)
        && car.has_k_brakes()
        && car.is_foreign(context)
        && car.state.on_the_railroad()
    {
        let message = format!(
            "{} has K brakes, barred since {}",
            car.name.value,
            since.show(DateStyle::MonthName)
        );
        out.push(
            RULE.at(brake.span, message)
                .also(day.span, "the modelled day")
                .help("change its brakes, keep it `off the railroad`, or model an earlier day"),
        );
    }
}
