//! `sawby why`: why a train waits.

use std::{fmt::Write as _, process::ExitCode};

use planning::day::{Options, minutes, time};

use super::{day::wait_json, rating::pick};
use crate::{
    args::Which,
    outcome::{Outcome, WELL, WRONG, load, say},
};

/// What may stand after `why`.
#[derive(Debug, clap::Args)]
pub struct WhyArgs {
    /// The train.
    #[arg(value_name = "TRAIN")]
    train: String,
    /// Only its waits at this station.
    #[arg(long, value_name = "STATION")]
    at: Option<String>,
    #[command(flatten)]
    which: Which,
    /// Let trains leave stations on the way before their written times.
    #[arg(long)]
    ahead_of_time: bool,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &WhyArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let options = Options {
        seed: args.seed,
        keeps_leaving: !args.ahead_of_time,
        ..Options::default()
    };
    let planned = match super::day::plan(railroad, &options) {
        Ok(planned) => planned,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    let names: Vec<&str> = planned
        .plan
        .trains
        .iter()
        .map(|train| train.symbol.as_str())
        .collect();
    let train = &planned.plan.trains[pick("train today", &args.train, &names)?];
    let station = match &args.at {
        None => None,
        Some(name) => {
            let names: Vec<&str> = train
                .calls
                .iter()
                .map(|call| railroad.way.station(call.station).name.value.as_str())
                .collect();
            Some(train.calls[pick("station on its way", name, &names)?].station)
        }
    };
    let mut out = String::new();
    let asked = train
        .waits
        .iter()
        .filter(|wait| station.is_none_or(|station| station == wait.station));
    if args.json {
        let waits: Vec<_> = asked
            .map(|wait| wait_json(railroad, &planned, wait))
            .collect();
        let answer = serde_json::json!({ "train": train.symbol, "waits": waits });
        say(&format!("{answer:#}\n"));
        return Ok(ExitCode::from(WELL));
    }
    for wait in asked {
        let _ = writeln!(
            out,
            "{} {} {}, {} to {} ({}):",
            train.symbol,
            if wait.outside {
                "waits before"
            } else {
                "waits at"
            },
            railroad.way.station(wait.station).name.value,
            time(railroad, wait.from),
            time(railroad, wait.until),
            minutes(wait.length()),
        );
        for sentence in &wait.chain {
            let _ = writeln!(out, "  {sentence}.");
        }
        if wait.costs {
            let _ = writeln!(out, "  It costs the train time against its schedule.");
        }
    }
    if out.is_empty() {
        let _ = writeln!(out, "{} does not wait there.", train.symbol);
    }
    say(&out);
    Ok(ExitCode::from(WELL))
}
