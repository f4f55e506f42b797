//! The public DISPLIB instances can be read, and come back the same when written and read again.
//! They are reached through the environment variable `SAWBY_SHARED`.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "tests say what they covered"
)]

use dispatching::{
    check::check,
    json::{read_problem, write_problem},
    solver::{Options, Status, solve},
};

#[test]
fn every_public_instance_reads_and_round_trips() {
    let Some(shared) = std::env::var_os("SAWBY_SHARED") else {
        eprintln!("SAWBY_SHARED is not set: the public instances were not read");
        return;
    };
    let shared = std::path::Path::new(&shared).join("bench/displib");
    // The sizes are the published ones.
    let sizes = std::fs::read_to_string(shared.join("best-known.csv")).expect("sizes");
    for line in sizes.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let path = shared.join("instances").join(format!("{}.json", fields[0]));
        let text = std::fs::read_to_string(&path).expect("instance");
        let problem = read_problem(&text).unwrap_or_else(|f| panic!("{}: {f:?}", path.display()));
        let operations: usize = problem.trains.iter().map(|t| t.operations.len()).sum();
        let found =
            [problem.trains.len(), operations, problem.resources.len()].map(|n| n.to_string());
        assert_eq!(found, fields[1..4], "{}", fields[0]);
        let again = read_problem(&write_problem(&problem)).expect("written");
        assert!(problem == again, "{}", fields[0]);
    }
}

/// The small ones are solved here and now, each to the published value and with a proof that no plan costs
/// less; larger ones are for the benchmark. Published: DISPLIB, best known solutions of 2025-09-17 (Kloster,
/// Luteberget, Mannino and Sartor, 2025). No published instance of the single-track movement-planning
/// literature was to be had in a machine's form.
#[test]
fn small_public_instances_are_solved_to_the_published_value() {
    let Some(shared) = std::env::var_os("SAWBY_SHARED") else {
        eprintln!("SAWBY_SHARED is not set: no public instance was solved");
        return;
    };
    let shared = std::path::Path::new(&shared).join("bench/displib");
    let known = std::fs::read_to_string(shared.join("best-known.csv")).expect("best known values");
    let head: Vec<&str> = known
        .lines()
        .next()
        .unwrap_or_default()
        .split(',')
        .collect();
    let value = head
        .iter()
        .position(|name| *name == "best_known")
        .expect("a column of best known values");
    for name in [
        "smi_close_0",
        "smi_close_4",
        "smi_headway_0",
        "smi_headway_4",
        "nor1_critical_4",
    ] {
        let row = known
            .lines()
            .find(|line| line.split(',').next() == Some(name))
            .expect("a known instance");
        let published: i64 = row
            .split(',')
            .nth(value)
            .and_then(|text| text.parse().ok())
            .expect("a number");
        let path = shared.join("instances").join(format!("{name}.json"));
        let text = std::fs::read_to_string(&path).expect("instance");
        let problem = read_problem(&text).expect("well formed");
        let options = Options {
            seed: 1,
            rounds: Some(400),
            threads: 1,
            warm_start: None,
        };
        let outcome = solve(&problem, &options, &|| false, &mut |_| {});
        assert!(matches!(outcome.status, Status::Optimal), "{name}");
        let plan = outcome.plan.expect("a plan");
        let judged = check(&problem, &plan).expect("the judge passes it");
        assert_eq!(judged.rank(0), published, "{name}");
    }
}
