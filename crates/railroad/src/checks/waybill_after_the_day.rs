//! A waybill is dated after the day that is modelled.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A waybill is dated after the day that is modelled.
pub static RULE: Rule = Rule {
    code: "waybill-after-the-day",
    severity: Severity::Warning,
    title: "A waybill is dated after the day that is modelled.",
    explain: "Waybills are of past days. A date after `date` in railroad.toml is a slip, or the \
              railroad has moved on and its date has not.",
    fixture: r#"
--- waybills.csv
date,car,from,to,commodity,state
1941-10-31,SMR 101,Alder,Birch,flour,loaded
"#,
    rendered: r#"
warning[waybill-after-the-day]: this waybill is of 1941-10-31, after 1941-10-14
 --> waybills.csv:2:1
  |
2 | 1941-10-31,SMR 101,Alder,Birch,flour,loaded
  | ^^^^^^^^^^
  |
 ::: railroad.toml:5:8
  |
5 | date = 1941-10-14
  |        ---------- the modelled day
  |
  = help: mend the date, or move `date` in railroad.toml on
"#,
    file: file!(),
};

/// Strictly after: a waybill of the day itself is being worked.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let Some(day) = context.road.identity.date else {
        return;
    };
    for waybill in &context.road.traffic.waybills {
        if let Some(date) = waybill.date
            && date.value > day.value
        {
            let message = format!("this waybill is of {}, after {}", date.value, day.value);
            out.push(
                RULE.at(date.span, message)
                    .also(day.span, "the modelled day")
                    .help("mend the date, or move `date` in railroad.toml on"),
            );
        }
    }
}
