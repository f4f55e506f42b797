//! How time and memory grow with the number of trains.

use std::error::Error;
use std::path::Path;
use std::process::Command;

use dispatching::single_track::read_line;
use serde_json::{Value, json};

use crate::meets::scratch;
use crate::run::{Effort, timed};

pub(crate) fn run(
    effort: Effort,
    stations: usize,
    sizes: &[usize],
    limit: f64,
) -> Result<(), Box<dyn Error>> {
    let generator = crate::shared()?.join("meets/gen.py");
    let scratch = scratch()?;
    println!(
        "{stations} stations, line at most 35 % used, seed {}; {}
",
        effort.seed,
        crate::run::machine()
    );
    println!("| trains | operations | first plan s | its cost | peak memory MB |");
    println!("|---|---|---|---|---|");
    let mut points = Vec::new();
    for &trains in sizes {
        let line = scratch.join(format!("line-{trains}.json"));
        let made = Command::new("python3")
            .arg(&generator)
            .arg(&line)
            .args([
                "--stations",
                &stations.to_string(),
                "--trains",
                &trains.to_string(),
            ])
            .args(["--seed", &effort.seed.to_string(), "--util", "0.35"])
            .output()?;
        if !made.status.success() {
            return Err(String::from_utf8_lossy(&made.stderr).into_owned().into());
        }
        let run = Command::new(std::env::current_exe()?)
            .arg("growth-one")
            .arg(&line)
            .args([
                "--seconds",
                &limit.to_string(),
                "--seed",
                &effort.seed.to_string(),
            ])
            .args(["--threads", &effort.threads.to_string()])
            .output()?;
        if !run.status.success() {
            return Err(String::from_utf8_lossy(&run.stderr).into_owned().into());
        }
        let found: Value = serde_json::from_slice(&run.stdout)?;
        let first = found["first"].as_f64();
        let memory = found["memory"].as_f64().unwrap_or(f64::NAN);
        println!(
            "| {trains} | {} | {} | {} | {memory:.0} |",
            found["operations"],
            crate::run::seconds(first),
            found["cost"],
        );
        if let Some(first) = first {
            points.push((trains as f64, first, memory));
        }
    }
    println!(
        "\nSlope over the sizes with a plan, log against log: time {:.2}, memory {:.2}",
        slope(points.iter().map(|p| (p.0, p.1))),
        slope(points.iter().map(|p| (p.0, p.2))),
    );
    std::fs::remove_dir_all(scratch)?;
    Ok(())
}

/// Least-squares slope of log y over log x.
fn slope(points: impl Iterator<Item = (f64, f64)> + Clone) -> f64 {
    let logs: Vec<(f64, f64)> = points.map(|(x, y)| (x.ln(), y.ln())).collect();
    let count = logs.len() as f64;
    let mean_x = logs.iter().map(|p| p.0).sum::<f64>() / count;
    let mean_y = logs.iter().map(|p| p.1).sum::<f64>() / count;
    let above: f64 = logs.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
    let below: f64 = logs.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
    above / below
}

/// One size, in a process of its own.
pub(crate) fn one(effort: Effort, line: &Path, limit: f64) -> Result<(), Box<dyn Error>> {
    let line = read_line(&std::fs::read_to_string(line)?).map_err(|f| format!("{f:?}"))?;
    let compiled = line.compile();
    let operations: usize = compiled
        .problem
        .trains
        .iter()
        .map(|t| t.operations.len())
        .sum();
    let mut rounds = 1;
    // Rounds are short; doubling them until there is a plan costs little more than stopping at it.
    let run = loop {
        let run = timed(&compiled.problem, effort, limit, Some(rounds), None);
        if run.first().is_some() || run.seconds >= limit {
            break run;
        }
        rounds *= 2;
    };
    println!(
        "{}",
        json!({"operations": operations, "first": run.first(), "cost": run.objective(),
               "memory": peak_memory_mb()})
    );
    Ok(())
}

/// The most memory this process has held, as the kernel says; nothing where it does not say.
fn peak_memory_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    let kilobytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes / 1024.0)
}
