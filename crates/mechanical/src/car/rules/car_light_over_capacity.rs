//! A car weighs more empty than it may carry.

use model::{Diagnostics, Rule, Severity};

use crate::{
    Context,
    car::{Car, CarKind},
    pounds,
};

/// A car weighs more empty than it may carry.
pub static RULE: Rule = Rule {
    code: "car-light-over-capacity",
    severity: Severity::Warning,
    title: "A car weighs more empty than it may carry.",
    explain: "A freight car that weighs more than its nominal capacity was hardly built; the two \
              columns are probably exchanged.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,capacity,light_weight
SMR,101,XM,boxcar,6 in,"44,000 lb","100,000 lb"
"#,
    rendered: r#"
warning[car-light-over-capacity]: SMR 101 weighs 100,000 lb empty, more than the 44,000 lb it may carry
 --> cars.csv:2:37
  |
2 | SMR,101,XM,boxcar,6 in,"44,000 lb","100,000 lb"
  |                         ---------   ^^^^^^^^^^
  |                         |
  |                         its capacity
  |
  = help: the two may be exchanged
"#,
    file: file!(),
};

/// Freight cars only: others carry little for their weight.
pub(crate) fn check(car: &Car, _: &Context, out: &mut Diagnostics) {
    let (Some(capacity), Some(light), Some(kind)) = (&car.capacity, &car.light_weight, &car.kind)
    else {
        return;
    };
    let in_passenger_trains = matches!(
        kind.value,
        CarKind::Milk | CarKind::ExpressReefer | CarKind::ExpressBox
    );
    if kind.carries_freight() && !in_passenger_trains && light.value > capacity.value {
        let message = format!(
            "{} weighs {} empty, more than the {} it may carry",
            car.name.value,
            pounds(light.value.pounds()),
            pounds(capacity.value.pounds())
        );
        let found = RULE
            .at(light.span, message)
            .also(capacity.span, "its capacity");
        out.push(found.help("the two may be exchanged"));
    }
}
