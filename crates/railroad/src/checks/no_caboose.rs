//! Trains carry cabooses, and there is none.

use mechanical::CarKind;
use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// Trains carry cabooses, and there is none.
pub static RULE: Rule = Rule {
    code: "no-caboose",
    severity: Severity::Warning,
    title: "Trains carry cabooses, and there is none.",
    explain: "No caboose is in service. Enter one in the car record, or write `caboose = false` in the \
              trains.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
SMR,101,XM,boxcar,6 in
"#,
    rendered: r#"
warning[no-caboose]: train 1 carries a caboose, and none is in service
 --> trains.toml:1:9
  |
1 | [trains.1]
  |         ^
  |
  = help: enter one in cars.csv, or write `caboose = false` in the trains
"#,
    file: file!(),
};

/// Where there is a roster at all; at the first train that carries one.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let cars = &context.road.roster.cars;
    let caboose = |car: &mechanical::Car| {
        car.state.on_the_railroad() && car.kind.is_some_and(|kind| kind.value == CarKind::Caboose)
    };
    if cars.is_empty() || cars.iter().any(caboose) {
        return;
    }
    if let Some(train) = context
        .road
        .service
        .trains
        .iter()
        .find(|train| train.caboose)
    {
        let message = format!(
            "train {} carries a caboose, and none is in service",
            train.symbol.value
        );
        out.push(
            RULE.at(train.symbol.span, message)
                .help("enter one in cars.csv, or write `caboose = false` in the trains"),
        );
    }
}
