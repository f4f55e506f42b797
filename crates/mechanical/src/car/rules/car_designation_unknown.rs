//! A mechanical designation is not one the trade used.

use model::{Diagnostics, Rule, Severity};

use crate::{
    Context,
    car::{Car, Designation},
};

/// A mechanical designation is not one the trade used.
pub static RULE: Rule = Rule {
    code: "car-designation-unknown",
    severity: Severity::Warning,
    title: "A mechanical designation is not one the trade used.",
    explain: "The first letter says what class of car it is: `X` box, `V` ventilator, `R` \
              refrigerator, `S` stock, `G` gondola, `H` hopper, `F` flat, `T` tank, `L` special, `N` \
              caboose, `MW` maintenance of way, `B`, `C`, `D` and `P` cars of passenger trains; the \
              letters after it say more. Leave the cell empty if you do not know it.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
SMR,101,WM,boxcar,6 in
"#,
    rendered: r#"
warning[car-designation-unknown]: `WM` of SMR 101 is no known mechanical designation
 --> cars.csv:2:9
  |
2 | SMR,101,WM,boxcar,6 in
  |         ^^
  |
  = help: did you mean `XM`?
"#,
    file: file!(),
};

/// A designation whose class is unknown.
pub(crate) fn check(car: &Car, _: &Context, out: &mut Diagnostics) {
    let Some(designation) = &car.designation else {
        return;
    };
    if designation.class.is_none() {
        let text = &designation.text;
        let message = format!(
            "`{text}` of {} is no known mechanical designation",
            car.name.value
        );
        out.push(
            RULE.at(designation.span, message)
                .did_you_mean(text, Designation::known()),
        );
    }
}
