//! The rest of a day as a general train-dispatching problem.

use std::collections::{BTreeMap, BTreeSet};

use dispatching::{DelayTerm, Operation, Problem, ResourceUse, Train as Chain};

use super::{Rest, Train, Where};

/// The problem, and what its operations are.
#[derive(Debug, Clone)]
pub(super) struct Compiled {
    pub(super) problem: Problem,
    /// Beside the operations of the day's trains; closures of track, which follow them, have none.
    pub(super) tags: Vec<Vec<Tag>>,
    /// Classes by rank of the objective.
    pub(super) classes: Vec<u8>,
}

/// What an operation is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tag {
    /// At a call, on this of the meeting tracks if it takes one.
    Stand { call: usize, track: Option<usize> },
    /// A block of the line beyond a call; whether it is the first.
    Run { call: usize, first: bool },
    /// After the end of the run.
    After,
}

/// Something trains exclude each other from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Resource {
    /// A block of a district, counted from low miles; on double track one for each direction.
    Block {
        district: usize,
        up: bool,
        block: u32,
    },
    /// A meeting track of a station.
    Track { station: usize, track: usize },
}

struct Builder<'a> {
    rest: &'a Rest,
    index: BTreeMap<Resource, usize>,
    problem: Problem,
}

pub(super) fn compile(rest: &Rest) -> Compiled {
    let classes: BTreeSet<u8> = rest.trains.iter().map(|train| train.class).collect();
    let classes: Vec<u8> = classes.into_iter().collect();
    let mut builder = Builder {
        rest,
        index: BTreeMap::new(),
        problem: Problem::default(),
    };
    // Two trains reported on one track stand there, whatever the plan of the tracks: one of them counts.
    let mut taken = BTreeSet::new();
    let mut on_line = BTreeSet::new();
    let mut tags = Vec::with_capacity(rest.trains.len());
    for (number, train) in rest.trains.iter().enumerate() {
        let rank = classes.iter().position(|class| *class == train.class);
        let rank = u8::try_from(rank.unwrap_or(0)).unwrap_or(u8::MAX);
        let (chain, train_tags) = builder.train(number, train, rank, classes.len(), &mut taken);
        if let (Where::Line { .. }, Some((district, _))) = (train.at, train.calls[0].next) {
            on_line.insert(district);
        }
        builder.problem.trains.push(chain);
        tags.push(train_tags);
    }
    builder.closures(&on_line);
    Compiled {
        problem: builder.problem,
        tags,
        classes,
    }
}

impl Builder<'_> {
    fn resource(&mut self, resource: Resource) -> ResourceUse {
        let next = self.problem.resources.len();
        let resources = &mut self.problem.resources;
        let resource = *self.index.entry(resource).or_insert_with(|| {
            resources.push(match resource {
                Resource::Block {
                    district,
                    up,
                    block,
                } => format!(
                    "district {district}, {}, block {block}",
                    if up { "up" } else { "down" }
                ),
                Resource::Track { station, track } => format!("station {station}, track {track}"),
            });
            next
        });
        ResourceUse {
            resource,
            release_time: 0,
        }
    }

    /// The blocks of a district in the order in which they are run.
    fn blocks(&mut self, district: usize, up: bool) -> Vec<ResourceUse> {
        let sheet = self.rest.districts[district];
        let blocks = sheet.blocks.max(1);
        // Single track is one set of blocks for both directions.
        let side = sheet.tracks == 1 || up;
        (0..blocks)
            .map(|at| {
                let block = if up { at } else { blocks - 1 - at };
                self.resource(Resource::Block {
                    district,
                    up: side,
                    block,
                })
            })
            .collect()
    }

    /// The tracks on which a train may stand at a call, that of the plan first.
    fn alternatives(&self, train: &Train, call: usize) -> Vec<Option<usize>> {
        let sheet = &train.calls[call];
        if sheet.out_of_the_way {
            return vec![None];
        }
        let tracks = &self.rest.stations[sheet.station];
        let mut all: Vec<Option<usize>> = Vec::new();
        if let Some(planned) = sheet.track
            && tracks.get(planned).is_some_and(|track| track.open)
        {
            all.push(Some(planned));
        }
        for (at, track) in tracks.iter().enumerate() {
            if track.open && track.length >= train.length && !all.contains(&Some(at)) {
                all.push(Some(at));
            }
        }
        if all.is_empty() {
            // No track is known for it: it stands where the dispatcher finds room.
            all.push(None);
        }
        all
    }

    fn train(
        &mut self,
        number: usize,
        train: &Train,
        rank: u8,
        ranks: usize,
        taken: &mut BTreeSet<(usize, usize)>,
    ) -> (Chain, Vec<Tag>) {
        let mut operations: Vec<Operation> = Vec::new();
        let mut tags = Vec::new();
        // What the next operations follow on.
        let mut last: Vec<usize>;
        let follow = |operations: &mut Vec<Operation>, last: &[usize], next: &[usize]| {
            for one in last {
                operations[*one].successors.extend_from_slice(next);
            }
        };
        let now = self.rest.now;
        let first = &train.calls[0];
        let mut from = 0;
        match train.at {
            Where::Waiting | Where::Station { .. } => {
                let track = match train.at {
                    Where::Station { track } => {
                        track.filter(|on| taken.insert((first.station, *on)))
                    }
                    _ => None,
                };
                let resources = track
                    .map(|track| {
                        let station = first.station;
                        self.resource(Resource::Track { station, track })
                    })
                    .into_iter()
                    .collect();
                operations.push(Operation {
                    start_ub: Some(0),
                    min_duration: first.stands.max(0),
                    resources,
                    ..Operation::default()
                });
                tags.push(Tag::Stand { call: 0, track });
                last = vec![0];
            }
            Where::Line { arrives } => {
                // It may be anywhere along the district: all of it is taken until it is in.
                let resources = match first.next {
                    Some((district, up)) => self.blocks(district, up),
                    None => Vec::new(),
                };
                operations.push(Operation {
                    start_ub: Some(0),
                    min_duration: (arrives - now).max(0),
                    resources,
                    ..Operation::default()
                });
                tags.push(Tag::Run {
                    call: 0,
                    first: false,
                });
                last = vec![0];
                from = 1;
            }
        }
        for call in from..train.calls.len() {
            let sheet = &train.calls[call];
            if call > 0 {
                let mut stands = Vec::new();
                for track in self.alternatives(train, call) {
                    let station = sheet.station;
                    let resources = track
                        .map(|track| self.resource(Resource::Track { station, track }))
                        .into_iter()
                        .collect();
                    stands.push(operations.len());
                    operations.push(Operation {
                        min_duration: sheet.stands.max(0),
                        resources,
                        ..Operation::default()
                    });
                    tags.push(Tag::Stand { call, track });
                }
                follow(&mut operations, &last, &stands);
                for &operation in &stands {
                    if let Some(due) = sheet.due {
                        self.term(number, operation, due - now, rank);
                    }
                    // Of two plans that are equally late the one nearer to that in force.
                    let least = u8::try_from(ranks).unwrap_or(u8::MAX);
                    self.term(number, operation, sheet.planned - now, least);
                }
                last = stands;
            }
            let Some((district, up)) = sheet.next else {
                continue;
            };
            let blocks = self.blocks(district, up);
            let count = blocks.len() as i64;
            for (at, block) in blocks.into_iter().enumerate() {
                let at = at as i64;
                let part = sheet.runs * (at + 1) / count - sheet.runs * at / count;
                let this = operations.len();
                operations.push(Operation {
                    start_lb: if at == 0 {
                        (sheet.leaves - now).max(0)
                    } else {
                        0
                    },
                    min_duration: part.max(0),
                    resources: vec![block],
                    ..Operation::default()
                });
                tags.push(Tag::Run {
                    call,
                    first: at == 0,
                });
                follow(&mut operations, &last, &[this]);
                last = vec![this];
            }
        }
        let after = operations.len();
        operations.push(Operation::default());
        tags.push(Tag::After);
        follow(&mut operations, &last, &[after]);
        let chain = Chain {
            name: train.name.clone(),
            operations,
        };
        (chain, tags)
    }

    fn term(&mut self, train: usize, operation: usize, threshold: i64, rank: u8) {
        self.problem.objective.push(DelayTerm {
            train,
            operation,
            threshold,
            coeff: 1,
            increment: 0,
            rank,
        });
    }

    /// Closed track is held by trains of its own. Where a train is on it already, it is left to go on.
    fn closures(&mut self, on_line: &BTreeSet<usize>) {
        for (district, sheet) in self.rest.districts.iter().enumerate() {
            let Some(until) = sheet.closed_until.filter(|_| !on_line.contains(&district)) else {
                continue;
            };
            let mut resources = self.blocks(district, true);
            if sheet.tracks > 1 {
                resources.extend(self.blocks(district, false));
            }
            self.problem.trains.push(Chain {
                name: format!("district {district} closed"),
                operations: vec![
                    Operation {
                        start_ub: Some(0),
                        min_duration: (until - self.rest.now).max(0),
                        resources,
                        successors: vec![1],
                        ..Operation::default()
                    },
                    Operation::default(),
                ],
            });
        }
    }
}
