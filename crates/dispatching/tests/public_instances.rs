//! The public DISPLIB instances can be read, and come back the same when written and read again.
//! They are reached through the environment variable `SAWBY_SHARED`.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "tests say what they covered"
)]

use dispatching::json::{read_problem, write_problem};

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
