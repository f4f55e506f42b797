//! Routes made into rails: frogs where gauge lines cross, flangeways through them, wing and guard rails.
//!
//! Every gauge line is a parallel of its route. Where it lies within the flangeway of another route
//! there can be no rail: that is the gap at a frog. A rail that ends at such a gap goes on as a wing
//! rail beside the other gauge line. Guard rails lie over against frogs, check rails inside the
//! obtuse corners of crossings. Each is cut back where it would stand in somebody's flangeway.

use super::{
    Build, Line, Route, ties,
    ties::{Tie, TieTable},
};
use crate::curve::{Path, Point, Vec2, wrapped};

/// One side of a track, looking the way its route runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// 1 for left, −1 for right.
    pub fn sign(self) -> f64 {
        match self {
            Self::Left => 1.0,
            Self::Right => -1.0,
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

/// Where one route leaves or joins another.
#[derive(Debug, Clone, PartialEq)]
pub struct Junction {
    /// The route that goes on.
    pub through: usize,
    /// The route that leaves it or comes in.
    pub diverging: usize,
    /// On which side of the through route it lies, looking the way both run.
    pub side: Side,
    /// Whether it leaves (points faced) rather than comes in (points trailed).
    pub facing: bool,
    /// A point of the diverging center line abreast of the points.
    pub point: Point,
    /// A point of it abreast of their heel.
    pub heel: Point,
}

/// What a rail is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Against which a point closes.
    Stock,
    /// A point, or switch rail.
    Point,
    /// From the heel of the points to the frog, with its wing.
    Closure,
    /// One of the two rails of a frog's point.
    Frog,
    /// The bent rail outside an obtuse corner of a crossing.
    Obtuse,
    /// A point of an obtuse corner.
    ObtusePoint,
    /// The rail inside an obtuse corner.
    Check,
    /// A guard rail.
    Guard,
    /// Any other.
    Running,
}

impl Role {
    /// What a track layer calls it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Stock => "stock rail",
            Self::Point => "point",
            Self::Closure => "closure rail",
            Self::Frog => "frog point rail",
            Self::Obtuse => "obtuse rail",
            Self::ObtusePoint => "obtuse point",
            Self::Check => "check rail",
            Self::Guard => "guard rail",
            Self::Running => "rail",
        }
    }
}

/// A rail.
#[derive(Debug, Clone, PartialEq)]
pub struct Rail {
    /// What it is.
    pub role: Role,
    /// Its name.
    pub name: String,
    /// Its working face: the gauge line, or the face that guides flanges.
    pub line: Line,
    /// On which side of the line its head lies: 1 left, −1 right.
    pub metal: f64,
    /// Where along the line the head has its full width.
    pub full: [f64; 2],
    /// The frog it belongs to.
    pub frog: Option<usize>,
    /// Of a wing or check rail: where its line leaves the gauge line, so that beyond it is bent.
    pub knee: Option<f64>,
    /// Of a point: whether its tip is at the beginning of the line.
    pub tip_first: bool,
}

impl Rail {
    /// Planes the head away over a length from the beginning of the line, or from its end.
    fn plane(&mut self, length: f64, first: bool) {
        let reach = self.line.reach();
        self.full = if first {
            [length, reach]
        } else {
            [0.0, reach - length]
        };
    }
}

/// For the kinds of trackwork whose guard and wing rails have been found outside the standard in some sizes.
pub(super) const TRY_THE_GAUGE: &str = "Guard and wing rails of this kind have not been shown to keep the standard at every \
     frog: try flangeways, check gauge and span with a standards gauge before they are fixed.";

/// How the lines at a frog lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FrogKind {
    /// A point between two gauge lines, with wing rails.
    Point,
    /// An obtuse corner of a crossing.
    Obtuse,
}

/// A frog.
#[derive(Debug, Clone, PartialEq)]
pub struct Frog {
    /// How its lines lie.
    pub kind: FrogKind,
    /// The theoretical point: where the gauge lines cross.
    pub point: Point,
    /// The angle between the lines, radians.
    pub angle: f64,
    /// Its number, half the cotangent of half the angle.
    pub number: f64,
    /// Which way its point widens; of an obtuse corner, into the crossing.
    pub heading: f64,
    /// The two gauge lines: route and side.
    pub lines: [(usize, Side); 2],
    /// From the theoretical point to the toe, metres.
    pub toe: f64,
    /// From the theoretical point to the heel, metres.
    pub heel: f64,
    /// From the theoretical point to the blunt end of the point, metres.
    pub blunt: f64,
}

model::words! {
    /// How a frog gets its current.
    pub enum Feed {
        Live = "live", "insulated all round and fed by a contact that follows the points";
        Isolated = "isolated", "insulated close around its point and fed by nothing";
    }
}

/// A gap cut in a rail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Where, on the gauge line.
    pub at: Point,
    /// Direction of the rail there, radians.
    pub heading: f64,
}

/// A whole plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What it is: `turnout No. 6, left hand`.
    pub title: String,
    /// What it is built by.
    pub build: Build,
    /// How its frogs are fed.
    pub feed: Feed,
    /// By which table its ties are laid.
    pub tie_table: TieTable,
    /// The line that the plan is drawn along.
    pub axis: Path,
    /// Ways through.
    pub routes: Vec<Route>,
    /// Where they part.
    pub junctions: Vec<Junction>,
    /// Frogs.
    pub frogs: Vec<Frog>,
    /// Rails.
    pub rails: Vec<Rail>,
    /// Ties.
    pub ties: Vec<Tie>,
    /// Gaps.
    pub gaps: Vec<Gap>,
    /// The dimension table.
    pub table: Vec<Fact>,
    /// Offsets of the curved closure rail from the straight stock rail.
    pub offsets: Vec<Offset>,
    /// What else a builder should know.
    pub notes: Vec<String>,
}

/// A line of the dimension table.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What is measured.
    pub what: String,
    /// How much.
    pub amount: Amount,
}

/// An amount of a dimension table.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// Metres on the model.
    Length(f64),
    /// Radians.
    Angle(f64),
    /// A number.
    Number(f64),
    /// Words.
    Text(String),
}

/// Where a curved rail lies from a straight one.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// What is there: `heel of points`, `quarter`.
    pub place: String,
    /// Along the stock rail from the points, metres.
    pub along: f64,
    /// Square to it, from gauge line to gauge line, metres.
    pub aside: f64,
}

/// One gauge line with what is known of it.
struct Track {
    route: usize,
    side: Side,
    line: Line,
    /// From where to where the rail is its own, in order.
    own: Vec<[f64; 2]>,
    /// Points: tip and heel.
    points: Vec<[f64; 2]>,
    stock: bool,
    cuts: Vec<Cut>,
}

impl Track {
    /// Whether the rail at a place is its own.
    fn owns(&self, u: f64, slack: f64) -> bool {
        self.own
            .iter()
            .any(|own| own[0] - slack < u && u < own[1] + slack)
    }

    /// Gives up a stretch to the rail of another route.
    fn lose(&mut self, from: f64, to: f64) {
        self.own = self
            .own
            .iter()
            .flat_map(|&[a, b]| [[a, b.min(from)], [a.max(to), b]])
            .filter(|[a, b]| b - a > 1e-9)
            .collect();
    }
}

struct Cut {
    from: (f64, End),
    to: (f64, End),
}

/// How a stretch of rail ends.
#[derive(Debug, Clone, Copy, PartialEq)]
enum End {
    Open,
    Tip,
    /// At the bend into a wing beside line `beside` of a frog.
    Knee(usize),
    /// At the blunt point of a frog.
    Point(usize),
    /// At the corner of an obtuse rail.
    Corner(usize),
    /// At a point of an obtuse corner.
    ObtusePoint(usize),
}

/// What is to be made into a plan.
pub(super) struct Draft<'a> {
    pub(super) title: String,
    pub(super) build: &'a Build,
    pub(super) feed: Feed,
    pub(super) tie_table: TieTable,
    pub(super) routes: Vec<Route>,
    pub(super) junctions: Vec<Junction>,
    /// A frog number, and toe and heel lengths of such a frog; a blunter one is shorter in proportion.
    pub(super) frog: (f64, [f64; 2]),
    /// What ties lie square to. Those of a later axis give way to those before.
    pub(super) axes: Vec<Axis>,
}

/// A line that ties lie square to.
pub(super) struct Axis {
    pub(super) line: Path,
    /// How far ties reach along it.
    pub(super) reach: [f64; 2],
    /// The routes they carry.
    pub(super) routes: Vec<usize>,
    /// Where points lie along it, and on which side the stand is.
    pub(super) head_blocks: Vec<(f64, f64)>,
}

impl Draft<'_> {
    fn gauge(&self) -> f64 {
        self.build.clearances.gauge
    }

    fn tracks(&self) -> Vec<Track> {
        let half = 0.5 * self.gauge();
        let mut tracks: Vec<Track> = Vec::new();
        for (route, way) in self.routes.iter().enumerate() {
            for side in [Side::Left, Side::Right] {
                let line = way.line(side.sign() * half);
                let reach = line.reach();
                tracks.push(Track {
                    route,
                    side,
                    line,
                    own: vec![[0.0, reach]],
                    points: Vec::new(),
                    stock: false,
                    cuts: Vec::new(),
                });
            }
        }
        for junction in &self.junctions {
            // The rail that the two have in common belongs to the diverging one as far as it runs.
            let center = self.routes[junction.diverging].center();
            let shared = if junction.facing {
                center.at(0.0)
            } else {
                center.at(center.reach())
            };
            for track in &mut tracks {
                let moves = (track.route, track.side) == (junction.through, junction.side)
                    || (track.route, track.side) == (junction.diverging, junction.side.other());
                let stock = (track.route, track.side) == (junction.through, junction.side.other())
                    || (track.route, track.side) == (junction.diverging, junction.side);
                track.stock |= stock;
                if !moves {
                    continue;
                }
                let tip = track.line.project(junction.point).0;
                let heel = track.line.project(junction.heel).0;
                let (end, _) = track.line.project(shared.point());
                if junction.facing {
                    track.lose(end, tip);
                } else {
                    track.lose(tip, end);
                }
                track.points.push([tip, heel]);
            }
        }
        tracks
    }

    /// Makes the plan.
    pub(super) fn finish(self) -> Plan {
        let mut tracks = self.tracks();
        let frogs = self.frogs(&tracks);
        self.cut(&mut tracks, &frogs);
        let mut rails = Vec::new();
        for track in &tracks {
            self.rails_of(track, &tracks, &frogs, &mut rails);
        }
        let notes = self.guards(&frogs, &tracks, &mut rails);
        for (at, frog) in frogs.iter().enumerate() {
            if frog.kind == FrogKind::Obtuse {
                self.check(at, frog, &tracks, &mut rails);
            }
        }
        let gaps = self.gaps(&tracks, &frogs);
        let size = self.tie_table.size(self.gauge(), self.build.ratio);
        let mut ties: Vec<Tie> = Vec::new();
        for axis in &self.axes {
            let routes: Vec<&Route> = axis
                .routes
                .iter()
                .map(|&route| &self.routes[route])
                .collect();
            let fine = 0.3 * self.gauge();
            let laid = ties::lay(
                &axis.line,
                axis.reach,
                &routes,
                size,
                &axis.head_blocks,
                fine,
            );
            let free: Vec<Tie> = laid
                .into_iter()
                .filter(|tie| !ties.iter().any(|other| other.touches(tie)))
                .collect();
            ties.extend(free);
        }
        Plan {
            title: self.title,
            build: *self.build,
            feed: self.feed,
            tie_table: self.tie_table,
            axis: self
                .axes
                .into_iter()
                .next()
                .map(|axis| axis.line)
                .unwrap_or_default(),
            routes: self.routes,
            junctions: self.junctions,
            frogs,
            rails,
            ties,
            gaps,
            table: Vec::new(),
            offsets: Vec::new(),
            notes,
        }
    }

    fn joined(&self, a: usize, b: usize) -> bool {
        self.junctions.iter().any(|junction| {
            (junction.through, junction.diverging) == (a, b)
                || (junction.through, junction.diverging) == (b, a)
        })
    }

    fn frogs(&self, tracks: &[Track]) -> Vec<Frog> {
        let step = 0.25 * self.gauge();
        let mut frogs: Vec<Frog> = Vec::new();
        for (index, a) in tracks.iter().enumerate() {
            for b in &tracks[index + 1..] {
                if a.route == b.route || a.side == b.side && self.joined(a.route, b.route) {
                    continue;
                }
                for at in a.line.crossings(&b.line, 0.0, 0.0, a.line.reach(), step) {
                    let here = a.line.at(at);
                    let (u, off) = b.line.project(here.point());
                    if off.abs() > 1e-7 || !a.owns(at, 1e-6) || !b.owns(u, 1e-6) {
                        continue;
                    }
                    if let Some(frog) = self.frog(a, b, at, u) {
                        frogs.push(frog);
                    }
                }
            }
        }
        if let Some(axis) = self.axes.first() {
            let along = |frog: &Frog| axis.line.nearest(frog.point).map_or(0.0, |(s, _)| s);
            frogs.sort_by(|x, y| along(x).total_cmp(&along(y)));
        }
        frogs
    }

    fn frog(&self, a: &Track, b: &Track, at: f64, u: f64) -> Option<Frog> {
        let (here, there) = (a.line.at(at), b.line.at(u));
        let angle = wrapped(there.heading - here.heading).abs();
        // Lines that only touch make no frog.
        if angle < 1e-3 {
            return None;
        }
        let number = 0.5 / (0.5 * angle).tan();
        let (own, lengths) = self.frog;
        let lengths = lengths.map(|length| length * (number / own).min(1.0));
        let sum = here.ahead() + there.ahead();
        let bisector = sum / sum.hypot();
        let (kind, nose) = if a.side == b.side {
            // The inside of the crossing lies on the gauge side of both.
            let inside = (here.left() + there.left()) * -a.side.sign();
            (FrogKind::Obtuse, inside / inside.hypot())
        } else {
            // The point lies on the other side of each line from its track: of a left rail, to its left.
            let outside = bisector.dot(here.left()) * a.side.sign();
            (
                FrogKind::Point,
                if outside > 0.0 { bisector } else { -bisector },
            )
        };
        let blunt = self.blunt_width() / (2.0 * (0.5 * angle).tan());
        Some(Frog {
            kind,
            point: here.point(),
            angle,
            number,
            heading: nose.atan2(),
            lines: [(a.route, a.side), (b.route, b.side)],
            toe: lengths[0],
            heel: lengths[1],
            blunt,
        })
    }

    /// Width of the blunt end of a frog point: half a full-size inch, but no thinner than a file makes.
    fn blunt_width(&self) -> f64 {
        (0.0127 / self.build.ratio).max(2e-4)
    }

    fn cut(&self, tracks: &mut [Track], frogs: &[Frog]) {
        let flangeway = self.build.clearances.flangeway;
        for (index, frog) in frogs.iter().enumerate() {
            let reach = 4.0 * flangeway / frog.angle.sin().max(0.05);
            let found: Vec<(usize, Cut)> = [0, 1]
                .into_iter()
                .map(|which| {
                    let mine = find(tracks, frog.lines[which]);
                    let other = &tracks[find(tracks, frog.lines[1 - which])];
                    let track = &tracks[mine];
                    let at = track.line.project(frog.point).0;
                    let nose = Vec2::from_angle(frog.heading);
                    let deep = |u: f64| depth(other, track.line.at(u).point()) - flangeway;
                    // The way along the line on which it lies within the other's flangeway.
                    let ahead = depth(other, track.line.at(at + 0.1 * flangeway).point()) > 0.0;
                    let way = if ahead { 1.0 } else { -1.0 };
                    let knee = at + way * bisect(|x| deep(at + way * x), reach);
                    let cut = match frog.kind {
                        FrogKind::Point => {
                            let along = track.line.at(at).ahead().dot(nose).signum();
                            ends(
                                (knee, End::Knee(index)),
                                (at + along * frog.blunt, End::Point(index)),
                            )
                        }
                        FrogKind::Obtuse => {
                            ends((knee, End::ObtusePoint(index)), (at, End::Corner(index)))
                        }
                    };
                    (mine, cut)
                })
                .collect();
            for (track, cut) in found {
                tracks[track].cuts.push(cut);
            }
        }
        for track in tracks {
            track.cuts.sort_by(|a, b| a.from.0.total_cmp(&b.from.0));
        }
    }

    fn rails_of(&self, track: &Track, tracks: &[Track], frogs: &[Frog], rails: &mut Vec<Rail>) {
        let tip_at = |u: f64| {
            track
                .points
                .iter()
                .any(|points| (points[0] - u).abs() < 1e-9)
        };
        let outer = |u: f64| if tip_at(u) { End::Tip } else { End::Open };
        for own in &track.own {
            let mut begin = (own[0], outer(own[0]));
            let mine = |cut: &&Cut| cut.to.0 > own[0] && cut.from.0 < own[1];
            for cut in track.cuts.iter().filter(mine) {
                if cut.from.0 > begin.0 + 1e-6 {
                    self.stretch(track, begin, cut.from, tracks, frogs, rails);
                }
                begin = cut.to;
            }
            if own[1] > begin.0 + 1e-6 {
                self.stretch(track, begin, (own[1], outer(own[1])), tracks, frogs, rails);
            }
        }
    }

    /// Rails of a stretch of gauge line between two ends.
    fn stretch(
        &self,
        track: &Track,
        mut from: (f64, End),
        mut to: (f64, End),
        tracks: &[Track],
        frogs: &[Frog],
        rails: &mut Vec<Rail>,
    ) {
        let metal = track.side.sign();
        let way = &self.routes[track.route].name;
        let head = self.build.rail.head;
        let plain = |role: Role, range: [f64; 2]| {
            let line = track.line.cut(range[0], range[1]);
            let reach = line.reach();
            Rail {
                role,
                name: format!("{way} {}", role.word()),
                line,
                metal,
                full: [0.0, reach],
                frog: None,
                knee: None,
                tip_first: false,
            }
        };
        let mut closure = false;
        // Points at either end.
        for first in [true, false] {
            let (u, end) = if first { from } else { to };
            if end != End::Tip {
                continue;
            }
            let Some(points) = track
                .points
                .iter()
                .find(|points| (points[0] - u).abs() < 1e-9)
            else {
                continue;
            };
            let heel = points[1];
            let range = if first { [u, heel] } else { [heel, u] };
            let mut rail = plain(Role::Point, range);
            rail.tip_first = first;
            // The head is planed to where the point stands off its stock rail by a head's width.
            let stock = self.stock_of(track, u, tracks);
            let apart = |u: f64| {
                stock.map_or(head, |stock| {
                    stock.line.project(track.line.at(u).point()).1.abs()
                })
            };
            let way = (heel - u).signum();
            let planed = bisect(|x| apart(u + way * x) - head, (heel - u).abs());
            rail.plane(planed, first);
            rails.push(rail);
            if first {
                from = (heel, End::Open);
            } else {
                to = (heel, End::Open);
            }
            closure = true;
        }
        // The rails of frog points, as far as the heel of the frog.
        for first in [true, false] {
            let (u, end) = if first { from } else { to };
            let (frog, role) = match end {
                End::Point(frog) => (frog, Role::Frog),
                End::ObtusePoint(frog) => (frog, Role::ObtusePoint),
                _ => continue,
            };
            let room = to.0 - from.0;
            let length = (frogs[frog].heel - frogs[frog].blunt).clamp(0.0, room);
            // What would be left over is a crumb: it belongs to the frog.
            let length = if room - length < 0.3 * self.gauge() {
                room
            } else {
                length
            };
            let other_end = if first { to.1 } else { from.1 };
            if length >= room && matches!(other_end, End::Knee(_) | End::Corner(_)) {
                // The whole stretch is one rail: named by its other end.
                continue;
            }
            let range = if first {
                [u, u + length]
            } else {
                [u - length, u]
            };
            let mut rail = plain(role, range);
            rail.frog = Some(frog);
            rail.tip_first = first;
            let planed = (head / (0.5 * frogs[frog].angle).tan() - frogs[frog].blunt)
                .clamp(0.0, rail.line.reach());
            rail.plane(planed, first);
            rails.push(rail);
            if first {
                from = (u + length, End::Open);
            } else {
                to = (u - length, End::Open);
            }
        }
        if to.0 - from.0 < 1e-6 {
            return;
        }
        let knees = [from.1, to.1].map(|end| match end {
            End::Knee(frog) => Some(frog),
            _ => None,
        });
        closure |= knees.iter().any(Option::is_some);
        let corner = [from.1, to.1].iter().find_map(|end| match end {
            End::Corner(frog) => Some(*frog),
            _ => None,
        });
        let role = if corner.is_some() {
            Role::Obtuse
        } else if closure {
            Role::Closure
        } else if track.stock {
            Role::Stock
        } else {
            Role::Running
        };
        let mut rail = plain(role, [from.0, to.0]);
        // A point that was not parted off is planed all the same.
        for (first, end) in [(true, from.1), (false, to.1)] {
            if let End::Point(frog) | End::ObtusePoint(frog) = end {
                let planed = head / (0.5 * frogs[frog].angle).tan() - frogs[frog].blunt;
                rail.full[usize::from(!first)] += if first { planed } else { -planed };
            }
        }
        rail.frog = knees[1].or(knees[0]).or(corner);
        if let Some(frog) = knees[1] {
            rail.knee = Some(rail.line.reach());
            let wing = self.wing(frog, (track.route, track.side), tracks, &frogs[frog]);
            rail.line.append(&wing);
            rail.full[1] += wing.reach();
        }
        if let Some(frog) = knees[0] {
            let wing = self
                .wing(frog, (track.route, track.side), tracks, &frogs[frog])
                .reversed();
            let before = wing.reach();
            rail.knee = rail.knee.map(|knee| knee + before).or(Some(before));
            let mut line = wing;
            line.append(&rail.line);
            rail.line = line;
            rail.full[1] += before;
        }
        rails.push(rail);
    }

    /// The rail that the point with its tip at a place of its track closes against.
    fn stock_of<'a>(&self, track: &Track, tip: f64, tracks: &'a [Track]) -> Option<&'a Track> {
        let here = track.line.at(tip).point();
        let apart = |junction: &Junction| (junction.point - here).hypot();
        let mine = |junction: &&Junction| {
            (track.route, track.side) == (junction.through, junction.side)
                || (track.route, track.side) == (junction.diverging, junction.side.other())
        };
        // A slip has such a point at either end.
        let junction = self
            .junctions
            .iter()
            .filter(mine)
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        // Each point closes against the other route's rail of its own side.
        let other = if track.route == junction.through {
            junction.diverging
        } else {
            junction.through
        };
        Some(&tracks[find(tracks, (other, track.side))])
    }

    /// The wing that goes on from where `mine` bends, beside the other line of a frog, from the bend
    /// outward.
    fn wing(&self, index: usize, mine: (usize, Side), tracks: &[Track], frog: &Frog) -> Line {
        let which = usize::from(frog.lines[0] != mine);
        let (own, other) = (
            &tracks[find(tracks, mine)],
            &tracks[find(tracks, frog.lines[1 - which])],
        );
        let flangeway = self.build.clearances.flangeway;
        let knee = own
            .cuts
            .iter()
            .flat_map(|cut| [cut.from, cut.to])
            .find(|(_, end)| *end == End::Knee(index))
            .map_or(0.0, |(u, _)| u);
        let bend = own.line.at(knee).point();
        let gauge_side = -other.side.sign();
        let face = other.line.moved(gauge_side * flangeway);
        let (from, _) = face.project(bend);
        let (at, _) = face.project(frog.point);
        let nose = Vec2::from_angle(frog.heading);
        let way = face.at(at).ahead().dot(nose).signum();
        let flare = flangeway / FLARE;
        let wanted = (0.6 * frog.heel).max(1.5 * flangeway);
        let metal = gauge_side;
        let skip = [mine, frog.lines[1 - which]];
        let clear = self.clear_run(
            &face,
            from,
            way,
            wanted + (at - from) * way + flare,
            metal,
            &skip,
            tracks,
        );
        let to = from + way * (clear - flare).max(0.0);
        let run = if way > 0.0 {
            face.cut(from, to)
        } else {
            face.cut(to, from).reversed()
        };
        // Beyond, it turns away from the frog.
        self.flared(run, metal * way, flare.min(clear), &skip, tracks)
    }

    /// How far a face may run from a place, one way, before it or its back would stand in a flangeway
    /// or on another rail.
    #[allow(
        clippy::too_many_arguments,
        reason = "one question, asked in three places"
    )]
    fn clear_run(
        &self,
        face: &Line,
        from: f64,
        way: f64,
        wanted: f64,
        metal: f64,
        skip: &[(usize, Side)],
        tracks: &[Track],
    ) -> f64 {
        let step = 0.1 * self.build.clearances.flangeway;
        let wanted = wanted.min(if way > 0.0 { face.reach() - from } else { from });
        let others: Vec<&Track> = tracks
            .iter()
            .filter(|track| !skip.contains(&(track.route, track.side)))
            .collect();
        let mut run = 0.0;
        while run < wanted {
            if self.hits(&others, face.at(from + way * run), metal) {
                return (run - step).max(0.0);
            }
            run += step;
        }
        wanted.max(0.0)
    }

    /// Whether the head of a rail with its face at a place would stand in a flangeway or on another rail.
    fn hits(&self, others: &[&Track], place: crate::curve::Place, metal: f64) -> bool {
        let (head, flangeway) = (self.build.rail.head, self.build.clearances.flangeway);
        others.iter().any(|track| {
            [0.0, metal * head].into_iter().any(|aside| {
                let point = place.point() + place.left() * aside;
                let (u, _) = track.line.project(point);
                let deep = depth(track, point);
                track.owns(u, 0.0) && deep > -1.02 * head && deep < 0.98 * flangeway
            })
        })
    }

    /// A line with a flare at its end, as long as nothing stands in its way.
    fn flared(
        &self,
        line: Line,
        metal: f64,
        length: f64,
        skip: &[(usize, Side)],
        tracks: &[Track],
    ) -> Line {
        let others: Vec<&Track> = tracks
            .iter()
            .filter(|track| !skip.contains(&(track.route, track.side)))
            .collect();
        for share in [1.0, 0.75, 0.5, 0.25] {
            let longer = flared(line.clone(), metal, share * length);
            if longer.parts().is_empty() {
                break;
            }
            if !self.hits(&others, longer.at(longer.reach() - 1e-9), metal) {
                return longer;
            }
        }
        line
    }

    /// Guard rails over against frogs. Two that would overlap are one; where there is no room for one,
    /// that is said.
    fn guards(&self, frogs: &[Frog], tracks: &[Track], rails: &mut Vec<Rail>) -> Vec<String> {
        let clearances = &self.build.clearances;
        let half = 0.5 * self.gauge();
        let flare = clearances.guard / FLARE;
        let mut notes = Vec::new();
        // By route and side: from where to where, and for which frog.
        let mut spans: Vec<((usize, Side), [f64; 2], usize)> = Vec::new();
        for (index, frog) in frogs.iter().enumerate() {
            if frog.kind != FrogKind::Point {
                continue;
            }
            let nose = Vec2::from_angle(frog.heading);
            for &(route, side) in &frog.lines {
                let over = side.other();
                let face = self.guard_face((route, over));
                let (at, _) = face.project(frog.point);
                let way = face.at(at).ahead().dot(nose).signum();
                let own = &tracks[find(tracks, (route, side))];
                let knee = own
                    .cuts
                    .iter()
                    .flat_map(|cut| [cut.from, cut.to])
                    .find(|(_, end)| *end == End::Knee(index))
                    .map_or(0.0, |(u, _)| (own.line.at(u).point() - frog.point).hypot());
                // Whatever lies at the very place of the rail that it guards is that rail.
                let here = face.at(at).point();
                let skip: Vec<(usize, Side)> = tracks
                    .iter()
                    .filter(|track| (depth(track, here) - clearances.guard).abs() < 1e-6)
                    .map(|track| (track.route, track.side))
                    .collect();
                let metal = -over.sign();
                let run = |way: f64, wanted: f64| {
                    self.clear_run(&face, at, way, wanted + flare, metal, &skip, tracks)
                };
                let before = run(-way, knee + 0.35 * self.gauge());
                let after = run(way, frog.blunt + 0.6 * self.gauge());
                // It has to hold wheels over from the bend of the wings to the point.
                if before < knee + 0.5 * flare || after < frog.blunt + 0.5 * flare {
                    notes.push(format!(
                        "Frog {}: no room for a whole guard rail on the {} track; the rails beside it guard \
                         what they can. Check it with a wheel gauge.",
                        index + 1,
                        self.routes[route].name
                    ));
                }
                if before + after < 3.0 * flare {
                    continue;
                }
                let span = if way > 0.0 {
                    [at - before, at + after]
                } else {
                    [at - after, at + before]
                };
                spans.push(((route, over), span, index));
            }
        }
        spans.sort_by(|a, b| {
            let key = |span: &((usize, Side), [f64; 2], usize)| (span.0.0, span.0.1.sign());
            let ((ra, sa), (rb, sb)) = (key(a), key(b));
            ra.cmp(&rb)
                .then(sa.total_cmp(&sb))
                .then(a.1[0].total_cmp(&b.1[0]))
        });
        let mut merged: Vec<((usize, Side), [f64; 2], usize)> = Vec::new();
        for span in spans {
            match merged.last_mut() {
                Some(last) if last.0 == span.0 && span.1[0] < last.1[1] + half => {
                    last.1[1] = last.1[1].max(span.1[1]);
                }
                _ => merged.push(span),
            }
        }
        for (line, [from, to], frog) in merged {
            let metal = -line.1.sign();
            let run = self.guard_face(line).cut(from + flare, to - flare);
            let run = flared(run, metal, flare);
            let run = flared(run.reversed(), -metal, flare).reversed();
            let reach = run.reach();
            rails.push(Rail {
                role: Role::Guard,
                name: format!("{} {}", self.routes[line.0].name, Role::Guard.word()),
                line: run,
                metal,
                full: [0.0, reach],
                frog: Some(frog),
                knee: None,
                tip_first: false,
            });
        }
        notes
    }

    /// Where the guarding face of a guard rail beside a rail lies.
    fn guard_face(&self, (route, side): (usize, Side)) -> Line {
        let half = 0.5 * self.gauge();
        self.routes[route].line(side.sign() * (half - self.build.clearances.guard))
    }

    /// The check rail inside an obtuse corner: beside both lines, bent where they meet.
    fn check(&self, index: usize, frog: &Frog, tracks: &[Track], rails: &mut Vec<Rail>) {
        let flangeway = self.build.clearances.flangeway;
        let [a, b] = frog.lines.map(|line| &tracks[find(tracks, line)]);
        let faces = [a, b].map(|track| track.line.moved(-track.side.sign() * flangeway));
        let around = 3.0 * flangeway / frog.angle.sin().max(0.05);
        let (at, _) = faces[0].project(frog.point);
        let Some(&corner) = faces[0]
            .crossings(
                &faces[1],
                0.0,
                (at - around).max(0.0),
                at + around,
                0.2 * flangeway,
            )
            .first()
        else {
            return;
        };
        let corner_point = faces[0].at(corner).point();
        let skip = frog.lines;
        let mut legs = Vec::new();
        for (face, (own, other)) in faces.iter().zip([(a, b), (b, a)]) {
            let (from, _) = face.project(corner_point);
            let gap = own
                .cuts
                .iter()
                .find(|cut| [cut.from.1, cut.to.1].contains(&End::Corner(index)))
                .map_or(0.0, |cut| (cut.to.0 - cut.from.0).abs());
            // Outward is where this line lies within the other track.
            let ahead = depth(other, face.at(from + 0.2 * flangeway).point())
                > depth(other, face.at(from).point());
            let way = if ahead { 1.0 } else { -1.0 };
            let metal = -own.side.sign();
            let flare = flangeway / FLARE;
            // In a steep crossing no farther than clear of the next corner.
            let side = self.gauge() / frog.angle.sin();
            let wanted = (gap + 0.6 * self.gauge() + flare)
                .min(side - 2.5 * (flangeway + self.build.rail.head));
            let clear = self.clear_run(face, from, way, wanted, metal, &skip, tracks);
            let to = from + way * (clear - flare).max(0.0);
            let run = if way > 0.0 {
                face.cut(from, to)
            } else {
                face.cut(to, from).reversed()
            };
            let leg = self.flared(run, metal * way, flare.min(clear), &skip, tracks);
            legs.push((leg, metal * way));
        }
        let (second, metal) = (legs.pop(), legs.first().map_or(1.0, |leg| -leg.1));
        let Some(first) = legs.pop() else { return };
        let mut line = first.0.reversed();
        let knee = line.reach();
        if let Some((leg, _)) = second {
            line.append(&leg);
        }
        if line.parts().is_empty() {
            return;
        }
        let reach = line.reach();
        rails.push(Rail {
            role: Role::Check,
            name: Role::Check.word().to_owned(),
            line,
            metal,
            full: [0.0, reach],
            frog: Some(index),
            knee: Some(knee),
            tip_first: false,
        });
    }

    /// Where rails are cut so that each frog stands by itself.
    fn gaps(&self, tracks: &[Track], frogs: &[Frog]) -> Vec<Gap> {
        let mut gaps = Vec::new();
        let spacing = self.tie_table.size(self.gauge(), self.build.ratio).spacing;
        let beyond = match self.feed {
            Feed::Live => 0.5 * spacing,
            Feed::Isolated => 0.0,
        };
        for track in tracks {
            // Each frog on this line, with how far its metal reaches either way.
            let mut on: Vec<[f64; 3]> = frogs
                .iter()
                .filter(|frog| frog.lines.contains(&(track.route, track.side)))
                .map(|frog| {
                    let at = track.line.project(frog.point).0;
                    let along = track
                        .line
                        .at(at)
                        .ahead()
                        .dot(Vec2::from_angle(frog.heading));
                    let [toe, heel] = match self.feed {
                        Feed::Live => [frog.toe, frog.heel],
                        // Close around the point, clear of the wings' bends.
                        Feed::Isolated => {
                            let knee = self.build.clearances.flangeway / frog.angle.sin().max(0.05);
                            [1.6 * knee, (0.7 * frog.heel).max(1.6 * knee)]
                        }
                    };
                    let (before, after) = match frog.kind {
                        FrogKind::Obtuse => (heel, heel),
                        FrogKind::Point if along > 0.0 => (toe, heel),
                        FrogKind::Point => (heel, toe),
                    };
                    [at, at - before - beyond, at + after + beyond]
                })
                .collect();
            on.sort_by(|a, b| a[0].total_cmp(&b[0]));
            let free = |u: f64| {
                let mut u = u;
                for points in &track.points {
                    let [low, high] = [points[0].min(points[1]), points[0].max(points[1])];
                    // Never in the points: between their heel and the frog, if need be.
                    if u > low - 1e-3 && u < high + 1e-3 {
                        let nearest = on
                            .iter()
                            .min_by(|a, b| (a[0] - u).abs().total_cmp(&(b[0] - u).abs()))
                            .map_or(u, |frog| frog[0]);
                        u = points[1] + 0.3 * (nearest - points[1]);
                    }
                }
                u
            };
            let mut places = Vec::new();
            for (index, frog) in on.iter().enumerate() {
                match index.checked_sub(1).map(|before| on[before]) {
                    // Two frogs whose gaps would pass each other share one half way.
                    Some(before) if before[2] > frog[1] - 2.0 * spacing => {
                        places.push(0.5 * (before[0] + frog[0]));
                    }
                    Some(before) => places.extend([before[2], frog[1]]),
                    None => places.push(frog[1]),
                }
            }
            if let Some(last) = on.last() {
                places.push(last[2]);
            }
            for u in places.into_iter().map(free) {
                if track.owns(u, 0.0) {
                    let place = track.line.at(u);
                    gaps.push(Gap {
                        at: place.point(),
                        heading: place.heading,
                    });
                }
            }
        }
        gaps
    }
}

fn find(tracks: &[Track], line: (usize, Side)) -> usize {
    // Two to a route, left first.
    let at = 2 * line.0 + usize::from(line.1 == Side::Right);
    at.min(tracks.len() - 1)
}

/// How far a point lies inside a gauge line: toward the middle of its track.
fn depth(track: &Track, point: Point) -> f64 {
    -track.side.sign() * track.line.project(point).1
}

/// Where a function that begins below nought first reaches it, by halving; the reach if it never does.
fn bisect(f: impl Fn(f64) -> f64, reach: f64) -> f64 {
    if f(reach) < 0.0 {
        return reach;
    }
    let (mut low, mut high) = (0.0, reach);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

fn ends(a: (f64, End), b: (f64, End)) -> Cut {
    if a.0 <= b.0 {
        Cut { from: a, to: b }
    } else {
        Cut { from: b, to: a }
    }
}

/// How flares turn away: one in four. Common practice, no source.
pub(super) const FLARE: f64 = 0.25;

/// A line with a straight end of a length that turns away to one side (1 left).
fn flared(mut line: Line, side: f64, length: f64) -> Line {
    if length <= 1e-6 || line.parts().is_empty() {
        return line;
    }
    let mut end = line.at(line.reach());
    end.heading += side * FLARE.atan();
    line.append(&Line::straight(
        end.point(),
        end.point() + end.ahead() * length,
    ));
    line
}

impl Plan {
    /// Adds a line to the table.
    pub(super) fn fact(&mut self, what: impl Into<String>, amount: Amount) {
        self.table.push(Fact {
            what: what.into(),
            amount,
        });
    }

    /// Adds what the standard asks and what the rail measures.
    pub(super) fn clearance_facts(&mut self) {
        let clearances = self.build.clearances;
        let rail = self.build.rail;
        for (what, metres) in [
            ("gauge", clearances.gauge),
            (
                "check gauge, guard rail face to frog gauge line",
                clearances.check,
            ),
            ("span, over guard and wing rail faces", clearances.span),
            ("flangeway at the frog", clearances.flangeway),
            ("flangeway at the guard rail", clearances.guard),
            ("flangeway depth, at least", clearances.depth),
            (
                "point spread, closed gauge line to back of open point",
                clearances.points,
            ),
            ("rail head width, nominal", rail.head),
        ] {
            self.fact(what, Amount::Length(metres));
        }
        self.fact("rail", Amount::Text(format!("code {}", rail.code)));
        self.fact("ties", Amount::Text(self.tie_table.to_string()));
        if clearances.gauge_moved {
            self.notes.push(
                "The railroad's gauge lies outside the standard: drawn to the nearest gauge that it allows."
                    .into(),
            );
        }
        if !clearances.note.is_empty() {
            self.notes
                .push(format!("{}: {}.", clearances.standard, clearances.note));
        }
    }

    /// The rails of a role.
    pub fn rails_of(&self, role: Role) -> impl Iterator<Item = &Rail> {
        self.rails.iter().filter(move |rail| rail.role == role)
    }
}
