//! A foreign car with arch-bar trucks comes in interchange after they were barred.

use model::{Diagnostics, Rule, Severity, date::DateStyle};

use crate::{
    Context,
    car::Car,
    era::{Applies, barred_since},
};

/// A foreign car with arch-bar trucks comes in interchange after they were barred.
pub static RULE: Rule = Rule {
    code: "arch-bar-trucks",
    severity: Severity::Warning,
    title: "A foreign car with arch-bar trucks comes in interchange after they were barred.",
    explain: "Arch-bar trucks were not accepted in interchange from 1 July 1940 on, as lists kept by \
              students of freight cars give it (some have 1 August 1941; the rule itself was not \
              read). A road could keep its own such cars at home.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1915
clock = 4

[roads.BTC]
name = "Basin & Tule Creek"
--- cars.csv
marks,number,aar,kind,length,truck
BTC,4410,XM,boxcar,6 in,arch bar
"#,
    rendered: r#"
warning[arch-bar-trucks]: BTC 4410 has arch-bar trucks, barred since Jul 1, 1940
 --> cars.csv:2:25
  |
2 | BTC,4410,XM,boxcar,6 in,arch bar
  |                         ^^^^^^^^
  |
 ::: railroad.toml:5:8
  |
5 | date = 1941-10-14
  |        ---------- the modelled day
  |
  = help: change its trucks, keep it `off the railroad`, or model an earlier day
"#,
    file: file!(),
};

/// Judged by the modelled day itself.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(truck), Some(day)) = (&car.truck, &context.era.date) else {
        return;
    };
    if let Some(since) = barred_since(Applies::ArchBars, day.value)
        && car.has_arch_bar_trucks()
        && car.is_foreign(context)
        && car.state.on_the_railroad()
    {
        let message = format!(
            "{} has arch-bar trucks, barred since {}",
            car.name.value,
            since.show(DateStyle::MonthName)
        );
        out.push(
            RULE.at(truck.span, message)
                .also(day.span, "the modelled day")
                .help("change its trucks, keep it `off the railroad`, or model an earlier day"),
        );
    }
}
