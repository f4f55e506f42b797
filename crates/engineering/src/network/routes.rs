//! Ways through the network without a reversal.

use std::{cmp::Reverse, collections::BinaryHeap};

use model::units::Actual;

use super::{EdgeKind, Network, NodeId, POINTS, Place, Run};
use crate::{
    Way,
    ids::{StationId, SwitchId, TrackId, TrackRef},
    station::TrackUse,
};

/// A chain of runs without a reversal.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Route {
    /// The runs, in order; never the same run twice.
    pub runs: Vec<Run>,
    /// Length altogether.
    pub length: Actual,
}

/// How a movement meets a switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passing {
    /// Points first.
    Facing,
    /// Frog first.
    Trailing,
}

/// Which way a switch lies for a movement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SwitchLeg {
    /// For its normal track.
    Normal,
    /// For the other, or for one of the two others of a three-way.
    Reverse,
}

impl Network {
    fn length_of(&self, runs: &[Run]) -> Actual {
        runs.iter().map(|run| self.edge(run.edge).length).sum()
    }

    fn route_of(&self, runs: Vec<Run>) -> Route {
        Route {
            length: self.length_of(&runs),
            runs,
        }
    }

    /// Whether every run of a chain follows the one before without a reversal, none twice.
    pub fn is_route(&self, runs: &[Run]) -> bool {
        let mut seen: Vec<usize> = runs.iter().map(|run| run.index()).collect();
        seen.sort_unstable();
        seen.dedup();
        seen.len() == runs.len()
            && runs
                .windows(2)
                .all(|pair| self.next(pair[0]).any(|run| run == pair[1]))
    }

    /// How a switch is passed by going from one run to the next; nothing if they meet elsewhere.
    pub fn passes(&self, from: Run, to: Run) -> Option<(StationId, SwitchId, Passing, SwitchLeg)> {
        let (node, arrive) = self.head(from);
        let (other, leave) = self.tail(to);
        let Place::Switch(switch) = self.node(node).place else {
            return None;
        };
        if node != other || (arrive == POINTS) == (leave == POINTS) {
            return None;
        }
        let (passing, leg) = if arrive == POINTS {
            (Passing::Facing, leave)
        } else {
            (Passing::Trailing, arrive)
        };
        let lies = if leg == self.node(node).normal {
            SwitchLeg::Normal
        } else {
            SwitchLeg::Reverse
        };
        Some((self.node(node).station, switch, passing, lies))
    }

    /// The switches of a route in the order they are met.
    pub fn switches(&self, route: &Route) -> Vec<(StationId, SwitchId, Passing, SwitchLeg)> {
        route
            .runs
            .windows(2)
            .filter_map(|pair| self.passes(pair[0], pair[1]))
            .collect()
    }

    /// The tracks of a route in order, each once for each time it is entered.
    pub fn tracks(&self, route: &Route) -> Vec<TrackRef> {
        let mut tracks: Vec<TrackRef> = route
            .runs
            .iter()
            .filter_map(|run| self.edge(run.edge).track())
            .collect();
        tracks.dedup();
        tracks
    }

    /// Whether a run stays within a station.
    fn within(&self, station: StationId, run: Run) -> bool {
        self.edge(run.edge)
            .track()
            .is_some_and(|track| track.station == station)
    }

    /// Runs of a station that can be reached from some without a reversal, those included.
    pub fn reach(&self, station: StationId, from: impl IntoIterator<Item = Run>) -> Vec<Run> {
        let first = self.edge_start[station.index()] as usize * 2;
        let count = self.station_edges(station).count() * 2;
        let mut seen = vec![false; count];
        let mut list: Vec<Run> = Vec::new();
        for run in from {
            if self.within(station, run) && !std::mem::replace(&mut seen[run.index() - first], true)
            {
                list.push(run);
            }
        }
        let mut at = 0;
        while let Some(&run) = list.get(at) {
            at += 1;
            for next in self.next(run) {
                if self.within(station, next)
                    && !std::mem::replace(&mut seen[next.index() - first], true)
                {
                    list.push(next);
                }
            }
        }
        list
    }

    /// The cheapest route within a station from any of some runs to the first run that will do.
    /// `cost` weighs a run. Of equals, that which comes first in the order of the pages.
    pub fn cheapest(
        &self,
        station: StationId,
        from: impl IntoIterator<Item = Run>,
        cost: impl Fn(Run) -> f64,
        will_do: impl Fn(Run) -> bool,
    ) -> Option<Route> {
        let first = self.edge_start[station.index()] as usize * 2;
        let count = self.station_edges(station).count() * 2;
        let scope = (first, count, |run| self.within(station, run));
        self.search(scope, from, cost, will_do)
    }

    /// The shortest route over the whole road from one node to another, through whatever stations lie
    /// between; nothing if there is none without a reversal. A gap has no length: see
    /// [`crate::Profile`] for scheduled miles.
    pub fn across(&self, from: NodeId, to: NodeId) -> Option<Route> {
        let scope = (0, self.edges.len() * 2, |_| true);
        let cost = |run: Run| self.edge(run.edge).length.meters();
        self.search(scope, self.departures(from), cost, |run| {
            self.head(run).0 == to
        })
    }

    /// Dijkstra's search over runs. `scope` is the number of the first run that may be met, how many
    /// there are, and whether one is among them.
    fn search(
        &self,
        (first, count, within): (usize, usize, impl Fn(Run) -> bool),
        from: impl IntoIterator<Item = Run>,
        cost: impl Fn(Run) -> f64,
        will_do: impl Fn(Run) -> bool,
    ) -> Option<Route> {
        let mut best = vec![f64::INFINITY; count];
        let mut before: Vec<Option<Run>> = vec![None; count];
        let mut done = vec![false; count];
        let mut heap = BinaryHeap::new();
        for run in from {
            if within(run) {
                let at = run.index() - first;
                let new = cost(run);
                if new < best[at] {
                    best[at] = new;
                    heap.push(Reverse((Key(new), run)));
                }
            }
        }
        while let Some(Reverse((Key(so_far), run))) = heap.pop() {
            let at = run.index() - first;
            if std::mem::replace(&mut done[at], true) {
                continue;
            }
            if will_do(run) {
                let mut runs = vec![run];
                let mut back = before[at];
                while let Some(run) = back {
                    runs.push(run);
                    back = before[run.index() - first];
                }
                runs.reverse();
                return Some(self.route_of(runs));
            }
            for next in self.next(run) {
                if !within(next) {
                    continue;
                }
                let to = next.index() - first;
                let new = so_far + cost(next);
                if !done[to] && new < best[to] {
                    best[to] = new;
                    before[to] = Some(run);
                    heap.push(Reverse((Key(new), next)));
                }
            }
        }
        None
    }

    fn runs_from(&self, station: StationId, node: NodeId) -> Vec<Run> {
        self.departures(node)
            .filter(|run| self.within(station, *run))
            .collect()
    }

    /// The shortest route through a station from one of its nodes to another.
    pub fn shortest(&self, station: StationId, from: NodeId, to: NodeId) -> Option<Route> {
        let cost = |run: Run| self.edge(run.edge).length.meters();
        self.cheapest(station, self.runs_from(station, from), cost, |run| {
            self.head(run).0 == to
        })
    }

    /// The route through a station that keeps to its main tracks as far as it can.
    pub fn by_main(
        &self,
        way: &Way,
        station: StationId,
        from: NodeId,
        to: NodeId,
    ) -> Option<Route> {
        let cost = |run: Run| self.main_cost(way, run);
        self.cheapest(station, self.runs_from(station, from), cost, |run| {
            self.head(run).0 == to
        })
    }

    pub(super) fn main_cost(&self, way: &Way, run: Run) -> f64 {
        let edge = self.edge(run.edge);
        let main = edge
            .track()
            .is_some_and(|track| way.track(track).usage == TrackUse::Main);
        // Any detour by the main is better than leaving it; a little for each piece, so that pieces
        // without a length count too.
        edge.length.meters() * if main { 1.0 } else { 1000.0 } + 1e-6
    }

    /// The shortest route within a station from a node onto a track: its last run is the first piece
    /// of that track to be entered.
    pub fn onto(&self, from: NodeId, track: TrackRef) -> Option<Route> {
        let cost = |run: Run| self.edge(run.edge).length.meters();
        let starts = self.runs_from(track.station, from);
        self.cheapest(track.station, starts, cost, |run| {
            self.edge(run.edge).track() == Some(track)
        })
    }

    /// The shortest route through a station from one node to another that runs over a given track;
    /// nothing if there is none without a reversal.
    pub fn via(&self, from: NodeId, track: TrackRef, to: NodeId) -> Option<Route> {
        let station = track.station;
        let cost = |run: Run| self.edge(run.edge).length.meters();
        let mut best: Option<Route> = None;
        for &edge in self.track_edges(track) {
            for forward in [true, false] {
                let middle = Run { edge, forward };
                let starts = self.runs_from(station, from);
                let Some(first) = self.cheapest(station, starts, cost, |run| run == middle) else {
                    continue;
                };
                let Some(second) =
                    self.cheapest(station, [middle], cost, |run| self.head(run).0 == to)
                else {
                    continue;
                };
                let mut runs = first.runs;
                runs.extend(&second.runs[1..]);
                // Two halves may share a piece only if the way is not a plain route.
                if !self.is_route(&runs) {
                    continue;
                }
                let route = self.route_of(runs);
                if best.as_ref().is_none_or(|best| route.length < best.length) {
                    best = Some(route);
                }
            }
        }
        best
    }

    /// All routes through a station from one node to another, at most `limit` of them, in the order
    /// in which a search meets them: straight on before by the other leg. Only runs that lead on to
    /// the goal are followed, so the work is in proportion to what is found.
    pub fn routes(&self, station: StationId, from: NodeId, to: NodeId, limit: usize) -> Vec<Route> {
        let first = self.edge_start[station.index()] as usize * 2;
        let count = self.station_edges(station).count() * 2;
        // What leads to the goal: what can be reached from it backwards.
        let back = self.reach(station, self.runs_from(station, to));
        let mut leads = vec![false; count];
        for run in back {
            leads[run.reversed().index() - first] = true;
        }
        let mut on_path = vec![false; count];
        let mut found = Vec::new();
        let mut path: Vec<Run> = Vec::new();
        // Each level holds the runs still to be tried there.
        let mut levels: Vec<Vec<Run>> =
            vec![self.runs_from(station, from).into_iter().rev().collect()];
        // Runs that lead on may still lead into each other; this bounds the search in a tangle.
        let mut steps = limit.saturating_mul(count.max(1)).saturating_mul(4);
        while let Some(level) = levels.last_mut() {
            let Some(run) = level.pop() else {
                levels.pop();
                if let Some(run) = path.pop() {
                    on_path[run.index() - first] = false;
                }
                continue;
            };
            let at = run.index() - first;
            if !leads[at] || on_path[at] || on_path[run.reversed().index() - first] {
                continue;
            }
            if steps == 0 || found.len() >= limit {
                break;
            }
            steps -= 1;
            path.push(run);
            on_path[at] = true;
            if self.head(run).0 == to {
                found.push(self.route_of(path.clone()));
                path.pop();
                on_path[at] = false;
                continue;
            }
            let mut next: Vec<Run> = self
                .next(run)
                .filter(|next| self.within(station, *next))
                .collect();
            next.reverse();
            levels.push(next);
        }
        found
    }

    /// The tracks of a station over which a train can run through from one node to another.
    pub fn tracks_between(&self, station: StationId, from: NodeId, to: NodeId) -> Vec<TrackId> {
        let ahead = self.reach(station, self.runs_from(station, from));
        let back = self.reach(station, self.runs_from(station, to));
        let mut leads: Vec<Run> = back.into_iter().map(Run::reversed).collect();
        leads.sort_unstable();
        let mut tracks: Vec<TrackId> = ahead
            .into_iter()
            .filter(|run| leads.binary_search(run).is_ok())
            .filter_map(|run| self.edge(run.edge).track())
            .map(|track| track.track)
            .collect();
        tracks.sort_unstable();
        tracks.dedup();
        tracks
    }

    /// Which stations, and which of their nodes, hang together with a station by any track at all,
    /// reversals and turntables allowed.
    pub fn joined_with(&self, node: NodeId) -> Vec<bool> {
        let mut seen = vec![false; self.nodes.len()];
        let mut stack = vec![node];
        seen[node.0 as usize] = true;
        while let Some(node) = stack.pop() {
            for &(edge, _) in self.node(node).ports.iter().flatten() {
                for (next, _) in self.edge(edge).ends {
                    if !std::mem::replace(&mut seen[next.0 as usize], true) {
                        stack.push(next);
                    }
                }
            }
        }
        seen
    }

    /// Where along its track a run begins and ends, in its own direction.
    pub fn reach_of(&self, run: Run) -> Option<[Actual; 2]> {
        match self.edge(run.edge).kind {
            EdgeKind::Track {
                reach: [from, to], ..
            } => Some(if run.forward { [from, to] } else { [to, from] }),
            EdgeKind::Open { .. } => None,
        }
    }
}

/// A cost that can be ordered.
#[derive(PartialEq)]
struct Key(f64);

impl Eq for Key {}

impl PartialOrd for Key {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Key {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}
