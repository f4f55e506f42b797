//! The three-track sorting puzzle, expressed in the general engine and explored completely.

use std::sync::OnceLock;

use switching::{
    Answer, Atlas, CarId, Goal, Layout, NodeKind, Options, PlaceId, Port, Reason, Town,
    UNREACHABLE, Work, replay, solve,
};

/// A fan of dead-end tracks on one lead that holds the engine and `h` cars; all cars are one unit
/// long.
fn fan(h: u32, tracks: &[u32]) -> (Town, Vec<PlaceId>, Work) {
    let mut t = Town::new("fan");
    let end = t.node("lead end", NodeKind::End);
    let mut at = (end, Port::Through);
    let mut places = vec![];
    let mut lead = None;
    for (i, &len) in tracks.iter().enumerate() {
        let last = i + 1 == tracks.len();
        let name = format!("track {}", i + 1);
        let bumper = t.node(&format!("{name} end"), NodeKind::End);
        let (from, next) = if last {
            (at, at)
        } else {
            let s = t.node(
                &format!("switch {}", i + 1),
                NodeKind::Switch { by_hand: true },
            );
            let into = t.track(
                "lead",
                at,
                (s, Port::Points),
                if i == 0 { h + 1 } else { 0 },
            );
            lead.get_or_insert((into, s));
            ((s, Port::Reverse), (s, Port::Normal))
        };
        let track = t.track(&name, from, (bumper, Port::Through), len);
        places.push(t.stand(&name, &[track]));
        at = next;
    }
    let (lead, towards) = lead.expect("at least two tracks");
    let work = Work::new("engine", 1, &[lead], towards);
    (t, places, work)
}

fn explored(h: u32, tracks: &[u32], cars: u32) -> (Atlas, Vec<PlaceId>) {
    let (town, places, mut work) = fan(h, tracks);
    assert_eq!(town.check(), vec![]);
    let ids: Vec<CarId> = (0..cars)
        .map(|i| work.car(&format!("{}", i + 1), 1, Goal::Anywhere))
        .collect();
    let mut rest = &ids[..];
    for (p, &cap) in places.iter().zip(tracks) {
        let (now, later) = rest.split_at(rest.len().min(cap as usize));
        work.stands(*p, now);
        rest = later;
    }
    assert_eq!(work.check(&town), vec![]);
    (
        Atlas::explore(&town, &work, 3_000_000).expect("small"),
        places,
    )
}

#[test]
fn small_fans_have_the_counted_number_of_states() {
    // Complete counts by an independent program (H; tracks; cars; states reached from one start).
    for (h, tracks, cars, states) in [
        (2, &[3, 2, 2][..], 5, 2640),
        (3, &[4, 3, 3], 7, 252_000),
        (3, &[4, 3, 2], 6, 28_800),
        (2, &[3, 3, 2], 6, 18_000),
        (3, &[3, 2, 2], 5, 3360),
        (2, &[3, 2, 2], 4, 528),
        (2, &[2, 2, 2], 4, 456),
        (1, &[2, 2, 2], 4, 312),
        (1, &[2, 2, 1], 3, 60),
        (1, &[2, 1, 1], 3, 14),
        (2, &[3, 2, 1], 5, 336),
        (2, &[4, 3], 5, 264),
        (3, &[4, 3], 5, 1680),
    ] {
        let (atlas, _) = explored(h, tracks, cars);
        assert_eq!(atlas.len(), states, "H {h}, tracks {tracks:?}, {cars} cars");
    }
}

/// The classic puzzle, explored once for all tests.
fn classic() -> &'static (Atlas, Vec<PlaceId>) {
    static CLASSIC: OnceLock<(Atlas, Vec<PlaceId>)> = OnceLock::new();
    CLASSIC.get_or_init(|| explored(3, &[5, 3, 3], 8))
}

/// Moves to the goal from every start with the first two tracks filled and the lead empty, as a
/// histogram.
fn histogram(atlas: &Atlas, places: &[PlaceId], cars: usize, dist: &[u32]) -> Vec<u32> {
    let mut counts = vec![];
    let mut starts = 0;
    for (i, d) in dist.iter().enumerate() {
        // A start: everything on the first two tracks.
        if atlas.on(i, places[0]).len() + atlas.on(i, places[1]).len() == cars {
            assert_ne!(*d, UNREACHABLE);
            if counts.len() <= *d as usize {
                counts.resize(*d as usize + 1, 0);
            }
            counts[*d as usize] += 1;
            starts += 1;
        }
    }
    assert_eq!(
        starts,
        (1..=cars as u32).product::<u32>(),
        "every order is a start"
    );
    counts
}

/// The worst of all states with no car in the lead.
fn worst_with_empty_lead(atlas: &Atlas, places: &[PlaceId], cars: usize, dist: &[u32]) -> u32 {
    let empty = |i: usize| places.iter().map(|p| atlas.on(i, *p).len()).sum::<usize>() == cars;
    (0..atlas.len())
        .filter(|&i| empty(i))
        .map(|i| dist[i])
        .max()
        .expect("some")
}

fn mean(counts: &[u32]) -> f64 {
    let n: u32 = counts.iter().sum();
    let sum: u32 = counts.iter().enumerate().map(|(i, c)| i as u32 * c).sum();
    f64::from(sum) / f64::from(n)
}

fn ids(r: std::ops::Range<u16>) -> Vec<CarId> {
    r.map(CarId).collect()
}

#[test]
fn the_classic_puzzle_is_solved_from_all_starts() {
    // Expected figures: complete breadth-first search by an independent program. A move couples
    // or sets out one cut. The other cars may stand on any track, but not in the lead.
    let (atlas, p) = classic();
    assert_eq!(atlas.len(), 2_136_960);
    let train = ids(0..5);
    let lead_empty = |l: &Layout| l.ahead.is_empty() && l.behind.is_empty();
    let any = atlas.distances(|l| l.places[0] == train && lead_empty(l));
    assert_eq!(worst_with_empty_lead(atlas, p, 8, &any), 17);
    let any = histogram(atlas, p, 8, &any);
    assert_eq!(
        any,
        [
            6, 0, 0, 0, 54, 78, 198, 606, 1146, 2142, 4050, 6216, 7992, 7818, 5856, 3390, 762, 6
        ]
    );
    assert!((mean(&any) - 12.054_167).abs() < 5e-7);
    // The other cars back on the short track they came from, in any order.
    let same = atlas.distances(|l| l.places[0] == train && l.places[1].len() == 3);
    assert_eq!(worst_with_empty_lead(atlas, p, 8, &same), 18);
    let same = histogram(atlas, p, 8, &same);
    assert_eq!(
        same,
        [
            6, 0, 0, 0, 24, 30, 42, 318, 348, 1392, 2082, 4986, 5916, 8694, 8214, 5856, 2334, 78
        ]
    );
    assert!((mean(&same) - 12.877_530).abs() < 5e-7);
    // All eight in one order.
    let full = atlas.distances(|l| l.places[0] == train && l.places[1] == ids(5..8));
    assert_eq!(
        full.iter().max(),
        Some(&21),
        "farthest of all states from the ordered one"
    );
    let full = histogram(atlas, p, 8, &full);
    assert_eq!(
        full,
        [
            1, 0, 0, 0, 5, 10, 8, 88, 130, 445, 806, 1876, 3125, 5438, 7178, 8123, 7428, 3926,
            1431, 294, 8
        ]
    );
    assert!((mean(&full) - 14.437_004).abs() < 5e-7);
}

#[test]
fn the_small_puzzle_is_solved_from_all_starts() {
    let (atlas, p) = explored(2, &[3, 2, 2], 5);
    let train = ids(0..3);
    let lead_empty = |l: &Layout| l.ahead.is_empty() && l.behind.is_empty();
    let any = atlas.distances(|l| l.places[0] == train && lead_empty(l));
    let any = histogram(&atlas, &p, 5, &any);
    assert_eq!(any, [2, 0, 0, 0, 6, 8, 8, 22, 26, 18, 10, 16, 4]);
    assert!((mean(&any) - 8.0).abs() < 1e-9);
    let same = atlas.distances(|l| l.places[0] == train && l.places[1].len() == 2);
    let same = histogram(&atlas, &p, 5, &same);
    assert_eq!(same.len(), 13);
    assert!((mean(&same) - 8.9).abs() < 1e-9);
    let full = atlas.distances(|l| l.places[0] == train && l.places[1] == ids(3..5));
    assert_eq!(full.iter().max(), Some(&15));
    let full = histogram(&atlas, &p, 5, &full);
    assert_eq!(full.len(), 15);
    assert!((mean(&full) - 9.858_333).abs() < 5e-7);
}

#[test]
fn fans_that_cannot_be_sorted_fall_apart_into_the_counted_number_of_parts() {
    // (H; tracks; cars; all states; parts), the same independent source.
    for (h, tracks, cars, all, parts) in [
        (1, &[2, 1, 1][..], 3u32, 42, 3),
        (2, &[3, 2, 1], 5, 1680, 5),
        (2, &[4, 3], 5, 1320, 5),
    ] {
        // Explore one part from each order of the cars; a layout belongs to one part only.
        let mut part_of: std::collections::HashMap<Layout, usize> = Default::default();
        let mut found = 0;
        for order in orders(cars) {
            let (town, places, mut work) = fan(h, tracks);
            for c in 0..cars {
                work.car(&c.to_string(), 1, Goal::Anywhere);
            }
            let mut rest = &order[..];
            for (p, &cap) in places.iter().zip(tracks) {
                let (now, later) = rest.split_at(rest.len().min(cap as usize));
                work.stands(*p, now);
                rest = later;
            }
            let atlas = Atlas::explore(&town, &work, 10_000).expect("small");
            if part_of.contains_key(&atlas.layout(0)) {
                continue;
            }
            for i in 0..atlas.len() {
                assert_eq!(
                    part_of.insert(atlas.layout(i), found),
                    None,
                    "parts do not meet"
                );
            }
            found += 1;
        }
        assert_eq!(
            (part_of.len(), found),
            (all, parts),
            "H {h}, tracks {tracks:?}"
        );
    }
}

fn orders(n: u32) -> Vec<Vec<CarId>> {
    if n == 0 {
        return vec![vec![]];
    }
    let mut out = vec![];
    for o in orders(n - 1) {
        for i in 0..=o.len() {
            let mut p = o.clone();
            p.insert(i, CarId(n as u16 - 1));
            out.push(p);
        }
    }
    out
}

#[test]
fn an_order_that_cannot_be_had_is_proven_so() {
    // Two tracks of 4 and 3, lead of 2, five cars: from each order a fifth of all orders can be
    // had.
    let (atlas, p) = explored(2, &[4, 3], 5);
    let reached: std::collections::HashSet<Vec<CarId>> = (0..atlas.len())
        .map(|i| p.iter().flat_map(|q| atlas.on(i, *q)).collect::<Vec<_>>())
        .zip((0..atlas.len()).map(|i| atlas.on(i, p[0]).len()))
        .filter(|(order, first)| order.len() == 5 && *first == 4)
        .map(|x| x.0)
        .collect();
    assert_eq!(reached.len(), 24);
    let (mut can, mut cannot) = (0, 0);
    for order in orders(5) {
        let (town, places, mut work) = fan(2, &[4, 3]);
        for c in 0..5u16 {
            let at = order.iter().position(|x| x.0 == c).expect("all five");
            let place = places[usize::from(at >= 4)];
            work.car(
                &c.to_string(),
                1,
                Goal::Track {
                    places: vec![place],
                    rank: Some(at as u16),
                },
            );
        }
        work.stands(places[0], &ids(0..4));
        work.stands(places[1], &ids(4..5));
        match solve(&town, &work, &Options::default(), &|| false).expect("usable") {
            Answer::Solved(s) => {
                assert!(s.proven && reached.contains(&order));
                can += 1;
            }
            Answer::Impossible(reasons) => {
                assert!(
                    matches!(reasons[..], [Reason::AllTried { .. }]),
                    "{reasons:?}"
                );
                assert!(!reached.contains(&order));
                cannot += 1;
            }
            Answer::GaveUp { .. } => panic!("small enough to settle"),
        }
    }
    assert_eq!((can, cannot), (24, 96));
}

#[test]
fn solving_one_start_at_a_time_agrees_with_the_complete_search() {
    let (town, places, _) = fan(3, &[5, 3, 3]);
    let (atlas, p) = classic();
    let train = ids(0..5);
    let dist =
        atlas.distances(|l| l.places[0] == train && l.places[1].len() + l.places[2].len() == 3);
    let starts: Vec<usize> = (0..atlas.len())
        .filter(|&i| atlas.on(i, p[0]).len() + atlas.on(i, p[1]).len() == 8)
        .collect();
    // The other three cars are alike to the solver, so all 40,320 starts are 6,720 different ones.
    let step = if std::env::var("SAWBY_SLOW").is_ok_and(|v| v == "1") {
        1
    } else {
        577
    };
    let mut seen = std::collections::HashSet::new();
    for &i in starts.iter().step_by(step) {
        let key: Vec<u16> = (0..2)
            .flat_map(|k| atlas.on(i, p[k]))
            .map(|c| c.0.min(5))
            .collect();
        if !seen.insert(key) {
            continue;
        }
        let l = atlas.layout(i);
        let mut work = fan(3, &[5, 3, 3]).2;
        for c in 0..8u16 {
            let goal = if c < 5 {
                Goal::Track {
                    places: vec![places[0]],
                    rank: Some(c),
                }
            } else {
                Goal::Track {
                    places: places[1..].to_vec(),
                    rank: None,
                }
            };
            work.car(&format!("{}", c + 1), 1, goal);
        }
        for (place, cars) in places.iter().zip(&l.places) {
            work.stands(*place, cars);
        }
        let answer = solve(&town, &work, &Options::default(), &|| false).expect("usable");
        let s = answer.solved().expect("solvable");
        assert!(s.proven);
        assert_eq!(s.moves as u32, dist[i]);
        replay(&town, &work, &s.plan).expect("legal");
    }
}
