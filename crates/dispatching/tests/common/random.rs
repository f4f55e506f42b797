//! Small random problems of several families, some of them without any plan.

use dispatching::{DelayTerm, Operation, Problem, ResourceUse, Train};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A problem that depends on the seed alone.
pub(crate) fn problem(seed: u64) -> Problem {
    let mut rng = Pcg64Mcg::seed_from_u64(seed);
    let mut problem = match rng.random_range(0..3) {
        0 => line(&mut rng),
        1 => tangle(&mut rng),
        _ => ring(&mut rng),
    };
    season(&mut rng, &mut problem);
    objective(&mut rng, &mut problem);
    problem
}

fn name_resources(problem: &mut Problem) {
    let highest = problem
        .trains
        .iter()
        .flat_map(|t| &t.operations)
        .flat_map(|o| &o.resources)
        .map(|r| r.resource + 1)
        .max();
    problem.resources = (0..highest.unwrap_or(0)).map(|r| format!("r{r}")).collect();
}

/// Trains both ways over a single-track line whose stations have one or two tracks: meets, and deadlock
/// where there is no room to meet.
fn line(rng: &mut Pcg64Mcg) -> Problem {
    let stations = rng.random_range(2..=3);
    let tracks: Vec<usize> = (0..stations).map(|_| rng.random_range(1..=2)).collect();
    let leaves_the_end = rng.random_bool(0.7);
    let release = |rng: &mut Pcg64Mcg| {
        if rng.random_bool(0.5) {
            0
        } else {
            rng.random_range(1..3)
        }
    };
    let mut problem = Problem::default();
    for t in 0..rng.random_range(2..=3) {
        let east = rng.random_bool(0.5);
        let mut operations: Vec<Operation> = Vec::new();
        let mut last: Vec<usize> = Vec::new();
        let add = |operations: &mut Vec<Operation>, last: &[usize], new: Operation| {
            let index = operations.len();
            operations.push(new);
            for &l in last {
                operations[l].successors.push(index);
            }
            index
        };
        for s in 0..stations {
            let station = if east { s } else { stations - 1 - s };
            let here: Vec<usize> = (0..tracks[station])
                .map(|track| {
                    let held = ResourceUse {
                        resource: station * 2 + track,
                        release_time: release(rng),
                    };
                    let stand = Operation {
                        start_lb: if s == 0 { rng.random_range(0..6) } else { 0 },
                        min_duration: rng.random_range(0..3),
                        resources: vec![held],
                        ..Operation::default()
                    };
                    add(&mut operations, &last, stand)
                })
                .collect();
            last = here;
            if s + 1 < stations {
                let segment = if east { station } else { station - 1 };
                let run = Operation {
                    min_duration: rng.random_range(1..5),
                    resources: vec![ResourceUse {
                        resource: 2 * stations + segment,
                        release_time: release(rng),
                    }],
                    ..Operation::default()
                };
                last = vec![add(&mut operations, &last, run)];
            }
        }
        // One exit; and one entry, if the first station has two tracks.
        if leaves_the_end || last.len() > 1 {
            add(&mut operations, &last, Operation::default());
        }
        let first = tracks[if east { 0 } else { stations - 1 }];
        if first > 1 {
            for o in &mut operations {
                o.successors.iter_mut().for_each(|s| *s += 1);
            }
            let successors = (1..=first).collect();
            operations.insert(
                0,
                Operation {
                    successors,
                    ..Operation::default()
                },
            );
        }
        problem.trains.push(Train {
            name: format!("T{t}"),
            operations,
        });
    }
    name_resources(&mut problem);
    problem
}

/// Trains of layered operations holding whatever comes.
fn tangle(rng: &mut Pcg64Mcg) -> Problem {
    let pool = rng.random_range(2..=5);
    let mut problem = Problem::default();
    for _ in 0..rng.random_range(2..=4) {
        let layers: Vec<usize> = (0..rng.random_range(2..=4))
            .map(|l| if l > 0 && rng.random_bool(0.3) { 2 } else { 1 })
            .chain([1])
            .collect();
        let mut operations = Vec::new();
        let mut start = 0;
        for (l, &width) in layers.iter().enumerate() {
            for _ in 0..width {
                let exit = l + 1 == layers.len();
                let holds = if exit && rng.random_bool(0.8) {
                    0
                } else {
                    rng.random_range(0..=2)
                };
                operations.push(Operation {
                    start_lb: if rng.random_bool(0.3) {
                        rng.random_range(0..10)
                    } else {
                        0
                    },
                    min_duration: rng.random_range(0..5),
                    resources: (0..holds)
                        .map(|_| ResourceUse {
                            resource: rng.random_range(0..pool),
                            release_time: rng.random_range(0..3),
                        })
                        .collect(),
                    successors: layers.get(l + 1).map_or_else(Vec::new, |&next| {
                        (start + width..start + width + next).collect()
                    }),
                    ..Operation::default()
                });
            }
            start += width;
        }
        // Now and then a way past a layer.
        if operations.len() > 3 && rng.random_bool(0.3) {
            let to = operations.len() - 1;
            if !operations[0].successors.contains(&to) {
                operations[0].successors.push(to);
            }
        }
        problem.trains.push(Train {
            name: String::new(),
            operations,
        });
    }
    name_resources(&mut problem);
    problem
}

/// Trains each going round a ring of resources from its own start, holding the next before leaving the
/// last, often at the same instant: deadlock, and ties that only the order of events decides.
fn ring(rng: &mut Pcg64Mcg) -> Problem {
    let size = rng.random_range(2..=4);
    let mut problem = Problem::default();
    let trains = rng.random_range(2..=3);
    for _ in 0..trains {
        let from = rng.random_range(0..size);
        let step = if rng.random_bool(0.5) { 1 } else { size - 1 };
        let length = rng.random_range(2..=3);
        let mut operations: Vec<Operation> = (0..length)
            .map(|i| Operation {
                min_duration: rng.random_range(0..3),
                resources: vec![ResourceUse {
                    resource: (from + i * step) % size,
                    release_time: i64::from(rng.random_bool(0.2)),
                }],
                successors: vec![i + 1],
                ..Operation::default()
            })
            .collect();
        if rng.random_bool(0.3) {
            // Waits outside instead of starting on the ring.
            operations.iter_mut().for_each(|o| o.successors[0] += 1);
            operations.insert(
                0,
                Operation {
                    successors: vec![1],
                    ..Operation::default()
                },
            );
        }
        operations.push(Operation::default());
        problem.trains.push(Train {
            name: String::new(),
            operations,
        });
    }
    name_resources(&mut problem);
    problem
}

/// Latest starts, longest durations and doubled resources, here and there.
fn season(rng: &mut Pcg64Mcg, problem: &mut Problem) {
    let latest = rng.random_bool(0.3);
    let longest = rng.random_bool(0.4);
    for operation in problem.trains.iter_mut().flat_map(|t| &mut t.operations) {
        if latest && rng.random_bool(0.3) {
            operation.start_ub = Some(operation.start_lb + rng.random_range(0..14));
        }
        if longest && rng.random_bool(0.3) && !operation.successors.is_empty() {
            operation.max_duration = Some(operation.min_duration + rng.random_range(0..4));
        }
        if rng.random_bool(0.03)
            && let Some(&held) = operation.resources.first()
        {
            operation.resources.push(ResourceUse {
                release_time: held.release_time + 1,
                ..held
            });
        }
    }
}

fn objective(rng: &mut Pcg64Mcg, problem: &mut Problem) {
    let ranked = rng.random_bool(0.25);
    for train in 0..problem.trains.len() {
        let count = problem.trains[train].operations.len();
        for _ in 0..rng.random_range(1..=2) {
            let operation = if rng.random_bool(0.6) {
                count - 1
            } else {
                rng.random_range(0..count)
            };
            problem.objective.push(DelayTerm {
                train,
                operation,
                threshold: rng.random_range(0..12),
                coeff: rng.random_range(0..4),
                increment: if rng.random_bool(0.3) {
                    rng.random_range(1..20)
                } else {
                    0
                },
                rank: if ranked { rng.random_range(0..3) } else { 0 },
            });
        }
    }
}
