//! All elements fitted together.

use nalgebra::{DMatrix, DVector};

use super::{Fitted, near, part::Run, stations};
use crate::curve::{Easement, Path, Place, Point};

/// Elements under way: each as its numbers.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Model {
    /// The first point, abreast of which the course begins.
    first: Point,
    /// How far to the left of it, and in which direction.
    begin: [f64; 2],
    parts: Vec<Fitted>,
    /// Easements that were found to make no difference, or that there are none by the order of things.
    none: Vec<[bool; 2]>,
}

impl Model {
    /// Where it begins.
    pub(super) fn begin(&self) -> Place {
        let [left, heading] = self.begin;
        let place = Place::new(self.first.x, self.first.y, heading);
        let at = place.point() + place.left() * left;
        Place::new(at.x, at.y, heading)
    }

    /// The elements.
    pub(super) fn elements(&self) -> Vec<Fitted> {
        // A tangent between reverse curves may have come to nothing.
        let is_there = |part: &&Fitted| !matches!(part, Fitted::Tangent(length) if *length < 1e-9);
        self.parts.iter().filter(is_there).copied().collect()
    }

    /// Its course.
    pub(super) fn path(&self) -> Path {
        let mut path = Path::default();
        let mut at = self.begin();
        let curvature = |part: Option<&Fitted>| match part {
            Some(Fitted::Curve { curvature, .. }) => *curvature,
            _ => 0.0,
        };
        for (index, part) in self.parts.iter().enumerate() {
            let own = curvature(Some(part));
            let before = curvature(index.checked_sub(1).and_then(|at| self.parts.get(at)));
            let from = if before * own > 0.0 { before } else { 0.0 };
            for piece in part.pieces(at, from, 0.0) {
                at = piece.end();
                path.push(piece);
            }
        }
        path
    }

    fn values(&self) -> Vec<f64> {
        let mut values = self.begin.to_vec();
        for (part, none) in self.parts.iter().zip(&self.none) {
            match part {
                Fitted::Tangent(length) => values.push(*length),
                Fitted::Curve {
                    curvature,
                    arc,
                    easements,
                } => {
                    values.extend([*curvature, *arc]);
                    values.extend(
                        easements
                            .iter()
                            .zip(none)
                            .filter(|(_, none)| !**none)
                            .map(|(l, _)| *l),
                    );
                }
            }
        }
        values
    }

    fn with(&self, values: &[f64]) -> Self {
        let mut model = self.clone();
        let mut values = values.iter().copied();
        let mut next = || values.next().unwrap_or(0.0);
        model.begin = [next(), next()];
        for (part, none) in model.parts.iter_mut().zip(&self.none) {
            match part {
                Fitted::Tangent(length) => *length = next().max(0.0),
                Fitted::Curve {
                    curvature,
                    arc,
                    easements,
                } => {
                    let turn = curvature.signum();
                    // A curve stays to its hand, with a radius under a kilometre.
                    *curvature = (next() * turn).max(1e-3) * turn;
                    *arc = next().max(0.0);
                    for (length, none) in easements.iter_mut().zip(none) {
                        *length = if *none { 0.0 } else { next().max(0.0) };
                    }
                }
            }
        }
        model
    }

    /// Distances of points from the course, the left positive.
    fn off(&self, points: &[Point], shares: &[f64]) -> Vec<f64> {
        let path = self.path();
        points
            .iter()
            .zip(shares)
            .map(|(point, share)| {
                let (s, apart) = near(&path, *point, *share);
                let left = path
                    .at(s)
                    .map_or(0.0, |place| (*point - place.point()).dot(place.left()));
                apart.copysign(left)
            })
            .collect()
    }
}

/// Huber's weight: points within two scatters count in full, farther ones less.
fn weight(off: f64, scatter: f64) -> f64 {
    let limit = 2.0 * scatter;
    if off.abs() <= limit {
        1.0
    } else {
        limit / off.abs()
    }
}

fn cost(off: &[f64], scatter: f64) -> f64 {
    off.iter()
        .map(|off| {
            let u = (off / scatter).abs();
            if u <= 2.0 { u * u } else { 4.0 * u - 4.0 }
        })
        .sum()
}

/// Fits the elements that a parting calls for.
pub(super) fn fit(points: &[Point], runs: &[Run], scatter: f64) -> Option<Model> {
    let along = stations(points);
    let whole = *along.last()?;
    if whole < 1e-6 {
        return None;
    }
    let shares: Vec<f64> = along.iter().map(|s| s / whole).collect();
    let mut model = start(points, runs, &along)?;
    let mut reached = polish(&mut model, points, &shares, scatter);
    // A circle through few points may be far off; the tangents on both sides of it are surer.
    if let Some(mut other) = start(points, &between_tangents(points, runs, &along), &along) {
        let then = polish(&mut other, points, &shares, scatter);
        if then < reached {
            (model, reached) = (other, then);
        }
    }
    // An easement that does not pay for itself is none: tried one by one, the shortest first.
    loop {
        let mut trials: Vec<(f64, usize, usize)> = Vec::new();
        for (at, part) in model.parts.iter().enumerate() {
            if let Fitted::Curve { easements, .. } = part {
                for (which, length) in easements.iter().enumerate() {
                    if !model.none[at][which] {
                        trials.push((*length, at, which));
                    }
                }
            }
        }
        trials.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut dropped = false;
        for (_, at, which) in trials {
            let mut without = model.clone();
            without.none[at][which] = true;
            if let Fitted::Curve { arc, easements, .. } = &mut without.parts[at] {
                *arc += 0.5 * easements[which];
                easements[which] = 0.0;
            }
            let then = polish(&mut without, points, &shares, scatter);
            if then < reached + 6.0 {
                (model, reached) = (without, then);
                dropped = true;
                break;
            }
        }
        if !dropped {
            break;
        }
    }
    Some(model)
}

/// A first guess from the runs: they meet halfway between their last and first points, and the easement
/// from a line to a circle follows from how far the circle stands off the line.
fn start(points: &[Point], runs: &[Run], along: &[f64]) -> Option<Model> {
    let runs = &with_tangents(runs)[..];
    let first = runs.first()?;
    let mut bounds = vec![0.0];
    for pair in runs.windows(2) {
        bounds.push(0.5 * (along[pair[0].reach[1]] + along[pair[1].reach[0]]));
    }
    bounds.push(*along.last()?);
    let gap = |at: usize| along[runs[at + 1].reach[0]] - along[runs[at].reach[1]];
    let mut parts = Vec::new();
    let mut none = Vec::new();
    let easement = |at: usize, with: Option<usize>, joint: Option<usize>| -> f64 {
        let (Some(_), Some(joint)) = (with, joint) else {
            return 0.0;
        };
        let radius = 1.0 / runs[at].curvature.abs();
        // What the gap between the runs leaves room for, and not so long that it eats the arc.
        let shift = gap(joint).powi(2) / (24.0 * radius);
        Easement::of_shift(radius, shift)
            .map_or(0.0, |found| found.length)
            .max(0.02)
    };
    for (at, run) in runs.iter().enumerate() {
        let length = bounds[at + 1] - bounds[at];
        if run.curvature == 0.0 {
            let mut take = 0.0;
            for (other, joint) in [
                (at.checked_sub(1), at.checked_sub(1)),
                ((at + 1 < runs.len()).then_some(at + 1), Some(at)),
            ] {
                if let Some(other) = other {
                    take += 0.5 * easement(other, Some(at), joint);
                }
            }
            parts.push(Fitted::Tangent((length - take).max(0.01)));
            none.push([true; 2]);
            continue;
        }
        let before = at.checked_sub(1);
        let after = (at + 1 < runs.len()).then_some(at + 1);
        let same = |other: Option<usize>| {
            other.is_some_and(|other| runs[other].curvature * run.curvature > 0.0)
        };
        let lengths = [
            easement(at, before, before),
            if same(after) {
                0.0
            } else {
                easement(at, after, Some(at).filter(|_| after.is_some()))
            },
        ];
        // At the ends of the row nothing tells of an easement; of a compound curve the second has it.
        none.push([before.is_none(), after.is_none() || same(after)]);
        let take = 0.5 * (lengths[0] + lengths[1]);
        parts.push(Fitted::Curve {
            curvature: run.curvature,
            arc: (length - take).max(0.02),
            easements: lengths,
        });
    }
    // Which way it begins: along the chord of the first run, less half of what that turns.
    let [a, b] = first.reach.map(|at| points[at]);
    let chord = (b - a).atan2();
    let turned = first.curvature * (along[first.reach[1]] - along[first.reach[0]]);
    Some(Model {
        first: points[0],
        begin: [0.0, chord - 0.5 * turned],
        parts,
        none,
    })
}

/// The runs with the curvature of each circle between two lines as it follows from these: the angle by
/// which they part, over the way from the one to the other.
fn between_tangents(points: &[Point], runs: &[Run], along: &[f64]) -> Vec<Run> {
    let heading = |run: &Run| {
        let [a, b] = run.reach.map(|at| points[at]);
        (run.curvature == 0.0).then(|| (b - a).atan2())
    };
    let mut all = runs.to_vec();
    for at in 1..runs.len().saturating_sub(1) {
        if let (Some(before), Some(after)) = (heading(&runs[at - 1]), heading(&runs[at + 1]))
            && runs[at].curvature != 0.0
        {
            let begin = 0.5 * (along[runs[at - 1].reach[1]] + along[runs[at].reach[0]]);
            let end = 0.5 * (along[runs[at].reach[1]] + along[runs[at + 1].reach[0]]);
            let turn = crate::curve::wrapped(after - before);
            if end > begin && turn.abs() > 1e-3 {
                all[at].curvature = turn / (end - begin);
            }
        }
    }
    all
}

/// Between curves to opposite hands there is a tangent, though it may turn out to be nothing: where no
/// run of points says so, the middle third of what lies between.
fn with_tangents(runs: &[Run]) -> Vec<Run> {
    let mut all: Vec<Run> = Vec::new();
    for run in runs {
        if let Some(before) = all.last()
            && before.curvature * run.curvature < 0.0
        {
            let (from, to) = (before.reach[1], run.reach[0]);
            let third = (to - from) / 3;
            all.push(Run {
                reach: [from + third, to - third],
                curvature: 0.0,
            });
        }
        all.push(*run);
    }
    all
}

/// Levenberg's and Marquardt's least squares with Huber's weights; gives the cost reached.
fn polish(model: &mut Model, points: &[Point], shares: &[f64], scatter: f64) -> f64 {
    let mut damping = 1e-3;
    let mut off = model.off(points, shares);
    let mut reached = cost(&off, scatter);
    for _ in 0..60 {
        let values = model.values();
        let mut slopes = DMatrix::zeros(points.len(), values.len());
        for column in 0..values.len() {
            let mut moved = values.clone();
            let step = 1e-6;
            moved[column] += step;
            let there = model.with(&moved).off(points, shares);
            for (row, (there, here)) in there.iter().zip(&off).enumerate() {
                slopes[(row, column)] = (there - here) / step;
            }
        }
        let weights: Vec<f64> = off.iter().map(|off| weight(*off, scatter)).collect();
        let mut weighted = slopes.clone();
        for (row, weight) in weights.iter().enumerate() {
            weighted.row_mut(row).scale_mut(*weight);
        }
        let normal = weighted.transpose() * &slopes;
        let right = weighted.transpose() * DVector::from_column_slice(&off);
        let mut better = false;
        for _ in 0..10 {
            let mut damped = normal.clone();
            for at in 0..values.len() {
                damped[(at, at)] += damping * normal[(at, at)].max(1e-9);
            }
            let Some(step) = damped.cholesky().map(|cholesky| cholesky.solve(&right)) else {
                damping *= 10.0;
                continue;
            };
            let moved: Vec<f64> = values
                .iter()
                .zip(step.iter())
                .map(|(value, step)| value - step)
                .collect();
            let next = model.with(&moved);
            let there = next.off(points, shares);
            let cost = cost(&there, scatter);
            if cost < reached {
                let gained = reached - cost;
                (*model, off, reached) = (next, there, cost);
                damping = (damping * 0.2).max(1e-12);
                better = gained > 1e-9 * (1.0 + reached);
                break;
            }
            damping *= 5.0;
        }
        if !better {
            break;
        }
    }
    reached
}
