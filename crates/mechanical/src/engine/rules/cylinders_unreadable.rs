//! A size of cylinders cannot be read.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, engine::Engine};

/// A size of cylinders cannot be read.
pub static RULE: Rule = Rule {
    code: "cylinders-unreadable",
    severity: Severity::Warning,
    title: "A size of cylinders cannot be read.",
    explain: "Bore and stroke in inches, as `22 x 28` or `23-3/4 x 32`; with a number before them if \
              there are more than two cylinders of that size, as `4 23-3/4 x 32`.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,cylinders
12,steam,2-8-0,9 in,22/28
"#,
    rendered: r#"
warning[cylinders-unreadable]: `22/28` is no bore and stroke
 --> engines.csv:2:21
  |
2 | 12,steam,2-8-0,9 in,22/28
  |                     ^^^^^
  |
  = help: write bore and stroke in inches, as `22 x 28`
"#,
    file: file!(),
};

/// What is written and cannot be read.
pub(crate) fn check(engine: &Engine, _: &Context, out: &mut Diagnostics) {
    let Some(cylinders) = &engine.cylinders else {
        return;
    };
    if engine.cylinder_sizes().is_none() {
        let message = format!("`{}` is no bore and stroke", cylinders.value);
        out.push(
            RULE.at(cylinders.span, message)
                .help("write bore and stroke in inches, as `22 x 28`"),
        );
    }
}
