//! `sawby orders`, `crews`, `punctuality` and `capacity`: what they print and leave with.

mod common;

use std::{fs, path::Path};

use serde_json::Value;

use common::sawby;

fn here(arguments: &[&str]) -> (String, String, i32) {
    sawby(Path::new("."), arguments)
}

fn json(arguments: &[&str]) -> Value {
    let (out, err, code) = here(arguments);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    serde_json::from_str(&out).expect("JSON")
}

#[test]
fn orders_are_handed_out_judged() {
    let (out, err, code) = here(&["orders", "--example"]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    assert!(
        out.contains("CLEARANCES") && out.contains("Judged: the orders"),
        "{out}"
    );
    let all = json(&["orders", "--example", "--json"]);
    assert_eq!(all["faults"], Value::Array(Vec::new()));
    assert_eq!(
        all["orders"].as_array().map(Vec::len),
        all["at_least"].as_u64().map(|n| n as usize)
    );
    // With the perishable late there is something to hand out, and it passes too.
    let late = json(&["orders", "--example", "--late", "2 by 2 h", "--json"]);
    assert_eq!(late["faults"], Value::Array(Vec::new()));
    assert!(
        late["orders"]
            .as_array()
            .is_some_and(|orders| orders.len() > 1)
    );
    let (_, err, code) = here(&["orders", "--example", "--late", "2"]);
    assert_eq!(code, 2);
    assert!(err.contains("--late 2: no train and time in it"), "{err}");
    // Only what one train gets.
    let one = json(&["orders", "--example", "--train", "45", "--json"]);
    let clearances = one["clearances"].as_array().expect("a list");
    assert!(
        clearances
            .iter()
            .all(|clearance| clearance["train"] == "45")
    );
    for method in ["track warrant", "verbal authority", "signals", "sequence"] {
        let all = json(&["orders", "--example", "--method", method, "--json"]);
        assert_eq!(all["faults"], Value::Array(Vec::new()), "{method}");
    }
}

#[test]
fn what_there_is_not_is_said() {
    let (out, err, code) = here(&["orders", "--example", "--train", "4711"]);
    assert_eq!((out.as_str(), code), ("", 2));
    assert!(
        err.starts_with("error: no train 4711 runs today\n  = help: trains today: 2, 3, 4,"),
        "{err}"
    );
    let (_, err, code) = here(&["orders", "--example", "--method", "telepathy"]);
    assert_eq!(code, 2);
    assert_eq!(
        err,
        "error: there is no operating method `telepathy`\n  = help: one of: timetable and train order, \
         verbal authority, track warrant, signals, sequence\n"
    );
    let (_, err, code) = here(&["crews", "--example", "--without", "Merick"]);
    assert_eq!(code, 2);
    assert_eq!(
        err,
        "error: people.csv has no `Merick`\n  = help: did you mean `Merrick`?\n"
    );
    let (_, err, code) = here(&["crews", "--example", "--rest", "soon"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("--rest soon") && err.contains("such as `20 min`"),
        "{err}"
    );
    let (_, err, code) = here(&["punctuality", "--example", "--late", "120"]);
    assert_eq!(code, 2);
    assert_eq!(err, "error: --late 120: expected a number from 0 to 100\n");
    let (_, err, code) = here(&["capacity", "--example", "--longer", "a bit"]);
    assert_eq!(code, 2);
    assert!(err.contains("--longer a bit"), "{err}");
}

#[test]
fn crews_are_called_and_a_shortage_explained() {
    let all = json(&["crews", "--example", "--json"]);
    assert_eq!(all["empty"], Value::Array(Vec::new()));
    assert_eq!(all["wrong"], Value::Array(Vec::new()));
    assert_eq!(all["people"], all["people_at_least"]);
    let (out, _, code) = here(&[
        "crews",
        "--example",
        "--without",
        "Stellan",
        "--without",
        "Wystan",
        "--without",
        "Petra",
        "--without",
        "Adela",
    ]);
    assert_eq!(code, 1);
    assert!(out.contains("EMPTY: ") && out.contains("Why: at "), "{out}");
    let built = json(&["crews", "--example", "--build", "--fair", "--json"]);
    assert_eq!(built["jobs"]["count"], built["jobs"]["at_least"]);
    assert_eq!(
        built["jobs"]["longest_seconds"],
        built["jobs"]["longest_at_least_seconds"]
    );
}

#[test]
fn days_by_chance_are_those_of_the_seed() {
    let run = |threads, seed| {
        json(&[
            "punctuality",
            "--example",
            "--days",
            "40",
            "--threads",
            threads,
            "--seed",
            seed,
            "--json",
        ])
    };
    assert_eq!(run("1", "1"), run("2", "1"));
    assert_ne!(run("1", "1")["trains"], run("1", "2")["trains"]);
    let (out, _, code) = here(&["punctuality", "--example", "--days", "10"]);
    assert_eq!(code, 0);
    assert!(out.contains("What a minute to spare would save"), "{out}");
}

#[test]
fn capacity_of_a_small_road() {
    let dir = tempfile::tempdir().expect("a folder");
    let (_, _, code) = sawby(dir.path(), &["new", "road", "--learning"]);
    assert_eq!(code, 0);
    let road = dir.path().join("road");
    let (out, err, code) = sawby(&road, &["capacity", "--rounds", "2"]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    assert!(
        out.contains("The line carries the 4 trains of the day"),
        "{out}"
    );
    // Without trains there is no day to plan.
    fs::write(road.join("trains.toml"), "").expect("written");
    for verb in ["orders", "crews", "punctuality", "capacity"] {
        let (out, _, code) = sawby(&road, &[verb]);
        assert_eq!(
            (out.as_str(), code),
            ("no train runs on this day\n", 1),
            "{verb}"
        );
    }
}

#[test]
fn reasons_are_there_for_machines_too() {
    let day = json(&["day", "--example", "--json"]);
    let trains = day["trains"].as_array().expect("trains");
    let waiting = trains
        .iter()
        .find(|train| {
            train["waits"]
                .as_array()
                .is_some_and(|waits| !waits.is_empty())
        })
        .expect("somebody waits");
    let symbol = waiting["train"].as_str().expect("a symbol");
    let why = json(&["why", symbol, "--example", "--json"]);
    assert_eq!(why["waits"], waiting["waits"]);
    assert!(
        why["waits"][0]["why"]
            .as_array()
            .is_some_and(|why| !why.is_empty())
    );
}

#[test]
fn numbers_that_mean_nothing_are_refused() {
    for arguments in [
        ["punctuality", "--example", "--days", "0"],
        ["capacity", "--example", "--seconds", "0"],
        ["day", "--example", "--rounds", "some"],
    ] {
        let (out, err, code) = here(&arguments);
        assert_eq!((out.as_str(), code), ("", 2), "{arguments:?}");
        assert!(err.contains(arguments[3]), "{err}");
    }
}

#[test]
fn clocks_compared_and_the_session_cut_from_the_day() {
    let dir = tempfile::tempdir().expect("a folder");
    let (_, _, code) = sawby(dir.path(), &["new", "road", "--learning"]);
    assert_eq!(code, 0);
    let road = dir.path().join("road");
    let read = |arguments: &[&str]| -> Value {
        let (out, err, code) = sawby(&road, arguments);
        assert_eq!((code, err.as_str()), (0, ""), "{out}");
        serde_json::from_str(&out).expect("JSON")
    };
    let all = read(&["day", "--clocks", "--json"]);
    let clocks = all["clocks"].as_array().expect("clocks");
    assert_eq!(clocks.len(), 12);
    let number = |at: usize, key: &str| clocks[at][key].as_f64().expect("a number");
    for at in 1..12 {
        assert!((number(at, "ratio") - (at + 1) as f64).abs() < 1e-9);
        // Twelve real hours at 1:1 are one at 12:1; a session of an hour holds as many hours as the ratio says.
        let day = number(at, "day_takes_real_hours") * number(at, "ratio");
        assert!((day - number(0, "day_takes_real_hours")).abs() < 1e-6);
        assert!((number(at, "session_holds_railroad_hours") - number(at, "ratio")).abs() < 1e-6);
        assert!(number(at, "needed") >= number(at - 1, "needed"));
    }
    let balancing: Vec<f64> = (0..12)
        .filter(|at| clocks[*at]["balances"] == Value::Bool(true))
        .map(|at| number(at, "needed"))
        .collect();
    assert!(balancing.len() <= 1 && balancing.iter().all(|needed| *needed <= 1.0));
    let (table, _, code) = sawby(&road, &["day", "--clocks"]);
    assert_eq!(code, 0);
    assert!(
        table.contains("12:1") && table.contains("the railroad's clock"),
        "{table}"
    );

    let day = read(&["day", "--json"]);
    let session = &day["session"];
    let count = |key: &str| session[key].as_array().map_or(0, Vec::len);
    let trains = day["trains"].as_array().expect("trains").len();
    let (whole, outside) = (count("whole"), count("outside"));
    let cut = count("under_way_at_start") + count("unfinished_at_end");
    assert!(whole + outside + cut >= trains && whole + outside <= trains);
    assert_eq!(session["begins_seconds"], 7 * 3600);
    let (text, _, _) = sawby(&road, &["day"]);
    assert!(
        text.contains("The session, 60 min by the clock on the wall"),
        "{text}"
    );
}
