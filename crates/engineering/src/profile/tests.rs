use model::units::{Grade, Prototype, Speed};

use super::*;
use crate::fixture::{Built, build, limits};

const ROAD: &str = r#"
--- lines/main.toml
name = "Main"
speed = "30 mph"
passenger_speed = "45 mph"
[[open]]
from = "A"
to = "B"
length = "20 ft"
elevation = ["40 in", "43 in"]
profile = [["10 ft", "42.4 in"]]
curves = [{ from = "2 ft", to = "6 ft", radius = "30 in", turn = "left" }]
slow = [{ from = "5 ft", to = "8 ft", speed = "10 mph", why = "soft track" }]
structures = [{ at = "9 ft", length = "1 ft", kind = "trestle" }]
--- stations/a.toml
name = "A"
line = "Main"
mile = 3
elevation = "40 in"
[tracks]
main = { from = "W", to = "E", length = "10 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "6 ft", use = "siding" }
[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "9 ft", points = "E", hand = "right", number = 6 }
--- stations/b.toml
name = "B"
line = "Main"
mile = 7
[tracks]
main = { from = "W", to = "E", length = "10 ft", use = "main", elevation = ["43 in", "42 in"], speed = "15 mph" }
"#;

fn profile() -> (Built, Profile) {
    let built = build(ROAD);
    assert!(built.found.is_empty(), "{:?}", built.found);
    let profile = Profile::new(&built.way, &built.network, LineId(0));
    (built, profile)
}

fn feet(at: f64) -> Actual {
    Actual::from_feet(at)
}

#[test]
fn heights_miles_and_sections() {
    let (_, profile) = profile();
    assert!(profile.length.is_near(feet(40.0), Actual::from_mm(0.001)));
    let inches = |at: f64| profile.elevation(feet(at)).unwrap().inches();
    for (at, expected) in [
        (0.0, 40.0),
        (10.0, 40.0),
        (15.0, 41.2),
        (20.0, 42.4),
        (25.0, 42.7),
        (30.0, 43.0),
        (40.0, 42.0),
    ] {
        assert!(
            (inches(at) - expected).abs() < 1e-6,
            "{at} ft: {}",
            inches(at)
        );
    }
    assert_eq!(profile.elevation(feet(41.0)), None);
    assert_eq!(profile.mile(feet(4.0)), Some(3.0));
    assert!((profile.mile(feet(20.0)).unwrap() - 5.0).abs() < 1e-9);
    assert_eq!(profile.mile(feet(39.0)), Some(7.0));
    assert_eq!(profile.sections.len(), 3);
    let switches = profile
        .places
        .iter()
        .filter(|(_, node)| *node != profile.places[0].1)
        .count();
    assert_eq!(switches, 5);
}

/// W. L. Webb, *Railroad Construction*: 0.04 % a degree in general. A 30 in radius in HO is a curve
/// of 26.313 degrees by the arc, worth 1.053 %.
#[test]
fn curves_are_worth_a_grade() {
    let worth = compensation_of(Actual::from_inches(30.0), &limits());
    assert!(
        (worth.percent() - 1.0525).abs() < 1e-3,
        "{}",
        worth.percent()
    );
    // Handbook tables of degrees: 10 degrees is a radius of 572.958 ft by the arc; 8 lb a ton.
    let ten = limits().scale.to_actual(Prototype::from_feet(572.958));
    let worth = compensation_of(ten, &limits());
    assert!((worth.percent() - 0.4).abs() < 1e-6);
}

#[test]
fn grades_by_direction() {
    let (_, profile) = profile();
    let limits = limits();
    let pieces = profile.grades(&limits);
    // 2.4 in in 10 ft is 2 %; the curve parts it in three.
    let uphill: Vec<_> = pieces
        .iter()
        .filter(|piece| (piece.grade.percent() - 2.0).abs() < 1e-6)
        .map(|piece| piece.radius.is_some())
        .collect();
    assert_eq!(uphill, [false, true, false]);
    let whole = [Actual::ZERO, profile.length];
    let up = profile
        .ruling(&limits, Going::Up, whole, Actual::ZERO)
        .unwrap();
    assert!(
        (up.grade.percent() - 3.0525).abs() < 1e-3,
        "{}",
        up.grade.percent()
    );
    // A train of 8 ft covers the 4 ft of curve and 4 ft of tangent on the same grade.
    let train = profile
        .ruling(&limits, Going::Up, whole, feet(8.0))
        .unwrap();
    assert!((train.grade.percent() - (2.0 + 1.0525 / 2.0)).abs() < 1e-3);
    // Down the line only the main of B climbs: 1 in in 10 ft; but the curve resists more.
    let down = profile
        .ruling(&limits, Going::Down, whole, Actual::ZERO)
        .unwrap();
    assert!((down.grade.percent() - 100.0 / 120.0).abs() < 1e-6);
    // Between given places only what lies there.
    let part = profile
        .ruling(&limits, Going::Up, [feet(20.0), feet(30.0)], Actual::ZERO)
        .unwrap();
    assert!((part.grade.percent() - 0.5).abs() < 1e-6);
}

/// The window's greatest average, against trying every tenth of an inch.
#[test]
fn the_ruling_grade_is_the_worst_window() {
    let (_, profile) = profile();
    let limits = limits();
    let pieces = profile.grades(&limits);
    let whole = [Actual::ZERO, profile.length];
    for train in [1.0, 3.0, 7.5, 19.0] {
        for going in [Going::Up, Going::Down] {
            let found = profile.ruling(&limits, going, whole, feet(train)).unwrap();
            let mut worst = f64::NEG_INFINITY;
            let mut start = 0.0;
            while start + train <= 40.0 {
                let sum: f64 = pieces
                    .iter()
                    .map(|piece| {
                        let from = piece.reach[0].feet().max(start);
                        let to = piece.reach[1].feet().min(start + train);
                        piece.against(going).ratio() * (to - from).max(0.0)
                    })
                    .sum();
                worst = f64::max(worst, sum / train);
                start += 1.0 / 120.0;
            }
            assert!(found.grade.ratio() >= worst - 1e-9);
            assert!(
                (found.grade.ratio() - worst).abs() < 1e-4,
                "{train} {going:?}"
            );
        }
    }
}

#[test]
fn speeds_are_the_lowest_that_stands() {
    let (_, profile) = profile();
    let at = |feet_at: f64| {
        let piece = profile
            .speeds
            .iter()
            .find(|piece| piece.reach[0] <= feet(feet_at) && feet(feet_at) < piece.reach[1])
            .unwrap();
        (
            piece.freight.map(Speed::mph),
            piece.passenger.map(Speed::mph),
            piece.why.clone(),
        )
    };
    let near = |found: (Option<f64>, Option<f64>, Option<String>), freight: f64, passenger: f64| {
        (found.0.unwrap() - freight).abs() < 1e-9 && (found.1.unwrap() - passenger).abs() < 1e-9
    };
    assert!(near(at(1.0), 30.0, 45.0));
    assert!(near(at(16.0), 10.0, 10.0));
    assert_eq!(at(16.0).2.as_deref(), Some("soft track"));
    assert!(near(at(19.0), 30.0, 45.0));
    assert!(near(at(35.0), 15.0, 15.0));
    // Without a hole and without overlap.
    for pair in profile.speeds.windows(2) {
        assert_eq!(pair[0].reach[1], pair[1].reach[0]);
    }
    assert!(
        profile.speeds.last().unwrap().reach[1].is_near(profile.length, Actual::from_mm(0.001))
    );
}

#[test]
fn a_main_without_a_height_lies_between_its_neighbors() {
    let text = ROAD.replace(
        "elevation = \"40 in\"\n",
        "elevations = { W = \"39 in\" }\n",
    );
    let built = build(&text);
    let profile = Profile::new(&built.way, &built.network, LineId(0));
    let half = profile.elevation(feet(5.0)).unwrap().inches();
    assert!((half - 39.5).abs() < 1e-6, "{half}");
    let levels = node_levels(&built.way, &built.network, StationId(0));
    assert!(levels.iter().all(Option::is_some));
    let grade = profile.grades(&limits())[0].grade;
    assert!((grade.ratio() - Grade::from_percent(100.0 / 120.0).ratio()).abs() < 1e-9);
}

#[test]
fn what_stands_beside_a_sloping_main_slopes_with_it() {
    let text = ROAD
        .replace("elevation = \"40 in\"\n", "elevation = \"40 in\"\nelevations = { E = \"41 in\" }\n")
        .replace("[switches]\ns1", "spur = { from = \"s3\", to = \"bumper\", length = \"4 ft\", use = \"spur\" }\n[switches]\ns3 = { on = \"siding\", at = \"3 ft\", points = \"W\", hand = \"left\", number = 6 }\ns1")
        .replace("[\"40 in\", \"43 in\"]", "[\"41 in\", \"43 in\"]");
    let built = build(&text);
    assert!(built.found.is_empty(), "{:?}", built.found);
    let levels = node_levels(&built.way, &built.network, StationId(0));
    let first = built.network.station_nodes(StationId(0)).next().unwrap();
    let of = |place: Place| {
        let node = built
            .network
            .nodes()
            .find(|(_, n)| n.station == StationId(0) && n.place == place)
            .unwrap();
        levels[(node.0.0 - first.0) as usize]
            .unwrap()
            .elevation
            .inches()
    };
    use crate::{
        ids::{SwitchId, TrackId},
        station::TrackEnd,
    };
    // s1 and s2 lie 1 ft and 9 ft along a main of 10 ft that climbs 1 in; s3 halfway between them.
    assert!((of(Place::Switch(SwitchId(1))) - 40.1).abs() < 1e-6);
    assert!((of(Place::Switch(SwitchId(2))) - 40.9).abs() < 1e-6);
    assert!((of(Place::Switch(SwitchId(0))) - 40.5).abs() < 1e-6);
    assert!((of(Place::TrackEnd(TrackId(2), TrackEnd::To)) - 40.5).abs() < 1e-6);
}
