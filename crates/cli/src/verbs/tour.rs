//! `sawby` without a verb: the main job on the example railroad.

use std::process::ExitCode;

use model::{Severity, diagnostic::Look};

use super::check;
use crate::{
    args::Which,
    outcome::{Outcome, WELL, WRONG, load, say},
};

pub(super) fn run() -> Outcome {
    let loaded = load(&Which {
        folder: ".".into(),
        example: true,
    })?;
    say(&loaded.report(Look::Coloured));
    say(&format!("{}\n", check::summary(&loaded)));
    Ok(ExitCode::from(if loaded.count(Severity::Error) > 0 {
        WRONG
    } else {
        WELL
    }))
}
