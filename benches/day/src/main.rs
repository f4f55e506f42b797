//! From folder to plan, measured: the example, and a generated railroad ten times as large.
//!
//! `cargo run --release -p day-bench [-- WHAT]` prints tables; see `USAGE`.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a benchmark prints"
)]

mod general;
mod long;
mod stages;

use std::{fs, process::ExitCode, time::Instant};

use planning::day::{Options, day};
use railroad::{Folder, load};

/// What a workable timetable leaves for meets, in a hundred parts of the running time.
const SPARE: u32 = 30;

const USAGE: &str = "\
day-bench [WHAT]
  stages [THREADS]   the example from folder to finished plan, stage by stage
  stops              the same, stop by stop: which town's work is hard to plan
  plans              the day's plan alone, of the example and of generated railroads
  long SECONDS SIZE SPARE  a generated railroad's plan, as it gets better with time (one thread);
                     trains have SPARE parts in a hundred more time than they need alone
  general PYTHON SECONDS  the same problems for CP-SAT in the same run, as long as that for each; PYTHON
                     has the package `ortools`
  export FILE        the example's dispatching problem, for anybody's solver
without WHAT: stages, then plans";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words[..] {
        [] => {
            stages::run(2);
            plans();
        }
        ["stages"] => stages::run(2),
        ["stages", threads] => match threads.parse() {
            Ok(threads) => stages::run(threads),
            Err(_) => return usage(),
        },
        ["stops"] => stages::stops(),
        ["plans"] => plans(),
        ["long", seconds, size, spare] => match (seconds.parse(), size.parse(), spare.parse()) {
            (Ok(seconds), Ok(size), Ok(spare)) => long::run(seconds, size, spare),
            _ => return usage(),
        },
        ["general", python, seconds] => match seconds.parse() {
            Ok(seconds) => general::run(python, seconds),
            Err(_) => return usage(),
        },
        ["export", path] => export(path),
        _ => return usage(),
    }
    ExitCode::SUCCESS
}

fn usage() -> ExitCode {
    eprintln!("{USAGE}");
    ExitCode::from(2)
}

fn plans() {
    println!(
        "| railroad | trains | stations | operations | resources | late by class, s | proven by class, s | wall s |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    let example = Folder::built_in("example").unwrap_or_default();
    measure("example", &example);
    for size in [1, 10] {
        measure(
            &format!("generated, {size}x"),
            &generator::busy(size, 1, SPARE),
        );
    }
}

fn export(path: &str) {
    let example = Folder::built_in("example").unwrap_or_default();
    let loaded = load(&example);
    match day(
        &loaded.railroad,
        &Options::default(),
        &[],
        &|| false,
        &mut |_| {},
    ) {
        Ok(planned) => {
            let text = dispatching::json::write_problem(&planned.problem);
            if let Err(error) = fs::write(path, text) {
                eprintln!("{path}: {error}");
            }
        }
        Err(no_day) => eprintln!("{no_day}"),
    }
}

fn measure(name: &str, folder: &Folder) {
    let started = Instant::now();
    let loaded = load(folder);
    let railroad = &loaded.railroad;
    let planned = day(railroad, &Options::default(), &[], &|| false, &mut |_| {});
    let wall = started.elapsed().as_secs_f64();
    let planned = match planned {
        Ok(planned) => planned,
        Err(no_day) => {
            println!("| {name} | | | | | {no_day} | | {wall:.2} |");
            return;
        }
    };
    let late: Vec<String> = planned
        .plan
        .losses
        .iter()
        .map(|loss| loss.lost.seconds().to_string())
        .collect();
    let proven: Vec<String> = planned
        .plan
        .losses
        .iter()
        .map(|loss| {
            loss.at_least
                .map_or_else(|| "-".to_owned(), |span| span.seconds().to_string())
        })
        .collect();
    let operations: usize = planned
        .problem
        .trains
        .iter()
        .map(|train| train.operations.len())
        .sum();
    println!(
        "| {name} | {} | {} | {operations} | {} | {} | {} | {wall:.2} |",
        planned.plan.trains.len(),
        railroad.way.stations.len(),
        planned.problem.resources.len(),
        late.join(", "),
        proven.join(", "),
    );
}
