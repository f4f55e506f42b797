//! Track that is known, measured badly, and found again.

use proptest::prelude::*;

use super::*;
use crate::alignment::solve::solve;

/// Numbers between −1 and 1 that look like chance, from a seed.
fn chance(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

/// Points along a course every `step`, each off it by about a normal scatter; those listed far off.
fn measure(path: &Path, step: f64, scatter: f64, bad: &[(usize, f64)], seed: u64) -> Vec<Measured> {
    let mut next = chance(seed);
    let count = (path.length() / step) as usize;
    (0..=count)
        .map(|at| {
            let place = path.at(at as f64 * step).unwrap();
            // Three even chances are nearly a normal one.
            let mut off = scatter * (next() + next() + next());
            if let Some((_, far)) = bad.iter().find(|(index, _)| *index == at) {
                off += far;
            }
            let point = place.point() + place.left() * off;
            Measured {
                at: point,
                height: None,
            }
        })
        .collect()
}

fn track(elements: &[Fitted]) -> Path {
    let mut at = Place::new(0.4, 0.7, 0.3);
    let mut path = Path::default();
    let mut before = 0.0;
    for element in elements {
        let own = match element {
            Fitted::Curve { curvature, .. } => *curvature,
            Fitted::Tangent(_) => 0.0,
        };
        let from = if before * own > 0.0 { before } else { 0.0 };
        for piece in element.pieces(at, from, 0.0) {
            at = piece.end();
            path.push(piece);
        }
        before = own;
    }
    path
}

fn curve(radius: f64, arc: f64, easement: f64) -> Fitted {
    Fitted::Curve {
        curvature: 1.0 / radius,
        arc,
        easements: [easement; 2],
    }
}

#[test]
fn an_eased_curve_is_found_again_and_bad_points_are_named() {
    let known = [
        Fitted::Tangent(1.5),
        curve(0.9, 0.9, 0.45),
        Fitted::Tangent(1.2),
    ];
    let bad = [(9, 0.012), (41, -0.02), (60, 0.008)];
    let points = measure(&track(&known), 0.05, 2e-4, &bad, 7);
    let found = fit(&points, Options { scatter: None }).unwrap();
    assert_eq!(found.outliers, [9, 41, 60]);
    assert!(found.rms < 4e-4, "{}", found.rms);
    let [
        Fitted::Tangent(_),
        Fitted::Curve {
            curvature,
            arc,
            easements,
        },
        Fitted::Tangent(_),
    ] = found.elements[..]
    else {
        panic!("{:?}", found.elements)
    };
    assert!(
        (1.0 / curvature / 0.9 - 1.0).abs() < 0.01,
        "{}",
        1.0 / curvature
    );
    let turned = (arc + 0.5 * (easements[0] + easements[1])) * curvature;
    assert!((turned - 1.5).abs() < 0.005, "{turned}");
    for easement in easements {
        assert!((easement / 0.45 - 1.0).abs() < 0.15, "{easements:?}");
    }
}

#[test]
fn plain_track_gets_no_easements() {
    let known = [
        Fitted::Tangent(1.0),
        curve(-0.7, 1.0, 0.0),
        Fitted::Tangent(0.8),
        curve(0.8, 0.9, 0.0),
    ];
    let points = measure(&track(&known), 0.04, 1.5e-4, &[], 3);
    let found = fit(&points, Options { scatter: None }).unwrap();
    assert!(
        found.outliers.is_empty(),
        "{:?} {:#?}",
        found.outliers,
        found.elements
    );
    let curves: Vec<(f64, [f64; 2])> = found
        .elements
        .iter()
        .filter_map(|element| match element {
            Fitted::Curve {
                curvature,
                easements,
                ..
            } => Some((1.0 / curvature, *easements)),
            Fitted::Tangent(_) => None,
        })
        .collect();
    assert_eq!(curves.len(), 2, "{:?}", found.elements);
    for ((radius, easements), known) in curves.into_iter().zip([-0.7, 0.8]) {
        assert!((radius / known - 1.0).abs() < 0.01, "{radius}");
        assert_eq!(easements, [0.0, 0.0]);
    }
}

/// What is printed, read as a plan and solved, is the course that was fitted.
#[test]
fn the_plan_is_the_course() {
    let compound = Fitted::Curve {
        curvature: 1.0 / 1.2,
        arc: 0.8,
        easements: [0.3, 0.0],
    };
    let second = Fitted::Curve {
        curvature: 1.0 / 0.7,
        arc: 0.6,
        easements: [0.2, 0.3],
    };
    let points = measure(
        &track(&[Fitted::Tangent(1.0), compound, second, Fitted::Tangent(0.9)]),
        0.04,
        1e-4,
        &[],
        5,
    );
    let found = fit(&points, Options { scatter: None }).unwrap();
    let solved = solve(&found.plan(0.0165));
    assert!(solved.faults.is_empty(), "{:?}", solved.faults);
    let laid = solved.lines[0].as_ref().unwrap();
    assert!((laid.path.length() - found.path.length()).abs() < 1e-9);
    assert!(
        laid.path
            .end()
            .unwrap()
            .point()
            .distance(found.path.end().unwrap().point())
            < 1e-9
    );
    assert!(found.rms < 3e-4, "{} {:?}", found.rms, found.elements);
}

#[test]
fn heights_become_grade_points() {
    let height = |s: f64| if s < 2.0 { 1.0 } else { 1.0 + 0.02 * (s - 2.0) };
    let mut next = chance(11);
    let measured: Vec<(f64, f64)> = (0..50)
        .map(|n| f64::from(n) * 0.1)
        .map(|s| (s, height(s) + 2e-4 * next()))
        .collect();
    let points = grade_points(&measured, 2e-4);
    assert_eq!(points.len(), 3, "{points:?}");
    assert!(
        (points[1].0 - 2.0).abs() < 0.05 && (points[1].1 - 1.0).abs() < 1e-3,
        "{points:?}"
    );
}

#[test]
fn too_little_is_said() {
    let point = |x: f64| Measured {
        at: Point::new(x, 0.0),
        height: None,
    };
    assert_eq!(
        fit(&[point(0.0), point(1.0)], Options { scatter: None }),
        Err(Unfit::TooFew)
    );
    let same = vec![point(1.0); 9];
    assert_eq!(fit(&same, Options { scatter: None }), Err(Unfit::NoCourse));
}

/// A short curve of few points once led the fit astray by a hand's breadth.
#[test]
fn a_short_curve_of_few_points() {
    let known = track(&[
        Fitted::Tangent(0.9),
        curve(0.5, 0.3, 0.122_782_691_978_970_28),
        Fitted::Tangent(0.9),
    ]);
    let points = measure(&known, 0.05, 2e-4, &[], 630);
    let found = fit(
        &points,
        Options {
            scatter: Some(2e-4),
        },
    )
    .unwrap();
    assert!(found.rms < 5e-4, "{} {:?}", found.rms, found.elements);
}

proptest! {
    // A fit to noise is a search: the same tracks are measured in every run.
    #![proptest_config(ProptestConfig {
        rng_seed: proptest::test_runner::RngSeed::Fixed(1941),
        ..ProptestConfig::with_cases(12)
    })]

    /// Whatever the radius and the scatter: the points lie on what is found about as well as on what
    /// they were measured from.
    #[test]
    fn fitted_as_well_as_measured(radius in 0.5..1.5f64, turn in 0.6..1.8f64, easement in 0.0..0.4f64, seed in 0u64..1000) {
        let known = track(&[Fitted::Tangent(0.9), curve(radius, radius * turn, easement), Fitted::Tangent(0.9)]);
        let points = measure(&known, 0.05, 2e-4, &[], seed);
        let found = fit(&points, Options { scatter: Some(2e-4) }).unwrap();
        let off = residuals(&known, &points.iter().map(|point| point.at).collect::<Vec<_>>());
        let rms = (off.iter().map(|(off, _)| off * off).sum::<f64>() / off.len() as f64).sqrt();
        prop_assert!(found.rms < 1.5 * rms + 1e-4, "{} {rms}", found.rms);
    }
}
