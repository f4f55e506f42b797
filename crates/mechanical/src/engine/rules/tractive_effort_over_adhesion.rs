//! An engine is rated to pull more than its drivers can grip.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine, pounds};

/// An engine is rated to pull more than its drivers can grip.
pub static RULE: Rule = Rule {
    code: "tractive-effort-over-adhesion",
    severity: Severity::Warning,
    title: "An engine is rated to pull more than its drivers can grip.",
    explain: "Drivers grip with about a quarter of the weight on them; a rating above a third of it \
              has never held. One of the two weights is a slip.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,weight_on_drivers,tractive_effort
12,steam,2-8-0,9 in,"90,000 lb","43,300 lb"
"#,
    rendered: r#"
warning[tractive-effort-over-adhesion]: engine 12 would pull 43,300 lb with 90,000 lb on its drivers, 48 % of it
 --> engines.csv:2:22
  |
2 | 12,steam,2-8-0,9 in,"90,000 lb","43,300 lb"
  |                      ^^^^^^^^^
  |
  = help: about a quarter is usual: has one of the two lost a figure?
"#,
    file: file!(),
};

/// Share of the weight on drivers; about a quarter is usual (common practice).
const HIGHEST: f64 = 1.0 / 3.0;

/// By the rating written, or else by what the cylinders give.
pub(crate) fn check(engine: &Engine, _: &Context, out: &mut Diagnostics) {
    let Some(drivers) = &engine.weight_on_drivers else {
        return;
    };
    let rated = engine.tractive_effort.map(|effort| effort.value.pounds());
    let Some(effort) = rated.or_else(|| engine.computed_tractive_effort_lb()) else {
        return;
    };
    let weight = drivers.value.pounds();
    if effort > weight * HIGHEST {
        let message = format!(
            "engine {} would pull {} with {} on its drivers, {:.0} % of it",
            engine.number.value,
            pounds(effort),
            pounds(weight),
            100.0 * effort / weight
        );
        out.push(
            RULE.at(drivers.span, message)
                .help("about a quarter is usual: has one of the two lost a figure?"),
        );
    }
}
