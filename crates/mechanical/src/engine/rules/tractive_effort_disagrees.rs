//! A rated tractive effort is not what cylinders, pressure and drivers give.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine, pounds};

/// A rated tractive effort is not what cylinders, pressure and drivers give.
pub static RULE: Rule = Rule {
    code: "tractive-effort-disagrees",
    severity: Severity::Warning,
    title: "A rated tractive effort is not what cylinders, pressure and drivers give.",
    explain: "By the usual formula a pair of cylinders gives 0.85 P d² s / D: 85 per cent of the \
              boiler pressure, times the square of the bore, times the stroke, by the diameter of the \
              drivers. More than 15 per cent off is a slip in one of the five, unless the engine has \
              limited cut-off: then leave the cylinders out, or the rating.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,drivers,cylinders,pressure,tractive_effort
12,steam,2-8-0,9 in,57 in,22 x 28,180,"63,300 lb"
"#,
    rendered: r#"
warning[tractive-effort-disagrees]: engine 12 is rated at 63,300 lb, but its cylinders give 36,376 lb
 --> engines.csv:2:40
  |
2 | 12,steam,2-8-0,9 in,57 in,22 x 28,180,"63,300 lb"
  |                           -------      ^^^^^^^^^
  |                           |
  |                           bore and stroke
  |
  = help: leave `tractive_effort` out to have it computed
"#,
    file: file!(),
};

/// How far off a rating may be.
const TOLERANCE: f64 = 0.15;

/// Where all five are written.
pub(crate) fn check(engine: &Engine, _: &Context, out: &mut Diagnostics) {
    let (Some(rated), Some(computed)) = (
        &engine.tractive_effort,
        engine.computed_tractive_effort_lb(),
    ) else {
        return;
    };
    let effort = rated.value.pounds();
    if (effort - computed).abs() > TOLERANCE * computed {
        let message = format!(
            "engine {} is rated at {}, but its cylinders give {}",
            engine.number.value,
            pounds(effort),
            pounds(computed)
        );
        let mut found = RULE.at(rated.span, message);
        if let Some(cylinders) = &engine.cylinders {
            found = found.also(cylinders.span, "bore and stroke");
        }
        out.push(found.help("leave `tractive_effort` out to have it computed"));
    }
}
