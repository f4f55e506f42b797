//! Measures seasons: `season-bench speed`, `grow`, `pace`.
#![allow(
    clippy::print_stdout,
    reason = "a program that prints what it measured"
)]

mod pace;

use std::time::Instant;

use planning::season::{Options, season};
use railroad::{Folder, Railroad};

fn main() {
    match std::env::args().nth(1).as_deref() {
        Some("speed") => speed(),
        Some("grow") => grow(),
        Some("pace") => pace::run(),
        _ => println!("season-bench speed | grow | pace"),
    }
}

fn example() -> Railroad {
    railroad::load(&Folder::built_in("example").unwrap_or_default()).railroad
}

/// A thousand sessions of the example: in five runs of two hundred, on one thread and on two.
fn speed() {
    let railroad = example();
    let mut answers = vec![];
    for threads in [1, 2] {
        let options = Options {
            sessions: 200,
            runs: 5,
            threads,
            ..Options::default()
        };
        let begun = Instant::now();
        answers.push(season(&railroad, &options, &|_| {}));
        println!(
            "example, 5 x 200 sessions, {threads} thread(s): {:.3} s on the wall",
            begun.elapsed().as_secs_f64()
        );
    }
    println!("same answer: {}", answers[0] == answers[1]);
}

/// A hundred sessions of worked railroads one, two, five and ten times the size.
fn grow() {
    let mut first: Option<(f64, f64)> = None;
    for size in [1, 2, 5, 10] {
        let railroad = railroad::load(&generator::worked(size, 1)).railroad;
        let options = Options {
            sessions: 1000,
            runs: 1,
            threads: 1,
            ..Options::default()
        };
        let begun = Instant::now();
        let season = season(&railroad, &options, &|_| {});
        let seconds = begun.elapsed().as_secs_f64();
        let delivered: u64 = season.runs.iter().flat_map(|run| &run.delivered).sum();
        let cars = railroad.roster.cars.len() as f64;
        let (n, t) = *first.get_or_insert((cars, seconds));
        println!(
            "{size:2} x: {cars:.0} cars, {} stations, {} trains: {seconds:.2} s for 1000 sessions, {delivered} loads; \
             {:.2} of n log n",
            railroad.way.stations.len(),
            railroad.service.trains.len(),
            seconds / t / (cars * cars.ln() / (n * n.ln())),
        );
    }
}
