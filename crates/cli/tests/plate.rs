//! `sawby plate` as its user meets it; and one fact that reaches plate, lead and usable length.

mod common;

use std::fs;

use common::sawby;

#[test]
fn the_ending_says_what_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let turnout = |file: &str| {
        let args = [
            "plate", "turnout", "--scale", "HO", "--number", "6", "--hand", "left", "-o", file,
        ];
        sawby(dir.path(), &args)
    };
    let (out, err, code) = turnout("t.pdf");
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(
        out.starts_with("t.pdf: ") && out.ends_with(" sheets\n"),
        "{out}"
    );
    assert!(
        fs::read(dir.path().join("t.pdf"))
            .unwrap()
            .starts_with(b"%PDF-")
    );
    assert_eq!(turnout("t.svg").0, "t.svg\n");
    assert!(
        fs::read_to_string(dir.path().join("t.svg"))
            .unwrap()
            .starts_with("<svg")
    );
    assert_eq!(turnout("t.dxf").0, "t.dxf\n");
    assert!(
        fs::read_to_string(dir.path().join("t.dxf"))
            .unwrap()
            .ends_with("EOF\n")
    );
    let (_, err, code) = turnout("t.doc");
    assert_eq!(code, 2);
    assert!(
        err.contains("t.doc ends neither in .pdf nor in .svg nor in .dxf"),
        "{err}"
    );
}

#[test]
fn wishes_that_cannot_be_built_say_why() {
    let dir = tempfile::tempdir().unwrap();
    let fails = |args: &[&str], expected: &str| {
        let (_, err, code) = sawby(dir.path(), args);
        assert_eq!(code, 2, "{err}");
        assert!(err.contains(expected), "{err}");
    };
    fails(
        &["plate", "turnout", "--number", "6", "-o", "t.pdf"],
        "the scale is missing",
    );
    fails(
        &[
            "plate",
            "turnout",
            "--scale",
            "Z",
            "--number",
            "6",
            "--standard",
            "NEM 310 2002",
            "-o",
            "t.pdf",
        ],
        "`NEM 310 2002` has no row for Z here; there is: `by proportion`",
    );
    fails(
        &[
            "plate",
            "turnout",
            "--scale",
            "HO",
            "--number",
            "6",
            "--practice",
            "modell",
            "-o",
            "t.pdf",
        ],
        "did you mean `model`?",
    );
    fails(
        &[
            "plate",
            "turnout",
            "--scale",
            "HO",
            "--number",
            "7",
            "--practice",
            "NMRA RP-12 2015",
            "-o",
            "t.pdf",
        ],
        "NMRA RP-12 2015 has no No. 7 here; it has: 5, 6",
    );
    fails(
        &[
            "plate",
            "crossover",
            "--scale",
            "HO",
            "--number",
            "6",
            "--centers",
            "30 mm",
            "-o",
            "t.pdf",
        ],
        "too near for a crossover of No. 6",
    );
    fails(
        &["plate", "station", "Kelander", "--example", "-o", "t.pdf"],
        "did you mean `Kellander`?",
    );
}

#[test]
fn a_switch_of_the_example_railroad() {
    let dir = tempfile::tempdir().unwrap();
    let (_, err, code) = sawby(
        dir.path(),
        &[
            "plate",
            "station",
            "Whistle Ledge",
            "--example",
            "-o",
            "w.svg",
        ],
    );
    assert_eq!((code, err.as_str()), (0, ""));
    let first = fs::read_to_string(dir.path().join("w-1.svg")).unwrap();
    assert!(
        first.contains("Corvane Basin &amp; Eastern Railroad")
            && first.contains("Whistle Ledge, switch")
    );
    assert!(first.contains("railroad as of 1941-10-09"));
}

/// What stands behind a label in the tables of an SVG, in millimetres.
fn figure(svg: &str, label: &str) -> f64 {
    let at = svg
        .find(&format!(">{label}<"))
        .unwrap_or_else(|| panic!("{label}"));
    let cell = svg[at + label.len()..].split("</text>").nth(1).unwrap();
    let text = cell.rsplit('>').next().unwrap();
    text.trim_end_matches(" mm").parse().unwrap()
}

/// A frog number is changed, in one place: the plate, its lead and the usable length of the track
/// behind the switch follow; and if the owner says nothing of how turnouts are built, nothing changes
/// from what it was.
#[test]
fn a_frog_number_reaches_plate_lead_and_usable_length() {
    let dir = tempfile::tempdir().unwrap();
    assert_eq!(sawby(dir.path(), &["new", "road"]).2, 0);
    let road = dir.path().join("road");
    let stations = road.join("stations");
    let page = fs::read_dir(&stations)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .find(|path| {
            let text = fs::read_to_string(path).unwrap();
            text.contains("number = ") && text.contains("use = \"siding\"")
        })
        .expect("a station with a siding");
    let original = fs::read_to_string(&page).unwrap();
    let value = |text: &str, key: &str| {
        let at = text.find(key).unwrap() + key.len();
        text[at..]
            .lines()
            .next()
            .unwrap()
            .trim_matches(['"', ' '])
            .to_owned()
    };
    let station = value(&original, "name = ");
    let usable = || {
        let (out, err, _) = sawby(&road, &["chart", ".", "--json"]);
        let lines: serde_json::Value =
            serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {err}"));
        let stations = lines[0]["stations"].as_array().unwrap().clone();
        let here = stations
            .iter()
            .find(|s| s["name"] == station.as_str())
            .unwrap()
            .clone();
        let siding = here["tracks"]
            .as_array()
            .unwrap()
            .iter()
            .find(|t| t["use"] == "siding")
            .unwrap()
            .clone();
        siding["usable"]["m"].as_f64().unwrap()
    };
    let lead = || {
        let (_, err, code) = sawby(
            &road,
            &["plate", "station", &station, ".", "-o", "../p.svg"],
        );
        assert_eq!((code, err.as_str()), (0, ""));
        let name = if dir.path().join("p-1.svg").exists() {
            "p-1.svg"
        } else {
            "p.svg"
        };
        let svg = fs::read_to_string(dir.path().join(name)).unwrap();
        (
            figure(&svg, "frog number"),
            figure(&svg, "lead, points to theoretical point of frog (PF)"),
        )
    };
    let untold = usable();
    let railroad = fs::read_to_string(road.join("railroad.toml")).unwrap();
    // Nothing said: the longest lead, 2gN. Said: the true one, which is shorter, so more is usable.
    fs::write(
        road.join("railroad.toml"),
        format!("{railroad}\n[turnouts]\npractice = \"model\"\n"),
    )
    .unwrap();
    let told = usable();
    let (number, first) = lead();
    assert!(first < 2.0 * 16.5 * number, "{first}");
    let ends = (told - untold) * 1000.0 / (2.0 * 16.5 * number - first);
    assert!(
        (ends - ends.round()).abs() < 0.02 && ends > 0.9,
        "{ends} ends of the siding"
    );
    // A larger number at every switch: the plate says so, its lead grows, and the siding loses that and
    // what lies beyond the frog.
    let sharper = format!("number = {number}");
    assert!(original.contains(&sharper));
    fs::write(&page, original.replace(&sharper, "number = 8")).unwrap();
    let (eight, second) = lead();
    assert_eq!(eight, 8.0);
    assert!(second > first + 20.0, "{first} {second}");
    let shorter = usable();
    assert!(
        (told - shorter) * 1000.0 > ends.round() * (second - first),
        "{told} {shorter}"
    );
}
