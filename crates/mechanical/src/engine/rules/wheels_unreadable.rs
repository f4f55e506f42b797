//! A wheel arrangement cannot be read.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine};

/// A wheel arrangement cannot be read.
pub static RULE: Rule = Rule {
    code: "wheels-unreadable",
    severity: Severity::Warning,
    title: "A wheel arrangement cannot be read.",
    explain: "Steam engines go by the number of leading, driving and trailing wheels, as `2-8-0` or \
              `2-6-6-2`, always even; diesels and electrics by letters for the driven axles of each \
              truck and figures for idle ones, as `B-B` or `A1A-A1A`. A spreadsheet may have made a \
              date of `2-8-0`: enter it as text.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length
12,steam,2-7-0,9 in
"#,
    rendered: r#"
warning[wheels-unreadable]: `2-7-0` is no wheel arrangement
 --> engines.csv:2:10
  |
2 | 12,steam,2-7-0,9 in
  |          ^^^^^
  |
  = help: write it as `2-8-0`, `2-6-6-2` or `B-B`
"#,
    file: file!(),
};

/// What is written and is neither form.
pub(crate) fn check(engine: &Engine, _: &Context, out: &mut Diagnostics) {
    let Some(wheels) = &engine.wheels else { return };
    if engine.wheel_arrangement().is_none() {
        let message = format!("`{}` is no wheel arrangement", wheels.value);
        out.push(
            RULE.at(wheels.span, message)
                .help("write it as `2-8-0`, `2-6-6-2` or `B-B`"),
        );
    }
}
