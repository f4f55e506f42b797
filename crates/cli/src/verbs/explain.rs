//! `sawby explain CODE`: one entry of the diagnostics.

use std::process::ExitCode;

use railroad::{all_rules, find_rule, handbook};

use crate::outcome::{Failure, Outcome, say};

/// What may stand after `explain`.
#[derive(Debug, clap::Args)]
pub struct ExplainArgs {
    /// The code in brackets after `error`, `warning` or `note`; all codes if left out.
    code: Option<String>,
}

pub(super) fn run(args: &ExplainArgs) -> Outcome {
    let Some(code) = &args.code else {
        for rule in all_rules() {
            say(&format!("{:<36} {}\n", rule.code, rule.title));
        }
        return Ok(ExitCode::SUCCESS);
    };
    let code = code.trim_matches(['[', ']']).to_lowercase();
    match find_rule(&code) {
        Ok(rule) => {
            say(&handbook::explain(rule));
            Ok(ExitCode::SUCCESS)
        }
        Err(near) => {
            let failure = Failure::misunderstood(format!("there is no diagnostic `{code}`"));
            Err(match near {
                Some(near) => failure.help(format!("did you mean `{near}`?")),
                None => failure.help("`sawby explain` lists all codes"),
            })
        }
    }
}
