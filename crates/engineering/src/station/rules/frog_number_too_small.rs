//! A frog number is smaller than the limit.

use model::{Rule, Severity};

use crate::check::Check;

/// A frog number is smaller than the limit.
pub static RULE: Rule = Rule {
    code: "frog-number-too-small",
    severity: Severity::Warning,
    title: "A frog number is smaller than the limit.",
    explain: "The limit is `frog_number` under `[limits]` in `railroad.toml`. A smaller number \
        is a sharper turnout, on which long cars and engines bind.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1915
clock = 4

[limits]
frog_number = 6
"#,
    rendered: r#"
warning[frog-number-too-small]: the switch `s3` of Alder has a No. 5 frog where No. 6 is the limit
  --> stations/alder.toml:14:74
   |
14 | s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
   |                                                                          ^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let Some(limit) = check.limits.frog_number else { return };
    for station in &check.way.stations {
        for switch in &station.switches {
            let Some(number) = switch.number else { continue };
            if number.value >= limit {
                continue;
            }
            check.out.push(RULE.at(
                number.span,
                format!(
                    "the switch `{}` of {} has a No. {} frog where No. {limit} is the limit",
                    switch.name.value, station.name.value, number.value
                ),
            ));
        }
    }
}
