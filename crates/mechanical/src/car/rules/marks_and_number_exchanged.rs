//! Reporting marks without a letter stand beside a number with letters.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// Reporting marks without a letter stand beside a number with letters.
pub static RULE: Rule = Rule {
    code: "marks-and-number-exchanged",
    severity: Severity::Warning,
    title: "Reporting marks without a letter stand beside a number with letters.",
    explain: "Marks are letters; numbers are mostly digits. The two columns are probably exchanged, \
              and nothing else will find the car by its name.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
101,SMR,XM,boxcar,6 in
"#,
    rendered: r#"
warning[marks-and-number-exchanged]: marks `101` and number `SMR` seem exchanged
 --> cars.csv:2:1
  |
2 | 101,SMR,XM,boxcar,6 in
  | ^^^ --- the number
  |
  = help: exchange the two cells
"#,
    file: file!(),
};

/// By what the two are made of.
pub(crate) fn check(car: &Car, _: &Context, out: &mut Diagnostics) {
    let letters = |text: &str| text.chars().any(char::is_alphabetic);
    let digits = |text: &str| text.chars().any(|c| c.is_ascii_digit());
    if digits(&car.marks) && !letters(&car.marks) && letters(&car.number) && !digits(&car.number) {
        let message = format!(
            "marks `{}` and number `{}` seem exchanged",
            *car.marks, car.number
        );
        out.push(
            RULE.at(car.marks.span, message)
                .also(car.name.span, "the number")
                .help("exchange the two cells"),
        );
    }
}
