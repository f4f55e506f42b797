//! `sawby capacity`: what the line will carry, and what each improvement would be worth.

use std::{
    fmt::Write as _,
    io::{IsTerminal as _, Write as _},
    process::ExitCode,
    time::Instant,
};

use model::units::Actual;
use planning::capacity::{self, Capacity, Improvement, Options};
use railroad::Railroad;
use serde_json::{Value, json};

use super::orders::minutes;
use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `capacity`.
#[derive(Debug, clap::Args)]
pub struct CapacityArgs {
    #[command(flatten)]
    which: Which,
    /// How much longer sidings are made.
    #[arg(long, value_name = "LENGTH")]
    longer: Option<String>,
    /// Leave out how many more trains the line would carry, which takes the longest.
    #[arg(long)]
    improvements_only: bool,
    /// Stop after so many seconds, with what is done by then; what was not tried is named.
    #[arg(long, value_name = "SECONDS", value_parser = clap::value_parser!(u64).range(1..))]
    seconds: Option<u64>,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long each rerun may search, in rounds of the solver.
    #[arg(long, default_value_t = Options::default().rounds)]
    rounds: u64,
    /// Threads; the answer does not depend on them.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &CapacityArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let longer = match &args.longer {
        None => Options::default().longer,
        Some(text) => Actual::parse_in(text, railroad.identity.scale.scale).map_err(|error| {
            Failure::misunderstood(format!("--longer {text}: {error}"))
                .help("a length on the model such as `2 ft`")
        })?,
    };
    let options = Options {
        seed: args.seed,
        rounds: args.rounds,
        threads: args.threads,
        longer,
        ..Options::default()
    };
    let candidates = capacity::candidates(railroad, longer);
    let more = !args.improvements_only;
    let began = Instant::now();
    let stop = || {
        args.seconds
            .is_some_and(|most| began.elapsed().as_secs() >= most)
    };
    let watched = !args.json && std::io::stderr().is_terminal();
    let told = |done: usize, all: usize| {
        if watched {
            tell(&format!("\r{done} of {all} improvements tried"));
            if done == all {
                tell("\n");
            }
        }
    };
    let study = capacity::capacity(railroad, &[], &candidates, more, &options, &stop, &told);
    let found = match study {
        Ok(found) => found,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    say(&if args.json {
        format!("{:#}\n", as_json(railroad, &found))
    } else {
        as_text(railroad, &found)
    });
    Ok(ExitCode::from(WELL))
}

const LINES: usize = 8;

fn as_text(railroad: &Railroad, found: &Capacity) -> String {
    let mut text = format!("{}\n\n", railroad.identity.name);
    text.push_str("As the line is, trains take longer than they would alone, altogether:\n");
    for (class, waits) in &found.waits {
        let _ = writeln!(text, "  class {class}: {}", minutes(*waits));
    }
    if !found.proven {
        text.push_str("  (the best plan found; not proven least)\n");
    }
    text.push_str("\nHow much of the day the open line is taken:\n");
    for load in found.loads.iter().take(LINES) {
        let _ = writeln!(
            text,
            "  {:>4.0} %  {:>3} trains  {}",
            load.taken * 100.0,
            load.trains,
            load.what
        );
    }
    if let Some(first) = found.loads.first() {
        let _ = writeln!(text, "  The bottleneck is {}.", first.what);
    }
    if let Some(carries) = &found.carries {
        let _ = writeln!(
            text,
            "\nThe line carries the {} trains of the day and {} more: {}.",
            carries.trains, carries.extra, carries.why
        );
    }
    let useful: Vec<_> = found
        .worth
        .iter()
        .filter(|worth| worth.saved.iter().any(|(_, saved)| saved.seconds() != 0))
        .collect();
    text.push_str("\nWhat each improvement would save, by class:\n");
    if !useful.is_empty() {
        let _ = write!(text, "  {:<52}", "");
        for (class, _) in &found.waits {
            let _ = write!(text, "{:>12}", format!("CLASS {class}"));
        }
        text.push('\n');
    }
    for worth in &useful {
        let _ = write!(text, "  {:<52}", worth.improvement.words(railroad));
        for (_, saved) in &worth.saved {
            let _ = write!(text, "{:>12}", minutes(*saved));
        }
        text.push('\n');
    }
    if useful.is_empty() {
        text.push_str("  none of those tried saves anything\n");
    }
    let _ = writeln!(
        text,
        "  {} others save nothing that was found.",
        found.worth.len() - useful.len()
    );
    if !found.untried.is_empty() {
        let names: Vec<String> = found
            .untried
            .iter()
            .map(|improvement| improvement.words(railroad))
            .collect();
        let _ = writeln!(
            text,
            "  Stopped before these were tried: {}.",
            names.join("; ")
        );
    }
    text
}

/// On the way, beside the answer.
fn tell(text: &str) {
    let mut err = std::io::stderr();
    let _ = err.write_all(text.as_bytes());
    let _ = err.flush();
}

fn as_json(railroad: &Railroad, found: &Capacity) -> Value {
    let by_class = |list: &[(i64, model::time::RailSpan)]| -> Value {
        list.iter()
            .map(|(class, span)| json!({ "class": class, "seconds": span.seconds() }))
            .collect()
    };
    json!({
        "waits": by_class(&found.waits),
        "proven": found.proven,
        "loads": found.loads.iter().map(|load| json!({
            "what": load.what, "trains": load.trains, "taken": load.taken,
        })).collect::<Vec<_>>(),
        "carries": found.carries.as_ref().map(|carries| json!({
            "trains": carries.trains, "extra": carries.extra, "why": carries.why,
        })),
        "untried": found.untried.iter().map(|one| one.words(railroad)).collect::<Vec<_>>(),
        "improvements": found.worth.iter().map(|worth| json!({
            "kind": match worth.improvement {
                Improvement::LongerSiding { .. } => "longer siding",
                Improvement::SecondTrack { .. } => "second track",
                Improvement::StagingTrack { .. } => "staging track",
            },
            "what": worth.improvement.words(railroad),
            "saved": by_class(&worth.saved),
            "proven": worth.proven,
        })).collect::<Vec<_>>(),
    })
}
