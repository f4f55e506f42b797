//! A car type code is used before there were any.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// A car type code is used before there were any.
pub static RULE: Rule = Rule {
    code: "car-designation-too-new",
    severity: Severity::Warning,
    title: "A car type code is used before there were any.",
    explain: "Until 1970 cars were classified by letters alone, as `XM`; codes of a letter and three \
              digits, as `B207`, came then.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
SMR,101,B207,boxcar,6 in
"#,
    rendered: r#"
warning[car-designation-too-new]: `B207` of SMR 101 is a car type code, and those came in 1970
 --> cars.csv:2:9
  |
2 | SMR,101,B207,boxcar,6 in
  |         ^^^^
  |
 ::: railroad.toml:5:8
  |
5 | date = 1941-10-14
  |        ---------- the day modelled
  |
  = help: write the letters that were used then, as `XM` or `HM`
"#,
    file: file!(),
};

/// Judged by the last day from which equipment may come.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(designation), Some(day)) = (&car.designation, context.era.latest()) else {
        return;
    };
    if designation.class.is_some() && !designation.in_use(day.value) {
        let message = format!(
            "`{}` of {} is a car type code, and those came in 1970",
            designation.text, car.name.value
        );
        let found = RULE
            .at(designation.span, message)
            .also(day.span, "the day modelled");
        out.push(found.help("write the letters that were used then, as `XM` or `HM`"));
    }
}
