//! Measures the dispatching engine. Every subcommand prints a Markdown table.
//!
//! Instances that are not part of the project are reached through the environment variable
//! `SAWBY_SHARED`. Every plan that is counted has passed the checker once more, here.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "printing is what it is for"
)]

mod displib;
mod growth;
mod meets;
mod random;
mod replan;
mod run;

// The exhaustive enumeration and the random problems of the crate's own tests.
#[path = "../../../crates/dispatching/tests/common/mod.rs"]
mod common;

use std::error::Error;
use std::path::PathBuf;

use clap::{Parser, Subcommand};

/// Measures the dispatching engine.
#[derive(Parser)]
struct Arguments {
    /// Seed of all chance.
    #[arg(long, global = true, default_value_t = 1)]
    seed: u64,
    /// Engines that may work at the same time.
    #[arg(long, global = true, default_value_t = 1)]
    threads: usize,
    /// Count our seconds by the processor's time, not by the clock: for a machine that others use too.
    #[arg(long, global = true)]
    processor: bool,
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand)]
enum What {
    /// The public DISPLIB instances against the best known values.
    Displib {
        /// Seconds for each instance.
        #[arg(long, default_value_t = 60.0)]
        seconds: f64,
        /// Only instances whose name contains one of these.
        #[arg(long)]
        only: Vec<String>,
    },
    /// Single-track lines, beside a general constraint solver.
    Meets {
        /// Seconds for each instance and solver.
        #[arg(long, default_value_t = 60.0)]
        seconds: f64,
        /// Only instances whose name contains one of these.
        #[arg(long)]
        only: Vec<String>,
        /// A Python with `ortools`, to run the peer in the same run.
        #[arg(long)]
        python: Option<PathBuf>,
        /// Start the peer from the plan of the shared greedy dispatcher.
        #[arg(long)]
        greedy: bool,
        /// A folder of other lines, from other seeds of the generator.
        #[arg(long)]
        lines: Option<PathBuf>,
    },
    /// How long a new plan takes after a disturbance.
    Replan {
        /// How many disturbances.
        #[arg(long, default_value_t = 500)]
        disturbances: u64,
        /// Rounds of the solver for each.
        #[arg(long, default_value_t = 1)]
        rounds: u64,
        /// Rounds of the solver for the plans that are disturbed.
        #[arg(long, default_value_t = 20)]
        base_rounds: u64,
        /// Rounds of the solver for solving each afresh, to compare with; not done if absent.
        #[arg(long)]
        afresh: Option<u64>,
    },
    /// How time and memory grow with the number of trains.
    Growth {
        /// Stations of the generated lines.
        #[arg(long, default_value_t = 30)]
        stations: usize,
        /// Numbers of trains.
        #[arg(long, value_delimiter = ',', default_values_t = [10, 30, 100, 300, 1000])]
        trains: Vec<usize>,
        /// Seconds after which a size is given up.
        #[arg(long, default_value_t = 120.0)]
        seconds: f64,
    },
    /// One line of the growth table, as JSON: run apart, so that its memory is its own.
    #[command(hide = true)]
    GrowthOne {
        /// The line.
        line: PathBuf,
        /// Seconds after which it is given up.
        #[arg(long)]
        seconds: f64,
    },
    /// Small random problems against exhaustive enumeration.
    Random {
        /// How many.
        #[arg(long, default_value_t = 10_000)]
        problems: u64,
        /// Rounds of the solver for each.
        #[arg(long, default_value_t = 20)]
        rounds: u64,
    },
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let effort = run::Effort {
        seed: arguments.seed,
        threads: arguments.threads,
        processor: arguments.processor,
    };
    match arguments.what {
        What::Displib { seconds, only } => displib::run(effort, seconds, &only),
        What::Meets {
            seconds,
            only,
            python,
            greedy,
            lines,
        } => meets::run(effort, seconds, &only, python.as_deref(), greedy, lines),
        What::Replan {
            disturbances,
            rounds,
            base_rounds,
            afresh,
        } => replan::run(effort, disturbances, rounds, base_rounds, afresh),
        What::Growth {
            stations,
            trains,
            seconds,
        } => growth::run(effort, stations, &trains, seconds),
        What::GrowthOne { line, seconds } => growth::one(effort, &line, seconds),
        What::Random { problems, rounds } => random::run(effort, problems, rounds),
    }
}

/// The folder with the shared instances, or a sentence that says why not.
fn shared() -> Result<PathBuf, String> {
    std::env::var_os("SAWBY_SHARED")
        .map(|p| PathBuf::from(p).join("bench"))
        .ok_or_else(|| {
            "SAWBY_SHARED is not set: the instances are in the folder that it names".to_owned()
        })
}
