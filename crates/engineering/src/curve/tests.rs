//! The primitives against published tables, an independent quadrature and brute force.

use proptest::prelude::*;

use super::*;

/// The travel by somebody else's quadrature.
fn by_quadrature(curvature: f64, sharpness: f64, length: f64) -> Vec2 {
    let phase = |u: f64| u * (curvature + 0.5 * sharpness * u);
    // In parts of about a radian, where the double-exponential rule is at its best.
    let turns = length * (curvature.abs() + 0.5 * sharpness.abs() * length);
    let parts = turns.ceil().max(1.0) as u32;
    let step = length / f64::from(parts);
    (0..parts).fold(Vec2::ZERO, |sum, part| {
        let [a, b] = [part, part + 1].map(|at| f64::from(at) * step);
        let x = quadrature::integrate(|u| phase(u).cos(), a, b, 1e-13).integral;
        let y = quadrature::integrate(|u| phase(u).sin(), a, b, 1e-13).integral;
        sum + Vec2::new(x, y)
    })
}

fn piece() -> impl Strategy<Value = Piece> {
    let curvature = prop_oneof![Just(0.0), -6.0..6.0f64];
    let kind = prop_oneof![
        (curvature.clone()).prop_map(|k| [k; 2]),
        (curvature.clone(), curvature).prop_map(|(a, b)| [a, b]),
    ];
    (
        -5.0..5.0f64,
        -5.0..5.0f64,
        -7.0..7.0f64,
        0.001..3.0f64,
        kind,
    )
        .prop_map(|(x, y, heading, length, curvature)| Piece {
            x,
            y,
            heading,
            length,
            curvature,
        })
}

/// A chain in which each piece begins where the one before ends, curvature included.
fn chain() -> impl Strategy<Value = Path> {
    (
        piece(),
        prop::collection::vec((0.05..1.5f64, -4.0..4.0f64), 0..6),
    )
        .prop_map(|(first, more)| {
            let mut path = Path::new([first]);
            for (length, curvature) in more {
                let end = path.end().unwrap();
                path.push(Piece::spiral(end, length, [end.curvature, curvature]));
            }
            path
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_series_is_the_integral(k in -8.0..8.0f64, c in -20.0..20.0f64, length in 0.001..4.0f64) {
        let (ours, theirs) = (travel(k, c, length), by_quadrature(k, c, length));
        prop_assert!((ours - theirs).hypot() < 1e-9, "{ours:?} {theirs:?}");
    }

    #[test]
    fn nearly_even_curvature_is_no_cliff(k in -8.0..8.0f64, c in -1e-9..1e-9f64, length in 0.001..4.0f64) {
        prop_assert!((travel(k, c, length) - travel(k, 0.0, length)).hypot() < 1e-7);
        prop_assert!((travel(k, c, length) - by_quadrature(k, c, length)).hypot() < 1e-9);
    }

    #[test]
    fn joints_are_smooth(path in chain()) {
        for jump in path.joints() {
            prop_assert!(jump.gap < 1e-12 && jump.kink.abs() < 1e-12 && jump.curvature.abs() < 1e-12);
        }
    }

    #[test]
    fn backward_is_the_same_track(path in chain(), at in 0.0..1.0f64) {
        let back = path.reversed();
        let s = at * path.length();
        let (one, two) = (path.at(s).unwrap(), back.at(path.length() - s).unwrap());
        prop_assert!(one.point().distance(two.point()) < 1e-9);
        prop_assert!((one.curvature + two.curvature).abs() < 1e-9);
        prop_assert!((wrapped(one.heading - two.heading).abs() - std::f64::consts::PI).abs() < 1e-9);
        prop_assert!((path.length() - back.length()).abs() < 1e-9);
    }

    #[test]
    fn a_part_is_where_the_whole_is(path in chain(), a in 0.0..1.0f64, b in 0.0..1.0f64, t in 0.0..1.0f64) {
        let (a, b) = (a.min(b) * path.length(), a.max(b) * path.length());
        let part = path.part(a, b);
        prop_assert!((part.length() - (b - a)).abs() < 1e-9);
        if let Some(place) = part.at(t * part.length()) {
            let whole = path.at(a + t * part.length()).unwrap();
            prop_assert!(place.point().distance(whole.point()) < 1e-9);
        }
    }

    /// The nearest point of many steps is never nearer.
    #[test]
    fn nearest_by_brute_force(path in chain(), x in -8.0..8.0f64, y in -8.0..8.0f64) {
        let point = Point::new(x, y);
        let (s, distance) = path.nearest(point).unwrap();
        prop_assert!((path.at(s).unwrap().point().distance(point) - distance).abs() < 1e-9);
        let brute = path.places(1e-3).iter().map(|(_, place)| place.point().distance(point))
            .fold(f64::INFINITY, f64::min);
        prop_assert!(distance <= brute + 1e-9 && brute - distance < 1e-3, "{distance} {brute}");
    }

    /// A parallel is everywhere its offset away from the center line, and nowhere nearer.
    #[test]
    fn parallels_by_brute_force(piece in piece(), left in -0.12..0.12f64, at in 0.0..1.0f64) {
        let place = piece.at(at * piece.length);
        let beside = place.beside(left).unwrap();
        prop_assert!((beside.point().distance(place.point()) - left.abs()).abs() < 1e-12);
        // Curvature of the parallel by differences of its heading over its length.
        let d = 1e-5;
        let [a, b] = [-d, d].map(|d| piece.at(at * piece.length + d).beside(left).unwrap());
        let run = a.point().distance(b.point());
        prop_assert!(((b.heading - a.heading) / run - beside.curvature).abs() < 1e-3);
        // What is drawn stays on it, wherever the piece is long enough to be seen.
        if piece.length > 0.02 && piece.turn().abs() < 3.0 {
            let drawn = to_bezier(&Path::new([piece]), left, 1e-6);
            use kurbo::{ParamCurve as _, ParamCurveNearest as _};
            for segment in drawn.segments() {
                let point = segment.eval(0.37);
                let (_, distance) = piece.nearest(point);
                prop_assert!((distance - left.abs()).abs() < 5e-6, "{distance} {left}");
            }
            let near = drawn.segments().map(|s| s.nearest(beside.point(), 1e-9).distance_sq.sqrt())
                .fold(f64::INFINITY, f64::min);
            prop_assert!(near < 5e-6, "{near}");
        }
    }

    #[test]
    fn closest_by_brute_force(one in piece(), other in piece()) {
        let (one, other) = (Path::new([one]), Path::new([other]));
        let found = closest(&one, &other, 0.01).unwrap();
        let brute = one.places(2e-3).iter()
            .map(|(_, place)| other.nearest(place.point()).unwrap().1)
            .fold(f64::INFINITY, f64::min);
        prop_assert!(found.apart <= brute + 1e-4, "{} {brute}", found.apart);
        let [a, b] = [one.at(found.at[0]).unwrap(), other.at(found.at[1]).unwrap()];
        prop_assert!((a.point().distance(b.point()) - found.apart).abs() < 1e-9);
    }

    #[test]
    fn a_rectangle_holds_its_piece(piece in piece(), at in 0.0..1.0f64) {
        prop_assert!(piece.bounds().inflate(1e-9, 1e-9).contains(piece.at(at * piece.length).point()));
    }
}

/// The spiral of the A.R.E.A. (θ = L/2R): computed from the definition in double precision by another
/// program, to 1e-4 of the unit of each row (feet, then model inches).
#[test]
fn spiral_tables() {
    for (radius, length, degrees, x, y, shift, set_back, ts60, ts90) in [
        (
            1432.6854, 240.0, 4.79903, 239.8317, 6.6973, 1.6748, 119.9719, 948.1002, 1554.3321,
        ),
        (
            955.3661, 200.0, 5.99726, 199.7810, 6.9727, 1.7438, 99.9635, 652.5512, 1057.0735,
        ),
        (
            573.6857, 100.0, 4.99366, 99.9241, 2.9036, 0.7261, 49.9873, 381.6241, 624.3991,
        ),
        (
            30.0, 20.0, 19.09859, 19.7789, 2.2046, 0.5534, 9.9631, 27.6031, 40.5164,
        ),
        (
            24.0, 18.0, 21.48592, 17.7485, 2.2275, 0.5597, 8.9580, 23.1375, 33.5177,
        ),
        (
            15.0, 12.0, 22.91831, 11.8094, 1.5818, 0.3977, 5.9681, 14.8580, 21.3659,
        ),
        (
            48.0, 30.0, 17.90493, 29.7084, 3.1033, 0.7785, 14.9513, 43.1136, 63.7298,
        ),
    ] {
        let easement = Easement { radius, length };
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1.01e-4, "R {radius}: {a} {b}");
        near(easement.angle().to_degrees(), degrees);
        near(easement.end().0, x);
        near(easement.end().1, y);
        near(easement.shift(), shift);
        near(easement.set_back(), set_back);
        near(easement.tangent_distance(60f64.to_radians()), ts60);
        near(easement.tangent_distance(90f64.to_radians()), ts90);
        // And back from the shift, which near the end of the table is known to four places.
        let back = Easement::of_shift(radius, easement.shift()).unwrap();
        assert!((back.length - length).abs() < 1e-9 * length);
    }
    // Offsets from the tangent at the quarter points, 4° and HO rows.
    for (radius, length, offsets) in [
        (1432.6854, 240.0, [0.1047, 0.8376, 2.8264]),
        (30.0, 20.0, [0.0347, 0.2776, 0.9351]),
    ] {
        let spiral = Piece::spiral(Place::new(0.0, 0.0, 0.0), length, [0.0, 1.0 / radius]);
        for (quarter, offset) in [1.0, 2.0, 3.0].into_iter().zip(offsets) {
            assert!((spiral.at(quarter * length / 4.0).y - offset).abs() < 1e-4);
        }
    }
    // The approximation L = √(24Ro) for a half-inch shift at 30 in: 18.974 in.
    let eased = Easement::of_shift(30.0, 0.5).unwrap();
    assert!(
        (eased.length / 18.974 - 1.0).abs() < 0.005,
        "{}",
        eased.length
    );
}

/// A simple curve of 6° by the chord with I = 40°, reckoned from the definitions; the relations are
/// those of Searles, *Field Engineering*.
#[test]
fn a_simple_curve() {
    let radius = 50.0 / 3f64.to_radians().sin();
    let curve = SimpleCurve {
        radius,
        angle: 40f64.to_radians(),
    };
    for (got, expected) in [
        (radius, 955.366),
        (curve.tangent(), 347.725),
        (curve.external(), 61.313),
        (curve.mid_ordinate(), 57.616),
        (curve.long_chord(), 653.509),
    ] {
        assert!((got - expected).abs() < 1e-3, "{got} {expected}");
    }
    // By the chord, 100 ft of chord for each 6°, which is a little less than along the arc.
    assert!((100.0 * 40.0 / 6.0 - 666.667f64).abs() < 1e-3 && curve.length() > 666.667);
}

/// A string of 62 ft stands off by an inch for each degree (United States Army TR0603, string
/// lining), to the accuracy of that rule; and the string test of a 24-in curve, by the definition.
#[test]
fn strings() {
    for (degree, inches) in [
        (1.0, 1.0064),
        (4.0, 4.0251),
        (10.0, 10.0581),
        (30.0, 30.0417),
    ] {
        let radius = 50.0 / (0.5f64 * f64::to_radians(degree)).sin();
        let ordinate = 12.0 * mid_ordinate(radius, 62.0);
        assert!((ordinate - inches).abs() < 1e-4, "{degree}: {ordinate}");
        assert!((ordinate / degree - 1.0).abs() < 0.01);
        assert!((radius_of_mid_ordinate(ordinate / 12.0, 62.0) / radius - 1.0).abs() < 1e-12);
    }
    assert!((mid_ordinate(24.0, 10.0) - 0.526_61).abs() < 1e-5);
}

#[test]
fn around_a_circle_and_back() {
    let circle = Piece::arc(
        Place::new(1.0, 2.0, 0.3),
        std::f64::consts::TAU * 0.7,
        -1.0 / 0.7,
    );
    assert!(circle.end().point().distance(circle.begin().point()) < 1e-12);
    assert!((circle.end().heading - 0.3 + std::f64::consts::TAU).abs() < 1e-12);
}
