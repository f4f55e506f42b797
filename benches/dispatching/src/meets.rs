//! Single-track lines, beside a general constraint solver run on the same machine.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;

use dispatching::single_track::read_line;
use dispatching::solver::Status;
use serde_json::Value;

use crate::run::{Effort, machine, seconds, timed, value};

/// A folder for files that pass between programs.
pub(crate) fn scratch() -> Result<PathBuf, Box<dyn Error>> {
    let folder = std::env::temp_dir().join(format!("bench-dispatching-{}", std::process::id()));
    std::fs::create_dir_all(&folder)?;
    Ok(folder)
}

pub(crate) fn run(
    effort: Effort,
    limit: f64,
    only: &[String],
    python: Option<&Path>,
    greedy: bool,
    lines: Option<PathBuf>,
) -> Result<(), Box<dyn Error>> {
    let folder = crate::shared()?.join("meets");
    let scratch = scratch()?;
    let lines = lines.unwrap_or_else(|| folder.join("instances"));
    let mut instances: Vec<PathBuf> = std::fs::read_dir(lines)?
        .map(|entry| entry.map(|e| e.path()))
        .collect::<Result<_, _>>()?;
    instances.sort_by_key(|p| {
        (
            std::fs::metadata(p).map(|m| m.len()).unwrap_or(0) / 10_000,
            p.clone(),
        )
    });
    println!(
        "{limit} s{} an instance, {} thread(s), seed {}; {}\n",
        if effort.processor {
            " of the processor"
        } else {
            ""
        },
        effort.threads,
        effort.seed,
        machine()
    );
    println!(
        "| instance | trains | solver | cost | proven bound | first plan s | within 1 % of the better s | end s | processor s |"
    );
    println!("|---|---|---|---|---|---|---|---|---|");
    for path in instances {
        let name = path
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        if !only.is_empty() && !only.iter().any(|o| name.contains(o.as_str())) {
            continue;
        }
        let line = read_line(&std::fs::read_to_string(&path)?).map_err(|f| format!("{f:?}"))?;
        let compiled = line.compile();
        let run = timed(&compiled.problem, effort, limit, None, None);
        if let Some(plan) = &run.outcome.plan {
            let solution = scratch.join("ours.json");
            std::fs::write(
                &solution,
                compiled.solution(plan, Some(run.outcome.bound.total())),
            )?;
            judge(&folder, &path, &solution)?;
        }
        let peer = python
            .map(|python| peer(&folder, &scratch, &path, python, limit, effort, greedy))
            .transpose()?;
        let better = run
            .objective()
            .into_iter()
            .chain(peer.as_ref().and_then(|p| p.cost))
            .min();
        let near = |improvements: &[(f64, i64)]| {
            let better = better? as f64;
            improvements
                .iter()
                .find(|&&(_, v)| v as f64 <= better * 1.01)
                .map(|&(t, _)| t)
        };
        let trains = line.trains.len();
        println!(
            "| {name} | {trains} | ours | {}{} | {} | {} | {} | {:.1} | {} |",
            value(run.objective()),
            if run.outcome.status == Status::Optimal {
                " (best)"
            } else {
                ""
            },
            run.outcome.bound.total(),
            seconds(run.first()),
            seconds(near(&run.improvements)),
            run.seconds,
            seconds(run.processor),
        );
        if let Some(peer) = peer {
            println!(
                "| {name} | {trains} | CP-SAT {}{} | {}{} | {} | {} | {} | {:.1} | {} |",
                peer.workers,
                if greedy { " from greedy" } else { "" },
                value(peer.cost),
                if peer.status == "OPTIMAL" {
                    " (best)"
                } else {
                    ""
                },
                peer.bound,
                seconds(peer.improvements.first().map(|&(t, _)| t)),
                seconds(near(&peer.improvements)),
                peer.seconds,
                seconds(peer.processor),
            );
        }
    }
    std::fs::remove_dir_all(scratch)?;
    Ok(())
}

/// Has the line's own checker pass a solution.
fn judge(folder: &Path, line: &Path, solution: &Path) -> Result<(), Box<dyn Error>> {
    let run = Command::new("python3")
        .arg(folder.join("check.py"))
        .args([line, solution])
        .output()?;
    if run.status.success() {
        return Ok(());
    }
    Err(format!(
        "the line's checker refuses: {}",
        String::from_utf8_lossy(&run.stdout)
    )
    .into())
}

/// What the peer found.
struct Peer {
    workers: String,
    status: String,
    cost: Option<i64>,
    bound: String,
    improvements: Vec<(f64, i64)>,
    seconds: f64,
    processor: Option<f64>,
}

fn peer(
    folder: &Path,
    scratch: &Path,
    line: &Path,
    python: &Path,
    limit: f64,
    effort: Effort,
    greedy: bool,
) -> Result<Peer, Box<dyn Error>> {
    let (out, hint) = (scratch.join("peer.json"), scratch.join("greedy.json"));
    let mut command = Command::new(python);
    command
        .arg(folder.join("cpsat.py"))
        .args([line, &out])
        .args([
            "--time",
            &limit.to_string(),
            "--workers",
            &effort.threads.to_string(),
            "--seed",
            &effort.seed.to_string(),
            "--quiet",
        ]);
    if greedy {
        Command::new(python)
            .arg(folder.join("greedy.py"))
            .args([line, &hint])
            .output()?;
        command.arg("--hint").arg(&hint);
    }
    let run = command.output()?;
    if !run.status.success() {
        return Err(format!("the peer fails: {}", String::from_utf8_lossy(&run.stderr)).into());
    }
    let found: Value = serde_json::from_str(&std::fs::read_to_string(&out)?)?;
    let cost = found["objective"].as_i64();
    if cost.is_some() {
        judge(folder, line, &out)?;
    }
    let improvements = found["trace"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|t| Some((t[0].as_f64()?, t[1].as_i64()?)))
        .collect();
    Ok(Peer {
        workers: format!("{} worker(s)", effort.threads),
        status: found["status"].as_str().unwrap_or_default().to_owned(),
        cost,
        bound: found["bound"]
            .as_f64()
            .map_or_else(|| "-".to_owned(), |b| format!("{b:.0}")),
        improvements,
        seconds: found["time_s"].as_f64().unwrap_or_default(),
        processor: found["cpu_s"].as_f64(),
    })
}
