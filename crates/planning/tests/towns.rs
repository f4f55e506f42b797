//! Towns of the railroads that come with the program, and towns of switches, slips and crossings.

use std::collections::BTreeSet;

use engineering::{
    ids::StationId,
    network::{NodeId, Place},
};
use model::units::Actual;
use planning::town::{
    Assumptions, CompiledTown, Dice, Intent, Pace, Sessions, case, compile, estimate, model_rates,
    savings, solve, units, visits, work,
};
use planning::town::{Came, Reviewed};
use railroad::{Folder, Railroad, fixture, load};
use switching::{Answer, NodeKind, Options, Port, TrackEnd, replay};

fn road(name: &str) -> Railroad {
    load(&Folder::built_in(name).expect("it is built in")).railroad
}

fn options(railroad: &Railroad, node_budget: u64) -> Options {
    Options {
        node_budget,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
        ..Options::default()
    }
}

fn plain(railroad: &Railroad, station: StationId) -> CompiledTown {
    compile(
        railroad,
        station,
        &Assumptions::new(railroad, Actual::from_inches(60.0), None),
    )
}

#[test]
fn every_station_compiles() {
    for name in ["example", "learning", "smallest"] {
        let railroad = road(name);
        for (id, station) in railroad.way.stations() {
            let town = plain(&railroad, id);
            assert_eq!(town.town.check(), [], "{}", station.name.value);
            assert_eq!(town.track_of.len(), town.town.tracks.len());
        }
    }
}

/// A track's place holds what the track chart says it holds: the rule is worked out in `engineering`
/// along the whole track, here piece by piece.
#[test]
fn a_track_holds_what_the_chart_says() {
    for name in ["example", "learning"] {
        let railroad = road(name);
        let mut compared = 0;
        for (id, station) in railroad.way.stations() {
            let town = plain(&railroad, id);
            for (track, page) in station.tracks() {
                let [place] = town.places[track.index()][..] else {
                    continue;
                };
                // The open line beyond the station's end may be used as well.
                let leads_out = town
                    .exits
                    .iter()
                    .flatten()
                    .any(|exit| town.town.places[place.index()].tracks.contains(&exit.track));
                if leads_out {
                    continue;
                }
                let here = engineering::ids::TrackRef { station: id, track };
                let usable = units(railroad.network.usable(&railroad.way, here).length);
                let holds = town.town.place_length(place);
                assert!(
                    usable.abs_diff(holds) <= 1,
                    "{} / {}: {holds}, chart {usable}",
                    station.name.value,
                    page.name.value
                );
                compared += 1;
            }
        }
        assert!(compared > 5);
    }
}

/// From every leg of every node the town lets a train run to the same legs as the network does.
#[test]
fn routes_are_those_of_the_network() {
    for name in ["example", "learning"] {
        let railroad = road(name);
        for (id, _) in railroad.way.stations() {
            same_routes(&railroad, id);
        }
    }
    let special = load(&fixture::folder(SPECIAL)).railroad;
    let station = special.way.find_station("Alder").expect("it is there");
    let kinds = special
        .network
        .station_nodes(station)
        .filter(|&node| matches!(special.network.node(node).place, Place::Crossing(_)))
        .count();
    assert_eq!(kinds, 3);
    same_routes(&special, station);
}

/// Pairs of tracks, by the network's edges, between which a train runs through one node.
fn same_routes(railroad: &Railroad, station: StationId) {
    let town = plain(railroad, station);
    let network = &railroad.network;
    // The network's pairs: tracks by number on either side of each node.
    let mut expected: BTreeSet<(u32, NodeId, u32)> = BTreeSet::new();
    let edge_of: Vec<_> = network.station_edges(station).collect();
    for node in network.station_nodes(station) {
        let of = network.node(node);
        for &(a, b) in &of.ways {
            let (Some((from, _)), Some((to, _))) =
                (of.ports[usize::from(a)], of.ports[usize::from(b)])
            else {
                continue;
            };
            if edge_of.contains(&from) && edge_of.contains(&to) {
                expected.insert((from.0.min(to.0), node, from.0.max(to.0)));
            }
        }
    }
    let expected: Vec<(u32, u32)> = expected.iter().map(|&(a, _, b)| (a, b)).collect();
    // The town's: from each piece that ends at a node of the page, over joints within a track and
    // links, to the next piece of another edge. Pieces of one edge are told by joints of one track.
    let group = groups(&town);
    let mut found: Vec<(usize, usize)> = vec![];
    for at in 0..town.town.tracks.len() {
        if town.track_of[at].is_none() {
            continue;
        }
        for end in 0..2 {
            for next in reach(&town, at, end, 0) {
                if group[next] != group[at] || next == at {
                    found.push((group[at].min(group[next]), group[at].max(group[next])));
                }
            }
        }
    }
    // Each is found from both sides.
    let mut counts = [expected.len(), found.len()];
    assert_eq!(counts[1] % 2, 0);
    counts[1] /= 2;
    assert_eq!(counts[0], counts[1], "{}", town.town.name);
    // And the same number from each edge: the sorted degrees agree.
    let degrees = |pairs: &[(usize, usize)], scale: usize| {
        let mut count = std::collections::BTreeMap::<usize, usize>::new();
        for &(a, b) in pairs {
            *count.entry(a).or_default() += 1;
            *count.entry(b).or_default() += 1;
        }
        let mut list: Vec<usize> = count.into_values().map(|n| n / scale).collect();
        list.sort_unstable();
        list
    };
    let expected: Vec<(usize, usize)> = expected
        .iter()
        .map(|&(a, b)| (a as usize, b as usize))
        .collect();
    assert_eq!(
        degrees(&expected, 1),
        degrees(&found, 2),
        "{}",
        town.town.name
    );
}

/// Which pieces are one edge of the network: those joined by a joint that the compiler made.
fn groups(town: &CompiledTown) -> Vec<usize> {
    let mut group: Vec<usize> = (0..town.town.tracks.len()).collect();
    for (at, node) in town.town.nodes.iter().enumerate() {
        if node.kind != NodeKind::Joint {
            continue;
        }
        let here: Vec<usize> = (0..town.town.tracks.len())
            .filter(|&track| {
                town.town.tracks[track]
                    .ends
                    .iter()
                    .any(|end| end.node.index() == at)
            })
            .collect();
        if let [a, b] = here[..]
            && town.track_of[a] == town.track_of[b]
            && town.town.tracks[a].name == node.name
        {
            let (low, high) = (group[a].min(group[b]), group[a].max(group[b]));
            for one in &mut group {
                if *one == high {
                    *one = low;
                }
            }
        }
    }
    group
}

/// Pieces onto which a train runs from the end of another, over links.
fn reach(town: &CompiledTown, at: usize, end: usize, depth: usize) -> Vec<usize> {
    let here: TrackEnd = town.town.tracks[at].ends[end];
    let mut out = vec![];
    for next in 0..town.town.tracks.len() {
        for near in 0..2 {
            let there = town.town.tracks[next].ends[near];
            if (next, near) == (at, end) || !town.town.joined(here, there) {
                continue;
            }
            if town.track_of[next].is_none() && depth < 3 {
                out.extend(reach(town, next, 1 - near, depth + 1));
            } else {
                out.push(next);
            }
        }
    }
    out
}

/// A three-way switch, a single slip, a double slip and a plain crossing.
const SPECIAL: &str = r#"
--- stations/alder.toml
name = "Alder"
line = "Main Line"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "bumper", to = "E", length = "20 ft", use = "main" }
left = { from = "three", to = "bumper", length = "4 ft", use = "spur" }
right = { from = "three", to = "bumper", length = "4 ft", use = "spur" }
single = { from = "bumper", to = "bumper", length = "6 ft", use = "storage" }
double = { from = "bumper", to = "bumper", length = "6 ft", use = "storage" }
plain = { from = "bumper", to = "bumper", length = "6 ft", use = "storage" }

[switches]
three = { on = "main", at = "14 ft", points = "E", hand = "three-way", number = 6 }

[crossings]
one = { on = ["main", "single"], at = ["3 ft", "3 ft"], angle = 10, slip = "single" }
two = { on = ["main", "double"], at = ["6 ft", "3 ft"], angle = 10, slip = "double" }
none = { on = ["main", "plain"], at = ["9 ft", "3 ft"], angle = 45 }
"#;

#[test]
fn a_three_way_switch_and_slips_hold_their_legs() {
    let railroad = load(&fixture::folder(SPECIAL)).railroad;
    let station = railroad.way.find_station("Alder").expect("it is there");
    let town = plain(&railroad, station);
    assert_eq!(town.town.check(), []);
    let switch = &town.switches[0];
    assert_eq!(switch.len(), 2, "a three-way is two switches in a row");
    let links = town.track_of.iter().filter(|of| of.is_none()).count();
    // Within the three-way, the single and the double slip.
    assert_eq!(links, 3);
    let slips = town
        .town
        .nodes
        .iter()
        .filter(|node| node.name.starts_with("slip"))
        .count();
    assert_eq!(slips, 4);
    // The normal way through a three-way is straight through both.
    let normal = town
        .town
        .tracks
        .iter()
        .flat_map(|track| track.ends)
        .find(|end| end.node == switch[1] && end.port == Port::Normal);
    assert!(normal.is_some());
}

/// Whatever the dice, the work is one that can be stated, every plan passes the judge, cars stand
/// where they are said to, and the same dice give the same answer.
#[test]
fn plans_of_many_sessions_pass_the_judge() {
    let mut planned = 0;
    for name in ["example", "learning"] {
        let railroad = road(name);
        let options = options(&railroad, 8_000);
        for visit in visits(&railroad) {
            let sessions = Sessions::new(&railroad, visit.station);
            let at = sessions
                .visits
                .iter()
                .position(|one| *one == visit)
                .expect("the same visits");
            for dice in [Dice::today(1), Dice::typical(1), Dice::typical(2)] {
                let facts = sessions.facts(at, dice);
                assert_eq!(facts, sessions.facts(at, dice));
                assert!(facts.train_length() <= sessions.longest(&visit));
                let town = sessions.town(&visit, &facts);
                let compiled = work(&town, &visit, &facts).expect("it comes by an end that joins");
                assert_eq!(town.town.check(), []);
                assert_eq!(compiled.work.check(&town.town), []);
                let cars = facts.inbound.len()
                    + facts.through.len()
                    + facts.standing.len()
                    + usize::from(facts.caboose.is_some());
                assert_eq!(compiled.work.cars.len(), cars, "every car has a place");
                let names: BTreeSet<&str> = compiled
                    .work
                    .cars
                    .iter()
                    .map(|car| car.name.as_str())
                    .collect();
                assert_eq!(names.len(), cars, "no car is in two places");
                let answer = solve(&compiled, &options, &|| false).expect("it can be stated");
                if let Answer::Solved(solved) = &answer.answer {
                    let asked = &answer.asked;
                    let end = replay(&asked.town.town, &asked.work, &solved.plan);
                    assert!(end.is_ok(), "{}: {end:?}", town.town.name);
                    assert!(solved.bound <= solved.cost);
                    planned += 1;
                }
            }
        }
    }
    assert!(planned > 40, "{planned}");
}

/// The shelf's first train sets out and picks up, and what is picked up leaves in the train.
#[test]
fn what_is_picked_up_leaves_in_the_train() {
    let railroad = road("learning");
    let station = railroad.way.find_station("Brindlow").expect("it is there");
    let sessions = Sessions::new(&railroad, station);
    let mut picked = 0;
    for seed in 0..20 {
        let facts = sessions.facts(0, Dice::typical(seed));
        let visit = sessions.visits[0];
        let town = sessions.town(&visit, &facts);
        let compiled = work(&town, &visit, &facts).expect("it joins");
        let planned =
            solve(&compiled, &options(&railroad, 50_000), &|| false).expect("it can be stated");
        let Answer::Solved(solved) = &planned.answer else {
            panic!("session {seed}: {:?}", planned.answer);
        };
        assert!(planned.left.is_empty());
        let pictures = replay(&town.town, &planned.asked.work, &solved.plan).expect("legal");
        let last = pictures.last().expect("there is a start");
        for standing in &facts.standing {
            if matches!(standing.intent, Intent::PickUp(_)) {
                let at = planned
                    .asked
                    .work
                    .cars
                    .iter()
                    .position(|car| car.name == standing.car.name)
                    .expect("it is in the work");
                assert!(last.train.contains(&(at as u16)));
                picked += 1;
            }
        }
    }
    assert!(picked > 5, "{picked}");
}

/// A spur that faces the wrong way, without a way round: proven, said, and carried on.
#[test]
fn a_spur_at_the_wrong_end_of_the_engine_is_left_for_the_other_side() {
    let railroad = load(&fixture::folder(FACING)).railroad;
    let station = railroad.way.find_station("Alder").expect("it is there");
    let sessions = Sessions::new(&railroad, station);
    let visit = sessions.visits[0];
    let facts = (0..50)
        .map(|seed| sessions.facts(0, Dice::typical(seed)))
        .find(|facts| !facts.inbound.is_empty())
        .expect("some session brings a car");
    let ask = |visit| {
        let town = sessions.town(&visit, &facts);
        let compiled = work(&town, &visit, &facts).expect("it joins");
        solve(&compiled, &options(&railroad, 20_000), &|| false).expect("it can be stated")
    };
    let from_here = ask(visit);
    assert!(!from_here.left.is_empty());
    assert!(matches!(from_here.answer, Answer::Solved(_)));
    let from_there = ask(visit.other_side().expect("it goes through"));
    assert_eq!(from_there.left, []);
    assert!(matches!(from_there.answer, Answer::Solved(_)));
}

const FACING: &str = r#"
--- stations/alder.toml
name = "Alder"
line = "Main Line"
mile = 5
elevation = "40 in"
ends = ["W", "E"]

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
mill = { from = "s", to = "bumper", length = "4 ft", use = "spur", spots = ["door"] }

[switches]
s = { on = "main", at = "5 ft", points = "W", hand = "left", number = 6 }

--- stations/cedar.toml
name = "Cedar"
line = "Main Line"
mile = 0
kind = "staging"
elevation = "40 in"
ends = ["E"]
[tracks]
main = { from = "bumper", to = "E", length = "12 ft", use = "main" }

--- stations/birch.toml
name = "Birch"
line = "Main Line"
mile = 10
kind = "staging"
elevation = "40 in"
ends = ["W"]
[tracks]
main = { from = "W", to = "bumper", length = "12 ft", use = "main" }

--- lines/main.toml
name = "Main Line"
[[open]]
from = "Cedar"
to = "Alder"
length = "10 ft"
[[open]]
from = "Alder"
to = "Birch"
length = "10 ft"

--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place,dwell
Mill,Alder,mill,door,receives,grain,boxcar,5,Far Away via Cedar,4 h

--- cars.csv
marks,number,kind,length
SMR,101,boxcar,6 in
SMR,102,boxcar,6 in
SMR,103,boxcar,6 in

--- engines.csv
number,kind,length
1,steam,9 in

--- trains.toml
[trains.1]
class = 4
kind = "local"
direction = "east"
from = "Cedar"
to = "Birch"
leave = "8:00"
arrive = "10:00"
engines = ["1"]
max_length = "5 ft"
caboose = false
stops = [{ station = "Alder", arrive = "8:30", leave = "9:30", work = ["set out", "pick up"] }]
"#;

/// The switch of the facing spur turned round is what saves, and it makes the cars workable.
#[test]
fn turning_the_facing_spur_is_found_to_save_most() {
    let railroad = load(&fixture::folder(FACING)).railroad;
    let station = railroad.way.find_station("Alder").expect("it is there");
    let sessions = Sessions::new(&railroad, station);
    let options = options(&railroad, 20_000);
    let cases = (0..12)
        .map(|seed| {
            case(&sessions, 0, seed, None, &options, &|| false)
                .expect("it can be stated")
                .0
        })
        .collect();
    let reviewed = [Reviewed {
        visit: sessions.visits[0],
        cases,
    }];
    let found = savings(
        &railroad,
        &sessions,
        &reviewed,
        &options,
        &|| false,
        &mut |_, _| {},
    )
    .expect("it can be stated");
    assert!(!found.is_empty());
    let turned = found
        .iter()
        .find(|saving| saving.change.words.contains("turned to face"))
        .expect("it is among the best");
    assert!(turned.cars > 0.0);
}

/// A stop's estimate lies among the sessions it rests on.
#[test]
fn the_estimate_of_a_stop_is_of_its_sessions() {
    let railroad = road("learning");
    let station = railroad.way.find_station("Brindlow").expect("it is there");
    let sessions = Sessions::new(&railroad, station);
    let options = options(&railroad, 20_000);
    let dwell = estimate(&railroad, &sessions, 0, 8, &options)
        .expect("it can be stated")
        .expect("some are planned");
    let clock = railroad.identity.clock;
    let times: Vec<f64> = (0..8)
        .filter_map(
            |seed| match case(&sessions, 0, seed, None, &options, &|| false) {
                Ok((case, _)) => match case.came {
                    Came::Plan { seconds, .. } => Some(seconds * clock),
                    Came::Nothing => Some(0.0),
                    _ => None,
                },
                Err(_) => None,
            },
        )
        .collect();
    assert_eq!(dwell.sessions, times.len());
    let least = times.iter().copied().fold(f64::MAX, f64::min);
    let most = times.iter().copied().fold(0.0, f64::max);
    let mean = dwell.mean.seconds() as f64;
    assert!(least - 1.0 <= mean && mean <= most + 1.0);
    assert!(dwell.most.seconds() as f64 <= most + 1.0);
    assert!(dwell.spread.seconds() > 0);
}
