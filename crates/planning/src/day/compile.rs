//! The day as a general train-dispatching problem.
//!
//! Each chain of trains is one train there. Its operations are, station after station: *stand* (from the
//! front's passing the station's end until the train goes on; one for each track it may use), and *open*
//! (a block of open line). Where a throat is shared, *in* and *out* take it; they last no time, and keep it
//! closed to others for as long as the train takes to run over it. Everything that trains exclude each
//! other from is a resource; release times are the time a train's own length takes to get out of the way.
//!
//! Whatever one train has to give another (engine, crew, helper) is a resource that the giver holds from
//! before the day begins, so that nobody can have it sooner.

use std::collections::{BTreeMap, BTreeSet};

use dispatching::{DelayTerm, Operation, Plan, Problem, ResourceUse, Train};
use engineering::{
    ids::{OpenRef, StationId, TrackId},
    station::{StationKind, TrackUse},
};
use model::{time::RailTime, units::Actual};
use railroad::Railroad;
use transportation::{TrainId, TrainKind};

use super::{
    depth::{self, Depth, Spot},
    ground::{Ground, Shared, StationWay, ThroatId},
    legs::{Leg, stands_ready},
    turns::{Handed, Moment, Turns},
    words,
};
use crate::running::{Assumed, steady, track_speed};

/// What a resource is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Resource {
    /// A block of one track of open line, counted from low miles.
    Open {
        open: OpenRef,
        track: u8,
        block: u32,
    },
    /// A place on a station's track.
    Stand {
        station: StationId,
        track: TrackId,
        place: u32,
    },
    /// Switches that more than one way runs over.
    Throat(ThroatId),
    /// Something one train gives another: the number of the hand-over.
    Handed(usize),
    /// That an engine alone has been coupled to the train that takes it: the number of the hand-over.
    Coupled(usize),
    /// That one train stands in the siding and another holds the main by right, without a saw-by: legs.
    SawBy {
        station: StationId,
        siding: usize,
        main: usize,
    },
    /// The time by which one train must be clear of a district before a superior one: legs.
    Clearance {
        open: OpenRef,
        inferior: usize,
        superior: usize,
    },
}

/// What an operation is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Before,
    Stand,
    /// At once between a saw-by and leaving: each train gives the other the way out.
    Sawn,
    In,
    Out,
    Open(u32),
    After,
}

/// Where an operation belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Tag {
    /// Index of the leg.
    pub(super) leg: usize,
    /// Index of the call; for open line that of the station left.
    pub(super) call: usize,
    pub(super) kind: Kind,
    /// The track it stands on, or the track of open line.
    pub(super) track: Option<TrackId>,
    pub(super) open_track: Option<u8>,
    /// Railroad seconds: for stands, from the operation's start until the train is in; for the way out of
    /// the first station, until its front is on the line.
    pub(super) run_in: i64,
    /// Railroad seconds its own length takes on the way out.
    pub(super) tail: i64,
    /// Where it stands on a track for several trains.
    pub(super) spot: Option<Spot>,
}

/// The problem and what its parts mean.
#[derive(Debug, Clone)]
pub(super) struct Compiled {
    pub(super) problem: Problem,
    /// Beside [`Problem::trains`]' operations.
    pub(super) tags: Vec<Vec<Tag>>,
    /// Beside [`Problem::resources`].
    pub(super) resources: Vec<Resource>,
    /// Classes by rank of the objective.
    pub(super) classes: Vec<i64>,
    /// Railroad seconds at the problem's time zero.
    pub(super) base: i64,
    /// How many of the problem's trains are chains of legs; the rest are closures.
    pub(super) chains: usize,
    /// Trains that fit nowhere at some station: leg and call.
    pub(super) homeless: Vec<(usize, usize)>,
}

impl Compiled {
    /// Trains that a plan runs only when tracks kept for the rest of the day are free again.
    pub(super) fn tomorrow(&self, plan: &Plan) -> Vec<String> {
        let mut late: Vec<usize> = plan
            .events
            .iter()
            .filter(|event| event.train < self.chains && event.time >= REST_OF_DAY)
            .filter(|event| self.tags[event.train][event.operation].kind != Kind::After)
            .map(|event| event.train)
            .collect();
        late.sort_unstable();
        late.dedup();
        late.into_iter()
            .map(|train| self.problem.trains[train].name.clone())
            .collect()
    }
}

/// How the problem is to be made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rules {
    /// Seconds an inferior train must be clear before a superior one.
    pub(super) clear: i64,
    pub(super) made_up: i64,
    pub(super) broken_up: i64,
    /// Whether no train leaves before its written time.
    pub(super) keeps_leaving: bool,
    /// Most seconds a train may lose on one stretch of open line.
    pub(super) slack: i64,
}

struct Builder<'a> {
    railroad: &'a Railroad,
    assumed: &'a Assumed,
    legs: &'a [Leg],
    depths: BTreeMap<(StationId, TrackId), Depth>,
    ground: &'a Ground,
    turns: &'a Turns,
    rules: Rules,
    index: BTreeMap<Resource, usize>,
    out: Compiled,
}

/// Long enough to keep a track for the rest of the day.
const REST_OF_DAY: i64 = 36 * 3600;

/// Makes the problem. `chains` are indices of legs.
pub(super) fn compile(
    railroad: &Railroad,
    assumed: &Assumed,
    legs: &[Leg],
    chains: &[Vec<usize>],
    ground: &Ground,
    turns: &Turns,
    rules: Rules,
) -> Compiled {
    let first = legs
        .iter()
        .filter_map(|leg| leg.asks[0].due_leave)
        .map(RailTime::seconds)
        .min()
        .unwrap_or(0);
    let mut classes: Vec<i64> = legs.iter().map(|leg| leg.class).collect();
    classes.sort_unstable();
    classes.dedup();
    let mut builder = Builder {
        railroad,
        assumed,
        legs,
        depths: Depth::all(railroad, legs, ground),
        ground,
        turns,
        rules,
        index: BTreeMap::new(),
        out: Compiled {
            problem: Problem::default(),
            tags: Vec::new(),
            resources: Vec::new(),
            classes,
            base: first - rules.made_up - 3600,
            chains: chains.len(),
            homeless: Vec::new(),
        },
    };
    for chain in chains {
        builder.chain(chain);
    }
    builder.closures();
    builder.out
}

/// One train of the problem being built.
struct Chain {
    name: String,
    operations: Vec<Operation>,
    tags: Vec<Tag>,
    /// Operations that the next layer follows.
    open_ends: Vec<usize>,
    /// Resources to be given away: held by every operation until given.
    gives: Vec<(usize, i64, (usize, Moment))>,
}

impl Chain {
    fn push(&mut self, mut operation: Operation, tag: Tag, after: &[usize]) -> usize {
        let at = self.operations.len();
        for (resource, release_time, _) in &self.gives {
            operation.resources.push(ResourceUse {
                resource: *resource,
                release_time: *release_time,
            });
        }
        for &before in after {
            self.operations[before].successors.push(at);
        }
        self.operations.push(operation);
        self.tags.push(tag);
        at
    }

    fn given(&mut self, leg: usize, moment: Moment) {
        self.gives.retain(|(_, _, when)| *when != (leg, moment));
    }
}

/// Leaves out operations from which the exit, the last one, cannot be reached, such as a stand on a track
/// from which the next train of the chain cannot leave; and where each of the others went.
fn without_dead_ends(
    operations: Vec<Operation>,
    tags: Vec<Tag>,
) -> (Vec<Operation>, Vec<Tag>, Vec<Option<usize>>) {
    let count = operations.len();
    let mut leads = vec![false; count];
    for at in (0..count).rev() {
        leads[at] = at + 1 == count || operations[at].successors.iter().any(|next| leads[*next]);
    }
    let mut reached = vec![false; count];
    for at in 0..count {
        reached[at] |= at == 0;
        if reached[at] && leads[at] {
            for &next in &operations[at].successors {
                reached[next] = true;
            }
        }
    }
    let mut kept = vec![None; count];
    let mut next = 0;
    for at in 0..count {
        if leads[at] && reached[at] {
            kept[at] = Some(next);
            next += 1;
        }
    }
    let mut left = Vec::with_capacity(next);
    let mut left_tags = Vec::with_capacity(next);
    for (at, (mut operation, tag)) in operations.into_iter().zip(tags).enumerate() {
        if kept[at].is_some() {
            operation.successors = operation
                .successors
                .iter()
                .filter_map(|next| kept[*next])
                .collect();
            left.push(operation);
            left_tags.push(tag);
        }
    }
    (left, left_tags, kept)
}

fn held(resource: usize, release_time: i64) -> ResourceUse {
    ResourceUse {
        resource,
        release_time: release_time.max(0),
    }
}

impl Builder<'_> {
    fn resource(&mut self, resource: Resource) -> usize {
        if let Some(&at) = self.index.get(&resource) {
            return at;
        }
        let at = self.out.resources.len();
        let name = words::resource(self.railroad, self.ground, self.turns, self.legs, &resource);
        self.out.problem.resources.push(name);
        self.out.resources.push(resource.clone());
        self.index.insert(resource, at);
        at
    }

    fn time(&self, time: RailTime) -> i64 {
        (time.seconds() - self.out.base).max(0)
    }

    fn leg_of(&self, train: TrainId) -> Option<usize> {
        self.legs.iter().position(|leg| leg.id == train)
    }

    fn chain(&mut self, chain: &[usize]) {
        let mut built = Chain {
            name: chain
                .iter()
                .map(|leg| self.legs[*leg].symbol.as_str())
                .collect::<Vec<_>>()
                .join(" and "),
            operations: Vec::new(),
            tags: Vec::new(),
            open_ends: Vec::new(),
            gives: Vec::new(),
        };
        let train = self.out.problem.trains.len();
        for (number, hand_over) in self.turns.hand_overs.iter().enumerate() {
            let (from, to) = (self.leg_of(hand_over.from), self.leg_of(hand_over.to));
            let (Some(from), Some(to)) = (from, to) else {
                continue;
            };
            // Within one chain the order is given.
            if chain.contains(&from) && !chain.contains(&to) {
                let resource = self.resource(Resource::Handed(number));
                built
                    .gives
                    .push((resource, hand_over.takes.seconds(), (from, hand_over.given)));
            }
            if chain.contains(&to) && !chain.contains(&from) && self.stands_until_taken(number) {
                let resource = self.resource(Resource::Coupled(number));
                built.gives.push((resource, 0, (to, hand_over.taken)));
            }
        }
        let before = Operation {
            start_ub: Some(0),
            ..Operation::default()
        };
        let first = built.push(
            before,
            Tag {
                leg: chain[0],
                call: 0,
                kind: Kind::Before,
                track: None,
                open_track: None,
                run_in: 0,
                tail: 0,
                spot: None,
            },
            &[],
        );
        built.open_ends = vec![first];
        for (place, &leg) in chain.iter().enumerate() {
            let last = place + 1 == chain.len();
            self.leg(train, &mut built, leg, place == 0, last, chain);
        }
        let leg = chain[chain.len() - 1];
        let mut after = Operation::default();
        if let Some(number) = self.taken_from(leg) {
            let resource = self.resource(Resource::Coupled(number));
            after.resources.push(held(resource, 0));
        }
        let ends = std::mem::take(&mut built.open_ends);
        built.gives.clear();
        built.push(
            after,
            Tag {
                leg,
                call: self.legs[leg].way.stations.len() - 1,
                kind: Kind::After,
                track: None,
                open_track: None,
                run_in: 0,
                tail: 0,
                spot: None,
            },
            &ends,
        );
        let (operations, tags, kept) = without_dead_ends(built.operations, built.tags);
        self.out.problem.objective.retain_mut(|term| {
            if term.train != train {
                return true;
            }
            match kept[term.operation] {
                Some(at) => {
                    term.operation = at;
                    true
                }
                None => false,
            }
        });
        self.out.problem.trains.push(Train {
            name: built.name,
            operations,
        });
        self.out.tags.push(tags);
    }

    /// Resources taken at a moment.
    fn taken(&mut self, leg: usize, moment: Moment, chain: &[usize]) -> Vec<ResourceUse> {
        let train = self.legs[leg].id;
        let mut taken = Vec::new();
        for number in 0..self.turns.hand_overs.len() {
            let hand_over = &self.turns.hand_overs[number];
            if hand_over.to == train && hand_over.taken == moment {
                let from = self.leg_of(hand_over.from);
                if from.is_some_and(|from| !chain.contains(&from)) {
                    let resource = self.resource(Resource::Handed(number));
                    taken.push(held(resource, 0));
                }
            }
        }
        taken
    }

    fn rank(&self, leg: usize) -> u8 {
        let class = self.legs[leg].class;
        self.out
            .classes
            .iter()
            .position(|one| *one == class)
            .map_or(0, |at| at.min(200) as u8)
    }

    fn late(&mut self, train: usize, leg: usize, operation: usize, threshold: i64) {
        let rank = self.rank(leg);
        self.out.problem.objective.push(DelayTerm {
            train,
            operation,
            threshold: threshold.max(0),
            coeff: 1,
            increment: 0,
            rank,
        });
    }

    /// A train whose arrival nobody wrote still goes on when it can: after everything else, seconds count.
    fn untimed(&mut self, train: usize, operation: usize) {
        let rank = (self.out.classes.len() + 1).min(201) as u8;
        self.out.problem.objective.push(DelayTerm {
            train,
            operation,
            threshold: 0,
            coeff: 1,
            increment: 0,
            rank,
        });
    }

    /// A place on a track beside the main costs a little, after everything else: the last rank.
    fn aside(&mut self, train: usize, leg: usize, operation: usize, usage: TrackUse) {
        if usage == TrackUse::Main {
            return;
        }
        let rank = self.out.classes.len().min(200) as u8;
        let class = self.legs[leg].class.clamp(1, 9);
        self.out.problem.objective.push(DelayTerm {
            train,
            operation,
            threshold: 0,
            coeff: 0,
            increment: 10 - class,
            rank,
        });
    }

    fn shared(&mut self, station: StationId, shared: Shared) -> Vec<usize> {
        match shared {
            Shared::Throat(id) => vec![self.resource(Resource::Throat(id))],
            Shared::Stand(track) => {
                let pieces = self.depths.get(&(station, track)).map_or(1, Depth::pieces);
                (0..pieces)
                    .map(|place| {
                        self.resource(Resource::Stand {
                            station,
                            track,
                            place,
                        })
                    })
                    .collect()
            }
        }
    }

    fn stand_resources(
        &mut self,
        leg: usize,
        call: usize,
        way: &StationWay,
        release: i64,
        moves: Option<usize>,
    ) -> Vec<ResourceUse> {
        let station = self.legs[leg].way.stations[call];
        let mut resources: Vec<ResourceUse> = Vec::new();
        let depth = self.depths.get(&(station, way.track));
        let mut pieces: Vec<u32> = match (depth, way.spot) {
            (Some(_), Some([from, to])) => (from..to).collect(),
            (Some(depth), None) => (0..depth.pieces()).collect(),
            (None, _) => vec![0],
        };
        if let (Some(depth), Some(spot), Some(side)) = (depth, way.spot, moves) {
            // Past where others would stand.
            let low = depth::by_low(self.railroad, way, station)[side];
            pieces.extend(depth.beside(spot, low));
        }
        for place in pieces {
            let stand = self.resource(Resource::Stand {
                station,
                track: way.track,
                place,
            });
            resources.push(held(stand, release));
        }
        // A train that does not fit stands over what lies behind. Once it has been sawn by, it does no more.
        let mut over = self.legs[leg].times.length - way.room;
        if way.saws && moves == Some(1) {
            over = Actual::ZERO;
        }
        let mut on_line = false;
        for (length, throat) in &way.behind {
            if over <= Actual::ZERO {
                break;
            }
            match throat {
                Some(shared) => {
                    for resource in self.shared(station, *shared) {
                        resources.push(held(resource, release));
                    }
                }
                // Switches that only this open line leads to are kept with it.
                None => on_line = true,
            }
            over -= *length;
        }
        let beyond = over > Actual::ZERO && (!way.behind.is_empty() || way.enter.is_some());
        if (beyond || on_line)
            && let (Some((_, track)), Some(step)) = (
                way.enter,
                call.checked_sub(1)
                    .and_then(|at| self.legs[leg].way.opens.get(at).copied()),
            )
        {
            let blocks = self.railroad.way.open(step.open).blocks.max(1);
            let block = if step.up { blocks - 1 } else { 0 };
            let resource = self.resource(Resource::Open {
                open: step.open,
                track,
                block,
            });
            resources.push(held(resource, release));
        }
        resources
    }

    fn station_ways(&mut self, leg: usize, call: usize) -> Vec<StationWay> {
        let visit = &self.legs[leg].visits[call];
        let all = self.ground.ways.get(visit).cloned().unwrap_or_default();
        let page = self.railroad.way.station(visit.station);
        let may = |way: &StationWay| {
            let usage = page.track(way.track).usage;
            // A train may stand over the switches on the main, not hang out of a siding.
            usage == TrackUse::Main
                || usage == TrackUse::Connection
                || self.legs[leg].times.length <= way.room
        };
        let fitting: Vec<StationWay> = all.iter().filter(|way| may(way)).cloned().collect();
        if fitting.is_empty() {
            self.out.homeless.push((leg, call));
            return all;
        }
        let mut fitting = fitting;
        if !self.sawn_by(leg, call).is_empty() {
            let aside = all.iter().filter(|way| {
                matches!(
                    page.track(way.track).usage,
                    TrackUse::Main | TrackUse::Siding
                )
            });
            fitting.extend(aside.map(|way| StationWay {
                saws: true,
                ..way.clone()
            }));
        }
        fitting
            .into_iter()
            .flat_map(|way| self.placed(leg, call, way))
            .collect()
    }

    /// The trains with which a train may saw by at a call: both run through in opposite directions, neither fits
    /// the siding, and the owner allows it there.
    fn sawn_by(&self, leg: usize, call: usize) -> Vec<usize> {
        let station = self.legs[leg].way.stations[call];
        let operating = &self.railroad.service.operating;
        let page = self.railroad.way.station(station);
        if !page.saw_by.unwrap_or(operating.saw_by) || !self.overlong(leg, call) {
            return Vec::new();
        }
        let visit = &self.legs[leg].visits[call];
        (0..self.legs.len())
            .filter(|other| *other != leg && self.near(leg, *other))
            .filter(|other| {
                let there = self.legs[*other]
                    .way
                    .stations
                    .iter()
                    .position(|one| *one == station);
                there.is_some_and(|there| {
                    let opposite = &self.legs[*other].visits[there];
                    let line = |open: Option<(OpenRef, bool)>| open.map(|(open, _)| open);
                    line(opposite.enter) == line(visit.leave)
                        && line(opposite.leave) == line(visit.enter)
                        && self.overlong(*other, there)
                })
            })
            .collect()
    }

    /// Whether a train runs through a station with sidings and fits none of them.
    fn overlong(&self, leg: usize, call: usize) -> bool {
        let visit = &self.legs[leg].visits[call];
        let page = self.railroad.way.station(visit.station);
        let ways = self.ground.ways.get(visit);
        let mut sidings = ways.into_iter().flatten().filter(|way| {
            let usage = page.track(way.track).usage;
            !matches!(usage, TrackUse::Main | TrackUse::Connection)
        });
        visit.enter.is_some()
            && visit.leave.is_some()
            && ways.is_some_and(|ways| ways.len() > 1)
            && sidings.all(|way| self.legs[leg].times.length > way.room)
    }

    /// What keeps a train that holds the main as usual away from one that saws in the siding.
    fn saw_bys(&mut self, leg: usize, call: usize, way: &StationWay) -> Vec<ResourceUse> {
        let station = self.legs[leg].way.stations[call];
        let on_main = self.railroad.way.station(station).track(way.track).usage == TrackUse::Main;
        if on_main && way.saws {
            return Vec::new();
        }
        self.sawn_by(leg, call)
            .into_iter()
            .map(|other| {
                let (siding, main) = if on_main { (other, leg) } else { (leg, other) };
                held(
                    self.resource(Resource::SawBy {
                        station,
                        siding,
                        main,
                    }),
                    0,
                )
            })
            .collect()
    }

    /// A way for each place on a track for several trains.
    fn placed(&self, leg: usize, call: usize, way: StationWay) -> Vec<StationWay> {
        let station = self.legs[leg].way.stations[call];
        let within = way.enter.is_some() && way.leave.is_some();
        match self.depths.get(&(station, way.track)).filter(|_| !within) {
            Some(depth) => depth
                .spots(self.railroad, &way, station, leg, call)
                .into_iter()
                .map(|spot| StationWay {
                    spot: Some(spot),
                    ..way.clone()
                })
                .collect(),
            None => vec![way],
        }
    }

    #[allow(
        clippy::too_many_lines,
        reason = "the layers of one train in the order they are run"
    )]
    fn leg(
        &mut self,
        train: usize,
        built: &mut Chain,
        leg: usize,
        begins: bool,
        ends: bool,
        chain: &[usize],
    ) {
        let railroad = self.railroad;
        let facts = &self.legs[leg];
        let last = facts.way.stations.len() - 1;
        let passenger = facts
            .train
            .is_some_and(|id| crate::running::is_passenger(railroad.service.train(id)));
        for call in 0..=last {
            let ways = self.station_ways(leg, call);
            let facts = &self.legs[leg];
            let station = facts.way.stations[call];
            let page = railroad.way.station(station);
            let ask = facts.asks[call].clone();
            let tag = |kind, way: Option<&StationWay>, run_in, tail| Tag {
                leg,
                call,
                kind,
                track: way.map(|way| way.track),
                open_track: None,
                run_in,
                tail,
                spot: way.and_then(|way| way.spot),
            };
            let due_leave = ask
                .due_leave
                .filter(|_| self.rules.keeps_leaving || call == 0)
                .map(|time| self.time(time));
            // What lies before: the marks of the step that led here, and of the one that leads on.
            let marks_in = call.checked_sub(1).map(|step| {
                facts.times.steps[step].marks[usize::from(facts.asks[step].stops)]
                    [usize::from(ask.stops)]
                .clone()
            });
            let clear_out = facts
                .times
                .steps
                .get(call)
                .map_or(0, |step| step.marks[usize::from(ask.stops)][0].clear);
            let previous = std::mem::take(&mut built.open_ends);
            let ways: Vec<StationWay> = if call == 0 && !begins {
                // It stands where the leg before ended.
                let stood: BTreeSet<(Option<TrackId>, Option<Spot>)> = previous
                    .iter()
                    .map(|at| (built.tags[*at].track, built.tags[*at].spot))
                    .collect();
                let mut joined: Vec<StationWay> = Vec::new();
                for way in ways {
                    for (_, spot) in stood.iter().filter(|(track, _)| *track == Some(way.track)) {
                        let one = StationWay {
                            spot: *spot,
                            ..way.clone()
                        };
                        if !joined.contains(&one) {
                            joined.push(one);
                        }
                    }
                }
                joined
            } else {
                ways
            };
            let taken_arriving = self.taken(leg, Moment::Arrival(call), chain);
            for way in &ways {
                let usage = page.track(way.track).usage;
                let speed = track_speed(
                    railroad,
                    engineering::ids::TrackRef {
                        station,
                        track: way.track,
                    },
                    passenger,
                );
                let facts = &self.legs[leg];
                let length = facts.times.length;
                let tail = steady(railroad, self.assumed, length, speed);
                let mut after = previous.clone();
                // In.
                let mut run_in = 0;
                if let Some(marks) = &marks_in {
                    let open_end = marks.blocks.last().copied().unwrap_or(0);
                    let usual = marks.done - open_end;
                    let main_speed =
                        steady(railroad, self.assumed, way.run_in + way.run_out, speed);
                    // Beside the main it runs slower.
                    run_in = if usage == TrackUse::Main || call == last {
                        usual
                    } else {
                        usual.max(main_speed)
                    };
                    let is_end = call == last;
                    if is_end || !way.throats[0].is_empty() {
                        let release = if is_end { 0 } else { marks.entered - open_end };
                        let mut resources = self.stand_resources(leg, call, way, 0, Some(0));
                        for throat in &way.throats[0] {
                            for resource in self.shared(station, *throat) {
                                if resources.iter().all(|used| used.resource != resource) {
                                    resources.push(held(resource, release));
                                }
                            }
                        }
                        let duration = if is_end { run_in } else { 0 };
                        let operation = Operation {
                            min_duration: duration,
                            max_duration: Some(duration),
                            resources,
                            ..Operation::default()
                        };
                        let at = built.push(operation, tag(Kind::In, Some(way), run_in, 0), &after);
                        after = vec![at];
                        if is_end {
                            run_in = 0;
                        }
                    }
                }
                // Stand. At the beginning of a later leg of a chain it stands already.
                let joined = call == 0 && !begins;
                let gives_before = built.gives.clone();
                built.given(leg, Moment::Arrival(call));
                let stand = if joined {
                    // The stand was made when the leg before ended.
                    match after.iter().copied().find(|at| {
                        let tag = built.tags[*at];
                        (tag.track, tag.spot) == (Some(way.track), way.spot)
                    }) {
                        Some(at) => at,
                        None => {
                            built.gives = gives_before;
                            continue;
                        }
                    }
                } else {
                    let end_of_chain = call == last && ends;
                    let has_out = call == 0 || !way.throats[1].is_empty();
                    let release = if has_out || call == last || way.saws {
                        0
                    } else {
                        clear_out
                    };
                    let mut resources = self.stand_resources(leg, call, way, release, None);
                    for taken in &taken_arriving {
                        resources.push(*taken);
                    }
                    if call > 0 && call < last {
                        resources.extend(self.saw_bys(leg, call, way));
                    }
                    let mut operation = Operation {
                        resources,
                        ..Operation::default()
                    };
                    if call == 0 {
                        let engine_comes = self.turns.hand_overs.iter().any(|hand_over| {
                            hand_over.to == self.legs[leg].id
                                && hand_over.taken == Moment::Leaving(0)
                                && matches!(hand_over.what, Handed::Engine(_))
                        });
                        if !engine_comes && stands_ready(railroad, &self.legs[leg]) {
                            operation.start_ub = Some(0);
                        } else if let Some(due) = due_leave {
                            let made_up = if page.kind == StationKind::Yard {
                                self.rules.made_up
                            } else {
                                0
                            };
                            operation.start_lb = (due - made_up).max(0);
                            operation.min_duration = made_up;
                        }
                    } else {
                        let saws = railroad.service.operating.saw_by_time.seconds();
                        let least = if way.saws {
                            ask.dwell.max(saws)
                        } else {
                            ask.dwell
                        };
                        operation.min_duration = run_in + least;
                        if self.legs[leg].passes_by(call) {
                            operation.max_duration = Some(operation.min_duration);
                        }
                    }
                    if call == last {
                        operation.start_ub = self.legs[leg].off_duty.map(|time| self.time(time));
                        if ask.due_arrive.is_none() {
                            // Nobody waits till tomorrow for a track that is taken for the rest of the day.
                            let today = REST_OF_DAY - 3600;
                            operation.start_ub =
                                Some(operation.start_ub.map_or(today, |off| off.min(today)));
                        }
                        operation.min_duration = if !end_of_chain {
                            self.next_in_chain(leg, chain)
                        } else if self.taken_from(leg).is_some() {
                            0
                        } else if page.kind == StationKind::Yard || self.goes_to_stall(leg, station)
                        {
                            self.rules.broken_up
                        } else {
                            REST_OF_DAY
                        };
                    }
                    let at = built.push(
                        operation,
                        tag(Kind::Stand, Some(way), run_in, clear_out),
                        &after,
                    );
                    if call > 0 {
                        if let Some(due) = ask.due_arrive {
                            // Times are by the minute: a train is late when the next one has begun.
                            let threshold = self.time(due) + 59 - run_in;
                            self.late(train, leg, at, threshold);
                        } else if call == last {
                            self.untimed(train, at);
                        }
                        self.aside(train, leg, at, usage);
                    }
                    at
                };
                // Out.
                let mut end = stand;
                if way.saws {
                    let mut resources = self.stand_resources(leg, call, way, clear_out, Some(1));
                    resources.extend(self.saw_bys(leg, call, way));
                    let operation = Operation {
                        max_duration: Some(0),
                        resources,
                        ..Operation::default()
                    };
                    end = built.push(operation, tag(Kind::Sawn, Some(way), run_in, 0), &[end]);
                }
                if call < last {
                    let from_stand = call == 0;
                    if from_stand || !way.throats[1].is_empty() {
                        let run_out = if from_stand {
                            steady(railroad, self.assumed, way.run_out, speed)
                        } else {
                            0
                        };
                        let release = if from_stand { tail } else { clear_out };
                        let mut resources = self.stand_resources(leg, call, way, release, Some(1));
                        for throat in &way.throats[1] {
                            for resource in self.shared(station, *throat) {
                                if resources.iter().all(|used| used.resource != resource) {
                                    resources.push(held(resource, release));
                                }
                            }
                        }
                        if from_stand {
                            resources.extend(self.taken(leg, Moment::Leaving(0), chain));
                            // It runs over the switches of that end before it is on the line.
                            let step = self.legs[leg].way.opens[0];
                            let open = railroad.way.open(step.open);
                            let blocks = open.blocks.max(1);
                            let resource = self.resource(Resource::Open {
                                open: step.open,
                                track: super::ground::current(open.tracks.value, step.up),
                                block: if step.up { 0 } else { blocks - 1 },
                            });
                            resources.push(held(resource, 0));
                        }
                        let operation = Operation {
                            start_lb: due_leave.unwrap_or(0),
                            min_duration: run_out,
                            max_duration: Some(run_out),
                            resources,
                            ..Operation::default()
                        };
                        end = built.push(
                            operation,
                            tag(Kind::Out, Some(way), run_out, release),
                            &[end],
                        );
                    }
                }
                built.open_ends.push(end);
                built.gives = gives_before;
            }
            built.given(leg, Moment::Arrival(call));
            built.given(leg, Moment::Leaving(call));
            if call < last {
                self.open(built, leg, call, due_leave, chain);
            }
        }
    }

    /// The blocks of open line from one call to the next.
    fn open(
        &mut self,
        built: &mut Chain,
        leg: usize,
        call: usize,
        due_leave: Option<i64>,
        chain: &[usize],
    ) {
        let facts = &self.legs[leg];
        let step = facts.way.opens[call];
        let open = self.railroad.way.open(step.open);
        let track = super::ground::current(open.tracks.value, step.up);
        let starts = usize::from(facts.asks[call].stops);
        let stops = usize::from(facts.asks[call + 1].stops);
        let times = facts.times.steps[call].clone();
        let marks = &times.marks[starts][stops];
        let blocks = open.blocks.max(1);
        let taken = if call > 0 {
            self.taken(leg, Moment::Leaving(call), chain)
        } else {
            Vec::new()
        };
        let mut begun = 0;
        for block in 0..blocks {
            let end = marks.blocks.get(block as usize).copied().unwrap_or(begun);
            let numbered = if step.up { block } else { blocks - 1 - block };
            let resource = self.resource(Resource::Open {
                open: step.open,
                track,
                block: numbered,
            });
            let tail = times.tails.get(block as usize).copied().unwrap_or(0);
            let mut resources = vec![held(resource, tail)];
            if block == 0 {
                resources.extend(taken.iter().copied());
            }
            self.clearances(leg, call, block == 0, tail, chain, &mut resources);
            let least = (end - begun).max(1);
            let operation = Operation {
                start_lb: if block == 0 && call > 0 {
                    due_leave.unwrap_or(0)
                } else {
                    0
                },
                min_duration: least,
                max_duration: if self.legs[leg].runs_through(call) {
                    Some(least)
                } else {
                    (self.rules.slack < REST_OF_DAY).then(|| least + self.rules.slack)
                },
                resources,
                ..Operation::default()
            };
            begun = end;
            let ends = std::mem::take(&mut built.open_ends);
            let at = built.push(
                operation,
                Tag {
                    leg,
                    call,
                    kind: Kind::Open(block),
                    track: None,
                    open_track: Some(track),
                    run_in: 0,
                    tail: 0,
                    spot: None,
                },
                &ends,
            );
            built.open_ends = vec![at];
        }
    }

    /// What a train owes superior trains on a district, and is owed by inferior ones: the inferior train's
    /// hold ends only when the superior's time has been cleared.
    fn clearances(
        &mut self,
        leg: usize,
        call: usize,
        first_block: bool,
        tail: i64,
        chain: &[usize],
        resources: &mut Vec<ResourceUse>,
    ) {
        if self.rules.clear <= 0 {
            return;
        }
        let step = self.legs[leg].way.opens[call];
        for other in 0..self.legs.len() {
            let (own, theirs) = (self.legs[leg].class, self.legs[other].class);
            if chain.contains(&other) || own == theirs || !self.near(leg, other) {
                continue;
            }
            let tracks = self.railroad.way.open(step.open).tracks.value;
            let shares = self.legs[other]
                .way
                .opens
                .iter()
                .any(|one| one.open == step.open && (tracks == 1 || one.up == step.up));
            if !shares {
                continue;
            }
            let (inferior, superior) = if own > theirs {
                (leg, other)
            } else {
                (other, leg)
            };
            if superior == leg && !first_block {
                continue;
            }
            let resource = self.resource(Resource::Clearance {
                open: step.open,
                inferior,
                superior,
            });
            let owed = if inferior == leg { self.rules.clear } else { 0 };
            resources.push(held(resource, tail + owed));
        }
    }

    /// Whether two trains may come near each other at all: their schedules, an hour more on both sides.
    fn near(&self, a: usize, b: usize) -> bool {
        let hours = |leg: usize| {
            let asks = &self.legs[leg].asks;
            let from = asks[0].due_leave.map_or(i64::MIN / 4, RailTime::seconds);
            let until = asks[asks.len() - 1]
                .due_arrive
                .map_or(i64::MAX / 4, RailTime::seconds);
            (from - 3600, until + 3600)
        };
        let (a, b) = (hours(a), hours(b));
        a.0 < b.1 && b.0 < a.1
    }

    fn next_in_chain(&self, leg: usize, chain: &[usize]) -> i64 {
        let place = chain.iter().position(|one| *one == leg);
        let next = place.and_then(|at| chain.get(at + 1));
        next.map(|next| self.legs[*next].id)
            .and_then(|train| self.turns.between.get(&train))
            .map_or(0, |span| span.seconds())
    }

    /// Whether a hand-over is of an engine that came alone: it stands on its track until it is taken.
    fn stands_until_taken(&self, number: usize) -> bool {
        let hand_over = &self.turns.hand_overs[number];
        let alone = self.leg_of(hand_over.from).is_some_and(|leg| {
            self.legs[leg].train.is_none_or(|id| {
                matches!(
                    self.railroad.service.train(id).kind.map(|kind| kind.value),
                    Some(TrainKind::LightEngine | TrainKind::Helper)
                )
            })
        });
        alone && matches!(hand_over.what, Handed::Engine(_) | Handed::Helper(_))
    }

    /// The hand-over by which an engine that ended alone is taken.
    pub(super) fn taken_from(&self, leg: usize) -> Option<usize> {
        let id = self.legs[leg].id;
        (0..self.turns.hand_overs.len()).find(|number| {
            let hand_over = &self.turns.hand_overs[*number];
            hand_over.from == id
                && self.leg_of(hand_over.to).is_some()
                && self.stands_until_taken(*number)
        })
    }

    /// Whether what came in is an engine alone that goes into a stall.
    fn goes_to_stall(&self, leg: usize, station: StationId) -> bool {
        let alone = self.turns.hand_overs.iter().any(|hand_over| {
            matches!(hand_over.what, Handed::Engine(_) | Handed::Helper(_))
                && hand_over.from == self.legs[leg].id
        }) || self.legs[leg].train.is_none();
        let stall = self
            .railroad
            .way
            .station(station)
            .tracks
            .iter()
            .any(|track| track.usage == TrackUse::Engine);
        alone && stall
    }

    /// Times during which track is closed, each as a train that goes nowhere.
    fn closures(&mut self) {
        let railroad = self.railroad;
        for closed in &railroad.service.operating.closed {
            let (Some(from), Some(to)) = (closed.from, closed.to) else {
                continue;
            };
            let stations: Vec<StationId> = closed
                .between
                .iter()
                .filter_map(|name| railroad.way.find_station(&name.value))
                .collect();
            let mut resources = Vec::new();
            for (at, resource) in self.out.resources.iter().enumerate() {
                let track = closed.track.as_ref().map(|track| track.value.as_str());
                let hit = match resource {
                    Resource::Open {
                        open,
                        track: number,
                        ..
                    } => {
                        let page = railroad.way.open(*open);
                        let ends = [page.ends[0].id, page.ends[1].id];
                        stations.len() == 2
                            && stations[0] != stations[1]
                            && stations
                                .iter()
                                .all(|station| ends.contains(&Some(*station)))
                            && track.is_none_or(|track| track == number.to_string())
                    }
                    Resource::Stand {
                        station, track: id, ..
                    } => {
                        let page = railroad.way.station(*station);
                        stations.first() == Some(station)
                            && stations.last() == Some(station)
                            && track.is_some_and(|track| page.track(*id).name.value == track)
                    }
                    _ => false,
                };
                if hit {
                    resources.push(held(at, 0));
                }
            }
            if resources.is_empty() || to.value <= from.value {
                continue;
            }
            let begin = self.time(from.value);
            let operations = vec![
                Operation {
                    start_ub: Some(0),
                    successors: vec![1],
                    ..Operation::default()
                },
                Operation {
                    start_lb: begin,
                    start_ub: Some(begin),
                    min_duration: (to.value - from.value).seconds(),
                    resources,
                    successors: vec![2],
                    ..Operation::default()
                },
                Operation::default(),
            ];
            let tag = |kind| Tag {
                leg: usize::MAX,
                call: 0,
                kind,
                track: None,
                open_track: None,
                run_in: 0,
                tail: 0,
                spot: None,
            };
            let why = closed
                .why
                .clone()
                .unwrap_or_else(|| "the closure".to_owned());
            self.out.problem.trains.push(Train {
                name: why,
                operations,
            });
            self.out
                .tags
                .push(vec![tag(Kind::Before), tag(Kind::Stand), tag(Kind::After)]);
        }
    }
}
