//! An engine is not yet built on the day that is modelled.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine};

/// An engine is not yet built on the day that is modelled.
pub static RULE: Rule = Rule {
    code: "engine-not-yet-built",
    severity: Severity::Warning,
    title: "An engine is not yet built on the day that is modelled.",
    explain: "The railroad is judged by `date` in railroad.toml, stretched to `equipment_to` if that \
              is written. An engine from later years can stay on the record as `off the railroad`.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,built
12,steam,2-8-0,9 in,1944
"#,
    rendered: r#"
warning[engine-not-yet-built]: engine 12 is built in 1944, too late
 --> engines.csv:2:21
  |
2 | 12,steam,2-8-0,9 in,1944
  |                     ^^^^
  |
 ::: railroad.toml:5:8
  |
5 | date = 1941-10-14
  |        ---------- equipment may be up to this day
  |
  = help: give it the state `off the railroad`, or stretch `equipment_to` in railroad.toml
"#,
    file: file!(),
};

/// Engines that are on the railroad.
pub(crate) fn check(engine: &Engine, context: &Context, out: &mut Diagnostics) {
    let (Some(built), Some(latest)) = (&engine.built, context.era.latest()) else {
        return;
    };
    if engine.state.on_the_railroad() && built.value.first() > latest.value {
        let message = format!(
            "engine {} is built in {}, too late",
            engine.number.value, built.value
        );
        let found = RULE
            .at(built.span, message)
            .also(latest.span, "equipment may be up to this day");
        out.push(found.help(
            "give it the state `off the railroad`, or stretch `equipment_to` in railroad.toml",
        ));
    }
}
