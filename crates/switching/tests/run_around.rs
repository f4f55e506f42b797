//! A run-around puzzle of our own, solved completely in two ways that have nothing in common.
//!
//! The other way is a world of cells. Every track is a row of cells, a car or engine fills one,
//! the train moves a cell at a time, pushes loose cars ahead of it within their track, and a
//! coupling or a cut costs one. No paths, no components, no free lengths.

use std::collections::{BTreeMap, BTreeSet, HashMap, VecDeque};

use switching::{Atlas, CarId, Goal, NodeKind, Port, Town, UNREACHABLE, Work};

const LEAD: [usize; 3] = [0, 1, 2];
const NORTH: [usize; 3] = [3, 4, 5];
const SOUTH: [usize; 2] = [6, 7];
const TAIL: [usize; 2] = [8, 9];
const SPUR: [usize; 2] = [10, 11];
const TRACKS: [&[usize]; 5] = [&LEAD, &NORTH, &SOUTH, &TAIL, &SPUR];
const CARS: u8 = 3;
const ENGINE: u8 = CARS;

/// Cells east of a cell (`true`) or west of it.
fn beside(cell: usize, east: bool) -> Vec<usize> {
    let track = TRACKS
        .iter()
        .find(|t| t.contains(&cell))
        .expect("a cell of some track");
    let i = track.iter().position(|&c| c == cell).expect("in it");
    if east && i + 1 < track.len() {
        return vec![track[i + 1]];
    }
    if !east && i > 0 {
        return vec![track[i - 1]];
    }
    match (cell, east) {
        (2, true) => vec![3, 6],
        (3 | 6, false) => vec![2],
        (5 | 7, true) => vec![8, 10],
        (8 | 10, false) => vec![5, 7],
        _ => vec![],
    }
}

/// Loose cars by cell, and the train from west to east as (item, cell).
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct World {
    loose: [Option<u8>; 12],
    train: Vec<(u8, usize)>,
}

impl World {
    fn occupied(&self, cell: usize) -> bool {
        self.loose[cell].is_some() || self.train.iter().any(|t| t.1 == cell)
    }

    /// All worlds one step away, with what the step costs.
    fn steps(&self) -> Vec<(u32, World)> {
        let mut out = vec![];
        for east in [false, true] {
            let face = if east {
                self.train[self.train.len() - 1].1
            } else {
                self.train[0].1
            };
            for next in beside(face, east) {
                // Roll one cell, pushing loose cars ahead within their track.
                let mut w = self.clone();
                let mut at = next;
                let mut pushed = w.loose[at].take();
                let mut blocked = self.train.iter().any(|t| t.1 == next);
                while let Some(car) = pushed {
                    let ahead = beside(at, east);
                    let same = TRACKS
                        .iter()
                        .any(|t| t.contains(&at) && ahead.iter().all(|a| t.contains(a)));
                    if ahead.len() != 1 || !same || self.train.iter().any(|t| t.1 == ahead[0]) {
                        blocked = true;
                        break;
                    }
                    at = ahead[0];
                    pushed = w.loose[at].replace(car);
                }
                if !blocked {
                    let n = w.train.len();
                    let cells: Vec<usize> = w.train.iter().map(|t| t.1).collect();
                    for (i, t) in w.train.iter_mut().enumerate() {
                        t.1 = match (east, i) {
                            (true, i) if i + 1 == n => next,
                            (true, i) => cells[i + 1],
                            (false, 0) => next,
                            (false, i) => cells[i - 1],
                        };
                    }
                    out.push((0, w));
                }
                // Couple cars that touch, one after another of one track.
                let mut w = self.clone();
                let mut at = next;
                while let Some(car) = w.loose[at].take() {
                    if east {
                        w.train.push((car, at));
                    } else {
                        w.train.insert(0, (car, at));
                    }
                    out.push((1, w.clone()));
                    let ahead = beside(at, east);
                    let track = TRACKS.iter().find(|t| t.contains(&at)).expect("some track");
                    match ahead.first() {
                        Some(a) if track.contains(a) => at = *a,
                        _ => break,
                    }
                }
            }
            // Cut off cars at that end, all on one track where cars may stand.
            let engine = self
                .train
                .iter()
                .position(|t| t.0 == ENGINE)
                .expect("an engine");
            let spare = if east {
                self.train.len() - 1 - engine
            } else {
                engine
            };
            for k in 1..=spare {
                let n = self.train.len();
                let range = if east { n - k..n } else { 0..k };
                let one = TRACKS[1..]
                    .iter()
                    .any(|t| self.train[range.clone()].iter().all(|c| t.contains(&c.1)));
                if one {
                    let mut w = self.clone();
                    for (car, cell) in w.train.drain(range) {
                        w.loose[cell] = Some(car);
                    }
                    out.push((1, w));
                }
            }
        }
        out
    }

    /// The engine has shut itself in behind cars it set out: it can only couple to them again, so
    /// no sensible plan does this, and ours cannot express it.
    fn shut_in(&self) -> bool {
        let cell = self.train[0].1;
        let track = TRACKS
            .iter()
            .find(|t| t.contains(&cell))
            .expect("some track");
        let west = track.iter().any(|&c| c < cell && self.loose[c].is_some());
        let east = track.iter().any(|&c| c > cell && self.loose[c].is_some());
        west && (east || **track == TAIL || **track == SPUR)
    }

    /// Order of cars on each track from west to east.
    fn orders(&self) -> Vec<Vec<CarId>> {
        TRACKS[1..]
            .iter()
            .map(|t| {
                t.iter()
                    .filter_map(|&c| self.loose[c])
                    .map(|c| CarId(c.into()))
                    .collect()
            })
            .collect()
    }
}

fn all_worlds() -> (Vec<World>, Vec<Vec<(u32, usize)>>) {
    let mut loose = [None; 12];
    loose[3] = Some(0);
    loose[4] = Some(1);
    loose[5] = Some(2);
    let start = World {
        loose,
        train: vec![(ENGINE, 0)],
    };
    let mut index = HashMap::from([(start.clone(), 0usize)]);
    let mut worlds = vec![start];
    let mut back: Vec<Vec<(u32, usize)>> = vec![vec![]];
    let mut i = 0;
    while i < worlds.len() {
        for (cost, w) in worlds[i].steps() {
            assert!(
                !w.loose
                    .iter()
                    .enumerate()
                    .any(|(c, l)| l.is_some() && w.train.iter().any(|t| t.1 == c))
            );
            let j = *index.entry(w.clone()).or_insert_with(|| {
                worlds.push(w);
                back.push(vec![]);
                worlds.len() - 1
            });
            back[j].push((cost, i));
        }
        i += 1;
    }
    assert!(
        worlds
            .iter()
            .all(|w| (0..12).filter(|&c| w.occupied(c)).count() == 4)
    );
    (worlds, back)
}

fn cells_to(
    worlds: &[World],
    back: &[Vec<(u32, usize)>],
    goal: impl Fn(&World) -> bool,
) -> Vec<u32> {
    let mut dist = vec![u32::MAX; worlds.len()];
    let mut queue = VecDeque::new();
    for (i, w) in worlds.iter().enumerate() {
        if goal(w) {
            dist[i] = 0;
            queue.push_back(i);
        }
    }
    while let Some(i) = queue.pop_front() {
        for &(cost, j) in &back[i] {
            if dist[i] + cost < dist[j] {
                dist[j] = dist[i] + cost;
                if cost == 0 {
                    queue.push_front(j);
                } else {
                    queue.push_back(j);
                }
            }
        }
    }
    dist
}

fn town() -> (Town, Work) {
    let mut t = Town::new("run-around");
    let hand = NodeKind::Switch { by_hand: true };
    let w = t.node("west", NodeKind::End);
    let s1 = t.node("west switch", hand);
    let s2 = t.node("east switch", hand);
    let s3 = t.node("spur switch", hand);
    let (e, m) = (
        t.node("tail end", NodeKind::End),
        t.node("spur end", NodeKind::End),
    );
    let lead = t.track("lead", (w, Port::Through), (s1, Port::Points), 3);
    let north = t.track("north", (s1, Port::Normal), (s2, Port::Normal), 3);
    let south = t.track("south", (s1, Port::Reverse), (s2, Port::Reverse), 2);
    t.track("between", (s2, Port::Points), (s3, Port::Points), 0);
    let tail = t.track("tail", (s3, Port::Normal), (e, Port::Through), 2);
    let spur = t.track("spur", (s3, Port::Reverse), (m, Port::Through), 2);
    let places = [north, south, tail, spur].map(|x| {
        let name = t.tracks[x.index()].name.clone();
        t.stand(&name, &[x])
    });
    let mut work = Work::new("engine", 1, &[lead], s1);
    let cars: Vec<CarId> = (0..CARS)
        .map(|i| work.car(&i.to_string(), 1, Goal::Anywhere))
        .collect();
    work.stands(places[0], &cars);
    (t, work)
}

#[test]
fn every_start_has_the_same_optimum_in_a_world_of_cells() {
    let (worlds, back) = all_worlds();
    let (town, work) = town();
    let atlas = Atlas::explore(&town, &work, 1_000_000).expect("small");
    let engine_alone_layouts: Vec<_> = (0..atlas.len())
        .map(|i| atlas.layout(i))
        .map(|l| (l.ahead.is_empty() && l.behind.is_empty()).then_some(l.places))
        .collect();
    let mut compared = 0;
    // Three goals: a full order in the spur and the tail, two cars in order in the spur, and one
    // car alone in the tail.
    type Test = fn(&[Vec<CarId>]) -> bool;
    let goals: [Test; 3] = [
        |p| p[3] == [CarId(2), CarId(0)] && p[2] == [CarId(1)],
        |p| p[3] == [CarId(1), CarId(0)],
        |p| p[2] == [CarId(0)],
    ];
    let mut worst = 0;
    for goal in goals {
        let alone = |w: &World| w.train.len() == 1 && !w.shut_in();
        let cells = cells_to(&worlds, &back, |w| alone(w) && goal(&w.orders()));
        let ours =
            atlas.distances(|l| l.ahead.is_empty() && l.behind.is_empty() && goal(&l.places));
        // A layout may occur with the engine on either side of standing cars.
        let mut by_cells: BTreeMap<Vec<Vec<CarId>>, BTreeSet<u32>> = BTreeMap::new();
        for (w, d) in worlds.iter().zip(&cells) {
            if alone(w) {
                by_cells.entry(w.orders()).or_default().insert(*d);
            }
        }
        let mut by_us: BTreeMap<Vec<Vec<CarId>>, BTreeSet<u32>> = BTreeMap::new();
        for (l, d) in engine_alone_layouts.iter().zip(&ours) {
            if let Some(l) = l {
                by_us.entry(l.clone()).or_default().insert(*d);
                assert_ne!(*d, UNREACHABLE);
                worst = worst.max(*d);
            }
        }
        let differ: Vec<_> = by_cells
            .iter()
            .filter(|(l, d)| by_us.get(*l) != Some(*d))
            .map(|(l, d)| (l, d, by_us.get(l)))
            .collect();
        assert!(differ.is_empty(), "{differ:?}");
        assert_eq!(by_cells.len(), by_us.len());
        compared += by_us.len();
    }
    // Three goals, every arrangement of three cars on tracks that hold 3, 2, 2 and 2.
    assert!(compared > 3 * 6 * 10, "{compared} layouts compared");
    assert!(worst >= 6, "a puzzle worth the name: {worst}");
}
