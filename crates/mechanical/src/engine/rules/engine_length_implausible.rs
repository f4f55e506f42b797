//! An engine is far longer or shorter than any real one.

use model::{Diagnostics, Rule, Severity};

use crate::{
    Context,
    engine::{Engine, EngineKind},
};

/// An engine is far longer or shorter than any real one.
pub static RULE: Rule = Rule {
    code: "engine-length-implausible",
    severity: Severity::Warning,
    title: "An engine is far longer or shorter than any real one.",
    explain: "The length is that of the model over its couplers, tender included. Engines were between \
              12 and 150 feet long; a set of units that is never parted may be longer, up to 300 feet \
              here. Usually the unit is wrong.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length
12,steam,2-8-0,9 ft
"#,
    rendered: r#"
warning[engine-length-implausible]: engine 12 would be 784 ft long full size
 --> engines.csv:2:16
  |
2 | 12,steam,2-8-0,9 ft
  |                ^^^^
  |
  = help: write its length on the model, or its full-size length as `70 scale ft`
"#,
    file: file!(),
};

/// Feet, full size: common practice, no source.
const SHORTEST: f64 = 12.0;
const LONGEST_STEAM: f64 = 150.0;
const LONGEST_SET: f64 = 300.0;

/// Judged at full size.
pub(crate) fn check(engine: &Engine, context: &Context, out: &mut Diagnostics) {
    let Some(length) = &engine.length else { return };
    let feet = context.scale.to_prototype(length.value).feet();
    let steam = engine
        .kind
        .is_some_and(|kind| kind.value == EngineKind::Steam);
    let longest = if steam { LONGEST_STEAM } else { LONGEST_SET };
    if !(SHORTEST..=longest).contains(&feet) {
        let message = format!(
            "engine {} would be {feet:.0} ft long full size",
            engine.number.value
        );
        out.push(
            RULE.at(length.span, message)
                .help("write its length on the model, or its full-size length as `70 scale ft`"),
        );
    }
}
