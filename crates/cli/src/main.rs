//! `sawby`: the command line. A file per verb under `verbs/`.
//!
//! Exit codes: 0 all is well; 1 the work was done and found something wrong (errors in a railroad, no
//! plan); 2 the command line was not understood; 3 a file could not be read or written.

mod args;
mod outcome;
mod verbs;

use std::{io::Write as _, process::ExitCode};

use clap::Parser as _;

fn main() -> ExitCode {
    let args = args::Args::parse();
    let outcome = verbs::run(&args);
    // A reader that went away, like `head`, is no failure worth a word.
    let _ = std::io::stdout().flush();
    outcome.unwrap_or_else(|failure| {
        let _ = writeln!(anstream::stderr(), "{failure}");
        failure.exit_code()
    })
}
