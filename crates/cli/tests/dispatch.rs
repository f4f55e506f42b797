//! `sawby dispatch`: what it prints, writes and leaves with.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

/// Two trains through one gap: the second waits 5.
const GAP: &str = r#"{"train_names":["Mail","Local"],
  "objective":[{"type":"op_delay","train":0,"operation":1,"threshold":5,"coeff":10},
               {"type":"op_delay","train":1,"operation":2,"threshold":5,"coeff":1}],
  "trains":[
    [{"min_duration":5,"resources":[{"resource":"gap"}],"successors":[1]},{"successors":[]}],
    [{"resources":[{"resource":"siding"}],"successors":[1]},
     {"min_duration":5,"resources":[{"resource":"gap"}],"successors":[2]},{"successors":[]}]]}"#;

fn sawby(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_sawby"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .expect("sawby runs")
}

fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).expect("written");
    }
    folder
}

#[test]
fn finds_a_plan_says_why_a_train_waits_and_judges_what_it_wrote() {
    let folder = folder(&[("gap.json", GAP)]);
    let run = sawby(
        folder.path(),
        &[
            "dispatch",
            "gap.json",
            "--rounds",
            "3",
            "--why",
            "--solution",
            "plan.json",
        ],
    );
    assert!(run.status.success(), "{run:?}");
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(
        said.starts_with(
            "train 1 (`Local`) waits 5 at `siding` (from 0 to 5) for train 0 (`Mail`) to clear `gap` (at 5)\ncost 5"
        ),
        "{said}"
    );
    let progress = String::from_utf8_lossy(&run.stderr);
    assert!(
        progress.contains(" s  5, none can cost less than "),
        "{progress}"
    );
    let run = sawby(
        folder.path(),
        &["dispatch", "gap.json", "--judge", "plan.json"],
    );
    assert!(run.status.success(), "{run:?}");
    assert_eq!(
        String::from_utf8_lossy(&run.stdout),
        "the plan obeys every rule; cost 5\n"
    );
}

#[test]
fn judges_a_plan_that_breaks_the_rules() {
    let plan = r#"{"objective_value":0,"events":[{"time":0,"train":0,"operation":0},{"time":0,"train":1,"operation":0},
        {"time":2,"train":1,"operation":1},{"time":5,"train":0,"operation":1},{"time":7,"train":1,"operation":2}]}"#;
    let folder = folder(&[("gap.json", GAP), ("plan.json", plan)]);
    let run = sawby(
        folder.path(),
        &["dispatch", "gap.json", "--judge", "plan.json"],
    );
    assert_eq!(run.status.code(), Some(1));
    assert_eq!(
        String::from_utf8_lossy(&run.stderr),
        "error: plan.json: resource `gap` is held by train 0 (`Mail`), operation 0, from 0 to 5, and taken by train 1 (`Local`), operation 1, from 2 to 7
error: plan.json: the plan claims to cost 0, but costs 2
plan.json: 2 errors, the plan breaks the rules
"
    );
}

#[test]
fn prints_json_for_machines() {
    let folder = folder(&[("gap.json", GAP)]);
    let run = sawby(
        folder.path(),
        &["dispatch", "gap.json", "--rounds", "3", "--json"],
    );
    assert!(run.status.success(), "{run:?}");
    let found: Value = serde_json::from_slice(&run.stdout).expect("JSON");
    assert_eq!(found["cost"], serde_json::json!([5]));
    assert_eq!(found["plan"]["events"].as_array().map(Vec::len), Some(5));
}

#[test]
fn names_everything_wrong_with_a_file_at_once() {
    let text = GAP.replace("\"min_duration\":5", "\"min_duration\":-5");
    let folder = folder(&[("gap.json", &text), ("line.json", r#"{"format":"stl/1"}"#)]);
    let run = sawby(folder.path(), &["dispatch", "gap.json"]);
    assert_eq!(run.status.code(), Some(1));
    assert_eq!(
        String::from_utf8_lossy(&run.stderr),
        "error: gap.json: train 0 (`Mail`), operation 0: `min_duration` is -5, expected a whole number, 0 or more
error: gap.json: train 1 (`Local`), operation 1: `min_duration` is -5, expected a whole number, 0 or more
gap.json: 2 errors, nothing was planned
"
    );
    let run = sawby(folder.path(), &["dispatch", "line.json"]);
    assert_eq!(run.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&run.stderr).contains("error: line.json: name: missing\n"));
    let run = sawby(folder.path(), &["dispatch", "nowhere.json"]);
    assert_eq!(run.status.code(), Some(3));
}

#[test]
fn says_what_each_resource_is_worth() {
    let folder = folder(&[("gap.json", GAP)]);
    let run = sawby(
        folder.path(),
        &["dispatch", "gap.json", "--rounds", "2", "--worth"],
    );
    assert!(run.status.success(), "{run:?}");
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(
        said.starts_with("with room for any number on `gap`: cost 0"),
        "{said}"
    );
    assert!(
        said.contains("without `siding`: no way left for train `Local`\n"),
        "{said}"
    );
    assert!(said.contains("as it is: cost 5\n"), "{said}");
}
