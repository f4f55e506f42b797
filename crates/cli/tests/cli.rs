//! The command line as its user meets it: exact output, exit codes, files.

mod common;

use std::{fs, path::Path};

use tempfile::TempDir;

use common::sawby;

fn here(args: &[&str]) -> (String, String, i32) {
    sawby(Path::new("."), args)
}

/// A new railroad folder.
fn new(kind: &[&str]) -> TempDir {
    let dir = tempfile::tempdir().unwrap();
    let road = dir.path().join("road");
    let mut args = vec!["new", road.to_str().unwrap()];
    args.extend(kind);
    let (out, err, code) = here(&args);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    dir
}

#[test]
fn a_new_railroad_checks_clean() {
    for kind in [&[][..], &["--learning"], &["--example"]] {
        let dir = new(kind);
        let (out, err, code) = sawby(&dir.path().join("road"), &["check"]);
        assert_eq!((code, err.as_str()), (0, ""), "{out}");
        assert!(
            !out.contains("error[") && !out.contains("warning["),
            "{kind:?}: {out}"
        );
    }
}

#[test]
fn nothing_is_written_over() {
    let dir = new(&[]);
    let road = dir.path().join("road");
    let (out, err, code) = sawby(dir.path(), &["new", "road"]);
    assert_eq!((out.as_str(), code), ("", 2));
    assert_eq!(
        err,
        "error: road is not empty\n  = help: nothing is ever written over: name another folder\n"
    );
    assert!(road.join("railroad.toml").exists());
}

#[test]
fn check_points_at_the_fault_and_leaves_with_1() {
    let dir = new(&[]);
    let road = dir.path().join("road");
    let page = road.join("lines/main.toml");
    let text = fs::read_to_string(&page).unwrap();
    fs::write(&page, text.replace("to = \"Birch\"", "to = \"Brich\"")).unwrap();
    let (out, err, code) = sawby(&road, &["check"]);
    assert_eq!((code, err.as_str()), (1, ""));
    let expected = "error[unknown-name]: there is no station `Brich`
 --> lines/main.toml:5:7
  |
5 | to = \"Brich\"
  |       ^^^^^
  |
  = help: did you mean `Birch`?
";
    assert!(out.contains(expected), "{out}");
    assert!(!out.contains('\u{1b}'), "colours in a pipe");

    let (out, _, code) = sawby(&road, &["check", "--json"]);
    assert_eq!(code, 1);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    let found = json["diagnostics"].as_array().unwrap();
    let found = found
        .iter()
        .find(|found| found["code"] == "unknown-name")
        .unwrap();
    assert_eq!(
        (&found["at"]["line"], &found["at"]["column"]),
        (&5.into(), &7.into())
    );
    assert_eq!(found["help"][0], "did you mean `Birch`?");
}

#[test]
fn mistakes_on_the_command_line_are_explained() {
    for (args, expected, code) in [
        (&["chek"][..], "a similar subcommand exists: 'check'", 2),
        (
            &["check", "--jsn"],
            "a similar argument exists: '--json'",
            2,
        ),
        (
            &["explain", "unknwon-name"],
            "did you mean `unknown-name`?",
            2,
        ),
        (
            &["check", "no/such/folder"],
            "`sawby new FOLDER` starts one",
            3,
        ),
        (
            &["chart", "--example", "--line", "Main Lime", "-o", "x"],
            "did you mean `Main Line`?",
            2,
        ),
        (
            &[
                "chart",
                "--example",
                "--line",
                "Main Line",
                "-o",
                "/proc/no/x.svg",
            ],
            "/proc/no",
            3,
        ),
        (&["chart", "--example", "--paper", "a4"], "--output", 2),
    ] {
        let (out, err, got) = here(args);
        assert_eq!((out.as_str(), got), ("", code), "{args:?}: {err}");
        assert!(err.contains(expected), "{args:?}: {err}");
    }
    let empty = tempfile::tempdir().unwrap();
    let (_, err, code) = sawby(empty.path(), &["check"]);
    assert_eq!(
        (code, err.lines().next()),
        (3, Some("error: . holds no railroad"))
    );
}

#[test]
fn every_code_has_its_page() {
    let (list, _, _) = here(&["explain"]);
    assert!(
        list.lines().count() >= 80,
        "{} kinds of diagnostic",
        list.lines().count()
    );
    for line in list.lines().step_by(9) {
        let code = line.split_whitespace().next().unwrap();
        let (out, err, exit) = here(&["explain", code]);
        assert_eq!((exit, err.as_str()), (0, ""));
        assert!(
            out.starts_with(code) && out.contains("For example"),
            "{out}"
        );
    }
}

#[test]
fn a_chart_is_written_where_it_is_asked_for() {
    let dir = tempfile::tempdir().unwrap();
    let (out, err, code) = sawby(dir.path(), &["chart", "--example", "-o", "charts"]);
    assert_eq!((code, err.as_str()), (0, ""));
    for file in out.lines() {
        let svg = fs::read_to_string(dir.path().join(file)).unwrap();
        assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
    }
    assert!(out.lines().count() >= 2, "the example has a branch");
    let (out, _, code) = sawby(
        dir.path(),
        &["chart", "--example", "-o", "pages", "--paper", "a4"],
    );
    assert_eq!(code, 0);
    assert!(out.lines().count() >= 4);
    let (out, _, code) = here(&["chart", "--example", "--json"]);
    assert_eq!(code, 0);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert!(
        json.as_array()
            .unwrap()
            .iter()
            .any(|line| line["stations"].as_array().unwrap().len() >= 12)
    );
}
