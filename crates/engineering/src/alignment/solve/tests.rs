//! Solving, held to geometry that does not come from the solver.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use proptest::prelude::*;

use super::*;
use crate::{
    alignment::plan::{Adjust, Measure},
    curve::{Point, SimpleCurve},
};

fn line(begin: Begin, elements: Vec<Element>, end: End) -> CenterLine {
    CenterLine {
        name: String::new(),
        begin,
        elements,
        end,
    }
}

fn tangent(length: f64) -> Element {
    Element::Tangent {
        length,
        adjust: false,
    }
}

fn curve(turn: f64, radius: f64, angle: f64, easement: f64) -> Element {
    Element::Curve {
        turn,
        radius,
        by: Measure::Angle(angle),
        easements: [easement; 2],
        adjust: None,
    }
}

fn plan(lines: Vec<CenterLine>) -> Plan {
    Plan {
        lines,
        gauge: 0.0165,
    }
}

const ORIGIN: Place = Place {
    x: 0.0,
    y: 0.0,
    heading: 0.0,
    curvature: 0.0,
};

fn only(line: CenterLine) -> (Laid, Vec<Fault>) {
    let solved = solve(&plan(vec![line]));
    (solved.lines[0].clone().unwrap(), solved.faults)
}

fn smooth(path: &Path, curvature: bool) {
    for jump in path.joints() {
        assert!(jump.gap < 1e-8 && jump.kink.abs() < 1e-8, "{jump:?}");
        assert!(!curvature || jump.curvature.abs() < 1e-8, "{jump:?}");
    }
}

/// Tangent distances of a simple curve and of an eased one (by the field book's formulas) lead from
/// the one tangent to the other.
#[test]
fn a_curve_ends_on_its_other_tangent() {
    let angle = 40f64.to_radians();
    let simple = SimpleCurve { radius: 0.9, angle }.tangent();
    let eased = crate::curve::Easement {
        radius: 0.9,
        length: 0.4,
    }
    .tangent_distance(angle);
    for (easement, distance) in [(0.0, simple), (0.4, eased)] {
        let (laid, faults) = only(line(
            Begin::At(ORIGIN),
            vec![curve(1.0, 0.9, angle, easement)],
            End::Free,
        ));
        let end = laid.path.end().unwrap();
        let expected = Point::new(distance * (1.0 + angle.cos()), distance * angle.sin());
        assert!(faults.is_empty() && end.point().distance(expected) < 1e-12);
        assert!((end.heading - angle).abs() < 1e-12);
        smooth(&laid.path, easement > 0.0);
    }
}

/// An oval that comes back to where it began by symmetry.
#[test]
fn an_oval_closes_and_a_short_one_is_adjusted() {
    let half = |length, adjust| {
        [
            Element::Tangent { length, adjust },
            curve(1.0, 0.7, PI, 0.3),
        ]
    };
    let oval = |a, b, adjust| [half(a, adjust), half(b, adjust)].concat();
    let (laid, faults) = only(line(Begin::At(ORIGIN), oval(2.0, 2.0, false), End::Start));
    assert!(faults.is_empty() && laid.closure.as_ref().unwrap().before.distance() < 1e-12);
    smooth(&laid.path, true);
    // The two sides differ: the misfit is their difference, and is shared when both may change.
    let (laid, faults) = only(line(Begin::At(ORIGIN), oval(2.0, 1.9, false), End::Start));
    let closure = laid.closure.unwrap();
    assert!((closure.after.short + 0.1).abs() < 1e-12 && closure.after.left.abs() < 1e-12);
    assert!(matches!(
        faults[..],
        [Fault {
            kind: FaultKind::Open(_),
            ..
        }]
    ));
    let (laid, faults) = only(line(Begin::At(ORIGIN), oval(2.0, 1.9, true), End::Start));
    let closure = laid.closure.unwrap();
    assert!(faults.is_empty(), "{faults:?}");
    assert!((closure.before.distance() - 0.1).abs() < 1e-12 && closure.after.distance() < 1e-9);
    assert_eq!(closure.adjusted.len(), 2);
    for (_, _, solved) in closure.adjusted {
        assert!((solved - 1.95).abs() < 1e-9, "{solved}");
    }
}

/// With one length to adjust and a misfit aside, what is left is the least there can be: the part of
/// the misfit that the length cannot reach.
#[test]
fn what_cannot_close_is_left_over() {
    let goal = Place::new(3.0, 0.25, 0.0);
    let free = Element::Tangent {
        length: 2.0,
        adjust: true,
    };
    let (laid, faults) = only(line(Begin::At(ORIGIN), vec![free], End::At(goal)));
    let closure = laid.closure.unwrap();
    assert!((closure.after.short).abs() < 1e-6 && (closure.after.left + 0.25).abs() < 1e-12);
    assert!((laid.path.length() - 3.0).abs() < 1e-6);
    assert_eq!(faults.len(), 1);
}

/// An unknown radius between two known tangents, by T = R·tan ½I.
#[test]
fn a_radius_is_solved() {
    let angle = 70f64.to_radians();
    let radius = 0.83;
    let reach = SimpleCurve { radius, angle }.tangent();
    let goal = Place::new(
        1.0 + reach + reach * angle.cos(),
        reach * angle.sin(),
        angle,
    );
    let free = Element::Curve {
        turn: 1.0,
        radius: 0.6,
        by: Measure::Angle(angle),
        easements: [0.0; 2],
        adjust: Some(Adjust::Radius),
    };
    let (laid, faults) = only(line(
        Begin::At(ORIGIN),
        vec![tangent(1.0), free],
        End::At(goal),
    ));
    assert!(faults.is_empty(), "{faults:?}");
    assert!((laid.closure.unwrap().adjusted[0].2 - radius).abs() < 1e-9);
}

#[test]
fn curves_of_one_hand_are_compounded() {
    let elements = vec![
        tangent(0.5),
        curve(1.0, 1.2, 0.5, 0.3),
        curve(1.0, 0.8, 0.9, 0.3),
        tangent(0.5),
    ];
    let (laid, faults) = only(line(Begin::At(ORIGIN), elements, End::Free));
    assert!(faults.is_empty());
    smooth(&laid.path, true);
    // Nowhere between the two does it straighten.
    let [from, _] = laid.reach[1];
    let [_, to] = laid.reach[2];
    for n in 0..=50 {
        let s = from + 0.3 + (to - from - 0.6) * f64::from(n) / 50.0;
        assert!(laid.path.at(s).unwrap().curvature > 1.0 / 1.2 - 1e-9);
    }
    assert!((laid.path.end().unwrap().heading - 1.4).abs() < 1e-12);
}

#[test]
fn easements_longer_than_the_curve_are_reported() {
    let (laid, faults) = only(line(
        Begin::At(ORIGIN),
        vec![curve(-1.0, 0.8, 0.2, 0.3)],
        End::Free,
    ));
    assert!(
        matches!(faults[..], [Fault { element: Some(0), kind: FaultKind::Easements(short), .. }] if (short - 0.14).abs() < 1e-12)
    );
    assert!((laid.path.end().unwrap().heading + 0.2).abs() < 1e-12);
}

/// A siding beside straight track: its turnouts 2 m apart, parallel at 5 cm. By the plane geometry of
/// a No. 6: lead, tangent and return curve each take up their share of the 5 cm.
#[test]
fn a_siding_beside_its_main() {
    let main = line(
        Begin::At(ORIGIN),
        vec![
            tangent(1.0),
            Element::Mark,
            tangent(2.0),
            Element::Mark,
            tangent(1.0),
        ],
        End::Free,
    );
    let switch = |element, facing, hand| Diverging {
        line: 0,
        at: Spot::Element(element),
        facing,
        hand,
        number: 6.0,
    };
    let beside = Element::Parallel {
        line: 0,
        left: 0.05,
        radius: 0.9,
        length: None,
    };
    let siding = line(
        Begin::Switch(switch(1, true, 1.0)),
        vec![beside],
        End::Switch(switch(3, false, -1.0)),
    );
    let solved = solve(&plan(vec![main, siding]));
    assert!(solved.faults.is_empty(), "{:?}", solved.faults);
    let siding = solved.lines[1].as_ref().unwrap();
    smooth(&siding.path, false);
    let (a, b) = (siding.path.begin().unwrap(), siding.path.end().unwrap());
    assert!(
        a.point().distance(Point::new(1.0, 0.0)) < 1e-9
            && b.point().distance(Point::new(3.0, 0.0)) < 1e-9
    );
    assert!(wrapped(a.heading).abs() < 1e-9 && wrapped(b.heading).abs() < 1e-9);
    let middle = siding.path.at(0.5 * siding.path.length()).unwrap();
    assert!((middle.y - 0.05).abs() < 1e-9 && middle.curvature == 0.0);
    // It leaves the lead at the frog angle, where it stands gN²(1 − cos F) aside twice over.
    let angle = 2.0 * (1f64 / 12.0).atan();
    let lead = siding.path.pieces()[0];
    assert!((lead.end().heading - angle).abs() < 1e-12);
    assert!((lead.end().y - 2.0 * 0.0165 * 36.0 * (1.0 - angle.cos())).abs() < 1e-12);
}

/// A siding that follows its main around a curve keeps its distance.
#[test]
fn a_siding_around_a_curve() {
    let main = line(
        Begin::At(ORIGIN),
        vec![tangent(1.2), curve(1.0, 1.1, FRAC_PI_2, 0.4), tangent(1.5)],
        End::Free,
    );
    for left in [0.05, -0.05] {
        let hand = f64::signum(left);
        let length = solve(&plan(vec![main.clone()])).lines[0]
            .as_ref()
            .unwrap()
            .path
            .length();
        let switch = |at, facing, hand| Diverging {
            line: 0,
            at: Spot::Distance(at),
            facing,
            hand,
            number: 6.0,
        };
        let siding = line(
            Begin::Switch(switch(0.2, true, hand)),
            vec![Element::Parallel {
                line: 0,
                left,
                radius: 0.9,
                length: None,
            }],
            End::Switch(switch(length - 0.2, false, -hand)),
        );
        let solved = solve(&plan(vec![main.clone(), siding]));
        assert!(solved.faults.is_empty(), "{:?}", solved.faults);
        let [main, siding] = [0, 1].map(|at| &solved.lines[at].as_ref().unwrap().path);
        smooth(siding, false);
        for n in 30..=70 {
            let point = siding
                .at(siding.length() * f64::from(n) / 100.0)
                .unwrap()
                .point();
            let (_, apart) = main.nearest(point).unwrap();
            assert!((apart - 0.05).abs() < 1e-5, "{n}: {apart}");
        }
        assert!(
            siding
                .end()
                .unwrap()
                .point()
                .distance(main.at(length - 0.2).unwrap().point())
                < 1e-8
        );
    }
}

#[test]
fn no_room_and_circles_are_said() {
    let main = line(Begin::At(ORIGIN), vec![tangent(0.5)], End::Free);
    let diverging = Diverging {
        line: 0,
        at: Spot::Distance(0.1),
        facing: true,
        hand: 1.0,
        number: 6.0,
    };
    let siding = line(
        Begin::Switch(diverging),
        vec![Element::Parallel {
            line: 0,
            left: 0.05,
            radius: 9.0,
            length: None,
        }],
        End::Free,
    );
    let a = line(Begin::After(3), vec![tangent(1.0)], End::Free);
    let b = line(Begin::After(2), vec![tangent(1.0)], End::Free);
    let c = line(Begin::After(3), vec![tangent(1.0)], End::Free);
    let solved = solve(&plan(vec![main, siding, a, b, c]));
    let kinds: Vec<_> = solved
        .faults
        .iter()
        .map(|fault| (fault.line, fault.kind))
        .collect();
    assert!(matches!(
        kinds[..3],
        [
            (2, FaultKind::Circle),
            (3, FaultKind::Circle),
            (4, FaultKind::Circle)
        ]
    ));
    assert!(
        matches!(kinds[3..], [(1, FaultKind::Parallel(_))]),
        "{kinds:?}"
    );
}

fn place() -> impl Strategy<Value = Place> {
    (-3.0..3.0f64, -3.0..3.0f64, -4.0..4.0f64).prop_map(|(x, y, heading)| Place::new(x, y, heading))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn connections_arrive(from in place(), to in place(), radius in 0.3..0.9f64, easement in 0.0..0.3f64) {
        if let Some(found) = connect(from, to, Eased { radius, easement }, 0.0) {
            let path = Path::new(found.pieces);
            smooth(&path, easement > 0.0 && path.pieces().iter().all(|p| p.length > 1e-6));
            let (begin, end) = (path.begin().unwrap(), path.end().unwrap());
            prop_assert!(begin.point().distance(from.point()) < 1e-9 && end.point().distance(to.point()) < 1e-8);
            prop_assert!(wrapped(begin.heading - from.heading).abs() < 1e-9);
            prop_assert!(wrapped(end.heading - to.heading).abs() < 1e-8);
            let sharpest = path.pieces().iter().map(Piece::sharpest).fold(0.0, f64::max);
            prop_assert!(sharpest <= 1.0 / radius + 1e-9);
        }
    }

    /// Where there is a way by two curves, one is found, and none longer; but one curve goes before two
    /// of the same hand.
    #[test]
    fn connections_are_found(
        from in place(), radius in 0.2..0.8f64, turns in prop::sample::select(vec![[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0]]),
        first in 0.3..1.5f64, tangent in 0.1..2.0f64, second in 0.3..1.5f64, easement in 0.0..0.05f64,
    ) {
        let eased = Eased { radius, easement };
        let mut pieces = eased.lay(from, first, turns[0]);
        pieces.push(Piece::tangent(pieces.last().unwrap().end(), tangent));
        pieces.extend(eased.lay(pieces.last().unwrap().end(), second, turns[1]));
        let to = pieces.last().unwrap().end();
        let found = connect(from, to, eased, 0.1);
        prop_assert!(found.is_some());
        let found = found.unwrap();
        prop_assert!(turns[0] == turns[1] || Path::new(found.pieces).length() <= Path::new(pieces).length() + 1e-9);
        prop_assert!(found.between.is_none_or(|between| between >= 0.1 - 1e-9));
    }

    /// A moved control point gives what solving everything gives.
    #[test]
    fn resolving_is_solving(dx in -0.2..0.2f64, dy in -0.2..0.2f64, which in 0usize..3) {
        let start = |n: usize| Place::new(0.0, n as f64, 0.1 * n as f64);
        let lines = |moved: Option<usize>| {
            let mut lines = Vec::new();
            for n in 0..3 {
                let mut at = start(n);
                if moved == Some(n) {
                    at.x += dx;
                    at.y += dy;
                }
                lines.push(line(Begin::At(at), vec![tangent(1.0), Element::Mark, tangent(1.0)], End::Free));
            }
            for n in 0..3 {
                let diverging = Diverging { line: n, at: Spot::Element(1), facing: true, hand: 1.0, number: 5.0 };
                lines.push(line(Begin::Switch(diverging), vec![tangent(0.2), curve(-1.0, 0.8, 0.3, 0.1)], End::Free));
                lines.push(line(Begin::After(n), vec![Element::Connect { radius: 0.7, easement: 0.2, between: 0.1, to: None }], End::At(Place::new(6.0, 2.0, 0.0))));
            }
            lines
        };
        let before = solve(&plan(lines(None)));
        let after = plan(lines(Some(which)));
        let (again, laid) = resolve(&after, &before, &[which]);
        prop_assert_eq!(laid.len(), 3);
        prop_assert_eq!(again, solve(&after));
    }
}

#[test]
fn a_full_turn_by_heading() {
    let element = Element::Curve {
        turn: 1.0,
        radius: 0.5,
        by: Measure::Heading(0.0),
        easements: [0.0; 2],
        adjust: None,
    };
    let (laid, _) = only(line(Begin::At(ORIGIN), vec![element], End::Free));
    assert!((laid.path.length() - TAU * 0.5).abs() < 1e-12);
}
