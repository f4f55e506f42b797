//! Single-track lines: the compiled problem's best plans obey the line's own rules.

#![allow(clippy::print_stderr, reason = "tests say what they covered")]

mod common;

use std::process::Command;

use common::enumerate::{Outcome, best_by_orders};
use dispatching::check::check;
use dispatching::single_track::read_line;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

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
    let solution = compiled.solution(&plan, None);
    assert_eq!(compiled.read_solution(&solution).as_ref(), Ok(&plan));
    assert_ne!(the_line_checker(&line(100), &solution), Some(false));
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

/// What the line's own checker says of a solution; `None` where there is no such checker.
fn the_line_checker(line: &str, solution: &str) -> Option<bool> {
    let Some(shared) = std::env::var_os("SAWBY_SHARED") else {
        eprintln!("SAWBY_SHARED is not set: not judged by the line's own checker");
        return None;
    };
    let checker = std::path::Path::new(&shared).join("bench/meets/check.py");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (line_file, solution_file) = (
        folder.path().join("line.json"),
        folder.path().join("solution.json"),
    );
    std::fs::write(&line_file, line).expect("written");
    std::fs::write(&solution_file, solution).expect("written");
    match Command::new("python3")
        .arg(checker)
        .args([&line_file, &solution_file])
        .output()
    {
        Ok(run) => {
            let said = String::from_utf8_lossy(&run.stdout);
            assert!(
                said.contains("OK ") || said.contains("BAD "),
                "{said} {run:?}"
            );
            Some(run.status.success())
        }
        Err(_) => {
            eprintln!("python3 is not there: not judged by the line's own checker");
            None
        }
    }
}

/// The best plan with some of its times moved is right or wrong for our judge as it is for the line's.
#[test]
fn the_judge_agrees_with_the_line_checker_on_shaken_plans() {
    let text = line(100);
    let compiled = read_line(&text).expect("a line").compile();
    let Outcome::Best(_, plan) = best_by_orders(&compiled.problem, 100_000) else {
        panic!("there is a plan");
    };
    let solution: serde_json::Value =
        serde_json::from_str(&compiled.solution(&plan, None)).expect("JSON");
    let mut rng = Pcg64Mcg::seed_from_u64(7);
    let (mut right, mut wrong) = (0, 0);
    for turn in 0..60 {
        let mut shaken = solution.clone();
        // The claim is left to the judges.
        shaken["objective"] = serde_json::Value::Null;
        for _ in 0..rng.random_range(1..=2) {
            let train = rng.random_range(0..2);
            let first = rng.random_range(0..3);
            let by = rng.random_range(-2..=3);
            let only_one = rng.random_bool(0.3);
            for (k, stop) in shaken["trains"][train]["stops"]
                .as_array_mut()
                .expect("stops")
                .iter_mut()
                .enumerate()
            {
                if k < first || (only_one && k > first) {
                    continue;
                }
                let later = |value: &mut serde_json::Value| {
                    *value = (value.as_i64().expect("a time") + by).into();
                };
                if k > first || rng.random_bool(0.5) {
                    later(&mut stop["arr"]);
                }
                later(&mut stop["dep"]);
                stop["cuts"]
                    .as_array_mut()
                    .expect("cuts")
                    .iter_mut()
                    .for_each(later);
            }
            if rng.random_bool(0.2) {
                shaken["trains"][train]["stops"][1]["track"] = rng.random_range(0..2).into();
            }
        }
        let shaken = shaken.to_string();
        // A track that a train cannot use is not even a plan.
        let ours = compiled
            .read_solution(&shaken)
            .is_ok_and(|plan| check(&compiled.problem, &plan).is_ok());
        let Some(theirs) = the_line_checker(&text, &shaken) else {
            return;
        };
        assert_eq!(ours, theirs, "turn {turn}: {shaken}");
        if ours { right += 1 } else { wrong += 1 }
    }
    eprintln!("{right} right, {wrong} wrong");
    assert!(right >= 5 && wrong >= 20, "{right} right, {wrong} wrong");
}

#[test]
fn names_what_is_wrong_with_the_form_of_a_solution() {
    let compiled = read_line(&line(100)).expect("a line").compile();
    let said = |text: &str| {
        let faults = compiled.read_solution(text).expect_err("a faulty solution");
        faults.iter().map(|f| format!("{f}\n")).collect::<String>()
    };
    let text = r#"{"objective":null,"trains":[
        {"id":"mail","stops":[{"arr":0,"dep":5,"track":7,"cuts":[3]},{"arr":9,"dep":10,"track":0},{"arr":16,"dep":18,"track":0}]},
        {"id":"mail","stops":[]},{"id":"ghost","stops":[]}]}"#;
    assert_eq!(
        said(text),
        "\
train `mail`, stop 0: it cannot be on track 7
train `mail`, stop 0: 1 times at block boundaries, expected 0
train `mail`, stop 1: 0 times at block boundaries, expected 1
train `mail` is there twice
the line has no train `ghost`
train `freight` is missing
"
    );
    assert!(said("[]").starts_with("this is not a solution: "));
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
