//! `sawby bill` as its user meets it.

mod common;

use std::{fs, path::Path};

use common::sawby;

#[test]
fn the_whole_session_a_train_and_a_station() {
    let here = Path::new(".");
    let (all, err, code) = sawby(here, &["bill", "--example"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(all.starts_with("Corvane Basin & Eastern Railroad, Thursday, October 9, 1941.\n"));
    let (train, _, code) = sawby(here, &["bill", "--example", "--train", "41"]);
    assert_eq!(code, 0);
    assert!(train.starts_with("Train 41 (Lake Local), Kellander to Port Corvane"));
    // What is said of one train is what is said of it among all.
    assert!(all.contains(&train), "{train}");
    let (station, _, code) = sawby(here, &["bill", "--example", "--station", "Tansy Bench"]);
    assert_eq!(code, 0);
    assert!(
        station.starts_with("Tansy Bench\n") && station.contains(" 41 "),
        "{station}"
    );
}

#[test]
fn a_train_that_there_is_not_is_said() {
    let (out, err, code) = sawby(Path::new("."), &["bill", "--example", "--train", "14"]);
    assert_eq!((out.as_str(), code), ("", 2));
    assert!(
        err.contains("there is no freight train today `14`"),
        "{err}"
    );
    assert!(err.contains("help"), "{err}");
}

#[test]
fn machines_read_the_same() {
    let (out, err, code) = sawby(
        Path::new("."),
        &["bill", "--example", "--json", "--seed", "2"],
    );
    assert_eq!((code, err.as_str()), (0, ""));
    let value: serde_json::Value = serde_json::from_str(&out).unwrap();
    let bills = value["waybills"].as_array().unwrap();
    assert!(bills.len() > 50);
    let trains = value["trains"].as_array().unwrap();
    assert_eq!(trains.len(), 16);
    // Every ride of a waybill of this session is in a train, once.
    let rides: usize = bills
        .iter()
        .flat_map(|bill| bill["legs"].as_array().unwrap())
        .filter(|leg| leg["session"] == 0)
        .count();
    let taken: usize = trains
        .iter()
        .flat_map(|train| train["works"].as_array().unwrap())
        .map(|work| work["picks_up"].as_array().unwrap().len())
        .sum();
    assert_eq!(rides, taken);
    assert!(value["routing"]["bound"].as_i64() <= value["routing"]["cost"].as_i64());
}

#[test]
fn waybills_are_added_and_the_folder_stays_clean() {
    let dir = tempfile::tempdir().unwrap();
    let (_, _, code) = sawby(dir.path(), &["new", "road", "--learning"]);
    assert_eq!(code, 0);
    let road = dir.path().join("road");
    let before = fs::read_to_string(road.join("waybills.csv")).unwrap_or_default();
    let (out, err, code) = sawby(&road, &["bill", "--write"]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    let after = fs::read_to_string(road.join("waybills.csv")).unwrap();
    assert!(after.starts_with(&before), "what was there is kept");
    let added = after.lines().count() - before.lines().count();
    let last = out.lines().last().unwrap();
    let count: usize = last.split(' ').next().unwrap().parse().unwrap();
    assert!(count > 0, "{out}");
    // A page that was not there gets its header as well.
    assert_eq!(added, count + usize::from(before.is_empty()));
    let (checked, _, code) = sawby(&road, &["check"]);
    assert_eq!(code, 0, "{checked}");
}
