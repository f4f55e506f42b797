//! Parting a row of points into lines and circles.

use super::stations;
use crate::curve::{Point, Vec2};

/// A run of points that lie on a line or a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Run {
    /// First and last point.
    pub(super) reach: [usize; 2],
    /// Curvature, left positive; none of a line.
    pub(super) curvature: f64,
}

/// More points than this are thinned for the parting.
const MOST: usize = 240;
/// What a run costs, in squares of the scatter: a circle has one number more than a line.
const LINE: f64 = 7.0;
const CIRCLE: f64 = 13.0;
/// What a point between two runs costs: a little more than one that lies on a run.
const BETWEEN: f64 = 1.75;

/// Where a run begins, the kind and end of the one before it, and its curvature.
type Step = (usize, Option<(usize, usize)>, f64);

/// The cheapest parting: the squares of the distances in units of the scatter, and a price for each run.
/// Lines do not follow lines. Takes time in proportion to the cube of the points, of which it looks at
/// no more than 240.
pub(super) fn part(points: &[Point], scatter: f64) -> Vec<Run> {
    let thin = points.len().div_ceil(MOST);
    let chosen: Vec<usize> = (0..points.len())
        .filter(|at| at % thin == 0 || at + 1 == points.len())
        .collect();
    let row: Vec<Point> = chosen.iter().map(|at| points[*at]).collect();
    let along = stations(&row);
    let count = row.len();
    // Best cost of the points up to and with each, if a line or a circle ends there; and from where.
    let mut best = [vec![f64::INFINITY; count], vec![f64::INFINITY; count]];
    let mut from: [Vec<Option<Step>>; 2] = [vec![None; count], vec![None; count]];
    // The cheapest way to have ended a line or circle somewhere before a point: cost, kind, where.
    let mut before: [Vec<(f64, usize, usize)>; 2] = [
        vec![(f64::INFINITY, 0, 0); count],
        vec![(f64::INFINITY, 0, 0); count],
    ];
    for first in 0..count {
        if first > 0 {
            for kind in 0..2 {
                let (cost, k, at) = before[kind][first - 1];
                let ended = best[kind][first - 1];
                before[kind][first] = if ended <= cost + BETWEEN {
                    (ended, kind, first - 1)
                } else {
                    (cost + BETWEEN, k, at)
                };
            }
        }
        let start = if first == 0 { Some(0.0) } else { None };
        for last in first + 2..count {
            let run = &row[first..=last];
            if let Some(cost) = line(run).map(|sum| sum / (scatter * scatter) + LINE) {
                // A line begins the row or follows a circle.
                let (after, _, at) = before[1][first];
                let (total, back) = match start {
                    Some(zero) => (zero + cost, None),
                    None => (after + cost, Some((1, at))),
                };
                if total < best[0][last] {
                    best[0][last] = total;
                    from[0][last] = Some((first, back, 0.0));
                }
            }
            if last < first + 3 {
                continue;
            }
            if let Some((sum, curvature)) = circle(run) {
                // More than three quarters around between two points is no curve of track.
                let length = along[last] - along[first];
                // One that bends no more than its points scatter is a line.
                let flat = curvature.abs() * length * length / 8.0 < 6.0 * scatter;
                if flat || curvature.abs() * length / (last - first) as f64 > 1.0 {
                    continue;
                }
                let cost = sum / (scatter * scatter) + CIRCLE;
                let (after, kind, at) = if before[0][first].0 <= before[1][first].0 {
                    before[0][first]
                } else {
                    before[1][first]
                };
                let (total, back) = match start {
                    Some(zero) => (zero + cost, None),
                    None => (after + cost, Some((kind, at))),
                };
                if total < best[1][last] {
                    best[1][last] = total;
                    from[1][last] = Some((first, back, curvature));
                }
            }
        }
    }
    // Back from the last point.
    let Some(end) = count.checked_sub(1) else {
        return Vec::new();
    };
    let mut kind = usize::from(best[1][end] < best[0][end]);
    let mut at = end;
    let mut runs = Vec::new();
    while let Some((first, back, curvature)) = from[kind][at] {
        runs.push(Run {
            reach: [chosen[first], chosen[at]],
            curvature,
        });
        match back {
            Some((before, end)) => (kind, at) = (before, end),
            None => break,
        }
    }
    runs.reverse();
    runs
}

/// The sum of squares of distances from the best line.
fn line(points: &[Point]) -> Option<f64> {
    let n = points.len() as f64;
    let mean = points
        .iter()
        .fold(Vec2::ZERO, |sum, point| sum + point.to_vec2())
        / n;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for point in points {
        let off = point.to_vec2() - mean;
        xx += off.x * off.x;
        xy += off.x * off.y;
        yy += off.y * off.y;
    }
    // The smaller of the two principal moments.
    let (half, part) = (0.5 * (xx + yy), 0.5 * (xx - yy));
    Some((half - part.hypot(xy)).max(0.0))
}

/// The sum of squares of distances from a circle, and its curvature: the circle of least squares of
/// x² + y² (Kåsa), good enough to part the row by.
fn circle(points: &[Point]) -> Option<(f64, f64)> {
    let n = points.len() as f64;
    let mean = points
        .iter()
        .fold(Vec2::ZERO, |sum, point| sum + point.to_vec2())
        / n;
    let mut normal = nalgebra::Matrix2::zeros();
    let mut right = nalgebra::Vector2::zeros();
    for point in points {
        let off = point.to_vec2() - mean;
        let square = off.hypot2();
        normal +=
            nalgebra::Matrix2::new(off.x * off.x, off.x * off.y, off.x * off.y, off.y * off.y);
        right += nalgebra::Vector2::new(off.x * square, off.y * square) * 0.5;
    }
    let center = normal.lu().solve(&right)?;
    let center = Vec2::new(center.x, center.y);
    let mean_square: f64 = points
        .iter()
        .map(|point| (point.to_vec2() - mean).hypot2())
        .sum::<f64>()
        / n;
    let radius = (center.hypot2() + mean_square).sqrt();
    if !radius.is_finite() || radius > 200.0 {
        return None;
    }
    let center = mean + center;
    let sum = points
        .iter()
        .map(|point| ((point.to_vec2() - center).hypot() - radius).powi(2))
        .sum();
    // Which way it goes around: by the first, middle and last point.
    let [a, b, c] = [0, points.len() / 2, points.len() - 1].map(|at| points[at]);
    let turn = (b - a).cross(c - b).signum();
    Some((sum, turn / radius))
}
