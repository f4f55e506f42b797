//! The same day for a general solver: its problem written down, solved by ours and by CP-SAT in one run.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
    time::Instant,
};

use dispatching::json::write_problem;
use planning::day::{Draft, Options};
use railroad::{Folder, load};
use serde_json::Value;

use crate::stages::processor;

/// Prints a row for each of the two and each railroad.
pub(crate) fn run(python: &str, seconds: f64) {
    let peer = Path::new(env!("CARGO_MANIFEST_DIR")).join("peer/general.py");
    println!("| problem | trains | operations | solver | reached, by rank | proven, by rank | s |");
    println!("|---|---|---|---|---|---|---|");
    let example = Folder::built_in("example").unwrap_or_default();
    for (name, folder) in [
        ("example", example),
        ("generated, 1x, 30 % spare", generator::busy(1, 1, 30)),
        ("generated, 1x, 5 % spare", generator::busy(1, 1, 5)),
    ] {
        let loaded = load(&folder);
        let options = Options {
            rounds: u64::MAX,
            threads: 1,
            ..Options::default()
        };
        let Ok(draft) = Draft::new(&loaded.railroad, &options, &[]) else {
            println!("| {name} | cannot be compiled |");
            continue;
        };
        let problem = draft.problem().clone();
        let operations: usize = problem
            .trains
            .iter()
            .map(|train| train.operations.len())
            .sum();
        let ranks: Vec<u8> = {
            let mut ranks: Vec<u8> = problem.objective.iter().map(|term| term.rank).collect();
            ranks.sort_unstable();
            ranks.dedup();
            ranks
        };
        let began = Instant::now();
        let before = processor();
        let mut last = before;
        let mut reached: Vec<i64> = vec![];
        let stop = || began.elapsed().as_secs_f64() > seconds;
        let planned = draft.solve(&options, &stop, &mut |progress| {
            let Some(cost) = &progress.cost else { return };
            let now: Vec<i64> = ranks.iter().map(|&rank| cost.rank(rank)).collect();
            if now != reached {
                reached = now;
                last = processor();
            }
        });
        let head = format!("| {name} | {} | {operations} |", problem.trains.len());
        match planned {
            Ok(planned) => {
                let list = |cost: &dispatching::Cost| -> Vec<i64> {
                    ranks.iter().map(|&rank| cost.rank(rank)).collect()
                };
                println!(
                    "{head} ours | {:?} | {:?} | {:.2} of the processor, the plan after {:.2} |",
                    list(&planned.cost.0),
                    list(&planned.cost.1),
                    processor() - before,
                    last - before
                );
            }
            Err(no_day) => println!("{head} ours | {no_day} | | |"),
        }
        match ask(python, &peer, &write_problem(&problem), seconds) {
            Ok(answer) => println!(
                "{head} CP-SAT, 1 worker | {} | {} | {:.2} on the wall |",
                answer["reached"],
                answer["proven"],
                answer["seconds"].as_f64().unwrap_or(f64::NAN)
            ),
            Err(why) => println!("{head} CP-SAT | {why} | | |"),
        }
    }
}

fn ask(python: &str, peer: &Path, problem: &str, seconds: f64) -> Result<Value, String> {
    let path: PathBuf = std::env::temp_dir().join(format!("day-bench-{}.json", std::process::id()));
    fs::write(&path, problem).map_err(|error| error.to_string())?;
    let output = Command::new(python)
        .arg(peer)
        .arg(&path)
        .args([seconds.to_string(), "1".to_owned()])
        .output()
        .map_err(|error| format!("{python}: {error}"))?;
    let _ = fs::remove_file(&path);
    let text = String::from_utf8_lossy(&output.stdout);
    serde_json::from_str(&text).map_err(|_| {
        String::from_utf8_lossy(&output.stderr)
            .lines()
            .last()
            .unwrap_or("no answer")
            .to_owned()
    })
}
