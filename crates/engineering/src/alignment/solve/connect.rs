//! From one place to another by tangents and curves of a radius.

use std::f64::consts::{PI, TAU};

use crate::curve::{Easement, Piece, Place, wrapped};

/// A radius and the length of the easements at both ends of its curves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eased {
    /// Radius of the arc, metres.
    pub radius: f64,
    /// Length of each easement, metres.
    pub easement: f64,
}

impl Eased {
    /// A curve that turns by an angle, not negative, to a hand. One that turns by less than its
    /// easements would gets shorter ones and no arc.
    pub(super) fn lay(self, from: Place, angle: f64, turn: f64) -> Vec<Piece> {
        let easement = self.easement.min(angle * self.radius);
        let k = turn / self.radius;
        let arc = angle * self.radius - easement;
        let mut at = from;
        let mut pieces = Vec::with_capacity(3);
        for (length, curvature) in [(easement, [0.0, k]), (arc, [k, k]), (easement, [k, 0.0])] {
            if length > 1e-12 {
                let piece = Piece::spiral(at, length, curvature);
                at = piece.end();
                pieces.push(piece);
            }
        }
        pieces
    }
}

/// A connection that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Connection {
    /// Its pieces, from the one place to the other.
    pub pieces: Vec<Piece>,
    /// The tangent between two reverse curves, if there are such.
    pub between: Option<f64>,
}

/// The shortest way from one place to another: straight; or tangent, curve, tangent; or a curve, a
/// tangent, and a curve of the same or the other hand. Between reverse curves a tangent of at least
/// `between` is kept where some way has it; otherwise the one with the longest is given. No curve turns
/// by more than half a circle to be undone by the other, and no two of one hand by more than two thirds.
pub fn connect(from: Place, to: Place, curve: Eased, between: f64) -> Option<Connection> {
    if let Some(found) = one_curve(from, to, curve) {
        return Some(found);
    }
    let mut best: Option<(bool, f64, Connection)> = None;
    for [first, second] in [[1.0, 1.0], [-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0]] {
        let Some(found) = two_curves(from, to, curve, [first, second]) else {
            continue;
        };
        let kept = found
            .between
            .is_none_or(|tangent| tangent >= between - 1e-9);
        let length: f64 = found.pieces.iter().map(|piece| piece.length).sum();
        let better = best
            .as_ref()
            .is_none_or(
                |(other_kept, other_length, other)| match (kept, other_kept) {
                    (true, true) => length < *other_length,
                    (false, false) => found.between > other.between,
                    (one, _) => one,
                },
            );
        if better {
            best = Some((kept, length, found));
        }
    }
    best.map(|(_, _, found)| found)
}

/// Tangent, curve, tangent.
fn one_curve(from: Place, to: Place, curve: Eased) -> Option<Connection> {
    let angle = wrapped(to.heading - from.heading);
    let ray = to.point() - from.point();
    if angle.abs() < 1e-9 {
        // Straight on, if it is.
        let aside = ray.dot(from.left());
        return (aside.abs() < 1e-9 && ray.dot(from.ahead()) >= 0.0).then(|| Connection {
            pieces: vec![Piece::tangent(from, ray.hypot())],
            between: None,
        });
    }
    if angle.abs() > PI - 1e-3 {
        return None;
    }
    // Where the tangents intersect, from each end.
    let (u, v) = (from.ahead(), to.ahead());
    let cross = u.cross(v);
    let (there, back) = (ray.cross(v) / cross, u.cross(ray) / cross);
    let easement = Easement {
        radius: curve.radius,
        length: curve.easement.min(angle.abs() * curve.radius),
    };
    let distance = easement.tangent_distance(angle.abs());
    let (before, after) = (there - distance, back - distance);
    if before < -1e-9 || after < -1e-9 {
        return None;
    }
    let mut pieces = Vec::with_capacity(5);
    let mut at = from;
    if before > 1e-9 {
        let tangent = Piece::tangent(from, before);
        at = tangent.end();
        pieces.push(tangent);
    }
    pieces.extend(curve.lay(at, angle.abs(), angle.signum()));
    if after > 1e-9 {
        let at = pieces.last().map_or(at, Piece::end);
        pieces.push(Piece::tangent(at, after));
    }
    Some(Connection {
        pieces,
        between: None,
    })
}

/// A curve of each hand given, a tangent between them.
fn two_curves(from: Place, to: Place, curve: Eased, turns: [f64; 2]) -> Option<Connection> {
    let radius = curve.radius;
    // Without easements: the common tangent of two circles.
    let centers = [(from, turns[0]), (to, turns[1])]
        .map(|(place, turn)| place.point() + place.left() * (turn * radius));
    let ray = centers[1] - centers[0];
    let reverse = turns[0] != turns[1];
    let square = ray.hypot2() - if reverse { 4.0 * radius * radius } else { 0.0 };
    if square < 0.0 {
        return None;
    }
    let tangent = square.sqrt();
    let direction = ray.atan2()
        + if reverse {
            turns[0] * (2.0 * radius).atan2(tangent)
        } else {
            0.0
        };
    let around = |angle: f64| {
        let angle = angle.rem_euclid(TAU);
        if angle > TAU - 1e-9 { 0.0 } else { angle }
    };
    let first = around(turns[0] * (direction - from.heading));
    let second = around(turns[1] * (to.heading - direction));
    // What both turn together does not change when easements are put in.
    let whole = turns[0] * first + turns[1] * second;
    let lay = |first: f64, tangent: f64| {
        let second = turns[1] * (whole - turns[0] * first);
        let mut pieces = curve.lay(from, first.max(0.0), turns[0]);
        let at = pieces.last().map_or(from, Piece::end);
        let straight = Piece::tangent(at, tangent);
        let at = straight.end();
        if tangent.abs() > 1e-12 {
            pieces.push(straight);
        }
        pieces.extend(curve.lay(at, second.max(0.0), turns[1]));
        pieces
    };
    let miss = |x: [f64; 2]| {
        let end = lay(x[0], x[1]).last().map_or(from, Piece::end);
        let off = end.point() - to.point();
        [off.x, off.y]
    };
    let mut x = [first, tangent];
    let mut off = miss(x);
    for _ in 0..40 {
        if off[0].hypot(off[1]) < 1e-12 {
            break;
        }
        let d = 1e-7;
        let columns = [0, 1].map(|i: usize| {
            let mut y = x;
            y[i] += d;
            let moved = miss(y);
            [(moved[0] - off[0]) / d, (moved[1] - off[1]) / d]
        });
        let determinant = columns[0][0] * columns[1][1] - columns[1][0] * columns[0][1];
        if determinant.abs() < 1e-12 {
            return None;
        }
        x[0] -= (off[0] * columns[1][1] - columns[1][0] * off[1]) / determinant;
        x[1] -= (columns[0][0] * off[1] - off[0] * columns[0][1]) / determinant;
        off = miss(x);
    }
    let second = turns[1] * (whole - turns[0] * x[0]);
    if off[0].hypot(off[1]) > 1e-9 || x[0] < -1e-9 || second < -1e-9 || x[1] < -1e-9 {
        return None;
    }
    // A way around by nearly full circles is none: nobody would lay it unasked.
    let around = if reverse {
        x[0].max(second)
    } else {
        0.75 * (x[0] + second)
    };
    if around > PI {
        return None;
    }
    let both = x[0] > 1e-9 && second > 1e-9;
    Some(Connection {
        pieces: lay(x[0], x[1]),
        between: (reverse && both).then_some(x[1].max(0.0)),
    })
}
