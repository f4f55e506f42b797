//! A house car has no running board before cars were built without.

use model::{Diagnostics, Rule, Severity};

use crate::{
    Context,
    car::{Car, CarKind, RunningBoard},
};

/// A house car has no running board before cars were built without.
pub static RULE: Rule = Rule {
    code: "no-running-board",
    severity: Severity::Warning,
    title: "A house car has no running board before cars were built without.",
    explain: "New box cars and the like came without running boards from 1966 on, and older ones lost \
              theirs later.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,running_board
SMR,101,XM,boxcar,6 in,none
"#,
    rendered: r#"
warning[no-running-board]: SMR 101 has no running board, and none came so before 1966
 --> cars.csv:2:24
  |
2 | SMR,101,XM,boxcar,6 in,none
  |                        ^^^^
  |
 ::: railroad.toml:5:8
  |
5 | date = 1941-10-14
  |        ---------- equipment may be up to this day
  |
  = help: write `wood` or `steel`, or leave the cell empty
"#,
    file: file!(),
};

/// Judged by the last day from which equipment may come.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(board), Some(kind), Some(latest)) =
        (&car.running_board, &car.kind, context.era.latest())
    else {
        return;
    };
    let house_car = matches!(
        kind.value,
        CarKind::Boxcar
            | CarKind::AutomobileCar
            | CarKind::Reefer
            | CarKind::Ventilator
            | CarKind::Stock
    );
    if house_car && board.value == RunningBoard::None && latest.value.year() < 1966 {
        let message = format!(
            "{} has no running board, and none came so before 1966",
            car.name.value
        );
        out.push(
            RULE.at(board.span, message)
                .also(latest.span, "equipment may be up to this day")
                .help("write `wood` or `steel`, or leave the cell empty"),
        );
    }
}
