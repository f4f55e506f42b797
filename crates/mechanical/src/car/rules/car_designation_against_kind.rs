//! A mechanical designation and the kind of car contradict each other.

use model::{Diagnostics, Rule, Severity};

use crate::{
    Context,
    car::{Car, Form},
};

/// A mechanical designation and the kind of car contradict each other.
pub static RULE: Rule = Rule {
    code: "car-designation-against-kind",
    severity: Severity::Warning,
    title: "A mechanical designation and the kind of car contradict each other.",
    explain: "Shippers order cars by kind; the designation is what the equipment register says of the \
              car. If the two differ, one of them is a slip, and cars are ordered that cannot be \
              loaded.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
SMR,101,XM,gondola,6 in
"#,
    rendered: r#"
warning[car-designation-against-kind]: SMR 101 has the kind `gondola`, but `XM` is for box cars
 --> cars.csv:2:9
  |
2 | SMR,101,XM,gondola,6 in
  |         ^^ ------- the kind
  |
  = help: mend the kind, or the designation
"#,
    file: file!(),
};

/// Letters of a class that cars of this kind do not bear.
pub(crate) fn check(car: &Car, _: &Context, out: &mut Diagnostics) {
    let (Some(designation), Some(kind)) = (&car.designation, &car.kind) else {
        return;
    };
    let Some(class) = designation.class else {
        return;
    };
    // The letters of the type codes of 1970 part cars by other lines than kinds do.
    if designation.form == Form::Letters && !kind.classes().contains(&class) {
        let message = format!(
            "{} has the kind `{}`, but `{}` is for {}",
            car.name.value,
            kind.value,
            designation.text,
            class.word()
        );
        out.push(
            RULE.at(designation.span, message)
                .also(kind.span, "the kind")
                .help("mend the kind, or the designation"),
        );
    }
}
