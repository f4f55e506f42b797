//! The judge of a day's plan. It shares no code with any planning: what it uses are the tracks, and running
//! times and clearances given as numbers. A plan drawn by hand is judged in the same way.
//!
//! What a train holds, and from when to when:
//!
//! * a track of open line (single track, or one of two) from leaving the one station until its rear is in
//!   the next; on a line of several blocks a following train may come after by at least the first block;
//! * the track it stands on, from the moment its front comes in until its rear has left; before the day's
//!   first run and after its last for as long as the facts say;
//! * the switches on its way in until its rear is over them, and on its way out from its leaving.
//!
//! Times are by the second. All faults are reported, not only the first.

mod queue;

use std::fmt;

use engineering::{
    Way,
    ids::{EndId, OpenRef, StationId, TrackId, TrackRef},
    network::{EdgeId, Network, Run},
    station::TrackUse,
};
use model::{
    time::{RailSpan, RailTime},
    units::Actual,
};

use super::{DayPlan, TrainIndex};

/// What the judge must know of one train besides its plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TrainFacts {
    /// Its length over all.
    pub length: Actual,
    /// Its engines, by number.
    pub engines: Vec<String>,
    /// The district from each call to the next, and whether it is run toward higher miles.
    pub opens: Vec<(OpenRef, bool)>,
    /// The least time from leaving each call to arriving at the next.
    pub running: Vec<RailSpan>,
    /// Over the first block of each district, at least.
    pub first_block: Vec<RailSpan>,
    /// At each call, how long from its front's passing the station's end to its having arrived.
    pub run_in: Vec<RailSpan>,
    /// At each call, how long from starting to its front's being on the line; nothing to speak of except
    /// where it begins.
    pub run_out: Vec<RailSpan>,
    /// At each call, how long its own length takes to come in.
    pub tail_in: Vec<RailSpan>,
    /// At each call, how long its own length takes to go out.
    pub tail_out: Vec<RailSpan>,
    /// The least time it stands at each call.
    pub dwell: Vec<RailSpan>,
    /// It does not leave a call before this.
    pub not_before: Vec<Option<RailTime>>,
    /// From each call to the next: whether it could not start again there and must not stop.
    pub runs_through: Vec<bool>,
    /// At each call: whether it could not start again there and must not stop.
    pub passes_by: Vec<bool>,
    /// At each call: how long it takes to saw by another train, if the owner allows that there.
    pub saws: Vec<Option<RailSpan>>,
    /// From when it stands on its first track; nothing if from the beginning of the day.
    pub stands_from: Option<RailTime>,
    /// For how long it stands on its last track; nothing if until the end of the day.
    pub stands_for: Option<RailSpan>,
    /// Trains of one number here are the same cars one after another, and are not in each other's way.
    pub rake: usize,
}

/// One train waits for another.
#[derive(Debug, Clone, PartialEq)]
pub struct After {
    /// The train waited for, the call, and whether its leaving counts rather than its arrival.
    pub first: (TrainIndex, usize, bool),
    /// The train that waits, and the call it leaves.
    pub second: (TrainIndex, usize),
    /// How long lies between at least.
    pub least: RailSpan,
    /// What passes between them, in words.
    pub what: String,
}

/// A time during which no train may be on a piece of track.
#[derive(Debug, Clone, PartialEq)]
pub struct Closure {
    /// The district, and which of its tracks if not all.
    pub open: Option<(OpenRef, Option<u8>)>,
    /// The station track.
    pub track: Option<TrackRef>,
    /// From when.
    pub from: RailTime,
    /// Until when.
    pub until: RailTime,
}

/// What a plan is judged by.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts {
    /// The trains, in the order of the plan.
    pub trains: Vec<TrainFacts>,
    /// Who waits for whom.
    pub after: Vec<After>,
    /// When track is closed.
    pub closures: Vec<Closure>,
}

/// What is wrong with a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// The trains concerned.
    pub trains: Vec<TrainIndex>,
    /// Where.
    pub station: StationId,
    /// What is wrong, in a sentence.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}

/// Judges a plan.
///
/// # Errors
/// Everything that is wrong with it, in the order of the trains.
pub fn judge(
    way: &Way,
    network: &Network,
    facts: &Facts,
    plan: &DayPlan,
) -> Result<(), Vec<Fault>> {
    let mut judge = Judge {
        way,
        network,
        facts,
        plan,
        faults: Vec::new(),
    };
    if facts.trains.len() != plan.trains.len() {
        return Err(vec![Fault {
            trains: Vec::new(),
            station: StationId(0),
            what: format!(
                "the plan has {} trains, expected {}",
                plan.trains.len(),
                facts.trains.len()
            ),
        }]);
    }
    judge.runs();
    judge.engines();
    judge.order();
    let lines = judge.on_lines();
    judge.lines(&lines);
    let visits = judge.visits();
    judge.stations(&visits);
    judge.queues(&visits);
    judge.closures(&lines, &visits);
    if judge.faults.is_empty() {
        Ok(())
    } else {
        Err(judge.faults)
    }
}

struct Judge<'a> {
    way: &'a Way,
    network: &'a Network,
    facts: &'a Facts,
    plan: &'a DayPlan,
    faults: Vec<Fault>,
}

/// A train on a track of open line.
struct OnLine {
    train: usize,
    call: usize,
    open: OpenRef,
    track: u8,
    up: bool,
    from: RailTime,
    until: RailTime,
}

/// A train at a station.
struct Visit {
    train: usize,
    call: usize,
    track: Option<TrackId>,
    /// While it has its track.
    from: RailTime,
    until: RailTime,
    /// While it runs over the switches on the way in, and on the way out.
    moves: [Option<(RailTime, RailTime)>; 2],
    /// Pieces of track it runs over on the way in and on the way out, its own standing room left out.
    over: [Vec<EdgeId>; 2],
    /// Pieces of track it stands on.
    on: Vec<EdgeId>,
    /// Whether it comes onto its track by the track's beginning, and whether it leaves by that.
    by_low: [Option<bool>; 2],
}

/// Longer than this is a stop: a train that runs on loses no more by rounding.
const STANDSTILL: RailSpan = RailSpan::from_seconds(30);

const BEGINNING: RailTime = RailTime::from_seconds(i64::MIN / 4);
const END: RailTime = RailTime::from_seconds(i64::MAX / 4);

impl Judge<'_> {
    fn name(&self, train: usize) -> &str {
        &self.plan.trains[train].symbol
    }

    fn place(&self, station: StationId) -> &str {
        &self.way.station(station).name.value
    }

    fn fault(&mut self, trains: &[usize], station: StationId, what: String) {
        self.faults.push(Fault {
            trains: trains.iter().map(|train| TrainIndex(*train)).collect(),
            station,
            what,
        });
    }

    /// Each train by itself: its way, its running and its stops.
    fn runs(&mut self) {
        let plan = self.plan;
        let facts = self.facts;
        for (train, page) in plan.trains.iter().enumerate() {
            let known = &facts.trains[train];
            let name = &page.symbol;
            if page.calls.len() != known.opens.len() + 1 {
                let station = page.calls.first().map_or(StationId(0), |call| call.station);
                let what = format!(
                    "{name} calls at {} stations, expected {}",
                    page.calls.len(),
                    known.opens.len() + 1
                );
                self.fault(&[train], station, what);
                continue;
            }
            for (at, call) in page.calls.iter().enumerate() {
                let place = self.place(call.station).to_owned();
                if call.leave < call.arrive {
                    let what = format!("{name} leaves {place} before it arrives");
                    self.fault(&[train], call.station, what);
                }
                let last = at + 1 == page.calls.len();
                let dwell = known.dwell.get(at).copied().unwrap_or(RailSpan::ZERO);
                if at > 0 && !last && call.leave - call.arrive < dwell {
                    let what = format!(
                        "{name} stands at {place} for {}, expected at least {dwell}",
                        call.leave - call.arrive
                    );
                    self.fault(&[train], call.station, what);
                }
                if let Some(due) = known.not_before.get(at).copied().flatten()
                    && call.leave < due
                {
                    let what = format!("{name} leaves {place} before its time");
                    self.fault(&[train], call.station, what);
                }
                if known.passes_by.get(at) == Some(&true) && call.leave - call.arrive > STANDSTILL {
                    let what = format!("{name} stops at {place}, where it could not start again");
                    self.fault(&[train], call.station, what);
                }
                if let Some(track) = call.track {
                    self.fits(train, at, call.station, track, known.length);
                }
                let Some(next) = page.calls.get(at + 1) else {
                    continue;
                };
                let least = known.running[at];
                if next.arrive - call.leave < least {
                    let what = format!(
                        "{name} takes {} from {place} to {}, expected at least {least}",
                        next.arrive - call.leave,
                        self.place(next.station)
                    );
                    self.fault(&[train], call.station, what);
                }
                if known.runs_through.get(at) == Some(&true)
                    && next.arrive - call.leave > least + STANDSTILL
                {
                    let what = format!(
                        "{name} stops between {place} and {}, where it could not start again",
                        self.place(next.station)
                    );
                    self.fault(&[train], call.station, what);
                }
                let (open, up) = known.opens[at];
                let ends = self.way.open(open).ends.each_ref().map(|end| end.id);
                let (from, to) = if up {
                    (ends[0], ends[1])
                } else {
                    (ends[1], ends[0])
                };
                if from != Some(call.station) || to != Some(next.station) {
                    let what = format!(
                        "{name} goes from {place} to {}, which nothing joins",
                        self.place(next.station)
                    );
                    self.fault(&[train], call.station, what);
                }
            }
        }
    }

    fn fits(
        &mut self,
        train: usize,
        call: usize,
        station: StationId,
        track: TrackId,
        length: Actual,
    ) {
        let page = self.way.station(station).track(track);
        // On a main a train may stand over switches: then nobody else gets by.
        if matches!(page.usage, TrackUse::Main | TrackUse::Connection) {
            return;
        }
        let room = self
            .network
            .usable(self.way, TrackRef { station, track })
            .length;
        if length > room + Actual::from_mm(0.5) && !self.saws_by(train, call, room) {
            let what = format!(
                "{} is {:.1} ft long and {} at {} holds {:.1} ft",
                self.name(train),
                length.feet(),
                page.name.value,
                self.place(station),
                room.feet()
            );
            self.fault(&[train], station, what);
        }
    }

    /// Whether a train too long for its siding is sawn by there: the owner allows it, and a train that comes
    /// against it, too long for the siding as well, stands on the main beside it for as long as that takes.
    fn saws_by(&self, train: usize, call: usize, room: Actual) -> bool {
        let page = &self.plan.trains[train].calls[call];
        let allowed = self.facts.trains[train].saws.get(call).copied().flatten();
        let Some(takes) = allowed else { return false };
        self.plan.trains.iter().enumerate().any(|(other, plan)| {
            let Some(at) = plan
                .calls
                .iter()
                .position(|one| one.station == page.station)
            else {
                return false;
            };
            let there = &plan.calls[at];
            let both = there.leave.min(page.leave) - there.arrive.max(page.arrive);
            other != train
                && both >= takes
                && self.against(train, call, other, at)
                && self.facts.trains[other].length > room
                && there.track.is_some_and(|track| {
                    self.way.station(page.station).track(track).usage == TrackUse::Main
                })
        })
    }

    /// Whether two trains run through a station against each other.
    fn against(&self, train: usize, call: usize, other: usize, at: usize) -> bool {
        let beside = |train: usize, call: usize| {
            let calls = &self.plan.trains[train].calls;
            let before = call.checked_sub(1).map(|at| calls[at].station);
            (before, calls.get(call + 1).map(|call| call.station))
        };
        let (came, goes) = beside(train, call);
        let (other_came, other_goes) = beside(other, at);
        came.is_some() && goes.is_some() && came == other_goes && goes == other_came
    }

    /// An engine is on one train at a time.
    fn engines(&mut self) {
        for first in 0..self.plan.trains.len() {
            for second in first + 1..self.plan.trains.len() {
                let shared = self.facts.trains[first]
                    .engines
                    .iter()
                    .find(|engine| self.facts.trains[second].engines.contains(engine))
                    .cloned();
                let Some(engine) = shared else { continue };
                let hours = [first, second].map(|train| self.plan.trains[train].hours());
                let [Some(a), Some(b)] = hours else { continue };
                if a.0 < b.1 && b.0 < a.1 {
                    let station = self.plan.trains[second].calls[0].station;
                    let what = format!(
                        "engine {engine} is on {} and on {} at once",
                        self.name(first),
                        self.name(second)
                    );
                    self.fault(&[first, second], station, what);
                }
            }
        }
    }

    fn order(&mut self) {
        for after in &self.facts.after {
            let (first, call, leaving) = after.first;
            let (second, waits_at) = after.second;
            let (Some(given), Some(taken)) = (
                self.plan.trains[first.0].calls.get(call),
                self.plan.trains[second.0].calls.get(waits_at),
            ) else {
                continue;
            };
            let ready = if leaving { given.leave } else { given.arrive } + after.least;
            if taken.leave < ready {
                let what = format!(
                    "{} leaves {} without {}, which {} brings",
                    self.name(second.0),
                    self.place(taken.station),
                    after.what,
                    self.name(first.0)
                );
                self.faults.push(Fault {
                    trains: vec![first, second],
                    station: taken.station,
                    what,
                });
            }
        }
    }

    fn on_lines(&self) -> Vec<OnLine> {
        let mut all = Vec::new();
        for (train, page) in self.plan.trains.iter().enumerate() {
            let known = &self.facts.trains[train];
            for (call, pair) in page.calls.windows(2).enumerate() {
                let Some(&(open, up)) = known.opens.get(call) else {
                    continue;
                };
                let run_in = known.run_in[call + 1];
                let tail = known.tail_in[call + 1];
                all.push(OnLine {
                    train,
                    call,
                    open,
                    track: pair[0].leaves_by.unwrap_or(1),
                    up,
                    from: pair[0].leave + known.run_out[call],
                    until: pair[1].arrive - run_in + tail,
                });
            }
        }
        all
    }

    fn lines(&mut self, lines: &[OnLine]) {
        for (at, first) in lines.iter().enumerate() {
            for second in &lines[at + 1..] {
                if (first.open, first.track) != (second.open, second.track)
                    || first.train == second.train
                {
                    continue;
                }
                let (a, b) = if first.from <= second.from {
                    (first, second)
                } else {
                    (second, first)
                };
                let page = self.way.open(a.open);
                let follows = a.up == b.up && page.blocks > 1;
                let clash = if follows {
                    let block = self.facts.trains[a.train].first_block[a.call];
                    b.from < a.from + block || b.until < a.until
                } else {
                    b.from < a.until
                };
                if clash {
                    let station = self.plan.trains[b.train].calls[b.call].station;
                    let ends = page.ends.each_ref().map(|end| {
                        end.id
                            .map_or_else(String::new, |id| self.place(id).to_owned())
                    });
                    let how = if a.up == b.up { "with" } else { "against" };
                    let what = format!(
                        "{} is on the track from {} to {} {how} {}",
                        self.name(b.train),
                        ends[0],
                        ends[1],
                        self.name(a.train)
                    );
                    self.fault(&[a.train, b.train], station, what);
                }
            }
        }
    }

    fn end(&self, station: StationId, open: OpenRef, which: usize, track: u8) -> Option<EndId> {
        let page = self.way.station(station);
        let joins = |exact: bool| {
            page.ends.iter().position(|end| {
                end.joins.iter().any(|join| {
                    join.open == open
                        && usize::from(join.which) == which
                        && (!exact || join.track == track)
                })
            })
        };
        joins(true)
            .or_else(|| joins(false))
            .map(|at| EndId(at as u32))
    }

    fn visits(&self) -> Vec<Visit> {
        let mut all = Vec::new();
        for (train, page) in self.plan.trains.iter().enumerate() {
            let known = &self.facts.trains[train];
            let last = page.calls.len().saturating_sub(1);
            for (call, page_call) in page.calls.iter().enumerate() {
                let entered = page_call.arrive - known.run_in[call];
                let from = if call == 0 {
                    known.stands_from.unwrap_or(BEGINNING)
                } else {
                    entered
                };
                let until = if call == last {
                    known.stands_for.map_or(END, |span| page_call.arrive + span)
                } else {
                    page_call.leave + known.run_out[call] + known.tail_out[call]
                };
                let came = call
                    .checked_sub(1)
                    .map(|_| (entered, entered + known.tail_in[call]));
                let goes = (call < last).then(|| {
                    let gone = page_call.leave + known.run_out[call] + known.tail_out[call];
                    (page_call.leave, gone)
                });
                let mut visit = Visit {
                    train,
                    call,
                    track: page_call.track,
                    from,
                    until,
                    moves: [came, goes],
                    over: [Vec::new(), Vec::new()],
                    on: Vec::new(),
                    by_low: [None, None],
                };
                self.trace(&mut visit);
                all.push(visit);
            }
        }
        all
    }

    /// Over which pieces of track a train comes in, where it stands, over which it goes out.
    fn trace(&self, visit: &mut Visit) {
        let page = &self.plan.trains[visit.train];
        let known = &self.facts.trains[visit.train];
        let station = page.calls[visit.call].station;
        let Some(track) = visit.track else { return };
        let track = TrackRef { station, track };
        let came = visit.call.checked_sub(1).and_then(|before| {
            let (open, up) = known.opens[before];
            let by = page.calls[before].leaves_by.unwrap_or(1);
            self.end(station, open, usize::from(up), by)
        });
        let goes = known.opens.get(visit.call).and_then(|&(open, up)| {
            let by = page.calls[visit.call].leaves_by.unwrap_or(1);
            self.end(station, open, usize::from(!up), by)
        });
        let node = |end: EndId| self.network.end_node(station, end);
        let runs: Vec<Run> = match (came, goes) {
            (Some(from), Some(to)) => self.through(track, node(from), node(to)),
            (Some(from), None) => self
                .network
                .onto(node(from), track)
                .map(|route| route.runs)
                .unwrap_or_default(),
            (None, Some(to)) => self
                .network
                .onto(node(to), track)
                .map(|route| route.runs.iter().rev().map(|run| run.reversed()).collect())
                .unwrap_or_default(),
            (None, None) => Vec::new(),
        };
        let on_track: Vec<&Run> = runs
            .iter()
            .filter(|run| self.network.edge(run.edge).track() == Some(track))
            .collect();
        if let (Some(first), Some(last)) = (on_track.first(), on_track.last()) {
            visit.by_low = [came.map(|_| first.forward), goes.map(|_| !last.forward)];
        }
        let stretch = self.network.clear_stretch(self.way, track);
        let stands = |run: &Run| {
            self.network.edge(run.edge).track() == Some(track)
                && self
                    .network
                    .reach_of(*run)
                    .is_none_or(|[a, b]| a.min(b) < stretch.to && stretch.from < a.max(b))
        };
        let first = runs.iter().position(stands);
        let last = runs.iter().rposition(stands);
        if let (Some(first), Some(last)) = (first, last) {
            visit.over[0] = runs[..first].iter().map(|run| run.edge).collect();
            visit.over[1] = runs[last + 1..].iter().map(|run| run.edge).collect();
        } else {
            visit.over[0] = runs.iter().map(|run| run.edge).collect();
        }
        visit.on = self
            .network
            .track_edges(track)
            .iter()
            .copied()
            .filter(|edge| {
                stands(&Run {
                    edge: *edge,
                    forward: true,
                })
            })
            .collect();
        // A train too long for the room stands over what lies behind it as well.
        if known.length > stretch.length() + Actual::from_mm(0.5) {
            let mut over = known.length - stretch.length();
            for edge in visit.over[0].iter().rev() {
                if over <= Actual::ZERO {
                    break;
                }
                visit.on.push(*edge);
                over -= self.network.edge(*edge).length;
            }
        }
    }

    /// The plainest way through a station over a track.
    fn through(
        &self,
        track: TrackRef,
        from: engineering::network::NodeId,
        to: engineering::network::NodeId,
    ) -> Vec<Run> {
        let main = self.way.track(track).usage == TrackUse::Main;
        if main && let Some(route) = self.network.by_main(self.way, track.station, from, to) {
            return route.runs;
        }
        self.network
            .via(from, track, to)
            .map(|route| route.runs)
            .unwrap_or_default()
    }

    fn stations(&mut self, visits: &[Visit]) {
        for (at, first) in visits.iter().enumerate() {
            let station = self.plan.trains[first.train].calls[first.call].station;
            for second in &visits[at + 1..] {
                let other = self.plan.trains[second.train].calls[second.call].station;
                let rakes = [first, second].map(|visit| self.facts.trains[visit.train].rake);
                if station != other || first.train == second.train || rakes[0] == rakes[1] {
                    continue;
                }
                self.pair(station, first, second);
            }
        }
    }

    fn pair(&mut self, station: StationId, first: &Visit, second: &Visit) {
        let overlap = |a: (RailTime, RailTime), b: (RailTime, RailTime)| a.0 < b.1 && b.0 < a.1;
        let there = |visit: &Visit| (visit.from, visit.until);
        let together = overlap(there(first), there(second));
        if together
            && first.track.is_some()
            && first.track == second.track
            && self.queued(first).is_none()
        {
            let track = first
                .track
                .map(|track| self.way.station(station).track(track).name.value.clone())
                .unwrap_or_default();
            let what = format!(
                "{} and {} are both on {track} at {}",
                self.name(first.train),
                self.name(second.train),
                self.place(station)
            );
            self.fault(&[first.train, second.train], station, what);
            return;
        }
        // Two that saw by stand in each other's way, and get out of it: that is what it takes the time for.
        let saws = [(first, second), (second, first)]
            .into_iter()
            .any(|(aside, main)| {
                let usage = |visit: &Visit| {
                    visit
                        .track
                        .map(|track| self.way.station(station).track(track).usage)
                };
                aside.track.is_some_and(|track| {
                    let room = self
                        .network
                        .usable(self.way, TrackRef { station, track })
                        .length;
                    usage(aside) == Some(TrackUse::Siding)
                        && usage(main) == Some(TrackUse::Main)
                        && self.facts.trains[aside.train].length > room + Actual::from_mm(0.5)
                        && self.against(aside.train, aside.call, main.train, main.call)
                        && self.saws_by(aside.train, aside.call, room)
                })
            });
        if saws {
            return;
        }
        for (moving, standing) in [(first, second), (second, first)] {
            for side in 0..2 {
                let Some(window) = moving.moves[side] else {
                    continue;
                };
                if overlap(window, there(standing))
                    && self.is_in_the_way(standing, &moving.over[side])
                {
                    let what = format!(
                        "{} runs through {} where {} stands",
                        self.name(moving.train),
                        self.place(station),
                        self.name(standing.train)
                    );
                    self.fault(&[moving.train, standing.train], station, what);
                    return;
                }
            }
        }
        for a in 0..2 {
            for b in 0..2 {
                let (Some(one), Some(other)) = (first.moves[a], second.moves[b]) else {
                    continue;
                };
                if overlap(one, other)
                    && first.over[a]
                        .iter()
                        .any(|edge| second.over[b].contains(edge))
                {
                    let what = format!(
                        "{} and {} run over the same switches at {} at once",
                        self.name(first.train),
                        self.name(second.train),
                        self.place(station)
                    );
                    self.fault(&[first.train, second.train], station, what);
                    return;
                }
            }
        }
    }

    /// Whether a train on its track cannot stand so that others run over these pieces: what is left of its
    /// track is too short for it.
    fn is_in_the_way(&self, standing: &Visit, over: &[EdgeId]) -> bool {
        if !standing.on.iter().any(|edge| over.contains(edge)) {
            return false;
        }
        let mut longest = Actual::ZERO;
        let mut run = Actual::ZERO;
        for edge in &standing.on {
            if over.contains(edge) {
                run = Actual::ZERO;
            } else {
                run += self.network.edge(*edge).length;
                longest = longest.max(run);
            }
        }
        self.facts.trains[standing.train].length > longest
    }

    fn closures(&mut self, lines: &[OnLine], visits: &[Visit]) {
        let facts = self.facts;
        for closure in &facts.closures {
            for on in lines {
                let hit = closure.open.is_some_and(|(open, track)| {
                    open == on.open && track.is_none_or(|track| track == on.track)
                });
                if hit && on.from < closure.until && closure.from < on.until {
                    let station = self.plan.trains[on.train].calls[on.call].station;
                    let what = format!(
                        "{} leaves {} onto track that is closed",
                        self.name(on.train),
                        self.place(station)
                    );
                    self.fault(&[on.train], station, what);
                }
            }
            for visit in visits {
                let station = self.plan.trains[visit.train].calls[visit.call].station;
                let hit = closure.track.is_some_and(|track| {
                    track.station == station && Some(track.track) == visit.track
                });
                if hit && visit.from < closure.until && closure.from < visit.until {
                    let what = format!(
                        "{} is on a track of {} that is closed",
                        self.name(visit.train),
                        self.place(station)
                    );
                    self.fault(&[visit.train], station, what);
                }
            }
        }
    }
}
