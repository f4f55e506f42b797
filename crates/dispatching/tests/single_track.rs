//! Single-track lines: the compiled problem's best plans obey the line's own rules.

#![allow(clippy::print_stderr, reason = "tests say what they covered")]

mod common;

use std::process::Command;

use common::enumerate::{Outcome, best_by_orders};
use dispatching::check::check;
use dispatching::single_track::read_line;

/// Three stations; the middle one has a siding too short for the freight, which may only run through on
/// the main, while the mail fits the siding.
fn line(horizon: i64) -> String {
    let stop = |station: usize, dwell: i64, due: &str, weight: i64, run: &str| {
        format!(
            r#"{{"station":{station},"dwell":{dwell},"earliest_dep":null,"due":{due},"weight":{weight},"run":{run}}}"#
        )
    };
    let mail = [
        stop(0, 5, "null", 0, "[4]"),
        stop(1, 1, "9", 5, "[3,3]"),
        stop(2, 2, "16", 10, "null"),
    ];
    let freight = [
        stop(2, 1, "null", 0, "[4,4]"),
        stop(1, 0, "null", 0, "[5]"),
        stop(0, 3, "14", 1, "null"),
    ];
    format!(
        r#"{{"format":"stl/1","name":"two","horizon":{horizon},
        "stations":[
          {{"name":"A","clear":1,"tracks":[{{"name":"1","length":20,"main":true}},{{"name":"2","length":20,"main":false}}]}},
          {{"name":"B","clear":1,"tracks":[{{"name":"main","length":10,"main":true}},{{"name":"siding","length":8,"main":false}}]}},
          {{"name":"C","clear":1,"tracks":[{{"name":"1","length":20,"main":true}},{{"name":"2","length":20,"main":false}}]}}],
        "segments":[{{"blocks":1,"clear":1,"tracks":1}},{{"blocks":2,"clear":1,"tracks":1}}],
        "trains":[
          {{"id":"mail","class":"P","length":6,"dir":1,"release":0,"stops":[{}]}},
          {{"id":"freight","class":"F","length":15,"dir":-1,"release":0,"stops":[{}]}}]}}"#,
        mail.join(","),
        freight.join(",")
    )
}

#[test]
fn a_train_too_long_for_the_siding_runs_through_or_waits_elsewhere() {
    let compiled = read_line(&line(100)).expect("a line").compile();
    compiled.problem.validate().expect("well formed");
    let Outcome::Best(cost, plan) = best_by_orders(&compiled.problem, 100_000) else {
        panic!("there is a plan");
    };
    // By hand. Mail unhindered: A 0-5, B 9-10, C 16, on time; then the freight leaves C at 17 and is at
    // A at 30, 16 late. Freight unhindered: B 9, A 14, on time; then the mail leaves A at 15: B 19 (10
    // late at 5 each), C 26 (10 late at 10). Or they meet at B: the mail takes the siding at 9, which
    // frees the line to A at 10; the freight, held on the line, runs through B at 10 and is at A at 15, 1
    // late; the line to C is free at 11, the mail is at C at 17, 1 late at 10. So 11 is the least.
    assert_eq!(cost.total(), 11);
    assert_eq!(check(&compiled.problem, &plan), Ok(cost));
    let solution: serde_json::Value =
        serde_json::from_str(&compiled.solution(&plan, Some(11))).expect("JSON");
    let (mail, freight) = (
        &solution["trains"][0]["stops"],
        &solution["trains"][1]["stops"],
    );
    assert_eq!(mail[1]["track"], 1);
    assert_eq!((&mail[1]["arr"], &mail[1]["dep"]), (&9.into(), &11.into()));
    assert_eq!((&mail[2]["arr"], &mail[2]["dep"]), (&17.into(), &19.into()));
    assert_eq!(freight[1]["track"], 0);
    assert_eq!(
        (&freight[1]["arr"], &freight[1]["dep"]),
        (&10.into(), &10.into())
    );
    assert_eq!(
        (&freight[2]["arr"], &freight[2]["dep"]),
        (&15.into(), &18.into())
    );
    judged_by_the_line_checker(&line(100), &compiled.solution(&plan, None));
}

#[test]
fn nothing_happens_after_the_horizon() {
    // In the best plan the mail leaves C at 19; every other takes longer.
    let at = |horizon| {
        let compiled = read_line(&line(horizon)).expect("a line").compile();
        match best_by_orders(&compiled.problem, 100_000) {
            Outcome::Best(cost, _) => Some(cost.total()),
            _ => None,
        }
    };
    assert_eq!(at(19), Some(11));
    assert_eq!(at(18), None);
}

#[test]
fn names_what_is_wrong_with_a_line() {
    let said = |text: &str| {
        let faults = read_line(text).expect_err("a faulty line");
        faults.iter().map(|f| format!("{f}\n")).collect::<String>()
    };
    assert_eq!(
        said("{]"),
        "line 1, column 2: this is not JSON: key must be a string\n"
    );
    assert_eq!(said("{}"), "`format` is missing, expected \"stl/1\"\n");
    let text = line(100)
        .replace(r#""length":15,"dir":-1"#, r#""length":15,"dir":1"#)
        .replace(r#""run":[4]"#, r#""run":[4,4]"#)
        .replace(r#""station":2,"dwell":2"#, r#""station":7,"dwell":-2"#)
        .replace(
            r#""id":"mail","class":"P","length":6"#,
            r#""id":"freight","class":"P","length":9"#,
        );
    assert_eq!(
        said(&text),
        "\
train `freight`, stop 2: `dwell` is -2, expected a whole number from 0 to 1000000000000
train `freight`, stop 0: 2 running times, expected 1 (one for each block to the next stop)
train `freight`, stop 2: station 7 after station 1, expected the next one in direction 1
train `freight`, stop 2: there is no station 7, the last is 2
trains 0 and 1 are both called `freight`
train `freight`, stop 1: station 1 after station 2, expected the next one in direction 1
train `freight`, stop 2: station 0 after station 1, expected the next one in direction 1
"
    );
    let text = line(100).replace(r#""station":1,"dwell":0"#, r#""station":1,"dwell":4"#);
    assert_eq!(
        said(&text),
        "train `freight` (length 15) fits no track of station `B` where it must stand; the longest is 10\n"
    );
}

/// Runs the line's own checker on a solution, if there is one.
fn judged_by_the_line_checker(line: &str, solution: &str) {
    let Some(shared) = std::env::var_os("SAWBY_SHARED") else {
        eprintln!("SAWBY_SHARED is not set: not judged by the line's own checker");
        return;
    };
    let checker = std::path::Path::new(&shared).join("bench/meets/check.py");
    let folder = std::env::temp_dir().join(format!("single-track-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a temporary folder");
    let (line_file, solution_file) = (folder.join("line.json"), folder.join("solution.json"));
    std::fs::write(&line_file, line).expect("written");
    std::fs::write(&solution_file, solution).expect("written");
    let run = Command::new("python3")
        .arg(checker)
        .args([&line_file, &solution_file])
        .output();
    std::fs::remove_dir_all(&folder).expect("removed");
    match run {
        Ok(run) => {
            let said = String::from_utf8_lossy(&run.stdout);
            assert!(run.status.success() && said.starts_with("OK"), "{said}");
        }
        Err(_) => eprintln!("python3 is not there: not judged by the line's own checker"),
    }
}

#[test]
fn the_shared_lines_compile() {
    let Some(shared) = std::env::var_os("SAWBY_SHARED") else {
        eprintln!("SAWBY_SHARED is not set: the shared lines were not read");
        return;
    };
    let folder = std::path::Path::new(&shared).join("bench/meets/instances");
    for file in std::fs::read_dir(folder).expect("lines") {
        let text = std::fs::read_to_string(file.expect("a file").path()).expect("text");
        read_line(&text)
            .expect("a line")
            .compile()
            .problem
            .validate()
            .expect("well formed");
    }
}
