//! From folder to plan, measured: the example, and generated railroads ten times as large.
//!
//! `cargo run --release -p day-bench [-- PROBLEM]` prints a table; with a file it also writes the example's
//! dispatching problem there, for anybody's solver.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a benchmark prints"
)]

use std::{fs, time::Instant};

use planning::day::{Options, day};
use railroad::{Folder, load};

fn main() {
    let export = std::env::args().nth(1);
    println!(
        "| railroad | trains | stations | operations | resources | late by class, s | proven by class, s | wall s |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    let example = Folder::built_in("example").unwrap_or_default();
    measure("example", &example, export.as_deref());
    for size in [1, 10] {
        measure(
            &format!("generated, {size}x"),
            &generator::railroad(size, 1),
            None,
        );
    }
}

fn measure(name: &str, folder: &Folder, export: Option<&str>) {
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
    if let Some(path) = export
        && let Err(error) = fs::write(path, dispatching::json::write_problem(&planned.problem))
    {
        eprintln!("{path}: {error}");
    }
}
