//! Closing on an end: what may be adjusted is changed as little as possible.
//!
//! The misfit is three numbers: along, aside, and direction. With more than three things to adjust the
//! smallest change that closes is taken (least squares of the changes, each in proportion to what is
//! usual: a tangent's length by decimetres, an angle by tenths of a radian, a radius by decimetres);
//! with fewer, the changes that leave the smallest misfit.

use nalgebra::{DMatrix, DVector};

use super::{
    Closure, Faults, Misfit,
    lay::{Chain, Job, run},
};
use crate::alignment::plan::{Adjust, Element, Measure};

/// A direction counts as much as this many metres.
const ARM: f64 = 0.5;

/// Lays a job, adjusted so that it meets its goal.
pub(super) fn close(job: &Job<'_>, faults: &mut Faults) -> (Chain, Option<Closure>) {
    let mut elements = job.line.elements.clone();
    let Some(goal) = job.goal else {
        return (run(job, &elements, faults), None);
    };
    let misfit = |elements: &[Element], faults: &mut Faults| {
        let chain = run(job, elements, faults);
        let misfit = Misfit::new(chain.end(job.begin), goal);
        (chain, misfit)
    };
    let mut aside = Vec::new();
    let (chain, before) = misfit(&elements, &mut aside);
    let free: Vec<usize> = elements
        .iter()
        .enumerate()
        .filter(|(_, e)| value(e).is_some())
        .map(|(at, _)| at)
        .collect();
    if free.is_empty() || before.distance() + ARM * before.turned.abs() < 1e-12 {
        faults.append(&mut aside);
        let closure = Closure {
            before,
            after: before,
            adjusted: Vec::new(),
        };
        return (chain, Some(closure));
    }
    let residual =
        |misfit: Misfit| DVector::from_vec(vec![misfit.short, misfit.left, ARM * misfit.turned]);
    let mut off = residual(before);
    for _ in 0..60 {
        if off.norm() < 1e-12 {
            break;
        }
        let mut slopes = DMatrix::zeros(3, free.len());
        for (column, &at) in free.iter().enumerate() {
            let d = 1e-7;
            let mut moved = elements.clone();
            change(&mut moved[at], d);
            let (_, misfit) = misfit(&moved, &mut Vec::new());
            let scaled = (residual(misfit) - &off) * (scale(&elements[at]) / d);
            slopes.set_column(column, &scaled);
        }
        let svd = slopes.svd(true, true);
        let Ok(step) = svd.solve(&off, 1e-9 * svd.singular_values.max().max(1e-12)) else {
            break;
        };
        // Halved until it helps: the first steps of a loop that is far open may overshoot.
        let mut part = 1.0;
        let mut better = None;
        for _ in 0..12 {
            let mut moved = elements.clone();
            for (step, &at) in step.iter().zip(&free) {
                change(&mut moved[at], -part * step * scale(&elements[at]));
            }
            let (_, misfit) = misfit(&moved, &mut Vec::new());
            let next = residual(misfit);
            if next.norm() < off.norm() {
                better = Some((moved, next));
                break;
            }
            part *= 0.5;
        }
        let Some((moved, next)) = better else { break };
        let gained = off.norm() - next.norm();
        (elements, off) = (moved, next);
        if gained < 1e-13 {
            break;
        }
    }
    let (chain, after) = misfit(&elements, faults);
    let adjusted = free
        .into_iter()
        .filter_map(|at| Some((at, value(&job.line.elements[at])?, value(&elements[at])?)))
        .collect();
    (
        chain,
        Some(Closure {
            before,
            after,
            adjusted,
        }),
    )
}

/// The value that may be adjusted.
fn value(element: &Element) -> Option<f64> {
    match *element {
        Element::Tangent {
            length,
            adjust: true,
        } => Some(length),
        Element::Curve {
            radius,
            adjust: Some(Adjust::Radius),
            ..
        } => Some(radius),
        Element::Curve {
            by,
            adjust: Some(Adjust::Length),
            ..
        } => match by {
            Measure::Angle(value) | Measure::Length(value) | Measure::Heading(value) => Some(value),
        },
        _ => None,
    }
}

fn change(element: &mut Element, by_how_much: f64) {
    match element {
        Element::Tangent { length, .. } => *length += by_how_much,
        Element::Curve {
            radius,
            adjust: Some(Adjust::Radius),
            ..
        } => *radius += by_how_much,
        Element::Curve { by, .. } => match by {
            Measure::Angle(value) | Measure::Length(value) | Measure::Heading(value) => {
                *value += by_how_much;
            }
        },
        _ => {}
    }
}

/// A usual change.
fn scale(element: &Element) -> f64 {
    match element {
        Element::Tangent { .. } => 0.2,
        Element::Curve {
            adjust: Some(Adjust::Radius),
            ..
        } => 0.05,
        Element::Curve {
            by: Measure::Length(_),
            ..
        } => 0.1,
        _ => 0.1,
    }
}
