//! Beside another center line.

use super::FaultKind;
use crate::curve::{Path, Piece, PieceKind, Place, wrapped};

/// The parallel of a path, `left` metres to its left. Parallels of tangents and arcs are such; that of
/// a spiral is no clothoid, and is laid as eight of them that turn as it does over the same length,
/// which is within a few micrometres for anything a model train can run on. Nothing if it would lie at a
/// center of curvature or beyond.
pub fn beside(path: &Path, left: f64) -> Option<Path> {
    let mut pieces: Vec<Piece> = Vec::new();
    for piece in path.pieces() {
        let parts = if piece.kind() == PieceKind::Spiral {
            16
        } else {
            1
        };
        for part in 0..parts {
            let step = piece.length / f64::from(parts);
            let ends = [part, part + 1].map(|at| piece.at(f64::from(at) * step).beside(left));
            let [Some(from), Some(to)] = ends else {
                return None;
            };
            let turn = to.heading - from.heading;
            let sum = from.curvature + to.curvature;
            let at = pieces.last().map_or(from, Piece::end);
            let length = step - left * turn;
            // The turn is kept to the last bit, at the cost of a step in curvature of some millionths.
            let even = if sum.abs() > 1e-6 {
                2.0 * turn / (length * sum)
            } else {
                1.0
            };
            let curvature = [from.curvature, to.curvature].map(|k| k * even);
            pieces.push(Piece::spiral(at, length, curvature));
        }
    }
    Some(Path::new(pieces))
}

/// From a place until parallel to a host, along it, and from it again to a goal if there is one.
pub(super) fn along(
    host: &Path,
    left: f64,
    here: Place,
    goal: Option<Place>,
    radius: f64,
    length: Option<f64>,
) -> Result<Vec<Piece>, FaultKind> {
    let mut course = beside(host, left).ok_or(FaultKind::TooFarInside)?;
    let (s, _) = course
        .nearest(here.point())
        .ok_or(FaultKind::TooFarInside)?;
    let beside_here = course.at(s).map_or(0.0, |place| place.heading);
    if wrapped(beside_here - here.heading).abs() > std::f64::consts::FRAC_PI_2 {
        course = course.reversed();
    }
    let (from, mut pieces) = onto(&course, here, radius)?;
    let mut to = match length {
        Some(length) => {
            let so_far: f64 = pieces.iter().map(|piece| piece.length).sum();
            from + (length - so_far).max(0.0)
        }
        None => course.length(),
    };
    let mut tail = Vec::new();
    if let Some(goal) = goal {
        let back = course.reversed();
        let (s, off) = onto(&back, goal.reversed(), radius)?;
        to = course.length() - s;
        tail = off.iter().rev().map(Piece::reversed).collect();
    }
    if to < from - 1e-9 {
        return Err(FaultKind::Parallel(from - to));
    }
    let short = to - course.length();
    pieces.extend(course.part(from, to).pieces().iter().copied());
    // A parallel longer than its host goes straight on.
    if short > 1e-9
        && let Some(end) = course.end()
    {
        pieces.push(Piece::tangent(end, short));
    }
    pieces.extend(tail);
    Ok(pieces)
}

/// The way from a place onto a course: as the course bends, then by a curve of the radius beside it.
/// Gives where on the course it arrives.
fn onto(course: &Path, here: Place, radius: f64) -> Result<(f64, Vec<Piece>), FaultKind> {
    let lost = FaultKind::Parallel(0.0);
    let (near, apart) = course.nearest(here.point()).ok_or(lost)?;
    let beside = course.at(near).ok_or(lost)?;
    let turn = wrapped(beside.heading - here.heading);
    if apart < 1e-7 && turn.abs() < 1e-7 {
        return Ok((near, Vec::new()));
    }
    // To the left of the course one comes down onto it by a left turn.
    let aside = (here.point() - beside.point()).dot(beside.left());
    if turn.abs() < 1e-7 || (aside > 0.0) != (turn > 0.0) {
        // Heading away from it or along it: this is for a connection, not for a parallel.
        return Err(FaultKind::Parallel(apart));
    }
    let bend = beside.curvature;
    let curvature = bend + turn.signum() / radius;
    let arc = turn.abs() * radius;
    let straight = (aside.abs() - radius * (1.0 - turn.cos())) / turn.abs().sin();
    let lay = |x: [f64; 3]| {
        let first = Piece::arc(here, x[0], bend);
        [first, Piece::arc(first.end(), x[1], curvature)]
    };
    let miss = |x: [f64; 3]| {
        let end = lay(x)[1].end();
        let goal = course.at(x[2]).unwrap_or(beside);
        nalgebra::Vector3::new(
            end.x - goal.x,
            end.y - goal.y,
            wrapped(end.heading - goal.heading),
        )
    };
    let mut x = [straight, arc, near + straight + arc];
    for _ in 0..60 {
        let off = miss(x);
        if off.norm() < 1e-12 {
            break;
        }
        let d = 1e-7;
        let mut slopes = nalgebra::Matrix3::zeros();
        for i in 0..3 {
            let mut y = x;
            y[i] += d;
            slopes.set_column(i, &((miss(y) - off) / d));
        }
        let Some(step) = slopes.lu().solve(&off) else {
            break;
        };
        for (value, step) in x.iter_mut().zip(step.iter()) {
            // A long step would leave the piece of the course it was reckoned on.
            *value -= step.clamp(-0.3, 0.3);
        }
    }
    if miss(x).norm() > 1e-8 {
        return Err(FaultKind::Parallel(apart));
    }
    if x[0] < -1e-9 || x[1] < -1e-9 {
        return Err(FaultKind::Parallel((-x[0]).max(-x[1])));
    }
    if x[2] > course.length() + 1e-9 {
        return Err(FaultKind::Parallel(x[2] - course.length()));
    }
    let pieces = lay(x)
        .into_iter()
        .filter(|piece| piece.length > 1e-12)
        .collect();
    Ok((x[2], pieces))
}
