//! An engine is retired before it is built.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine};

/// An engine is retired before it is built.
pub static RULE: Rule = Rule {
    code: "engine-retired-before-built",
    severity: Severity::Error,
    title: "An engine is retired before it is built.",
    explain: "One of the two dates is a slip, or they stand in each other's column.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,built,retired
12,steam,2-8-0,9 in,1912,1908
"#,
    rendered: r#"
error[engine-retired-before-built]: engine 12 is retired in 1908 but built in 1912
 --> engines.csv:2:26
  |
2 | 12,steam,2-8-0,9 in,1912,1908
  |                     ---- ^^^^
  |                     |
  |                     built
  |
  = help: are the two columns exchanged?
"#,
    file: file!(),
};

/// Certainly before: a year alone may hold both.
pub(crate) fn check(engine: &Engine, _: &Context, out: &mut Diagnostics) {
    let (Some(built), Some(retired)) = (&engine.built, &engine.retired) else {
        return;
    };
    if retired.value.last() < built.value.first() {
        let message = format!(
            "engine {} is retired in {} but built in {}",
            engine.number.value, retired.value, built.value
        );
        out.push(
            RULE.at(retired.span, message)
                .also(built.span, "built")
                .help("are the two columns exchanged?"),
        );
    }
}
