//! The plan, helices and surveys from the command line.

mod common;

use std::fs;

use common::sawby;

#[test]
fn the_plan_is_drawn() {
    let dir = tempfile::tempdir().unwrap();
    let (out, err, code) = sawby(dir.path(), &["plan", "--example", "-o", "plan.svg"]);
    assert_eq!((out.as_str(), err.as_str(), code), ("plan.svg\n", "", 0));
    let svg = fs::read_to_string(dir.path().join("plan.svg")).unwrap();
    for text in [
        "Mountain room",
        "Whistle Ledge",
        "Cold Saddle",
        "R 3'-4\"",
        "2.2 %",
        "No. 6",
    ] {
        assert!(svg.contains(text), "{text}");
    }
    let (one, _, code) = sawby(
        dir.path(),
        &["plan", "--example", "--station", "Cold Saddle"],
    );
    assert!(code == 0 && one.contains("Cold Saddle") && !one.contains("section"));
    let (_, err, code) = sawby(
        dir.path(),
        &["plan", "--example", "--station", "Cold Sadle"],
    );
    assert!(
        code == 2 && err.contains("did you mean `Cold Saddle`?"),
        "{err}"
    );
    let (_, err, code) = sawby(dir.path(), &["plan", "--example", "--station", "Farholt"]);
    assert!(
        code == 2 && err.contains("nothing of Farholt has a place yet"),
        "{err}"
    );
}

#[test]
fn helices_are_compared() {
    let dir = tempfile::tempdir().unwrap();
    let args = [
        "helix",
        "--scale",
        "HO",
        "--climb",
        "20 in",
        "--radius",
        "30 in,36 in",
        "--rise",
        "4.1 in",
        "--json",
    ];
    let (out, _, code) = sawby(dir.path(), &args);
    assert_eq!(code, 0);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    let rows = json.as_array().unwrap();
    assert_eq!(rows.len(), 2);
    // Rise over run, by hand: 4.1 in on 2π·30 in.
    assert!((rows[0]["grade_percent"].as_f64().unwrap() - 2.1751).abs() < 1e-3);
    let (out, _, code) = sawby(dir.path(), &args[..args.len() - 1]);
    assert!(
        code == 0
            && out.contains("Take care")
            && out.contains("Smallest that keeps all limits: radius 2'-6\""),
        "{out}"
    );
    let (_, err, code) = sawby(dir.path(), &["helix", "--scale", "HO", "--climb", "20 in"]);
    assert!(
        code == 2 && err.contains("name some with --radius"),
        "{err}"
    );
}

#[test]
fn a_survey_becomes_a_center_line() {
    let dir = tempfile::tempdir().unwrap();
    // A tangent of 40 in and an arc of 30 in radius, every 2 in; one reading is wrong, one is none.
    let mut rows = String::from("x;y\n");
    for n in 0..40 {
        let s = f64::from(n) * 2.0;
        let (x, y) = if s <= 40.0 {
            (s, 0.0)
        } else {
            let angle = (s - 40.0) / 30.0;
            (
                40.0 + 30.0 * f64::sin(angle),
                30.0 * (1.0 - f64::cos(angle)),
            )
        };
        let wrong = if n == 12 { 0.7 } else { 0.0 };
        rows.push_str(&format!("{x:.3};{:.3}\n", y + wrong));
    }
    rows.push_str("end of tape\n");
    fs::write(dir.path().join("back-wall.csv"), rows).unwrap();
    let (out, _, code) = sawby(dir.path(), &["import", "survey", "back-wall.csv"]);
    assert_eq!(code, 1, "one row is no point\n{out}");
    assert!(
        out.contains("name = \"back-wall\"") && out.contains("left = \"30.0"),
        "{out}"
    );
    assert!(
        out.contains("# line 14: set aside, 0.7") && out.contains("# line 42: no point"),
        "{out}"
    );
    // What is printed can be pasted: it is read, and lies where it was measured.
    let (_, err, code) = sawby(dir.path(), &["new", "road"]);
    assert_eq!(code, 0, "{err}");
    let road = dir.path().join("road");
    fs::create_dir_all(road.join("alignments")).unwrap();
    fs::write(road.join("alignments/wall.toml"), &out).unwrap();
    let (svg, err, code) = sawby(dir.path(), &["plan", "road"]);
    assert!(code == 0 && svg.contains("back-wall"), "{err}");
}
