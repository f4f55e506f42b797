//! Sorting in a yard, against textbook counts and complete searches.

use std::collections::{HashSet, VecDeque};

use proptest::prelude::*;
use switching::yard::{
    Arrival, Departing, Inbound, Jam, Method, Pace, SortError, SortPlan, YardTrack, chains, codes,
    plan_session, plan_sort, pulls_needed, queues_needed, sorts_through_one_stack, trade_off,
};

fn permutations(n: u32) -> Vec<Vec<u32>> {
    if n == 0 {
        return vec![vec![]];
    }
    let mut out = vec![];
    for p in permutations(n - 1) {
        for i in 0..=p.len() {
            let mut q = p.clone();
            q.insert(i, n - 1);
            out.push(q);
        }
    }
    out
}

fn inbound(blocks: &[u32]) -> Vec<Inbound> {
    blocks
        .iter()
        .map(|&block| Inbound {
            train: 0,
            block,
            length: 40,
        })
        .collect()
}

/// Plays a plan with real queues, sharing nothing with the planner, and gives the outbound trains.
fn play(cars: &[Inbound], plan: &SortPlan, tracks: usize) -> Vec<Vec<u32>> {
    let trains = cars.iter().map(|c| c.train + 1).max().unwrap_or(0);
    let mut queues: Vec<VecDeque<usize>> = vec![VecDeque::new(); tracks];
    let mut out = vec![vec![]; trains];
    let mut lead: VecDeque<usize> = (0..cars.len()).collect();
    for (i, s) in plan.steps.iter().enumerate() {
        match s.from {
            None => assert_eq!(i, 0, "only the arrival comes from outside"),
            Some(t) => lead = std::mem::take(&mut queues[t]),
        }
        for (cut, to) in &s.cuts {
            for c in cut {
                assert_eq!(lead.pop_front(), Some(*c), "cars leave the lead in order");
                match to {
                    Some(t) => queues[*t].push_back(*c),
                    None => out[cars[*c].train].push(cars[*c].block),
                }
            }
        }
        assert!(lead.is_empty());
    }
    assert!(queues.iter().all(VecDeque::is_empty));
    out
}

#[test]
fn one_stack_sorts_as_many_orders_as_the_catalan_numbers_say() {
    // Knuth, The Art of Computer Programming, volume 1, 2.2.1; OEIS A000108.
    for (n, catalan) in [
        (1, 1),
        (2, 2),
        (3, 5),
        (4, 14),
        (5, 42),
        (6, 132),
        (7, 429),
        (8, 1430),
    ] {
        let sorted = permutations(n)
            .into_iter()
            .filter(|p| sorts_through_one_stack(p))
            .count();
        assert_eq!(sorted, catalan, "{n} cars");
    }
}

#[test]
fn queues_in_parallel_need_the_longest_falling_subsequence() {
    // Even and Itai, Queues, stacks and graphs, 1971 (from memory); the subsequence is found here
    // by looking at every subset.
    for n in 0..=7u32 {
        for p in permutations(n) {
            let longest = (0..1u32 << n)
                .filter(|m| {
                    let s: Vec<u32> = (0..n as usize)
                        .filter(|i| m >> i & 1 == 1)
                        .map(|i| p[i])
                        .collect();
                    s.windows(2).all(|w| w[0] > w[1])
                })
                .map(u32::count_ones)
                .max();
            assert_eq!(
                Some(queues_needed(&p)),
                longest.map(|l| l as usize),
                "{p:?}"
            );
        }
    }
}

/// Number of blocks in falling order (the worst) that p passes over t tracks can sort, by complete
/// search: in each pass every car goes to one of the tracks, then the tracks are pulled together
/// in order.
fn passes_can_sort(blocks: u32, tracks: usize, passes: u32) -> bool {
    let mut rows: HashSet<Vec<u32>> = HashSet::from([(0..blocks).rev().collect()]);
    for _ in 0..passes {
        let mut next = HashSet::new();
        for r in &rows {
            let n = tracks.pow(r.len() as u32);
            for code in 0..n {
                let mut q: Vec<Vec<u32>> = vec![vec![]; tracks];
                let mut c = code;
                for &x in r {
                    q[c % tracks].push(x);
                    c /= tracks;
                }
                next.insert(q.concat());
            }
        }
        rows = next;
    }
    rows.contains(&(0..blocks).collect::<Vec<_>>())
}

#[test]
fn p_passes_over_t_tracks_sort_t_to_the_p_blocks_and_no_more() {
    // Radix sorting; the complete search shows that one more is too many.
    for (t, p) in [(2, 1), (2, 2), (3, 1), (4, 1)] {
        let most = (t as u32).pow(p);
        assert!(passes_can_sort(most, t, p), "{t} tracks, {p} passes");
        assert!(!passes_can_sort(most + 1, t, p), "{t} tracks, {p} passes");
    }
}

#[test]
fn numbers_of_codes_are_those_of_the_textbook() {
    for h in 0..12u32 {
        assert_eq!(codes(h, 20, Method::Once), u64::from(h) + 1);
        assert_eq!(
            codes(h, 20, Method::Triangular),
            1 + u64::from(h * (h + 1) / 2)
        );
        assert_eq!(codes(h, 20, Method::Geometric), 1 << h);
        assert_eq!(codes(h, 1, Method::Geometric), u64::from(h) + 1);
    }
    // Two tracks: Fibonacci numbers less one (1, 2, 4, 7, 12, 20, 33).
    let two: Vec<u64> = (0..7).map(|h| codes(h, 2, Method::Geometric)).collect();
    assert_eq!(two, [1, 2, 4, 7, 12, 20, 33]);
    assert_eq!(pulls_needed(9, 8, Method::Geometric), Some(4));
    assert_eq!(pulls_needed(9, 8, Method::Triangular), Some(4));
    assert_eq!(pulls_needed(12, 8, Method::Triangular), Some(5));
    assert_eq!(pulls_needed(9, 2, Method::Geometric), Some(4));
    assert_eq!(pulls_needed(9, 1, Method::Geometric), Some(8));
    assert_eq!(pulls_needed(4, 2, Method::Once), None);
    let table = trade_off(16, 5, Method::Geometric);
    assert_eq!(
        table,
        [
            (1, Some(15)),
            (2, Some(5)),
            (3, Some(5)),
            (4, Some(4)),
            (5, Some(4))
        ]
    );
}

/// Fewest pulls by complete search over every way to drop every car, tracks pulled in turn.
fn fewest_pulls(blocks: &[u32], tracks: usize, most: u32) -> Option<u32> {
    type Row = Vec<u32>;
    let mut goal: Row = blocks.to_vec();
    goal.sort_unstable();
    // What lies on each track, and the outbound track.
    let mut now: HashSet<(Vec<Row>, Row)> = HashSet::new();
    let drop = |row: &Row, state: &(Vec<Row>, Row), out: &mut HashSet<(Vec<Row>, Row)>| {
        let n = (tracks + 1).pow(row.len() as u32);
        'codes: for code in 0..n {
            let (mut q, mut o) = state.clone();
            let mut c = code;
            for &x in row {
                let to = c % (tracks + 1);
                c /= tracks + 1;
                if to == tracks {
                    // Only ever in the right order.
                    if goal[o.len()] != x {
                        continue 'codes;
                    }
                    o.push(x);
                } else {
                    q[to].push(x);
                }
            }
            out.insert((q, o));
        }
    };
    drop(&blocks.to_vec(), &(vec![vec![]; tracks], vec![]), &mut now);
    for h in 0..=most {
        if now.iter().any(|s| s.1 == goal) {
            return Some(h);
        }
        let mut next = HashSet::new();
        for s in &now {
            let t = h as usize % tracks;
            let mut s2 = s.clone();
            let row = std::mem::take(&mut s2.0[t]);
            drop(&row, &s2, &mut next);
        }
        now = next;
    }
    None
}

#[test]
fn the_fewest_pulls_for_an_inbound_order_are_truly_the_fewest() {
    let mut differ = HashSet::new();
    let mut orders = permutations(4);
    // And orders with several cars to a block.
    orders.extend([
        vec![1, 0, 1, 0],
        vec![0, 1, 0, 1],
        vec![2, 0, 1, 0],
        vec![1, 1, 0, 0],
        vec![2, 1, 0, 2, 1],
    ]);
    for blocks in orders {
        for tracks in 1..=2usize {
            let cars = inbound(&blocks);
            let plan = plan_sort(
                &cars,
                &vec![10_000; tracks],
                Method::Geometric,
                &Pace::default(),
            )
            .expect("long tracks");
            assert_eq!(plan.pulls, plan.least_pulls);
            assert_eq!(
                fewest_pulls(&blocks, tracks, 4),
                Some(plan.pulls),
                "{blocks:?} on {tracks}"
            );
            differ.insert(plan.pulls);
        }
    }
    assert!(differ.len() >= 4, "{differ:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_puts_every_train_in_block_order(
        cars in prop::collection::vec((0usize..3, 0u32..6, 36u32..60), 0..40),
        tracks in prop::collection::vec(200u32..2500, 1..7),
        method in prop::sample::select(vec![Method::Once, Method::Triangular, Method::Geometric]),
    ) {
        let cars: Vec<Inbound> =
            cars.iter().map(|&(train, block, length)| Inbound { train, block, length }).collect();
        match plan_sort(&cars, &tracks, method, &Pace::default()) {
            Ok(plan) => {
                for (train, out) in play(&cars, &plan, tracks.len()).iter().enumerate() {
                    prop_assert!(out.windows(2).all(|w| w[0] <= w[1]), "{out:?}");
                    prop_assert_eq!(out.len(), cars.iter().filter(|c| c.train == train).count());
                }
                for (p, t) in plan.peak.iter().zip(&tracks) {
                    prop_assert!(p <= t);
                }
                let most = match method {
                    Method::Once => 2,
                    Method::Triangular => 3,
                    Method::Geometric => usize::MAX,
                };
                prop_assert!(plan.drops <= cars.len().saturating_mul(most));
            }
            Err(SortError::TooFewTracks { chains: n, .. }) => {
                prop_assert!(codes(200, tracks.len() as u32, method) < u64::from(n));
            }
            Err(SortError::TooShort { capacity, needed, .. }) => prop_assert!(needed > capacity),
        }
    }
}

#[test]
fn chains_follow_the_inbound_order() {
    assert_eq!(chains(&inbound(&[0, 1, 2, 3])).1, [1]);
    assert_eq!(chains(&inbound(&[3, 2, 1, 0])).1, [4]);
    // Cars of one block may stand in any order: 0 0 | 1 1 from 1 0 1 0 takes two chains, the
    // second car of block 1 riding with the first chain or the second.
    assert_eq!(chains(&inbound(&[1, 0, 1, 0])).1, [2]);
    assert_eq!(chains(&inbound(&[])).1, Vec::<u32>::new());
}

#[test]
fn cuts_are_ready_when_their_last_pull_is_done() {
    let cars = inbound(&[1, 0]);
    let pace = Pace {
        pull_s: 100.0,
        cut_s: 10.0,
        car_s: 1.0,
    };
    let plan = plan_sort(&cars, &[500], Method::Geometric, &pace).expect("one track is enough");
    // Arrival: car 0 to the sorting track, car 1 out (two cuts, two cars); then one pull of one.
    assert_eq!(plan.pulls, 1);
    assert_eq!(plan.steps[0].done_s, 22.0);
    assert_eq!(plan.ready_s, [22.0 + 100.0 + 10.0 + 1.0]);
    assert_eq!(plan.drops, 3);
}

#[test]
fn a_yard_session_shows_where_it_jams() {
    let tracks: Vec<YardTrack> = [("1", 400), ("2", 200)]
        .map(|(n, length)| YardTrack {
            name: n.into(),
            length,
        })
        .into();
    let arrivals = [
        Arrival {
            name: "No. 61".into(),
            at_s: 0,
            cars: vec![(0, 50), (1, 50), (0, 50), (0, 50)],
        },
        Arrival {
            name: "No. 63".into(),
            at_s: 3600,
            cars: vec![(0, 50); 9],
        },
    ];
    let leaves = |at_s| Departing {
        name: "No. 62".into(),
        at_s,
        blocks: vec![0, 1],
        most: 2000,
    };
    // In time: nothing jams.
    let good = plan_session(
        &tracks,
        &arrivals,
        &[leaves(3000), leaves(9000)],
        60.0,
        10.0,
    );
    assert_eq!(good.jams().count(), 0, "{good:?}");
    assert_eq!(good.stranded, 0);
    assert!(good.left_over.iter().all(Vec::is_empty));
    assert_eq!(good.track_of_block, [Some(0), Some(1)]);
    // Without the first departure the second arrival finds 600 less 200 of room: eight of nine fit.
    let jammed = plan_session(&tracks, &arrivals, &[leaves(9000)], 60.0, 10.0);
    let jams: Vec<_> = jammed.jams().collect();
    assert_eq!(
        jams,
        [(
            3750,
            &Jam::NoRoom {
                arrival: 1,
                block: 0,
                cars: 1,
                short: 50
            }
        )]
    );
    assert_eq!(
        jams[0].1.to_string(),
        "1 cars of block 0 from arrival 1 find no room; the tracks lack 50 in all"
    );
    // A departure while the cut is being switched misses its cars.
    let missed = plan_session(
        &tracks,
        &arrivals,
        &[leaves(3000), leaves(3700)],
        60.0,
        10.0,
    );
    assert!(missed.jams().any(|j| *j.1
        == Jam::Missed {
            departure: 1,
            arrival: 1,
            cars: 9
        }));
}
