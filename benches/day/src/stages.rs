//! The example from folder to finished plan, stage by stage.

use std::{fs, time::Instant};

use planning::{
    bill::{self, opening},
    day::{self, Options},
    town::{Pace, model_rates},
};
use railroad::{Folder, Railroad, load};
use switching::Answer;

/// As `sawby day` has it.
const STATES: u64 = 100_000;

fn switching_options(railroad: &Railroad) -> switching::Options {
    switching::Options {
        node_budget: STATES,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
        ..switching::Options::default()
    }
}

struct Stage {
    name: &'static str,
    wall: f64,
    processor: f64,
}

struct Watch {
    stages: Vec<Stage>,
    since: (Instant, f64),
}

impl Watch {
    fn start() -> Self {
        Self {
            stages: vec![],
            since: (Instant::now(), processor()),
        }
    }

    fn done(&mut self, name: &'static str) {
        let now = (Instant::now(), processor());
        self.stages.push(Stage {
            name,
            wall: (now.0 - self.since.0).as_secs_f64(),
            processor: now.1 - self.since.1,
        });
        self.since = now;
    }
}

/// Seconds of the processor that this process has had, user and system, to ten milliseconds.
pub(crate) fn processor() -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after = stat.rsplit(')').next().unwrap_or_default();
    let fields: Vec<&str> = after.split_whitespace().collect();
    let ticks = |at: usize| {
        fields
            .get(at)
            .and_then(|text| text.parse::<f64>().ok())
            .unwrap_or(0.0)
    };
    (ticks(11) + ticks(12)) / 100.0
}

/// Most memory the process has held, megabytes.
pub(crate) fn peak() -> f64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .and_then(|line| line.trim().trim_end_matches(" kB").parse::<f64>().ok())
        .map_or(0.0, |kilobytes| kilobytes / 1024.0)
}

/// Prints what each stage takes.
pub(crate) fn run(threads: usize) {
    let mut watch = Watch::start();
    let folder = Folder::built_in("example").unwrap_or_default();
    let loaded = load(&folder);
    let railroad = &loaded.railroad;
    watch.done("folder read and checked");
    let books = opening(railroad, 0);
    let Ok(billed) = bill::bill(railroad, &books, &bill::Options::default()) else {
        println!("the example cannot be billed");
        return;
    };
    watch.done("cars billed, trains made up");
    let worked = day::worked(
        railroad,
        &books,
        &billed,
        &switching_options(railroad),
        threads,
        &|| false,
    );
    let made = day::made(railroad, &billed, &worked);
    watch.done("stops timed by their switching plans");
    let options = Options {
        threads,
        ..Options::default()
    };
    let planned = day::day(railroad, &options, &made, &|| false, &mut |_| {});
    watch.done("day dispatched, explained and judged");
    println!("| stage, {threads} threads | wall s | processor s |");
    println!("|---|---|---|");
    for stage in &watch.stages {
        println!(
            "| {} | {:.2} | {:.2} |",
            stage.name, stage.wall, stage.processor
        );
    }
    let wall: f64 = watch.stages.iter().map(|stage| stage.wall).sum();
    let all: f64 = watch.stages.iter().map(|stage| stage.processor).sum();
    println!("| all | {wall:.2} | {all:.2} |");
    match planned {
        Ok(planned) => {
            let late: Vec<String> = planned
                .plan
                .losses
                .iter()
                .map(|loss| {
                    format!(
                        "class {} {} s (no plan below {})",
                        loss.class,
                        loss.lost.seconds(),
                        loss.at_least.map_or(0, |least| least.seconds())
                    )
                })
                .collect();
            println!("\nLate: {}. Peak memory {:.0} MB.", late.join(", "), peak());
        }
        Err(no_day) => println!("\nNo plan: {no_day}"),
    }
}

/// Prints what each stop's plan takes, and how good it is.
pub(crate) fn stops() {
    let folder = Folder::built_in("example").unwrap_or_default();
    let loaded = load(&folder);
    let railroad = &loaded.railroad;
    let books = opening(railroad, 0);
    let Ok(billed) = bill::bill(railroad, &books, &bill::Options::default()) else {
        return;
    };
    let began = processor();
    let worked = day::worked(
        railroad,
        &books,
        &billed,
        &switching_options(railroad),
        1,
        &|| false,
    );
    println!(
        "| station | train | cars to do | standing | places | states | answer | minutes, model | at the full budget |"
    );
    println!("|---|---|---|---|---|---|---|---|---|");
    for one in &worked {
        let words = |answer: &Answer| match answer {
            Answer::Solved(solved) => format!("{} moves (at least {})", solved.moves, solved.bound),
            Answer::Impossible(_) => "impossible".to_owned(),
            Answer::GaveUp { bound, .. } => format!("none found (at least {bound})"),
        };
        let whole = switching::Options {
            node_budget: 300_000,
            ..switching_options(railroad)
        };
        let full = planning::town::solve(&one.planned.asked, &whole, &|| false)
            .map_or_else(|_| "-".to_owned(), |full| words(&full.answer));
        println!(
            "| {} | {} | {} | {} | {} | {} | {} | {:.0} | {full} |",
            railroad.way.station(one.station).name.value,
            railroad.service.train(one.train).symbol.value,
            one.facts.to_do(),
            one.facts.standing.len(),
            one.planned.asked.town.town.places.len(),
            one.planned.nodes,
            words(&one.planned.answer),
            one.seconds().unwrap_or(0.0) / 60.0,
        );
    }
    println!("\n{:.2} s of the processor", processor() - began);
}
