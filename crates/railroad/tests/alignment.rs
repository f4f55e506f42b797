//! What is laid out is what everything else goes by.

use engineering::{
    alignment::{Of, solve::FaultKind},
    ids::TrackRef,
};
use model::units::Actual;
use railroad::{Folder, Loaded, fixture, load};

fn codes(loaded: &Loaded) -> Vec<&'static str> {
    loaded
        .diagnostics
        .iter()
        .map(|found| found.rule.code)
        .collect()
}

fn track(loaded: &Loaded, name: &str) -> TrackRef {
    loaded.railroad.way.find_track(name).unwrap()
}

/// Alder laid out, its tape left out: straight main, turnouts 12 ft apart, the siding beside it.
const ALDER: &str = r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", use = "main" }
siding = { from = "s1", to = "s2", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", points = "W", hand = "left", number = 6 }
s2 = { on = "main", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
--- alignments/alder.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["2 ft", "3 ft"], bearing = 90 }
elements = [
  { tangent = "1 ft" },
  { turnout = "s1" },
  { tangent = "12 ft" },
  { turnout = "s2" },
  { tangent = "1 ft" },
]

[[center_lines]]
track = "Alder / siding"
elements = [{ parallel = "Alder / main" }]
"#;

#[test]
fn nothing_is_typed_twice() {
    let loaded = load(&fixture::folder(ALDER));
    assert_eq!(codes(&loaded), [""; 0]);
    let way = &loaded.railroad.way;
    let main = way.track(track(&loaded, "Alder / main"));
    assert!(
        main.run()
            .is_near(Actual::from_feet(14.0), Actual::from_mm(0.001))
    );
    // Out by 13 full-size feet and back, twice, by No. 6 turnouts: a little longer than straight on.
    let siding = way.track(track(&loaded, "Alder / siding"));
    let more = siding.run() - Actual::from_feet(12.0);
    assert!(
        more > Actual::ZERO && more < Actual::from_inches(1.0),
        "{more:?}"
    );
    // Its usable length is between the places where it is as far from the main as tracks are.
    let usable = loaded
        .railroad
        .network
        .usable(way, track(&loaded, "Alder / siding"));
    let [from, to] = siding.clear.map(Option::unwrap);
    assert!((siding.run() - from - to).is_near(usable.length, Actual::from_mm(0.001)));
    let line = way
        .located
        .find(Of::Track(track(&loaded, "Alder / siding")))
        .unwrap();
    let at = way.located.path(line).unwrap().at(from.meters()).unwrap();
    let centers = loaded.railroad.network.limits().track_centers.meters();
    let aside = at.y - Actual::from_feet(3.0).meters();
    assert!((aside - centers).abs() < 2e-4, "{aside} {centers}");
}

#[test]
fn one_longer_tangent_is_a_longer_siding() {
    let before = load(&fixture::folder(ALDER));
    let after = load(&fixture::folder(
        &ALDER.replace("tangent = \"12 ft\"", "tangent = \"14 ft\""),
    ));
    let [a, b] = [&before, &after].map(|loaded| {
        let usable = loaded
            .railroad
            .network
            .usable(&loaded.railroad.way, track(loaded, "Alder / siding"));
        usable.length
    });
    assert!(
        (b - a).is_near(Actual::from_feet(2.0), Actual::from_mm(0.01)),
        "{a:?} {b:?}"
    );
}

#[test]
fn the_tape_may_govern() {
    let text = r#"
--- alignments/alder.toml
governs = "tape"

[[center_lines]]
track = "Alder / main"
begin = { at = ["2 ft", "3 ft"], bearing = 90 }
elements = [{ tangent = "15 ft" }]
"#;
    let run = |text: &str| {
        let loaded = load(&fixture::folder(text));
        assert_eq!(codes(&loaded), ["tape-and-alignment-disagree"]);
        loaded
            .railroad
            .way
            .track(track(&loaded, "Alder / main"))
            .run()
            .feet()
    };
    assert!((run(text) - 14.0).abs() < 1e-9);
    assert!((run(&text.replace("governs = \"tape\"", "")) - 15.0).abs() < 1e-9);
}

/// The hill of the example was laid out to its tape: every aligned length agrees with what the pages
/// give, and the heights follow the line's page.
#[test]
fn the_hill_is_as_long_as_the_tape_says() {
    let loaded = load(&Folder::built_in("example").unwrap());
    let way = &loaded.railroad.way;
    assert!(way.located.solved.faults.is_empty());
    assert!(way.located.laid().count() >= 8);
    for (name, feet) in [
        ("Whistle Ledge / main", 14.0),
        ("Whistle Ledge / siding", 11.0),
        ("Cold Saddle / siding", 12.667),
    ] {
        let run = way.track(track(&loaded, name)).run();
        assert!(
            run.is_near(Actual::from_feet(feet), Actual::from_inches(0.75)),
            "{name} {run:?}"
        );
    }
    let open = way
        .located
        .described
        .iter()
        .position(|line| line.name.value == "Whistle Ledge - Cold Saddle");
    let open = open.unwrap();
    let length = way.located.path(open).unwrap().length();
    assert!((length - Actual::from_feet(25.0).meters()).abs() < 1e-9);
    let height = way
        .located
        .elevation(open, Actual::from_feet(9.0).meters())
        .unwrap();
    assert!((height - Actual::from_inches(55.55).meters()).abs() < 1e-6);
}

#[test]
fn a_railroad_half_laid_out_is_still_read() {
    // A siding on a main that is not laid out, a line after one that is not there.
    let text = r#"
--- alignments/alder.toml
[[center_lines]]
track = "Alder / siding"
elements = [{ parallel = "Alder / main" }]

[[center_lines]]
name = "loop"
begin = { at = ["1 ft", "1 ft"], bearing = 0 }
elements = [{ left = "30 in", angle = 350, adjust = "length" }, { tangent = "1 in", adjust = "length" }]
end = { closed = true }
"#;
    let loaded = load(&fixture::folder(text));
    let found = codes(&loaded);
    assert!(
        found.contains(&"unknown-center-line") && found.contains(&"center-line-begins-nowhere"),
        "{found:?}"
    );
    let faults = &loaded.railroad.way.located.solved.faults;
    assert!(
        !faults
            .iter()
            .any(|fault| matches!(fault.kind, FaultKind::Open(_))),
        "{faults:?}"
    );
}
