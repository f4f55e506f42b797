//! A curve on a train's way is sharper than its engine can take.

use std::collections::HashSet;

use model::{Diagnostics, Rule, Severity};

use super::{context::Context, curves::Curves};

/// A curve on a train's way is sharper than its engine can take.
pub static RULE: Rule = Rule {
    code: "engine-needs-wider-curves",
    severity: Severity::Warning,
    title: "A curve on a train's way is sharper than its engine can take.",
    explain: "`minimum_radius` of an engine is what its model runs on without trouble. Give the train \
              another engine, or ease the curve.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
curves = [{ from = "4 ft", to = "9 ft", radius = "24 in" }]
--- engines.csv
number,kind,wheels,length,minimum_radius
12,steam,2-8-0,9 in,28 in
"#,
    rendered: r#"
warning[engine-needs-wider-curves]: engine 12 needs 2'-4", and the way of train 1 has a curve of 2'-0"
 --> trains.toml:9:13
  |
9 | engines = ["12"]
  |             ^^
  |
 ::: lines/main.toml:7:51
  |
7 | curves = [{ from = "4 ft", to = "9 ft", radius = "24 in" }]
  |                                                   ----- the curve
  |
 ::: engines.csv:2:21
  |
2 | 12,steam,2-8-0,9 in,28 in
  |                     ----- what the engine needs
  |
  = help: give the train another engine, or ease the curve
"#,
    file: file!(),
};

/// Curves written on the open line and on the mains between. Once for each engine and curve.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let curves = Curves::new(&context.road.way);
    let roster = &context.road.roster;
    let mut seen = HashSet::new();
    for (_, train, way) in context.trains() {
        let Some(sharpest) = curves.on(way) else {
            continue;
        };
        for name in &train.engines {
            let Some(id) = roster.find_engine(&name.value) else {
                continue;
            };
            let engine = roster.engine(id);
            let Some(needs) = engine.minimum_radius else {
                continue;
            };
            if needs.value > sharpest.value && seen.insert((id, sharpest.span)) {
                let message = format!(
                    "engine {} needs {}, and the way of train {} has a curve of {}",
                    name.value,
                    context.show(needs.value),
                    train.symbol.value,
                    context.show(sharpest.value)
                );
                let found = RULE.at(name.span, message).also(sharpest.span, "the curve");
                out.push(
                    found
                        .also(needs.span, "what the engine needs")
                        .help("give the train another engine, or ease the curve"),
                );
            }
        }
    }
}
