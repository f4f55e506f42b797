//! `sawby punctuality`: how the day stands up to crews of varying pace, cars on the ground and trains late
//! out of staging.

use std::{fmt::Write as _, process::ExitCode};

use model::time::RailSpan;
use planning::{
    day::Options,
    robust::{self, Chances, Outcome as Days, of_day::worked},
};
use railroad::Railroad;
use serde_json::{Value, json};

use super::orders::minutes;
use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `punctuality`.
#[derive(Debug, clap::Args)]
pub struct PunctualityArgs {
    #[command(flatten)]
    which: Which,
    /// How many days.
    #[arg(long, default_value_t = robust::Options::default().days, value_parser = clap::value_parser!(u32).range(1..))]
    days: u32,
    /// How much crews differ in pace, in percent: two thirds are within it.
    #[arg(long, default_value_t = 10.0, value_name = "PERCENT")]
    pace: f64,
    /// Stretches of open line run, of a thousand, on which something comes off the track.
    #[arg(long, default_value_t = 4.0, value_name = "IN A THOUSAND")]
    derailments: f64,
    /// Trains out of staging, of a hundred, that come late.
    #[arg(long, default_value_t = 20.0, value_name = "IN A HUNDRED")]
    late: f64,
    /// How long a train waits beyond the plan before the dispatcher makes a new one.
    #[arg(long, default_value = "30 min", value_name = "TIME")]
    patience: String,
    /// Keep the plan's order of trains whatever happens.
    #[arg(long)]
    no_new_plans: bool,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long to search for the plan, in rounds of the solver.
    #[arg(long, default_value_t = Options::default().rounds)]
    rounds: u64,
    /// Threads; the answer does not depend on them.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &PunctualityArgs) -> Outcome {
    let patience = RailSpan::parse(&args.patience).map_err(|error| {
        Failure::misunderstood(format!("--patience {}: {error}", args.patience))
            .help("a length of time such as `30 min`")
    })?;
    for (option, value, most) in [
        ("pace", args.pace, 50.0),
        ("derailments", args.derailments, 1000.0),
        ("late", args.late, 100.0),
    ] {
        if !(0.0..=most).contains(&value) {
            return Err(Failure::misunderstood(format!(
                "--{option} {value}: expected a number from 0 to {most}"
            )));
        }
    }
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let options = Options {
        seed: args.seed,
        rounds: args.rounds,
        ..Options::default()
    };
    let planned = match super::day::plan(railroad, &options) {
        Ok(planned) => planned,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    let chances = Chances {
        pace: args.pace / 100.0,
        derailment: args.derailments / 1000.0,
        late_out: args.late / 100.0,
        ..Chances::at_clock(railroad.identity.clock)
    };
    let how = robust::Options {
        days: args.days,
        seed: args.seed,
        threads: args.threads,
        patience: patience.seconds(),
        replans: u32::from(!args.no_new_plans),
        ..robust::Options::default()
    };
    let days = robust::run(&worked(railroad, &planned), &chances, &how, &|| false);
    say(&if args.json {
        format!("{:#}\n", as_json(&days, &how))
    } else {
        as_text(railroad, &days, &chances, &how)
    });
    Ok(ExitCode::from(WELL))
}

#[allow(clippy::cast_possible_truncation)]
fn of_seconds(seconds: f64) -> String {
    minutes(RailSpan::from_seconds(seconds.round() as i64))
}

/// How many lines of a table are worth printing.
const LINES: usize = 8;

fn as_text(railroad: &Railroad, days: &Days, chances: &Chances, how: &robust::Options) -> String {
    let mut text = format!("{}: {} days\n", railroad.identity.name, days.days);
    let _ = writeln!(
        text,
        "Crews within {:.0} % of each other, {:.1} in a thousand stretches with something on the ground for \
         about {}, {:.0} % of trains out of staging late by about {}. Seed {}.",
        chances.pace * 100.0,
        chances.derailment * 1000.0,
        RailSpan::from_seconds(chances.rerailing),
        chances.late_out * 100.0,
        RailSpan::from_seconds(chances.late_by),
        how.seed,
    );
    let _ = writeln!(
        text,
        "On {} of them the dispatcher made a new plan. On time is up to {} late.\n",
        days.replanned,
        RailSpan::from_seconds(how.tolerance)
    );
    let _ = writeln!(
        text,
        "  {:<7}{:>7}{:>9}{:>12}{:>14}{:>22}",
        "CLASS", "TRAINS", "ON TIME", "MEAN LATE", "9 IN 10 UNDER", "WAITS BEYOND THE PLAN"
    );
    for class in &days.classes {
        let _ = writeln!(
            text,
            "  {:<7}{:>7}{:>8.1}%{:>12}{:>14}{:>22}",
            class.class,
            class.trains,
            class.on_time * 100.0,
            of_seconds(class.mean_late),
            minutes(RailSpan::from_seconds(class.nine_in_ten)),
            of_seconds(class.mean_wait),
        );
    }
    let _ = writeln!(
        text,
        "\n  {:<16}{:>9}{:>12}{:>22}",
        "TRAIN", "ON TIME", "MEAN LATE", "WAITS BEYOND THE PLAN"
    );
    for train in &days.trains {
        let on_time = train
            .on_time
            .map_or_else(|| "-".to_owned(), |part| format!("{:.1}%", part * 100.0));
        let _ = writeln!(
            text,
            "  {:<16}{on_time:>9}{:>12}{:>22}",
            train.name,
            of_seconds(train.mean_late),
            of_seconds(train.mean_wait),
        );
    }
    text.push_str("\nWhere trains wait for each other beyond the plan, a day:\n");
    for choke in days.chokes.iter().take(LINES) {
        let _ = writeln!(
            text,
            "  {:>10}  {} (on {:.0} % of the days)",
            of_seconds(choke.mean_wait),
            choke.what,
            choke.days * 100.0
        );
    }
    if days.chokes.is_empty() {
        text.push_str("  nowhere\n");
    }
    text.push_str("\nWhat a minute to spare would save in lateness of all trains:\n");
    for slack in days.slack.iter().take(LINES) {
        let place = match &slack.to {
            Some(to) => format!("from {} to {to}", slack.from),
            None => format!("at {}", slack.from),
        };
        let _ = writeln!(text, "  {:>6.2} min  {} {place}", slack.saves, slack.train);
    }
    if days.slack.is_empty() {
        text.push_str("  nothing\n");
    }
    text
}

fn as_json(days: &Days, how: &robust::Options) -> Value {
    json!({
        "days": days.days,
        "seed": how.seed,
        "tolerance_seconds": how.tolerance,
        "days_with_a_new_plan": days.replanned,
        "classes": days.classes.iter().map(|class| json!({
            "class": class.class,
            "trains": class.trains,
            "on_time": class.on_time,
            "mean_late_seconds": class.mean_late,
            "nine_in_ten_under_seconds": class.nine_in_ten,
            "mean_wait_seconds": class.mean_wait,
        })).collect::<Vec<_>>(),
        "trains": days.trains.iter().map(|train| json!({
            "train": train.name,
            "on_time": train.on_time,
            "mean_late_seconds": train.mean_late,
            "mean_wait_seconds": train.mean_wait,
        })).collect::<Vec<_>>(),
        "waits": days.chokes.iter().map(|choke| json!({
            "what": choke.what,
            "mean_wait_seconds": choke.mean_wait,
            "part_of_days": choke.days,
        })).collect::<Vec<_>>(),
        "slack": days.slack.iter().map(|slack| json!({
            "train": slack.train,
            "from": slack.from,
            "to": slack.to,
            "saves": slack.saves,
        })).collect::<Vec<_>>(),
    })
}
