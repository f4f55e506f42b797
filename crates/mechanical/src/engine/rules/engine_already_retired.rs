//! An engine is retired before the day that is modelled.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine};

/// An engine is retired before the day that is modelled.
pub static RULE: Rule = Rule {
    code: "engine-already-retired",
    severity: Severity::Warning,
    title: "An engine is retired before the day that is modelled.",
    explain: "The railroad is judged by `date` in railroad.toml, stretched back to `equipment_from` if \
              that is written. An engine from earlier years can stay on the record as `off the \
              railroad`.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,built,retired
12,steam,2-8-0,9 in,1889,1911
"#,
    rendered: r#"
warning[engine-already-retired]: engine 12 is retired in 1911, too early
 --> engines.csv:2:26
  |
2 | 12,steam,2-8-0,9 in,1889,1911
  |                          ^^^^
  |
 ::: railroad.toml:6:18
  |
6 | equipment_from = 1915
  |                  ---- equipment is from this day on
  |
  = help: give it the state `off the railroad`, or stretch `equipment_from` in railroad.toml
"#,
    file: file!(),
};

/// Engines that are on the railroad.
pub(crate) fn check(engine: &Engine, context: &Context, out: &mut Diagnostics) {
    let (Some(retired), Some(earliest)) = (&engine.retired, context.era.earliest()) else {
        return;
    };
    if engine.state.on_the_railroad() && retired.value.last() < earliest.value {
        let message = format!(
            "engine {} is retired in {}, too early",
            engine.number.value, retired.value
        );
        let found = RULE
            .at(retired.span, message)
            .also(earliest.span, "equipment is from this day on");
        out.push(found.help(
            "give it the state `off the railroad`, or stretch `equipment_from` in railroad.toml",
        ));
    }
}
