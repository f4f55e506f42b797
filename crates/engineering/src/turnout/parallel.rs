//! Routes through special trackwork, and lines parallel to them: rails are exact parallels of center
//! lines, so that gauge is constant by construction.

use crate::curve::{Path, Piece, Place, Point};

/// A way through, as a chain of smooth legs. Where one leg meets the next the track is bent, as a
/// stock rail is ahead of straight points.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// What it is called: `straight`, `diverging`.
    pub name: String,
    /// The legs. Each may reach beyond where it meets its neighbours.
    pub legs: Vec<Path>,
    /// About where each leg meets the next: the distance along the one and along the other, metres.
    pub bends: Vec<[f64; 2]>,
}

impl Route {
    /// A smooth route.
    pub fn smooth(name: impl Into<String>, path: Path) -> Self {
        Self {
            name: name.into(),
            legs: vec![path],
            bends: Vec::new(),
        }
    }

    /// Goes on by another leg, which meets the last one about `at` metres of each.
    pub fn bend(&mut self, leg: Path, at: [f64; 2]) {
        self.legs.push(leg);
        self.bends.push(at);
    }

    /// The same way, run from its end to its beginning.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let bends = self.bends.iter().enumerate().map(|(at, [one, other])| {
            [
                self.legs[at + 1].length() - other,
                self.legs[at].length() - one,
            ]
        });
        Self {
            name: self.name.clone(),
            legs: self.legs.iter().rev().map(Path::reversed).collect(),
            bends: bends.rev().collect(),
        }
    }

    /// The line `left` metres to the left of the center line.
    pub fn line(&self, left: f64) -> Line {
        let mut ends: Vec<[f64; 2]> = self.legs.iter().map(|leg| [0.0, leg.length()]).collect();
        for (at, bend) in self.bends.iter().enumerate() {
            let [one, other] = corner(&self.legs[at], &self.legs[at + 1], left, *bend);
            ends[at][1] = one;
            ends[at + 1][0] = other;
        }
        let mut line = Line::default();
        for (leg, [from, to]) in self.legs.iter().zip(ends) {
            line.push(leg, left, from, to);
        }
        line
    }

    /// The center line.
    pub fn center(&self) -> Line {
        self.line(0.0)
    }
}

/// Where the parallels of two legs meet, by Newton's method from about there.
fn corner(one: &Path, other: &Path, left: f64, mut at: [f64; 2]) -> [f64; 2] {
    for _ in 0..20 {
        let (Some(a), Some(b)) = (beside(one, at[0], left), beside(other, at[1], left)) else {
            break;
        };
        let miss = b.1 - a.1;
        let (p, q) = (a.0.ahead() * a.2, b.0.ahead() * b.2);
        let turn = p.cross(q);
        if turn.abs() < 1e-12 {
            break;
        }
        // p·x − q·y = miss
        let step = [miss.cross(q) / turn, miss.cross(p) / turn];
        at = [at[0] + step[0], at[1] + step[1]];
        if step[0].abs() + step[1].abs() < 1e-15 {
            break;
        }
    }
    at
}

/// A place of a path, the point beside it, and how the parallel runs for each metre of the path.
fn beside(path: &Path, s: f64, left: f64) -> Option<(Place, Point, f64)> {
    let place = path.at(s)?;
    Some((
        place,
        place.point() + place.left() * left,
        1.0 - place.curvature * left,
    ))
}

/// A stretch of a smooth path, moved aside.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The path, exactly as far as the stretch reaches.
    pub path: Path,
    /// How far to the left of it, metres.
    pub left: f64,
}

impl Part {
    /// Its true length, metres.
    pub fn length(&self) -> f64 {
        let turn: f64 = self.path.pieces().iter().map(Piece::turn).sum();
        self.path.length() - self.left * turn
    }
}

/// A chain of stretches parallel to center lines. Places on it are counted in metres of the center
/// lines, which on curves differ from its own.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line {
    parts: Vec<Part>,
    /// Where each part begins, and the end.
    starts: Vec<f64>,
}

impl Line {
    /// Straight from one point to another.
    pub fn straight(from: Point, to: Point) -> Self {
        let way = to - from;
        let place = Place::new(from.x, from.y, way.atan2());
        let mut line = Self::default();
        line.push(
            &Path::new([Piece::tangent(place, way.hypot())]),
            0.0,
            0.0,
            way.hypot(),
        );
        line
    }

    /// Adds a stretch of a path, moved aside.
    pub fn push(&mut self, path: &Path, left: f64, from: f64, to: f64) {
        let path = path.part(from, to);
        if path.is_empty() {
            return;
        }
        if self.starts.is_empty() {
            self.starts.push(0.0);
        }
        self.starts.push(self.reach() + path.length());
        self.parts.push(Part { path, left });
    }

    /// Adds another line at the end.
    pub fn append(&mut self, other: &Self) {
        for part in &other.parts {
            self.push(&part.path, part.left, 0.0, part.path.length());
        }
    }

    /// The stretches.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Where it ends, in metres of the center lines.
    pub fn reach(&self) -> f64 {
        self.starts.last().copied().unwrap_or(0.0)
    }

    /// Its true length, metres.
    pub fn length(&self) -> f64 {
        self.parts.iter().map(Part::length).sum()
    }

    /// Its true length from one place to another.
    pub fn length_between(&self, from: f64, to: f64) -> f64 {
        self.cut(from, to).length()
    }

    /// The place at `u`; beyond the ends it goes on as it is.
    ///
    /// # Panics
    /// If the line is empty.
    pub fn at(&self, u: f64) -> Place {
        let at = self
            .starts
            .partition_point(|start| *start <= u)
            .saturating_sub(1)
            .min(self.parts.len() - 1);
        self.on(at, u - self.starts[at])
    }

    fn on(&self, part: usize, s: f64) -> Place {
        let part = &self.parts[part];
        let place = part.path.at(s).unwrap_or_else(|| Place::new(0.0, 0.0, 0.0));
        let point = place.point() + place.left() * part.left;
        let stretch = 1.0 - place.curvature * part.left;
        Place {
            x: point.x,
            y: point.y,
            heading: place.heading,
            curvature: if stretch.abs() > 1e-12 {
                place.curvature / stretch
            } else {
                0.0
            },
        }
    }

    /// From one place to another, as far as it reaches.
    #[must_use]
    pub fn cut(&self, from: f64, to: f64) -> Self {
        let mut line = Self::default();
        for (part, &start) in self.parts.iter().zip(&self.starts) {
            let (a, b) = (
                (from - start).max(0.0),
                (to - start).min(part.path.length()),
            );
            if b > a {
                line.push(&part.path, part.left, a, b);
            }
        }
        line
    }

    /// The same points the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let mut line = Self::default();
        for part in self.parts.iter().rev() {
            line.push(&part.path.reversed(), -part.left, 0.0, part.path.length());
        }
        line
    }

    /// The line `left` metres to the left of it.
    #[must_use]
    pub fn moved(&self, left: f64) -> Self {
        let mut line = self.clone();
        for part in &mut line.parts {
            part.left += left;
        }
        line
    }

    /// Its place nearest to a point, and how far the point lies to the left of it.
    pub fn project(&self, point: Point) -> (f64, f64) {
        let mut best = (0.0, f64::INFINITY, 0.0);
        for (at, (part, &start)) in self.parts.iter().zip(&self.starts).enumerate() {
            let Some((s, _)) = part.path.nearest(point) else {
                continue;
            };
            let foot = self.on(at, s);
            let away = point - foot.point();
            let apart = away.hypot();
            if apart < best.1 {
                let side = if away.dot(foot.left()) < 0.0 {
                    -apart
                } else {
                    apart
                };
                best = (start + s, apart, side);
            }
        }
        (best.0, best.2)
    }

    /// Where its distance to the left of another line, less `aside`, changes sign between two places:
    /// looked for in steps, then halved to the last bits. All of them, in order.
    pub fn crossings(&self, other: &Self, aside: f64, from: f64, to: f64, step: f64) -> Vec<f64> {
        let side = |u: f64| other.project(self.at(u).point()).1 - aside;
        let steps = ((to - from) / step).ceil().clamp(1.0, 1e5);
        let mut found = Vec::new();
        let (mut a, mut fa) = (from, side(from));
        for at in 1..=steps as u32 {
            let b = from + (to - from) * f64::from(at) / steps;
            let fb = side(b);
            if (fa < 0.0) != (fb < 0.0) && (fb - fa).abs() < 4.0 * (b - a) {
                let (mut low, mut high) = (a, b);
                for _ in 0..60 {
                    let middle = 0.5 * (low + high);
                    if (side(middle) < 0.0) == (fa < 0.0) {
                        low = middle;
                    } else {
                        high = middle;
                    }
                }
                found.push(0.5 * (low + high));
            }
            (a, fa) = (b, fb);
        }
        found
    }

    /// Points along it at most `step` apart, with every joint and both ends.
    pub fn points(&self, step: f64) -> Vec<Point> {
        let mut points: Vec<Point> = Vec::new();
        for (at, part) in self.parts.iter().enumerate() {
            for (s, _) in part.path.places(step) {
                let point = self.on(at, s).point();
                if points.last().is_none_or(|last| last.distance(point) > 1e-9) {
                    points.push(point);
                }
            }
        }
        points
    }
}
