//! Reading and writing: what comes back, and what is said of a file that is wrong.

mod common;

use dispatching::json::{read_plan, read_problem, write_plan, write_problem};
use rand::{RngExt, SeedableRng, seq::IndexedRandom};
use rand_pcg::Pcg64Mcg;

fn faults(text: &str) -> String {
    let found = read_problem(text).expect_err("a faulty file");
    found.iter().map(|f| format!("{f}\n")).collect()
}

#[test]
fn random_problems_and_plans_come_back_the_same() {
    for seed in 0..500 {
        let problem = common::random::problem(seed);
        let again = read_problem(&write_problem(&problem)).expect("well formed");
        // Resources nobody holds are not written, and the others are numbered as they are met.
        assert_eq!(
            write_problem(&again),
            write_problem(&problem),
            "seed {seed}"
        );
        assert_eq!(again.trains.len(), problem.trains.len());
        assert_eq!(again.objective, problem.objective);
        if let common::enumerate::Outcome::Best(_, plan) =
            common::enumerate::best_by_orders(&problem, 5_000)
        {
            assert_eq!(read_plan(&write_plan(&plan)), Ok(plan));
        }
    }
}

#[test]
fn extensions_are_written_only_where_used() {
    let plain = r#"{"trains":[[{"min_duration":1,"successors":[1]},{"min_duration":0,"successors":[]}]],"objective":[{"type":"op_delay","train":0,"operation":1,"coeff":1}]}"#;
    let text = write_problem(&read_problem(plain).expect("well formed"));
    for field in ["rank", "train_names", "max_duration", "start_ub"] {
        assert!(!text.contains(field), "{text}");
    }
    let extended = r#"{"trains":[[{"min_duration":1,"max_duration":4,"successors":[1]},{"successors":[]}]],"objective":[{"type":"op_delay","train":0,"operation":1,"coeff":1,"rank":2}],"train_names":["Night Mail"]}"#;
    let problem = read_problem(extended).expect("well formed");
    assert_eq!(problem.trains[0].name, "Night Mail");
    assert_eq!(problem.trains[0].operations[0].max_duration, Some(4));
    assert_eq!(problem.objective[0].rank, 2);
    assert_eq!(read_problem(&write_problem(&problem)), Ok(problem));
}

/// The form knows resources by name: two helpers of one number would become one, and a problem with a plan
/// one without.
#[test]
fn resources_of_one_name_are_told_apart_when_written() {
    let one = r#"{"trains":[[{"resources":[{"resource":"helper"},{"resource":"helper (2)"}],"successors":[1]},{"successors":[]}],[{"resources":[{"resource":"other"}],"successors":[1]},{"successors":[]}]],"objective":[]}"#;
    let mut problem = read_problem(one).expect("well formed");
    assert_eq!(problem.resources, ["helper", "helper (2)", "other"]);
    problem.resources[2] = "helper".to_owned();
    let again = read_problem(&write_problem(&problem)).expect("well formed");
    assert_eq!(again.resources, ["helper", "helper (2)", "helper (3)"]);
    assert_eq!(again.trains, problem.trains);
}

#[test]
fn says_where_the_text_is_not_json() {
    assert_eq!(
        faults("{\"trains\": [\n  [}\n"),
        "line 2, column 4: this is not JSON: expected value\n"
    );
}

#[test]
fn names_every_value_of_the_wrong_kind_at_once() {
    let text = r#"{
        "train_names": ["Ore Extra", "Local"],
        "trains": [
            [{"start_lb": -4, "min_duratoin": 3, "successors": [1]}, {"min_duration": 1.5, "successors": []}],
            [{"resources": [{"resource": 7}, {"release_time": 2}], "successors": ["next"]}, 3]
        ],
        "objective": [{"type": "delay", "train": 0, "operation": 1}, {"type": "op_delay", "train": 0}]
    }"#;
    assert_eq!(
        faults(text),
        "\
train 0 (`Ore Extra`), operation 0: there is no field `min_duratoin`; did you mean `min_duration`?
train 0 (`Ore Extra`), operation 0: `start_lb` is -4, expected a whole number, 0 or more
train 0 (`Ore Extra`), operation 1: `min_duration` is 1.5, expected a whole number, 0 or more
train 1 (`Local`), operation 0: `resource` is 7, expected a resource's name in quotes
train 1 (`Local`), operation 0: `resource` is missing, expected a resource's name in quotes
train 1 (`Local`), operation 0: `successors` is \"next\", expected indices of operations of the same train
train 1 (`Local`), operation 1: `operation` is 3, expected an object
objective term 0: `type` is \"delay\", expected \"op_delay\"
objective term 1: `operation` is missing, expected a whole number, 0 or more
"
    );
}

#[test]
fn names_every_fault_of_the_graphs_at_once() {
    let text = r#"{
        "trains": [
            [],
            [{"successors": [1, 1]}, {"successors": [0]}],
            [{"successors": [2]}, {"successors": [2]}, {"successors": []}, {"successors": []}],
            [{"start_lb": 5, "start_ub": 4, "min_duration": 3, "max_duration": 2, "successors": [9]}],
            [{"max_duration": 2, "successors": []}]
        ],
        "objective": [
            {"type": "op_delay", "train": 9, "operation": 0},
            {"type": "op_delay", "train": 4, "operation": 1, "coeff": 1000000000001}
        ]
    }"#;
    assert_eq!(
        faults(text),
        "\
train 0 has no operations, expected at least one
train 1, operation 0: successor 1 is listed twice
train 1: operations 0, 1 lead round in a circle, expected every path to end at the exit
train 2 has 3 operations without a predecessor (0, 1, 3), expected exactly one entry
train 2 has 2 operations without a successor (2, 3), expected exactly one exit
train 3, operation 0: latest start 4 is before the earliest start 5
train 3, operation 0: the most time it may take, 2, is less than the least, 3
train 3, operation 0: successor 9 does not exist, the train has operations 0 to 0
train 4, operation 0 is the exit, which never ends: it cannot have a longest duration
objective term 0: train 9 does not exist, there are 5 trains
objective term 1: `coeff` is 1000000000001, expected a whole number from 0 to 1000000000000
objective term 1: operation 1 of train 4 does not exist, it has 1 operations
"
    );
}

#[test]
fn refuses_costs_that_could_overflow() {
    let text = r#"{"trains": [[{"start_lb": 1000000000000, "successors": []}]],
        "objective": [{"type": "op_delay", "train": 0, "operation": 0, "coeff": 1000000000000}]}"#;
    assert_eq!(
        faults(text),
        "the objective's coefficients are too large: a plan could cost more than 576460752303423487\n"
    );
}

#[test]
fn names_what_is_wrong_with_a_plan() {
    let text = r#"{"events": [{"time": 1, "train": 0, "operation": 0}, {"tme": 4, "train": "x", "operation": 1}, 5]}"#;
    let found = read_plan(text).expect_err("a faulty file");
    let found: String = found.iter().map(|f| format!("{f}\n")).collect();
    assert_eq!(
        found,
        "\
the file: `objective_value` is missing, expected a whole number, 0 or more
event 1: there is no field `tme`; did you mean `time`?
event 1: `time` is missing, expected a whole number, 0 or more
event 1: `train` is \"x\", expected a whole number, 0 or more
event 2: `events` is 5, expected an object with `time`, `train`, `operation`
"
    );
}

#[test]
fn spoilt_files_are_refused_and_never_a_panic() {
    let text = write_problem(&common::random::problem(8));
    let plan = r#"{"objective_value":3,"events":[{"time":0,"train":0,"operation":0}]}"#;
    let mut rng = Pcg64Mcg::seed_from_u64(5);
    let (mut read, mut refused) = (0, 0);
    for _ in 0..3_000 {
        for text in [text.as_str(), plan] {
            let mut bytes = text.as_bytes().to_vec();
            for _ in 0..rng.random_range(1..4) {
                if bytes.is_empty() {
                    break;
                }
                let at = rng.random_range(0..bytes.len());
                match rng.random_range(0..4) {
                    0 => bytes[at] = *b"0123456789-{}[],:\"e.".choose(&mut rng).expect("some"),
                    1 => drop(bytes.remove(at)),
                    2 => bytes.insert(at, *b"0123456789-{}[],:\"".choose(&mut rng).expect("some")),
                    _ => bytes.truncate(at.max(1)),
                }
            }
            let Ok(text) = String::from_utf8(bytes) else {
                continue;
            };
            match read_problem(&text) {
                Ok(problem) => {
                    assert_eq!(problem.validate(), Ok(()));
                    read += 1;
                }
                Err(faults) => {
                    assert!(!faults.is_empty());
                    refused += 1;
                }
            }
            assert!(
                read_plan(&text).is_ok_and(|p| p.objective_value >= 0) || read_plan(&text).is_err()
            );
        }
    }
    assert!(
        read > 20 && refused > 1000,
        "{read} read, {refused} refused"
    );
}
