//! The railhead along a line: height, grades, curves and speeds as functions of the distance run.
//!
//! A [`Profile`] goes up the line from its low-mile end, through the main of each station and the open
//! line between them. Distances are those on the model; scheduled miles are beside them, since a line
//! may skip country that is not modelled.

mod elevation;
mod grades;
#[cfg(test)]
mod tests;

use model::units::{Actual, Speed};

pub(crate) use elevation::written;
pub use elevation::{Level, node_levels};
pub use grades::{Going, GradePiece, RulingGrade, compensation_of};

use crate::{
    Network, Way,
    ids::{LineId, OpenRef, StationId},
    line::{SlowOrder, StructureKind, Turn},
    network::{NodeId, Place, Run},
};

/// A line from end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Which line.
    pub line: LineId,
    /// Its stations and districts of open line, in order, without overlap.
    pub sections: Vec<Section>,
    /// Known heights of the railhead, by distance; between them the grade is even.
    pub points: Vec<Point>,
    /// Curves, by distance.
    pub curves: Vec<ProfileCurve>,
    /// Speed allowed, piece by piece, without overlap.
    pub speeds: Vec<SpeedPiece>,
    /// Bridges, tunnels and the like.
    pub structures: Vec<ProfileStructure>,
    /// Switches and ends of the mains, by distance.
    pub places: Vec<(Actual, NodeId)>,
    /// From end to end.
    pub length: Actual,
}

/// A station's main, or a district of open line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Which.
    pub what: SectionOf,
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// Scheduled miles where it begins and ends, where known. A station lies at one mile: open line
    /// takes all the miles between.
    pub miles: Option<[f64; 2]>,
}

/// What a section is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SectionOf {
    /// The main of a station.
    Station(StationId),
    /// A district of open line.
    Open(OpenRef),
}

/// A known height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Distance from the low-mile end.
    pub at: Actual,
    /// Railhead above the floor.
    pub elevation: Actual,
}

/// A curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfileCurve {
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// Radius of the center line.
    pub radius: Actual,
    /// To which hand, going up the line.
    pub turn: Option<Turn>,
}

/// A stretch with one speed allowed.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedPiece {
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// Allowed to freight trains, where anything is said.
    pub freight: Option<Speed>,
    /// Allowed to passenger trains.
    pub passenger: Option<Speed>,
    /// Reason of a slow order.
    pub why: Option<String>,
}

/// A bridge, tunnel or the like.
#[derive(Debug, Clone, PartialEq)]
pub struct ProfileStructure {
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// What it is.
    pub kind: StructureKind,
    /// Its name.
    pub name: Option<String>,
}

impl Profile {
    /// The profile of a line.
    pub fn new(way: &Way, network: &Network, line: LineId) -> Self {
        Drawing::new(way, network, line).draw()
    }

    /// Height at a distance; nothing before the first known height or after the last.
    pub fn elevation(&self, at: Actual) -> Option<Actual> {
        let next = self.points.partition_point(|point| point.at < at);
        let high = self.points.get(next)?;
        if high.at == at {
            return Some(high.elevation);
        }
        let low = self.points.get(next.checked_sub(1)?)?;
        let part = (at - low.at) / (high.at - low.at);
        Some(low.elevation + (high.elevation - low.elevation) * part)
    }

    /// Scheduled mile at a distance.
    pub fn mile(&self, at: Actual) -> Option<f64> {
        let next = self
            .sections
            .partition_point(|section| section.reach[1] < at);
        let section = self.sections.get(next)?;
        let [from, to] = section.miles?;
        let run = section.reach[1] - section.reach[0];
        let part = if run > Actual::ZERO {
            ((at - section.reach[0]) / run).clamp(0.0, 1.0)
        } else {
            0.0
        };
        Some(from + (to - from) * part)
    }

    /// The section of a station.
    pub fn station(&self, station: StationId) -> Option<&Section> {
        self.sections
            .iter()
            .find(|section| section.what == SectionOf::Station(station))
    }

    /// The section of a district of open line.
    pub fn open(&self, open: OpenRef) -> Option<&Section> {
        self.sections
            .iter()
            .find(|section| section.what == SectionOf::Open(open))
    }
}

/// A profile being drawn.
struct Drawing<'a> {
    way: &'a Way,
    network: &'a Network,
    at: Actual,
    profile: Profile,
}

impl<'a> Drawing<'a> {
    fn new(way: &'a Way, network: &'a Network, line: LineId) -> Self {
        let profile = Profile {
            line,
            sections: Vec::new(),
            points: Vec::new(),
            curves: Vec::new(),
            speeds: Vec::new(),
            structures: Vec::new(),
            places: Vec::new(),
            length: Actual::ZERO,
        };
        Self {
            way,
            network,
            at: Actual::ZERO,
            profile,
        }
    }

    fn draw(mut self) -> Profile {
        let line = self.profile.line;
        let way = self.way;
        let stations = way.line_stations(line);
        for (at, &station) in stations.iter().enumerate() {
            self.station(station);
            let Some(&next) = stations.get(at + 1) else {
                break;
            };
            // Where a line is broken it goes on as if nothing lay between: a rule reports the break.
            if let Some(open) = way.open_between(line, station, next) {
                self.open(open, station, next);
            }
        }
        self.profile.length = self.at;
        self.profile
    }

    fn point(&mut self, at: Actual, elevation: Actual) {
        // Of two heights at one place the first counts: a rule reports the difference.
        match self.profile.points.last() {
            Some(last) if at <= last.at => {}
            _ => self.profile.points.push(Point { at, elevation }),
        }
    }

    fn speed(&mut self, reach: [Actual; 2], here: Option<Speed>, why: Option<String>) {
        if reach[1] <= reach[0] {
            return;
        }
        let line = self.way.line(self.profile.line);
        let lower = |a: Option<Speed>, b: Option<Speed>| match (a, b) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (one, None) | (None, one) => one,
        };
        self.profile.speeds.push(SpeedPiece {
            reach,
            freight: lower(line.speed, here),
            passenger: lower(line.passenger_speed.or(line.speed), here),
            why,
        });
    }

    fn curve(&mut self, reach: [Actual; 2], radius: Actual, turn: Option<Turn>) {
        if reach[1] > reach[0] && radius > Actual::ZERO {
            self.profile.curves.push(ProfileCurve {
                reach,
                radius,
                turn,
            });
        }
    }

    fn station(&mut self, id: StationId) {
        let begin = self.at;
        if let Some(route) = self.network.main_route(self.way, id, self.profile.line) {
            let levels = node_levels(self.way, self.network, id);
            let first = self
                .network
                .station_nodes(id)
                .next()
                .map_or(0, |node| node.0);
            let level =
                |node: NodeId| levels[(node.0 - first) as usize].map(|level| level.elevation);
            for (step, run) in route.runs.iter().enumerate() {
                if step == 0 {
                    self.place(self.network.tail(*run).0, &level);
                }
                self.run(*run);
                self.place(self.network.head(*run).0, &level);
            }
        } else if let Some(elevation) = self.way.station(id).elevation {
            self.point(begin, elevation.value);
        }
        let mile = self.way.station(id).mile(self.profile.line);
        self.profile.sections.push(Section {
            what: SectionOf::Station(id),
            reach: [begin, self.at],
            miles: mile.map(|mile| [mile, mile]),
        });
    }

    fn place(&mut self, node: NodeId, level: &impl Fn(NodeId) -> Option<Actual>) {
        if let Some(elevation) = level(node) {
            self.point(self.at, elevation);
        }
        if matches!(
            self.network.node(node).place,
            Place::End(_) | Place::Switch(_) | Place::Crossing(_)
        ) {
            self.profile.places.push((self.at, node));
        }
    }

    /// A piece of a station's track: its curves and its speed.
    fn run(&mut self, run: Run) {
        let begin = self.at;
        let edge = self.network.edge(run.edge);
        self.at += edge.length;
        let (Some(id), Some([from, to])) = (edge.track(), self.network.reach_of(run)) else {
            return;
        };
        let track = self.way.track(id);
        let along = |at: Actual| begin + if run.forward { at - from } else { from - at };
        if track.curves.is_empty() {
            if let Some(radius) = track.radius {
                self.curve([begin, self.at], radius.value, None);
            }
        } else {
            let (low, high) = (from.min(to), from.max(to));
            for curve in &track.curves {
                let (Some(reach), Some(radius)) = (&curve.reach, curve.radius) else {
                    continue;
                };
                let (a, b) = (reach[0].value.max(low), reach[1].value.min(high));
                let ends = if run.forward {
                    [along(a), along(b)]
                } else {
                    [along(b), along(a)]
                };
                let turn = match (curve.turn, run.forward) {
                    (Some(Turn::Left), false) => Some(Turn::Right),
                    (Some(Turn::Right), false) => Some(Turn::Left),
                    (turn, _) => turn,
                };
                if b > a {
                    self.curve(ends, radius.value, turn);
                }
            }
        }
        self.speed([begin, self.at], track.speed, None);
    }

    fn open(&mut self, id: OpenRef, from: StationId, to: StationId) {
        let begin = self.at;
        let open = self.way.open(id);
        self.at += open.run();
        if let Some(elevation) = &open.elevation {
            self.point(begin, elevation[0].value);
        }
        for [at, elevation] in &open.profile {
            self.point(begin + at.value.min(open.run()), elevation.value);
        }
        if let Some(elevation) = &open.elevation {
            self.point(self.at, elevation[1].value);
        }
        for curve in &open.curves {
            if let (Some(reach), Some(radius)) = (&curve.reach, curve.radius) {
                let [a, b] = [0, 1].map(|i: usize| begin + reach[i].value.min(open.run()));
                self.curve([a, b], radius.value, curve.turn);
            }
        }
        for one in &open.structures {
            let Some(at) = one.at else { continue };
            let reach = [begin + at.value, begin + at.value + one.length];
            let (kind, name) = (one.kind, one.name.clone());
            self.profile
                .structures
                .push(ProfileStructure { reach, kind, name });
        }
        self.slow(begin, open.speed, &open.slow);
        let line = self.profile.line;
        let miles = |station: StationId| self.way.station(station).mile(line);
        self.profile.sections.push(Section {
            what: SectionOf::Open(id),
            reach: [begin, self.at],
            miles: miles(from).zip(miles(to)).map(|(a, b)| [a, b]),
        });
    }

    /// Speeds of a district: where slow orders lie, the lowest of them.
    fn slow(&mut self, begin: Actual, speed: Option<Speed>, orders: &[SlowOrder]) {
        let end = self.at;
        let mut breaks = vec![begin, end];
        for order in orders {
            if let Some(reach) = &order.reach {
                breaks.extend(
                    reach
                        .iter()
                        .map(|at| (begin + at.value).min(end).max(begin)),
                );
            }
        }
        breaks.sort_by(Actual::total_cmp);
        breaks.dedup();
        for pair in breaks.windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            let slowest = orders
                .iter()
                .filter(|order| {
                    order.reach.as_ref().is_some_and(|reach| {
                        begin + reach[0].value <= middle && middle <= begin + reach[1].value
                    })
                })
                .filter_map(|order| order.speed.map(|speed| (speed, order.why.clone())))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let (here, why) = match slowest {
                Some((slow, why)) => (Some(speed.map_or(slow, |speed| speed.min(slow))), why),
                None => (speed, None),
            };
            self.speed([pair[0], pair[1]], here, why);
        }
    }
}
