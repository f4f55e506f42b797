//! One fact of the example changed in its file, and everything that follows from it: no more, no less.

use drawing::track_chart::{Facts, facts};
use railroad::{
    Folder, Loaded, Look,
    edit::{Edit, Step, propose},
    load,
};

fn example() -> Folder {
    Folder::built_in("example").unwrap()
}

fn set(folder: &Folder, file: &str, path: &[&str], value: &str) -> (Folder, Loaded) {
    let path = path
        .iter()
        .map(|step| {
            step.parse()
                .map_or_else(|_| Step::Key((*step).to_owned()), Step::At)
        })
        .collect();
    let edit = Edit::Set {
        file: file.into(),
        path,
        value: value.into(),
    };
    let proposal = propose(folder, &load(folder), &edit).unwrap();
    let mut changed = folder.clone();
    changed.insert(file, proposal.after.unwrap());
    (changed, proposal.loaded)
}

fn charts(loaded: &Loaded) -> Vec<Facts> {
    loaded
        .railroad
        .way
        .lines()
        .map(|(line, _)| facts(&loaded.railroad, line))
        .collect()
}

/// What is wrong now and was not before: codes and messages.
fn news(before: &Loaded, after: &Loaded) -> Vec<String> {
    let line = |found: &model::Diagnostic| format!("{}: {}", found.rule.code, found.message);
    let old: Vec<String> = before.diagnostics.iter().map(line).collect();
    after
        .diagnostics
        .iter()
        .map(line)
        .filter(|line| !old.contains(line))
        .collect()
}

#[test]
fn a_siding_two_feet_shorter() {
    // By tape alone: where an alignment gives the lengths, a tape that differs is reported instead.
    let mut folder = example();
    let laid: Vec<String> = folder
        .iter()
        .map(|(path, _)| path.to_owned())
        .filter(|path| path.starts_with("alignments/"))
        .collect();
    assert!(!laid.is_empty());
    for path in laid {
        folder.remove(&path);
    }
    let before = load(&folder);
    let file = "stations/cold-saddle.toml";
    let text = std::str::from_utf8(folder.get(file).unwrap()).unwrap();
    assert!(
        text.contains("length = \"12 ft 8 in\", use = \"siding\"") && text.contains("14 ft 2 in"),
        "the example has changed: {text}"
    );
    // Measured wrong, it contradicts the places of its switches.
    let length = ["tracks", "siding", "length"];
    let (changed, after) = set(&folder, file, &length, "10 ft 8 in");
    let wrong = news(&before, &after);
    assert!(
        wrong
            .iter()
            .any(|line| line.starts_with("track-too-short: ")),
        "{wrong:#?}"
    );
    // Laid shorter, its east switch is two feet nearer too.
    let switch = ["switches", "c2", "at"];
    let (changed, after) = set(&changed, file, &switch, "12 ft 2 in");
    // In the files, one page.
    let files = |folder: &Folder| {
        folder
            .iter()
            .map(|(path, bytes)| (path.to_owned(), bytes.to_vec()))
            .collect::<Vec<_>>()
    };
    let differ: Vec<_> = files(&folder)
        .into_iter()
        .zip(files(&changed))
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(differ.len(), 1);
    // On the chart, two feet and four cars of one track less; other towns are as they were.
    for (old, new) in charts(&before).iter().zip(&charts(&after)) {
        for (was, now) in old.stations.iter().zip(&new.stations) {
            if was.name != "Cold Saddle" {
                assert_eq!(was, now);
                continue;
            }
            for (was, now) in was
                .tracks
                .iter()
                .zip(&now.tracks)
                .filter(|(t, _)| t.name != "main")
            {
                let (feet, cars) = if was.name == "siding" {
                    (2.0, 4)
                } else {
                    (0.0, 0)
                };
                let less = (was.usable - now.usable).feet();
                assert!((less - feet).abs() < 1e-9, "{}: {less}", was.name);
                assert_eq!(was.cars - now.cars, cars, "{}", was.name);
            }
        }
        assert_eq!(
            (&old.curves, &old.structures, &old.open),
            (&new.curves, &new.structures, &new.open)
        );
    }
    // The two trains that meet there and no longer fit are named, and another place is offered.
    let news = news(&before, &after);
    assert!(
        news.len() == 1 && news[0].starts_with("meet-siding-too-short: "),
        "{news:#?}"
    );
    assert!(
        news[0].contains("trains 2 and 37 cannot meet at Cold Saddle"),
        "{news:#?}"
    );
    assert!(
        after
            .report(Look::Plain)
            .contains("meet at Ochre Tank, which holds")
    );
    // And back.
    let (back, _) = set(&changed, file, &switch, "14 ft 2 in");
    let (back, again) = set(&back, file, &length, "12 ft 8 in");
    assert_eq!(files(&back), files(&folder));
    assert_eq!(again.report(Look::Plain), before.report(Look::Plain));
}

#[test]
fn a_car_of_the_wrong_year() {
    let folder = example();
    let before = load(&folder);
    let edit = Edit::SetCell {
        file: "cars.csv".into(),
        row: 0,
        column: "built".into(),
        value: "1955".into(),
    };
    let proposal = propose(&folder, &before, &edit).unwrap();
    let car = &before.railroad.roster.cars[0].name.value;
    let news = news(&before, &proposal.loaded);
    assert!(
        news.iter()
            .any(|line| line.starts_with("car-not-yet-built: ")),
        "{news:#?}"
    );
    for line in &news {
        assert!(line.contains(car.as_str()), "{line}");
    }
    assert_eq!(charts(&before), charts(&proposal.loaded));
}

#[test]
fn a_grade_made_steeper() {
    let folder = example();
    let before = load(&folder);
    let (file, height) = ("lines/main.toml", "43 in");
    let text = std::str::from_utf8(folder.get(file).unwrap()).unwrap();
    assert!(
        text.contains("elevation = [\"39.2 in\", \"41 in\"]"),
        "the example has changed"
    );
    let (_, after) = set(&folder, file, &["open", "0", "elevation", "1"], height);
    let news = news(&before, &after);
    assert!(
        news.iter()
            .any(|line| line.starts_with("grade-too-steep: ")),
        "{news:#?}"
    );
    assert!(
        news.iter().any(|line| line.starts_with("two-elevations: ")),
        "{news:#?}"
    );
    let steepest = |loaded: &Loaded| {
        charts(loaded)
            .iter()
            .filter_map(|c| c.ruling[1])
            .map(|g| g.percent())
            .fold(0.0, f64::max)
    };
    assert!(steepest(&after) > steepest(&before));
}

#[test]
fn a_shipper_that_doubles() {
    let folder = example();
    let before = load(&folder);
    let flow = before
        .railroad
        .traffic
        .flows
        .iter()
        .position(|flow| {
            flow.cars_per_week
                .as_ref()
                .is_some_and(|rate| rate.value >= 5.0)
        })
        .unwrap();
    let edit = Edit::SetCell {
        file: "shippers.csv".into(),
        row: flow,
        column: "cars_per_week".into(),
        value: "400".into(),
    };
    let proposal = propose(&folder, &before, &edit).unwrap();
    let news = news(&before, &proposal.loaded);
    assert!(
        news.iter()
            .any(|line| line.starts_with("rate-over-spots: ")),
        "{news:#?}"
    );
    assert_eq!(charts(&before), charts(&proposal.loaded));
}
