//! A train may be longer than the railroad allows.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A train may be longer than the railroad allows.
pub static RULE: Rule = Rule {
    code: "train-over-the-limit",
    severity: Severity::Warning,
    title: "A train may be longer than the railroad allows.",
    explain: "`train_length` in the `limits` of railroad.toml is the longest train the owner builds \
              for.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1915
clock = 4

[limits]
train_length = "5 ft"
"#,
    rendered: r#"
warning[train-over-the-limit]: train 1 may be 6'-0", 1'-0" more than the railroad's limit of 5'-0"
  --> trains.toml:10:15
   |
10 | max_length = "6 ft"
   |               ^^^^
   |
   = help: shorten it, or raise `train_length` in railroad.toml

warning[train-over-the-limit]: train 2 may be 6'-0", 1'-0" more than the railroad's limit of 5'-0"
  --> trains.toml:21:15
   |
21 | max_length = "6 ft"
   |               ^^^^
   |
   = help: shorten it, or raise `train_length` in railroad.toml
"#,
    file: file!(),
};

/// Where both are written.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let Some(limit) = context.road.identity.limits.train_length else {
        return;
    };
    for train in &context.road.service.trains {
        if let Some(length) = train.max_length
            && length.value > limit
        {
            let message = format!(
                "train {} may be {}, {} more than the railroad's limit of {}",
                train.symbol.value,
                context.show(length.value),
                context.show(length.value - limit),
                context.show(limit)
            );
            out.push(
                RULE.at(length.span, message)
                    .help("shorten it, or raise `train_length` in railroad.toml"),
            );
        }
    }
}
