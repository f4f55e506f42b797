//! `sawby check`: everything about a railroad folder that does not hold together.

use std::process::ExitCode;

use model::{Severity, Span, diagnostic::Look};
use railroad::Loaded;
use serde_json::{Value, json};

use crate::{
    args::Which,
    outcome::{Outcome, WELL, WRONG, load, say},
};

/// What may stand after `check`.
#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    #[command(flatten)]
    which: Which,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &CheckArgs) -> Outcome {
    let loaded = load(&args.which)?;
    if args.json {
        say(&format!("{:#}\n", to_json(&loaded)));
    } else {
        say(&loaded.report(Look::Coloured));
        say(&format!("{}\n", summary(&loaded)));
    }
    Ok(ExitCode::from(if loaded.count(Severity::Error) > 0 {
        WRONG
    } else {
        WELL
    }))
}

/// One line: how many of each, or that all is well.
pub(super) fn summary(loaded: &Loaded) -> String {
    let name = &loaded.railroad.identity.name;
    let counts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .filter_map(|severity| match loaded.count(severity) {
            0 => None,
            1 => Some(format!("1 {}", severity.word())),
            n => Some(format!("{n} {}s", severity.word())),
        })
        .collect();
    match counts.as_slice() {
        [] => format!("{name}: everything holds together."),
        counts => format!(
            "{name}: {}. `sawby explain CODE` says more about each kind.",
            counts.join(", ")
        ),
    }
}

fn to_json(loaded: &Loaded) -> Value {
    let place = |span: Span| {
        let source = loaded.sources.get(span.file);
        let (line, column) = source.line_column(span.range().start);
        let (end_line, end_column) = source.line_column(span.range().end);
        json!({
            "file": source.path,
            "line": line, "column": column, "end_line": end_line, "end_column": end_column,
        })
    };
    let diagnostics: Vec<Value> = loaded
        .diagnostics
        .iter()
        .map(|found| {
            let others: Vec<Value> = found
                .others
                .iter()
                .map(|other| json!({ "at": place(other.span), "label": other.text }))
                .collect();
            json!({
                "code": found.rule.code,
                "severity": found.rule.severity.word(),
                "message": found.message,
                "at": place(found.primary.span),
                "label": found.primary.text,
                "others": others,
                "help": found.help,
            })
        })
        .collect();
    json!({ "railroad": loaded.railroad.identity.name, "diagnostics": diagnostics })
}
