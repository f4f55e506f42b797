//! An engine has more weight on its drivers than it weighs.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine, pounds};

/// An engine has more weight on its drivers than it weighs.
pub static RULE: Rule = Rule {
    code: "drivers-heavier-than-engine",
    severity: Severity::Error,
    title: "An engine has more weight on its drivers than it weighs.",
    explain: "The weight on drivers is a part of the engine's weight; `engine_weight` is without the \
              tender, not the tender's.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,engine_weight,weight_on_drivers
12,steam,2-8-0,9 in,"187,000 lb","208,000 lb"
"#,
    rendered: r#"
error[drivers-heavier-than-engine]: engine 12 has 208,000 lb on its drivers but weighs 187,000 lb
 --> engines.csv:2:35
  |
2 | 12,steam,2-8-0,9 in,"187,000 lb","208,000 lb"
  |                      ----------   ^^^^^^^^^^
  |                      |
  |                      the engine's weight
  |
  = help: the two may be exchanged
"#,
    file: file!(),
};

/// A diesel's two weights may be equal, so may a switcher's.
pub(crate) fn check(engine: &Engine, _: &Context, out: &mut Diagnostics) {
    let (Some(whole), Some(drivers)) = (&engine.engine_weight, &engine.weight_on_drivers) else {
        return;
    };
    if drivers.value > whole.value {
        let message = format!(
            "engine {} has {} on its drivers but weighs {}",
            engine.number.value,
            pounds(drivers.value.pounds()),
            pounds(whole.value.pounds())
        );
        let found = RULE
            .at(drivers.span, message)
            .also(whole.span, "the engine's weight");
        out.push(found.help("the two may be exchanged"));
    }
}
