use proptest::prelude::*;

use super::*;
use crate::{
    fixture::{Built, build},
    station::Side,
};

const LINE: &str = r#"
--- lines/main.toml
name = "Main"
[[open]]
from = "A"
to = "B"
length = "20 ft"
"#;

/// A station `A` with this text after its head, and a plain station `B` up the line.
fn station(text: &str) -> Built {
    let built = build(&format!(
        "{LINE}
--- stations/a.toml
name = \"A\"
line = \"Main\"
mile = 0
{text}
--- stations/b.toml
name = \"B\"
line = \"Main\"
mile = 5
[tracks]
main = {{ from = \"W\", to = \"E\", length = \"10 ft\", use = \"main\" }}
"
    ));
    assert!(built.found.is_empty(), "{:#?}", built.found);
    built
}

const SIDING: &str = r#"
[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "11 ft 6 in", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur" }
[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "E", hand = "left", number = 5 }
"#;

const A: StationId = StationId(0);

fn end(built: &Built, name: &str) -> NodeId {
    built
        .network
        .end_node(A, built.way.station(A).find_end(name).unwrap())
}

fn switch(built: &Built, name: &str) -> NodeId {
    built
        .network
        .switch_node(A, built.way.station(A).find_switch(name).unwrap())
}

fn track(built: &Built, name: &str) -> TrackRef {
    TrackRef {
        station: A,
        track: built.way.station(A).find_track(name).unwrap(),
    }
}

fn names(built: &Built, route: &Route) -> Vec<String> {
    built
        .network
        .tracks(route)
        .into_iter()
        .map(|track| built.way.track(track).name.value.clone())
        .collect()
}

fn passes(built: &Built, route: &Route) -> Vec<(String, Passing, SwitchLeg)> {
    built
        .network
        .switches(route)
        .into_iter()
        .map(|(station, switch, passing, leg)| {
            let name = &built.way.station(station).switches[switch.index()]
                .name
                .value;
            (name.clone(), passing, leg)
        })
        .collect()
}

fn near(found: Actual, inches: f64) -> bool {
    found.is_near(Actual::from_inches(inches), Actual::from_inches(1e-6))
}

#[test]
fn a_siding_has_two_routes_and_its_switches_face_and_trail() {
    use {Passing::*, SwitchLeg::*};
    let built = station(SIDING);
    let net = &built.network;
    let (w, e) = (end(&built, "W"), end(&built, "E"));
    let routes = net.routes(A, w, e, 100);
    let tracks: Vec<_> = routes.iter().map(|route| names(&built, route)).collect();
    assert_eq!(tracks, [vec!["main"], vec!["main", "siding", "main"]]);
    let pass = |name: &str, passing, leg| (name.to_owned(), passing, leg);
    assert_eq!(
        passes(&built, &routes[0]),
        [pass("s1", Facing, Normal), pass("s2", Trailing, Normal)]
    );
    assert_eq!(
        passes(&built, &routes[1]),
        [
            pass("s1", Facing, Reverse),
            pass("s3", Trailing, Normal),
            pass("s2", Trailing, Reverse)
        ]
    );
    let between: Vec<_> = net
        .tracks_between(A, w, e)
        .into_iter()
        .map(|track| built.way.station(A).track(track).name.value.as_str())
        .collect();
    assert_eq!(between, ["main", "siding"]);
    // The siding is shorter; who keeps to the main goes by the main.
    assert_eq!(net.shortest(A, w, e).unwrap(), routes[1]);
    assert_eq!(net.by_main(&built.way, A, w, e).unwrap(), routes[0]);
    // Westward, what trailed faces.
    let back = net.via(e, track(&built, "siding"), w).unwrap();
    assert_eq!(
        passes(&built, &back),
        [
            pass("s2", Facing, Reverse),
            pass("s3", Facing, Normal),
            pass("s1", Trailing, Reverse)
        ]
    );
    assert!(near(routes[1].length, 12.0 + 138.0 + 12.0));
    assert!(near(routes[0].length, 14.0 * 12.0));
}

#[test]
fn a_trailing_spur_is_reached_from_one_side_only() {
    let built = station(SIDING);
    let mill = track(&built, "mill");
    // The points of the mill's switch face east.
    let from_east = built.network.onto(end(&built, "E"), mill).unwrap();
    assert_eq!(names(&built, &from_east), ["main", "siding", "mill"]);
    assert!(built.network.onto(end(&built, "W"), mill).is_none());
    assert!(
        built
            .network
            .via(end(&built, "W"), mill, end(&built, "E"))
            .is_none()
    );
}

#[test]
fn usable_lengths_run_between_clearance_points() {
    let built = station(SIDING);
    let net = &built.network;
    // No. 6: F = 9.5272 deg, sin F = 24/145, cos F = 143/145 exactly; centers 2 in, gauge 0.650 in:
    // (2 - 0.650 * (1 + 143/145) / 2) / (24/145) = 8.1835 in beyond the frog, which lies 2 * 0.650 * 6
    // = 7.8 in from the points.
    let beyond = (2.0 - 0.650 * (1.0 + 143.0 / 145.0) / 2.0) / (24.0 / 145.0);
    let siding = net.usable(&built.way, track(&built, "siding"));
    assert!(
        near(siding.length, 138.0 - 2.0 * (7.8 + beyond)),
        "{siding:?}"
    );
    assert_eq!(siding.cars(Actual::from_inches(6.0)), 17);
    // On the main, between the points of abreast of the same clearance points.
    let main = net.usable(&built.way, track(&built, "main"));
    let abreast = 7.8 + beyond * 143.0 / 145.0;
    assert!(near(main.length, 144.0 - 2.0 * abreast), "{main:?}");
    assert!(near(main.stretch.from, 12.0 + abreast));
    let beside = net
        .beside(
            &built.way,
            track(&built, "main"),
            track(&built, "siding").track,
        )
        .unwrap();
    assert_eq!(beside, main.stretch);
    // A spur holds cars from its clearance point to its bumper.
    let sin5 = (2.0 * (0.1f64).atan()).sin();
    let cos5 = (2.0 * (0.1f64).atan()).cos();
    let mill = net.usable(&built.way, track(&built, "mill"));
    assert!(near(
        mill.length,
        48.0 - 6.5 - (2.0 - 0.650 * (1.0 + cos5) / 2.0) / sin5
    ));
}

#[test]
fn the_tape_goes_before_the_formula() {
    let built = station(&SIDING.replace(
        "length = \"11 ft 6 in\",",
        "length = \"11 ft 6 in\", usable = \"7 ft\",",
    ));
    let siding = built.network.usable(&built.way, track(&built, "siding"));
    assert!(siding.taped && near(siding.length, 84.0) && siding.stretch.length() > siding.length);
}

#[test]
fn a_main_without_a_siding_is_usable_from_end_to_end() {
    let built = station(
        "[tracks]\nmain = { from = \"W\", to = \"E\", length = \"10 ft\", use = \"main\" }\n",
    );
    assert!(near(
        built
            .network
            .usable(&built.way, track(&built, "main"))
            .length,
        120.0
    ));
}

#[test]
fn a_main_in_two_pieces_is_usable_as_one_in_one_piece() {
    let pieces = |second: &str, at: &str| {
        station(&format!(
            r#"
[joints]
j = "40 in"
[tracks]
main = {{ from = "W", to = "j", length = "6 ft", use = "main" }}
{second}
siding = {{ from = "s1", to = "s2", length = "12 ft", use = "siding" }}
[switches]
s1 = {{ on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }}
s2 = {{ on = "beyond", at = "{at}", points = "E", hand = "right", number = 6 }}
"#
        ))
    };
    let whole = station(SIDING);
    let whole = whole
        .network
        .usable(&whole.way, track(&whole, "main"))
        .stretch;
    for (second, at) in [
        (
            r#"beyond = { from = "j", to = "E", length = "8 ft", use = "main" }"#,
            "7 ft",
        ),
        (
            r#"beyond = { from = "E", to = "j", length = "8 ft", use = "main" }"#,
            "1 ft",
        ),
    ] {
        let built = pieces(second, at);
        let usable = |name: &str| {
            built
                .network
                .usable(&built.way, track(&built, name))
                .stretch
        };
        let (low, high) = (usable("main"), usable("beyond"));
        assert!(low.from.is_near(whole.from, Actual::from_mm(0.001)));
        assert!(near(low.to, 72.0));
        let both = low.length() + high.length();
        assert!(
            both.is_near(whole.length(), Actual::from_mm(0.001)),
            "{low:?} {high:?} {whole:?}"
        );
    }
}

#[test]
fn a_route_over_the_whole_road() {
    let built = station(SIDING);
    let b = built.way.find_station("B").unwrap();
    let e = built
        .network
        .end_node(b, built.way.station(b).find_end("E").unwrap());
    let route = built.network.across(end(&built, "W"), e).unwrap();
    // By the siding, which is 6 in shorter than the main beside it.
    assert!(near(route.length, (14.0 + 20.0 + 10.0) * 12.0 - 6.0));
    assert!(built.network.is_route(&route.runs));
}

#[test]
fn tracks_run_outward_from_their_switches() {
    // The siding is written from east to west, and the spur from its bumper.
    let built = station(
        r#"
[tracks]
main = { from = "E", to = "W", length = "14 ft", use = "main" }
siding = { from = "s2", to = "s1", length = "10 ft", use = "siding" }
mill = { from = "bumper", to = "s3", length = "4 ft", use = "spur" }
tail = { from = "j", to = "bumper", length = "2 ft", use = "storage" }
stub = { from = "s4", to = "j", length = "2 ft", use = "storage" }
[joints]
j = "40 in"
[switches]
s1 = { on = "main", at = "13 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "1 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "E", hand = "left", number = 5 }
s4 = { on = "mill", at = "2 ft", points = "E", hand = "left", number = 5 }
"#,
    );
    let orientation = built.network.orientation(A);
    let side = |name: &str| orientation.tracks[track(&built, name).track.index()];
    assert_eq!(side("main"), Side::Low);
    assert_eq!(side("siding"), Side::Low);
    // Its switch faces east, so it heads west from there; written from its bumper, it runs east.
    assert_eq!(side("mill"), Side::High);
    assert_eq!(side("stub"), Side::Low);
    assert_eq!(side("tail"), Side::Low);
    assert!(orientation.conflicts.is_empty());
    let facing: Vec<_> = orientation.facing.clone();
    use crate::station::TrackEnd::{From, To};
    assert_eq!(facing, [To, From, From, To]);
    let routes = built
        .network
        .routes(A, end(&built, "W"), end(&built, "E"), 10);
    assert_eq!(routes.len(), 2);
}

#[test]
fn points_that_contradict_are_noted() {
    let built = station(&SIDING.replace("\"13 ft\", points = \"E\"", "\"13 ft\", points = \"W\""));
    let conflicts = &built.network.orientation(A).conflicts;
    assert_eq!(conflicts.len(), 1, "{conflicts:?}");
    assert!(conflicts[0].mistake);
    assert_eq!(conflicts[0].track, track(&built, "siding").track);
    // Such a siding cannot be run through.
    let routes = built
        .network
        .routes(A, end(&built, "W"), end(&built, "E"), 10);
    assert_eq!(routes.len(), 1);
}

const WYE: &str = r#"
[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
"west leg" = { from = "s1", to = "bumper", length = "7 ft", use = "wye" }
"east leg" = { from = "s2", to = "s3", length = "4 ft", use = "wye" }
[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "west leg", at = "4 ft", points = "to", hand = "right", number = 5 }
"#;

#[test]
fn a_wye_turns_trains_and_is_no_mistake() {
    let built = station(WYE);
    let net = &built.network;
    assert!(
        net.orientation(A)
            .conflicts
            .iter()
            .all(|conflict| !conflict.mistake)
    );
    let (w, e) = (end(&built, "W"), end(&built, "E"));
    // Both legs lead to the tail, none through.
    assert_eq!(net.routes(A, w, e, 10).len(), 1);
    let west = net.onto(w, track(&built, "west leg")).unwrap();
    let east = net.onto(e, track(&built, "east leg")).unwrap();
    assert_eq!(names(&built, &west), ["main", "west leg"]);
    assert_eq!(names(&built, &east), ["main", "east leg"]);
    // One ring: main, east leg and the inner part of the west leg.
    let rings = net.reversing(|_| false);
    assert_eq!(rings.len(), 1, "{rings:?}");
    let mut tracks: Vec<_> = net
        .ring_tracks(&rings[0])
        .iter()
        .map(|t| built.way.track(*t).name.value.clone())
        .collect();
    tracks.sort();
    assert_eq!(tracks, ["east leg", "main", "west leg"]);
    // None is left when one of its tracks is a reversing section.
    let leg = track(&built, "east leg");
    assert!(net.reversing(|edge| edge.track() == Some(leg)).is_empty());
}

#[test]
fn a_loop_comes_back_the_other_way() {
    let built = build(
        r#"
--- lines/main.toml
name = "Main"
--- stations/a.toml
name = "A"
line = "Main"
mile = 0
[tracks]
main = { from = "W", to = "s", length = "14 ft", use = "main" }
[switches]
s = { on = "main", at = "2 ft", points = "from", hand = "left", number = 6 }
"#,
    );
    assert!(built.found.is_empty());
    let net = &built.network;
    let rings = net.reversing(|_| false);
    assert_eq!(rings.len(), 1);
    // A train goes around and meets its own switch from behind.
    let w = end(&built, "W");
    let around = net.shortest(A, w, w).unwrap();
    assert_eq!(around.runs.len(), 3 - 1 + 1, "{around:?}");
    assert!(net.is_route(&around.runs));
}

#[test]
fn a_plain_road_has_no_reversing_ring() {
    assert!(station(SIDING).network.reversing(|_| false).is_empty());
}

#[test]
fn slips_let_trains_change_tracks() {
    let with = |slip: &str| {
        station(&format!(
            r#"
[tracks]
main = {{ from = "W", to = "E", length = "10 ft", use = "main" }}
low = {{ from = "s1", to = "s2", length = "8 ft", use = "siding" }}
over = {{ from = "s3", to = "s4", length = "4 ft", use = "connection" }}
[switches]
s1 = {{ on = "main", at = "1 ft", points = "W", hand = "right", number = 6 }}
s2 = {{ on = "main", at = "9 ft", points = "E", hand = "left", number = 6 }}
s3 = {{ on = "main", at = "2 ft", points = "W", hand = "left", number = 6 }}
s4 = {{ on = "main", at = "8 ft", points = "E", hand = "left", number = 6 }}
[crossings]
x = {{ on = ["low", "over"], at = ["4 ft", "2 ft"], angle = 9.5, slip = "{slip}" }}
"#
        ))
    };
    let count = |slip: &str| {
        let built = with(slip);
        let (w, e) = (end(&built, "W"), end(&built, "E"));
        built.network.routes(A, w, e, 100).len()
    };
    // main, low, over; with a slip also from low to over; with two also from over to low.
    assert_eq!((count("none"), count("single"), count("double")), (3, 4, 5));
    let built = with("single");
    let route = built
        .network
        .routes(A, end(&built, "W"), end(&built, "E"), 100);
    assert!(
        route
            .iter()
            .any(|route| names(&built, route) == ["main", "low", "over", "main"])
    );
    // The crossing parts the siding: 9.5 degrees, 2 in / sin 9.5 = 12.118 in to each side.
    let low = built.network.usable(&built.way, track(&built, "low"));
    let clear = 2.0 / 9.5f64.to_radians().sin();
    let beyond = (2.0 - 0.650 * (1.0 + 143.0 / 145.0) / 2.0) / (24.0 / 145.0);
    assert!(
        near(low.length, 48.0 - clear - beyond - 7.8),
        "{low:?} {clear} {beyond}"
    );
}

#[test]
fn a_three_way_switch_has_three_legs() {
    let built = station(
        r#"
[tracks]
main = { from = "W", to = "E", length = "10 ft", use = "main" }
left = { from = "s", to = "bumper", length = "4 ft", use = "spur" }
right = { from = "s", to = "bumper", length = "4 ft", use = "spur" }
[switches]
s = { on = "main", at = "1 ft", points = "W", hand = "three-way", number = 6, normal = "left" }
"#,
    );
    let net = &built.network;
    let w = end(&built, "W");
    let legs: Vec<_> = ["left", "right"]
        .iter()
        .map(|name| passes(&built, &net.onto(w, track(&built, name)).unwrap()))
        .collect();
    assert_eq!(
        legs[0],
        [("s".to_owned(), Passing::Facing, SwitchLeg::Normal)]
    );
    assert_eq!(
        legs[1],
        [("s".to_owned(), Passing::Facing, SwitchLeg::Reverse)]
    );
    assert!(net.onto(end(&built, "E"), track(&built, "left")).is_none());
}

#[test]
fn double_track_joins_by_number_and_a_branch_by_its_own_end() {
    let built = build(
        r#"
--- lines/main.toml
name = "Main"
[[open]]
from = "A"
to = "B"
length = "20 ft"
tracks = 2
--- lines/branch.toml
name = "Branch"
kind = "branch"
ends = ["S", "N"]
[[open]]
from = "A"
to = "C"
length = "30 ft"
--- stations/a.toml
name = "A"
line = "Main"
mile = 0
also = [{ line = "Branch", mile = 0 }]
[tracks]
main1 = { from = "W", to = "E1", length = "10 ft", use = "main" }
main2 = { from = "s1", to = "E2", length = "8 ft", use = "main" }
branch = { from = "N", to = "s2", length = "4 ft", use = "connection" }
[switches]
s1 = { on = "main1", at = "1 ft", points = "W", hand = "right", number = 6 }
s2 = { on = "main1", at = "5 ft", points = "E", hand = "left", number = 6 }
--- stations/b.toml
name = "B"
line = "Main"
mile = 5
[tracks]
main1 = { from = "W1", to = "E", length = "10 ft", use = "main" }
main2 = { from = "W2", to = "s1", length = "8 ft", use = "main" }
[switches]
s1 = { on = "main1", at = "9 ft", points = "E", hand = "right", number = 6 }
--- stations/c.toml
name = "C"
line = "Branch"
mile = 7
[tracks]
main = { from = "S", to = "bumper", length = "10 ft", use = "main" }
"#,
    );
    assert!(built.found.is_empty(), "{:?}", built.found);
    let ends: Vec<_> = built
        .way
        .station(A)
        .ends
        .iter()
        .map(|end| end.name.as_str())
        .collect();
    assert_eq!(ends, ["W", "E1", "E2", "N"]);
    // The branch leaves by a switch that faces east: its end lies to the west.
    let n = built.way.station(A).find_end("N").unwrap();
    assert_eq!(
        built.network.orientation(A).ends[n.index()],
        Some(Side::Low)
    );
    let all = built.network.joined_with(end(&built, "W"));
    // Everything but the far end of the branch, which no track reaches.
    let apart = built.network.nodes().filter(|(id, _)| !all[id.0 as usize]);
    assert_eq!(
        apart.map(|(_, node)| node.station).collect::<Vec<_>>(),
        [StationId(2)]
    );
    let open = built
        .network
        .edges()
        .filter(|(_, edge)| edge.track().is_none())
        .count();
    assert_eq!(open, 3);
    let branch = built.way.find_line("Branch").unwrap();
    let [low, high] = Network::line_ends(&built.way, A, branch);
    assert!(low.is_empty());
    assert_eq!(high, [n]);
}

#[test]
fn positions_follow_the_main() {
    let built = station(SIDING);
    let net = &built.network;
    let at = |name: &str| net.position(switch(&built, name)).unwrap();
    assert!(near(at("s1"), 12.0) && near(at("s2"), 156.0));
    // The siding is stretched between its two switches: 5 ft of 138 in are gone.
    assert!(
        near(at("s3"), 12.0 + 144.0 * 60.0 / 138.0),
        "{:?}",
        at("s3").inches()
    );
    assert!(near(net.position(end(&built, "E")).unwrap(), 168.0));
    // The mill heads west from its switch.
    let mill = track(&built, "mill");
    let bumper = net
        .position_on(A, mill.track, Actual::from_feet(4.0))
        .unwrap();
    assert!(bumper < at("s3"));
}

/// A station of random tracks: a main, and tracks between random switches on earlier tracks.
fn random_station() -> impl Strategy<Value = String> {
    prop::collection::vec((any::<prop::sample::Index>(), 0.0..1.0f64, 0..10usize, any::<bool>()), 1..14)
        .prop_map(|list| {
            let mut tracks = vec!["main = { from = \"W\", to = \"E\", length = \"20 ft\", use = \"main\" }".to_owned()];
            let mut switches = Vec::new();
            let mut names = vec!["main".to_owned()];
            let mut open: Option<String> = None;
            for (at, (on, part, points, ends)) in list.into_iter().enumerate() {
                let on = on.get(&names).clone();
                let switch = format!("s{at}");
                switches.push(format!(
                    "{switch} = {{ on = \"{on}\", at = \"{:.3} ft\", points = \"{}\", hand = \"left\" }}",
                    part * 8.0,
                    ["W", "W", "W", "W", "E", "E", "E", "E", "from", "to"][points],
                ));
                // A track begins here; it ends at the next switch, or at a bumper.
                match open.take() {
                    Some(from) => {
                        let name = format!("t{at}");
                        tracks.push(format!("{name} = {{ from = \"{from}\", to = \"{switch}\", length = \"9 ft\", use = \"siding\" }}"));
                        names.push(name);
                    }
                    None if ends => {
                        let name = format!("t{at}");
                        tracks.push(format!("{name} = {{ from = \"{switch}\", to = \"bumper\", length = \"9 ft\", use = \"spur\" }}"));
                        names.push(name);
                    }
                    None => open = Some(switch),
                }
            }
            format!("[tracks]\n{}\n[switches]\n{}\n", tracks.join("\n"), switches.join("\n"))
        })
}

/// Whether some ring reverses, by joining the two rails of each piece of track to those of the next:
/// if the left rail of any piece hangs together with its own right rail, there is one.
fn rails_meet(net: &Network) -> bool {
    let rails = net.edges().count() * 2;
    let mut of: Vec<usize> = (0..rails).collect();
    fn root(of: &mut [usize], mut at: usize) -> usize {
        while of[at] != at {
            of[at] = of[of[at]];
            at = of[at];
        }
        at
    }
    // The left rail of an edge, looking along it, is rail 0; looking back along it, rail 1.
    for (_, node) in net.nodes() {
        for &(a, b) in &node.ways {
            let (Some((first, end)), Some((second, begin))) =
                (node.ports[usize::from(a)], node.ports[usize::from(b)])
            else {
                continue;
            };
            // Through the node the left rail of arriving becomes the left rail of leaving.
            let arriving = usize::from(end == crate::station::TrackEnd::From);
            let leaving = usize::from(begin == crate::station::TrackEnd::To);
            for left in [0, 1] {
                let one = root(&mut of, first.0 as usize * 2 + (arriving ^ left));
                let other = root(&mut of, second.0 as usize * 2 + (leaving ^ left));
                of[one] = other;
            }
        }
    }
    (0..rails / 2).any(|edge| root(&mut of, edge * 2) == root(&mut of, edge * 2 + 1))
}

/// Written without the network's own steps: follows tracks by the pages alone.
fn reverses(built: &Built, runs: &[Run]) -> bool {
    let net = &built.network;
    runs.windows(2).any(|pair| {
        let ((node, a), (other, b)) = (net.head(pair[0]), net.tail(pair[1]));
        if node != other || pair[0].edge == pair[1].edge {
            return true;
        }
        // At a switch exactly one of the two must touch the points.
        matches!(net.node(node).place, Place::Switch(_)) && (a == POINTS) == (b == POINTS)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn routes_hold_no_reversal(text in random_station()) {
        let built = station(&text);
        let net = &built.network;
        let ends = [end(&built, "W"), end(&built, "E")];
        let routes = net.routes(A, ends[0], ends[1], 64);
        prop_assert!(!routes.is_empty(), "the main itself is a route");
        for route in &routes {
            prop_assert!(net.is_route(&route.runs));
            prop_assert!(!reverses(&built, &route.runs));
            prop_assert_eq!(net.tail(route.runs[0]).0, ends[0]);
            prop_assert_eq!(net.head(*route.runs.last().unwrap()).0, ends[1]);
        }
        // Each route is one of a kind, and each runs back the other way.
        let mut runs: Vec<_> = routes.iter().map(|route| route.runs.clone()).collect();
        runs.sort();
        runs.dedup();
        prop_assert_eq!(runs.len(), routes.len());
        let back = net.routes(A, ends[1], ends[0], 64);
        if routes.len() < 64 {
            prop_assert_eq!(back.len(), routes.len());
        }
        // The shortest of them is the shortest there is.
        let shortest = net.shortest(A, ends[0], ends[1]).unwrap();
        if routes.len() < 64 {
            let least = routes.iter().map(|route| route.length).reduce(Actual::min).unwrap();
            prop_assert!(shortest.length.is_near(least, Actual::from_mm(0.001)));
        }
        let clean = net.reversing(|_| false);
        prop_assert_eq!(clean.is_empty(), !rails_meet(net));
        for ring in &clean {
            // Each piece of a ring touches the next, and the last the first.
            for (at, edge) in ring.ring.iter().enumerate() {
                let next = ring.ring[(at + 1) % ring.ring.len()];
                let ends = net.edge(*edge).ends.map(|(node, _)| node);
                prop_assert!(net.edge(next).ends.iter().any(|(node, _)| ends.contains(node)));
            }
        }
        for (id, _) in built.way.station(A).tracks() {
            let here = TrackRef { station: A, track: id };
            let usable = net.usable(&built.way, here);
            prop_assert!(usable.length >= Actual::ZERO);
            prop_assert!(usable.length <= built.way.track(here).run());
            if let Some(route) = net.via(ends[0], here, ends[1]) {
                prop_assert!(!reverses(&built, &route.runs));
                prop_assert!(net.tracks(&route).contains(&here));
            }
        }
    }
}
