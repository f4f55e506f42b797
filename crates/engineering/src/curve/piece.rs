//! One tangent, arc or clothoid.

use kurbo::{Point, Rect};

use super::{
    Place,
    clothoid::{rotate, travel},
};

/// A stretch of center line whose curvature runs evenly from one value to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Where it begins, in metres.
    pub x: f64,
    /// Where it begins, in metres.
    pub y: f64,
    /// Which way it begins, radians.
    pub heading: f64,
    /// Its length along the center line, metres; not negative.
    pub length: f64,
    /// Curvature at its beginning and its end, 1/m, positive to the left.
    pub curvature: [f64; 2],
}

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PieceKind {
    /// Straight.
    Tangent,
    /// Of one radius.
    Arc,
    /// A clothoid: the curvature changes evenly.
    Spiral,
}

/// Less curvature than this is none: a radius of a thousand kilometres.
const STRAIGHT: f64 = 1e-6;

impl Piece {
    /// Straight ahead from a place.
    pub fn tangent(from: Place, length: f64) -> Self {
        Self::spiral(from, length, [0.0; 2])
    }

    /// An arc from a place; a positive curvature turns left.
    pub fn arc(from: Place, length: f64, curvature: f64) -> Self {
        Self::spiral(from, length, [curvature; 2])
    }

    /// A clothoid from a place.
    pub fn spiral(from: Place, length: f64, curvature: [f64; 2]) -> Self {
        Self {
            x: from.x,
            y: from.y,
            heading: from.heading,
            length,
            curvature,
        }
    }

    /// What it is.
    pub fn kind(&self) -> PieceKind {
        let [a, b] = self.curvature;
        if (a - b).abs() > STRAIGHT {
            PieceKind::Spiral
        } else if a.abs() > STRAIGHT {
            PieceKind::Arc
        } else {
            PieceKind::Tangent
        }
    }

    /// Change of curvature for each metre, 1/m².
    pub fn sharpness(&self) -> f64 {
        if self.length > 0.0 {
            (self.curvature[1] - self.curvature[0]) / self.length
        } else {
            0.0
        }
    }

    /// Angle turned over its whole length, radians to the left.
    pub fn turn(&self) -> f64 {
        0.5 * self.length * (self.curvature[0] + self.curvature[1])
    }

    /// The sharper of its two end curvatures, without sign.
    pub fn sharpest(&self) -> f64 {
        self.curvature[0].abs().max(self.curvature[1].abs())
    }

    /// The place `s` metres from its beginning. Beyond its ends it goes on as it is.
    pub fn at(&self, s: f64) -> Place {
        let sharpness = self.sharpness();
        let moved = rotate(
            travel(self.curvature[0], sharpness, s),
            kurbo::Vec2::from_angle(self.heading),
        );
        Place {
            x: self.x + moved.x,
            y: self.y + moved.y,
            heading: self.heading + s * (self.curvature[0] + 0.5 * sharpness * s),
            curvature: self.curvature[0] + sharpness * s,
        }
    }

    /// Where it begins.
    pub fn begin(&self) -> Place {
        Place {
            x: self.x,
            y: self.y,
            heading: self.heading,
            curvature: self.curvature[0],
        }
    }

    /// Where it ends.
    pub fn end(&self) -> Place {
        Place {
            curvature: self.curvature[1],
            ..self.at(self.length)
        }
    }

    /// The same points from its end to its beginning.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let end = self.end().reversed();
        Self::spiral(end, self.length, [-self.curvature[1], -self.curvature[0]])
    }

    /// From `a` to `b` metres of it.
    #[must_use]
    pub fn part(&self, a: f64, b: f64) -> Self {
        let from = self.at(a);
        let sharpness = self.sharpness();
        Self::spiral(
            from,
            b - a,
            [from.curvature, from.curvature + sharpness * (b - a)],
        )
    }

    /// Its point nearest to another: the distance along it, and how far apart they are.
    pub fn nearest(&self, to: Point) -> (f64, f64) {
        let apart = |s: f64| self.at(s).point().distance(to);
        let mut best = (0.0, apart(0.0));
        let mut consider = |s: f64| {
            let distance = apart(s);
            if distance < best.1 {
                best = (s, distance);
            }
        };
        consider(self.length);
        match self.kind() {
            PieceKind::Tangent => {
                let s = (to - self.begin().point()).dot(self.begin().ahead());
                consider(s.clamp(0.0, self.length));
            }
            PieceKind::Arc => {
                // Along the arc to the ray from its center through the point.
                let begin = self.begin();
                let k = self.curvature[0];
                let center = begin.point() + begin.left() / k;
                let ray = (to - center) * k.signum();
                // At the beginning the ray points to the right of travel for a left turn.
                let angle = (-begin.left()).cross(ray).atan2((-begin.left()).dot(ray));
                let around = std::f64::consts::TAU / k.abs();
                let mut s = (angle / k).rem_euclid(around);
                while s < self.length {
                    consider(s);
                    s += around;
                }
            }
            PieceKind::Spiral => {
                // Square to the curve: where (p − c(s))·t(s) changes from positive to negative.
                let along = |s: f64| {
                    let place = self.at(s);
                    (to - place.point()).dot(place.ahead())
                };
                let turns = 0.5 * self.length * (self.curvature[0].abs() + self.curvature[1].abs());
                let parts = (turns / 0.2).ceil().clamp(1.0, 1e5) as u32;
                let step = self.length / f64::from(parts);
                let mut low = along(0.0);
                for part in 0..parts {
                    let [a, b] = [part, part + 1].map(|at| f64::from(at) * step);
                    let high = along(b);
                    if low >= 0.0 && high <= 0.0 {
                        consider(root(along, [a, b], [low, high]));
                    }
                    low = high;
                }
            }
        }
        best
    }

    /// A rectangle that holds it.
    pub fn bounds(&self) -> Rect {
        let [a, b] = [self.begin().point(), self.end().point()];
        let chord = Rect::from_points(a, b);
        // No point is farther from the chord's ends than half the length allows; a flat piece strays
        // from its chord by no more than the sagitta of its sharpest arc.
        let stray = (self.length * self.length * self.sharpest() / 8.0).min(0.5 * self.length);
        chord.inflate(stray, stray)
    }
}

/// A root of a function that changes sign between two places: by secants kept within the bracket
/// (the Illinois rule), to the last few bits.
fn root(f: impl Fn(f64) -> f64, [mut a, mut b]: [f64; 2], [mut fa, mut fb]: [f64; 2]) -> f64 {
    for _ in 0..100 {
        if fa == fb || (b - a).abs() < 1e-14 * (1.0 + a.abs()) {
            break;
        }
        let c = (a * fb - b * fa) / (fb - fa);
        let fc = f(c);
        if fc == 0.0 {
            return c;
        }
        if (fc > 0.0) == (fb > 0.0) {
            (b, fb) = (c, fc);
            fa *= 0.5;
        } else {
            // The older end goes, the newer stays.
            (a, fa) = (b, fb);
            (b, fb) = (c, fc);
        }
    }
    if fa.abs() < fb.abs() { a } else { b }
}
