//! Plans judged by measuring: this file casts rays across the rails that a plan gives and measures
//! where they meet other rails. It shares no code with what draws them.

use engineering::{
    curve::{Path, Piece, Place, Point, Vec2},
    turnout::{
        self, Build, CastFrog, Clearances, Feed, FrogKind, FrogStyle, OnTrack, Plan, PointStyle,
        Practice, ROWS, Rail, Role, Row, Side, Site, Slips, Standard, Style, TieTable,
    },
};
use model::scale::{self, ScaleAndGauge};
use proptest::prelude::*;

fn style(scale: &str, practice: Practice) -> Style {
    let size = ScaleAndGauge::parse(scale).unwrap();
    let clearances = Clearances::find(&size, None).unwrap();
    with(size.scale.ratio(), clearances, practice)
}

fn with(ratio: f64, clearances: Clearances, practice: Practice) -> Style {
    Style {
        build: Build::new(ratio, clearances, practice),
        feed: Feed::Live,
        ties: TieTable::usual(clearances.gauge, ratio),
    }
}

// The judge.

/// A rail as a chain of chords along its working face.
struct Face {
    points: Vec<Point>,
    role: Role,
}

fn faces(plan: &Plan) -> Vec<Face> {
    plan.rails
        .iter()
        .map(|rail| Face {
            // Chords of half a millimetre stray a tenth of a micrometre on the sharpest curve here.
            points: rail.line.points(plan.build.clearances.gauge * 0.03),
            role: rail.role,
        })
        .collect()
}

/// How far along a ray it meets each face, nearest first; with what it meets.
fn hits(faces: &[Face], from: Point, ray: Vec2) -> Vec<(f64, Role)> {
    let mut found = Vec::new();
    for face in faces {
        for pair in face.points.windows(2) {
            let chord = pair[1] - pair[0];
            let away = pair[0] - from;
            let turn = ray.x * chord.y - ray.y * chord.x;
            if turn.abs() < 1e-15 {
                continue;
            }
            let along = (away.x * chord.y - away.y * chord.x) / turn;
            let share = (away.x * ray.y - away.y * ray.x) / turn;
            if (-1e-9..=1.0 + 1e-9).contains(&share) && along > 1e-5 {
                found.push((along, face.role));
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-7);
    found
}

/// What is measured at a place of a frog point: flangeway to the wing, check gauge to the guard rail
/// and gauge to the rail across, as far as there are such.
struct Measured {
    flangeway: f64,
    check: Option<f64>,
    gauge: Option<f64>,
}

/// Measures square across the track from a frog point rail, `back` metres from its blunt tip.
fn measure(plan: &Plan, faces: &[Face], rail: &Rail, back: f64) -> Measured {
    let reach = rail.line.reach();
    let place = rail
        .line
        .at(if rail.tip_first { back } else { reach - back });
    // Away from its own head lies its track.
    let ray = Vec2::from_angle(place.heading + std::f64::consts::FRAC_PI_2) * -rail.metal;
    let hits = hits(faces, place.point(), ray);
    let gauge = plan.build.clearances.gauge;
    let across = hits
        .iter()
        .find(|(at, role)| (at - gauge).abs() < 0.02 * gauge && *role != Role::Guard)
        .map(|hit| hit.0);
    let check = hits
        .iter()
        .rev()
        .find(|(at, role)| *role == Role::Guard && (0.5 * gauge..gauge).contains(at))
        .map(|hit| hit.0);
    Measured {
        flangeway: hits.first().map_or(f64::INFINITY, |hit| hit.0),
        check,
        gauge: across,
    }
}

fn within([least, most]: [f64; 2], value: f64) -> bool {
    // A tenth of a micrometre: what chords stray from curves.
    least - 1e-7 <= value && value <= most + 1e-7
}

/// Holds every frog of a plan to a row of a standard; gives how many places were measured.
fn judge(plan: &Plan, row: &Row, guarded: bool) -> usize {
    let faces = faces(plan);
    let mut places = 0;
    for rail in plan.rails_of(Role::Frog) {
        for back in [1e-5, 0.3, 0.9].map(|share| share * plan.build.clearances.flangeway) {
            let found = measure(plan, &faces, rail, back);
            let what = format!("{} by {}, {}", plan.title, row.standard, rail.name);
            assert!(
                within(row.flangeway, found.flangeway),
                "{what}: flangeway {}",
                found.flangeway
            );
            if !guarded {
                continue;
            }
            let gauge = found
                .gauge
                .unwrap_or_else(|| panic!("{what}: no rail across"));
            assert!(within(row.gauge, gauge), "{what}: gauge {gauge}");
            let check = found
                .check
                .unwrap_or_else(|| panic!("{what}: no guard rail"));
            assert!(within(row.check, check), "{what}: check {check}");
            assert!(within(row.span, check - found.flangeway), "{what}: span");
            places += 1;
        }
    }
    places
}

/// NMRA S-3.2 (February 2010, and the earlier edition), S-3.1 (2004) and MOROP NEM 310 supplement 4
/// (2002): check gauge, span, flangeway and gauge as measured in turnouts of every listed scale that a
/// row is for, laid each way. Rows that are from memory are marked so where they stand.
#[test]
fn every_listed_scale_keeps_within_its_standards() {
    let mut measured = 0;
    for row in ROWS {
        for listed in scale::listed()
            .iter()
            .filter(|listed| row.sizes.contains(&listed.name))
        {
            let size = listed.to_scale_and_gauge();
            let clearances = Clearances::find(&size, Some(row.standard)).unwrap();
            let style = with(size.scale.ratio(), clearances, Practice::Model);
            // A radius of fifty gauges.
            let bend = 0.02 / clearances.gauge;
            for plan in [
                turnout::lateral(&style, 6.0, Side::Left, &Site::straight()),
                turnout::lateral(&style, 4.5, Side::Right, &Site::straight()),
                turnout::lateral(&style, 8.0, Side::Left, &Site::curved(bend)),
                turnout::lateral(&style, 6.0, Side::Left, &Site::curved(-bend)),
                turnout::equilateral(&style, 5.0, &Site::straight()),
            ] {
                measured += judge(&plan.unwrap(), row, true);
            }
        }
    }
    // Two rails of one frog, three places, five turnouts, a score of sizes.
    assert!(measured > 500, "{measured}");
}

/// What a plan fails of a row of a standard: at every frog point the flangeway to the wing; along every
/// track over a frog, from the bend of its wings to its point, check gauge and span; at every guard rail
/// its own flangeway. A frog that has no whole guard rail must be said to have none. Gives as well over
/// how many tracks a guard rail was measured, and over how many there is said to be none.
fn failures(plan: &Plan, row: &Row) -> (usize, usize, Vec<String>) {
    let faces = faces(plan);
    let clearances = plan.build.clearances;
    let half = 0.5 * clearances.gauge;
    let mut wrong = Vec::new();
    let (mut guarded, mut without) = (0, 0);
    for (index, frog) in plan.frogs.iter().enumerate() {
        if frog.kind != FrogKind::Point {
            continue;
        }
        for &(route, side) in &frog.lines {
            let name = &plan.routes[route].name;
            let said = plan.notes.iter().any(|note| {
                note.starts_with(&format!("Frog {}:", index + 1))
                    && note.contains(&format!("on the {name} track"))
            });
            let mut bad = |what: String| {
                wrong.push(format!(
                    "{} by {}, gauge {:.2} mm, frog {}, {name}: {what}",
                    plan.title,
                    row.standard,
                    clearances.gauge * 1e3,
                    index + 1
                ));
            };
            let center = plan.routes[route].center();
            let (at, _) = center.project(frog.point);
            let way = center
                .at(at)
                .ahead()
                .dot(Vec2::from_angle(frog.heading))
                .signum();
            let mut flangeway = f64::INFINITY;
            for back in [0.02, 0.3, 0.9] {
                let place = center.at(at + way * (frog.blunt + back * clearances.flangeway));
                let inward = place.left() * -side.sign();
                let hits = hits(&faces, place.point() - inward * half, inward);
                flangeway = hits.first().map_or(f64::INFINITY, |hit| hit.0);
                if !within(row.flangeway, flangeway) {
                    bad(format!("flangeway {:.3} mm", flangeway * 1e3));
                }
            }
            if said {
                without += 1;
                continue;
            }
            let knee = clearances.flangeway / frog.angle.sin();
            for along in [-0.9 * knee, 0.0, frog.blunt] {
                let place = center.at(at + way * along);
                let over = hits(&faces, place.point(), place.left() * -side.sign());
                let guard = over
                    .iter()
                    .find(|(apart, role)| *role == Role::Guard && *apart < half);
                match guard {
                    None => bad(format!("no guard rail at {:.2} mm", along * 1e3)),
                    Some((apart, _)) => {
                        let check = half + apart;
                        if !within(row.check, check) || !within(row.span, check - flangeway) {
                            bad(format!(
                                "check gauge {:.3} mm at {:.2} mm",
                                check * 1e3,
                                along * 1e3
                            ));
                        }
                    }
                }
            }
            guarded += 1;
        }
    }
    for rail in plan.rails_of(Role::Guard) {
        let place = rail.line.at(0.5 * rail.line.reach());
        let hits = hits(&faces, place.point(), place.left() * -rail.metal);
        let flangeway = hits.first().map_or(f64::INFINITY, |hit| hit.0);
        let allowed = [row.check[1], row.check[0]].map(|check| clearances.gauge - check);
        if !within(allowed, flangeway) {
            wrong.push(format!(
                "{} by {}: flangeway of {} {:.3} mm",
                plan.title,
                row.standard,
                rail.name,
                flangeway * 1e3
            ));
        }
    }
    (guarded, without, wrong)
}

/// The row of HO by S-3.2 of 2010 as many times larger as a gauge is than that of HO: what sizes are
/// held to that no standard in the program has.
fn proportioned(gauge: f64) -> Row {
    let row = ROWS.iter().find(|row| row.sizes.contains(&"HO")).unwrap();
    let factor = gauge / Clearances::of_row(row, 0.0165).gauge;
    let times = |range: [f64; 2]| range.map(|value| value * factor);
    Row {
        standard: Standard::ByProportion,
        gauge: times(row.gauge),
        check: times(row.check),
        span: times(row.span),
        flangeway: times(row.flangeway),
        ..*row
    }
}

/// Every listed size with every row that is for it, and those of which no standard speaks by proportion.
fn sizes() -> Vec<(Style, Row)> {
    let mut found = Vec::new();
    for listed in scale::listed() {
        let size = listed.to_scale_and_gauge();
        let rows: Vec<Row> = ROWS
            .iter()
            .filter(|row| row.sizes.contains(&listed.name))
            .copied()
            .collect();
        let rows = if rows.is_empty() {
            vec![proportioned(size.gauge.meters())]
        } else {
            rows
        };
        for row in rows {
            let clearances = Clearances::find(&size, Some(row.standard)).unwrap();
            found.push((with(size.scale.ratio(), clearances, Practice::Model), row));
        }
    }
    found
}

/// Kinds of trackwork in which every frog has room for whole wing and guard rails. Three-way turnouts and
/// double crossovers are not among them: their frogs stand so close that wings and guard rails are cut
/// short. What is held of those stands below, for HO.
const KINDS: usize = 9;

/// One of each kind, of a frog number, on a curve of a bend in gauges where it can lie on one.
fn kind(at: usize, style: &Style, number: f64, bend: f64) -> Result<Plan, String> {
    let gauge = style.build.clearances.gauge;
    let site = Site::curved(bend / gauge);
    let angle = |number: f64| 2.0 * (0.5 / number).atan();
    match at {
        0 => turnout::lateral(style, number, Side::Left, &Site::straight()),
        1 => turnout::equilateral(style, number, &Site::straight()),
        2 => turnout::lateral(style, number, Side::Right, &site),
        3 => turnout::lateral(style, number, Side::Left, &site),
        4 => turnout::crossover(style, number, Side::Right, 3.1 * gauge),
        5 => turnout::crossing(style, angle(number), Slips::None),
        6 => turnout::crossing(style, 5.0 / number, Slips::None),
        7 => turnout::crossing(style, angle(number + 4.0), Slips::Single),
        _ => turnout::crossing(style, angle(number + 4.0), Slips::Double),
    }
}

/// NMRA S-3.2 (February 2010, and the earlier edition), S-3.1 (2004) and MOROP NEM 310 supplement 4
/// (2002): each of these kinds of trackwork in every listed size by every row that is for it, guard rails
/// included. Rows that are from memory are marked so where they stand.
#[test]
fn trackwork_in_every_size_keeps_within_its_standards() {
    let mut wrong = Vec::new();
    let mut guarded = [0; KINDS];
    let mut without = [0; KINDS];
    let mut refused = 0;
    for (style, row) in sizes() {
        for at in 0..KINDS {
            match kind(at, &style, 6.0, 0.02) {
                Ok(plan) => {
                    let (with_guard, none, found) = failures(&plan, &row);
                    guarded[at] += with_guard;
                    without[at] += none;
                    wrong.extend(found);
                }
                // In the sizes with the coarsest wheels there are no slips, and that is said.
                Err(error) if at >= 7 && error.contains("leaves slips no room") => refused += 1,
                Err(error) => wrong.push(format!("{}, kind {at}: {error}", row.standard)),
            }
        }
    }
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(guarded.iter().all(|count| *count > 50) && without == [0; KINDS]);
    assert!(refused <= 8, "{refused}");
}

/// The same of other numbers and sharper curves either way, by turns through the sizes.
#[test]
fn other_numbers_and_curves_keep_within_the_standards() {
    let mut wrong = Vec::new();
    for (turn, (style, row)) in sizes().iter().enumerate() {
        let (number, bend) = [(4.5, 0.03), (5.5, -0.03), (8.0, -0.02), (9.5, 0.025)][turn % 4];
        for at in [2, 3, 4, 5] {
            let plan = kind(at, style, number, bend).unwrap();
            wrong.extend(failures(&plan, row).2);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same of what has more frogs than one, in HO by S-3.2 of 2010. Where frogs stand close, not each
/// has a guard rail of its own: their flangeways are measured, and plans say which are without.
#[test]
fn crossings_slips_and_crossovers_keep_their_flangeways() {
    let row = ROWS.iter().find(|row| row.sizes.contains(&"HO")).unwrap();
    let style = style("HO", Practice::Model);
    let angle = |number: f64| 2.0 * (0.5 / number).atan();
    let straight = Site::straight();
    let centers = 0.0508;
    for plan in [
        turnout::crossover(&style, 6.0, Side::Left, centers),
        turnout::crossover(&style, 8.0, Side::Right, centers),
        turnout::crossing(&style, angle(6.0), Slips::None),
    ] {
        assert!(judge(&plan.unwrap(), row, true) >= 12);
    }
    for plan in [
        turnout::crossing(&style, 30f64.to_radians(), Slips::None),
        turnout::crossing(&style, 60f64.to_radians(), Slips::None),
        turnout::crossing(&style, 90f64.to_radians(), Slips::None),
        turnout::crossing(&style, angle(6.0), Slips::Single),
        turnout::crossing(&style, angle(6.0), Slips::Double),
        turnout::crossing(&style, angle(8.0), Slips::Double),
        turnout::double_crossover(&style, 6.0, centers),
        turnout::three_way(&style, 6.0, Side::Left, None, &straight),
        turnout::three_way(&style, 5.0, Side::Right, None, &straight),
    ] {
        let plan = plan.unwrap();
        judge(&plan, row, false);
        // Each point is planed over a part of its length, from its tip.
        for rail in plan.rails_of(Role::Point) {
            let reach = rail.line.reach();
            let planed = if rail.tip_first {
                rail.full[0]
            } else {
                reach - rail.full[1]
            };
            let share = planed / reach;
            assert!(
                (0.1..0.6).contains(&share),
                "{}, {}: {share}",
                plan.title,
                rail.name
            );
        }
        // The points of obtuse corners have a check rail a flangeway inside.
        let faces = faces(&plan);
        for rail in plan.rails_of(Role::ObtusePoint) {
            let found = measure(&plan, &faces, rail, 1e-5).flangeway;
            assert!(within(row.flangeway, found), "{}: {found}", plan.title);
        }
    }
}

/// No rail stands in the way of a wheel: along each route, from gauge line to a flangeway inside it,
/// there is nothing but points.
#[test]
fn flangeways_are_clear_along_every_route() {
    let style = style("HO", Practice::Model);
    let angle = 2.0 * (0.5f64 / 6.0).atan();
    for plan in [
        turnout::lateral(&style, 6.0, Side::Left, &Site::straight()),
        turnout::lateral(&style, 6.0, Side::Right, &Site::curved(-0.9)),
        turnout::equilateral(&style, 6.0, &Site::straight()),
        turnout::three_way(&style, 6.0, Side::Left, None, &Site::straight()),
        turnout::crossing(&style, angle, Slips::Double),
        turnout::crossing(&style, 1.2, Slips::None),
        turnout::crossover(&style, 6.0, Side::Left, 0.0508),
        turnout::double_crossover(&style, 6.0, 0.0508),
    ] {
        let plan = plan.unwrap();
        let clearances = plan.build.clearances;
        let half = 0.5 * clearances.gauge;
        let tight = clearances.guard.min(clearances.flangeway);
        let faces = faces(&plan);
        for route in &plan.routes {
            let center = route.center();
            for face in faces.iter().filter(|face| face.role != Role::Point) {
                for point in &face.points {
                    let (u, _) = center.project(*point);
                    if u < 1e-6 || u > center.reach() - 1e-6 {
                        continue;
                    }
                    let place = center.at(u);
                    let inside = half - (*point - place.point()).dot(place.left()).abs();
                    assert!(
                        inside < 2e-6 || inside > tight - 2e-6,
                        "{}: a {} stands {:.3} mm inside the gauge line of {}",
                        plan.title,
                        face.role.word(),
                        inside * 1000.0,
                        route.name
                    );
                }
            }
        }
    }
}

/// The distance from a point to a rail's face, by golden section about the nearest of many places.
fn distance(rail: &Rail, point: Point) -> f64 {
    const STEPS: u32 = 200;
    let reach = rail.line.reach();
    let place = |step: u32| reach * f64::from(step) / f64::from(STEPS);
    let apart = |u: f64| (rail.line.at(u).point() - point).hypot();
    let best = (0..=STEPS)
        .min_by(|a, b| apart(place(*a)).total_cmp(&apart(place(*b))))
        .unwrap_or(0);
    let (mut a, mut b) = (place(best.max(1) - 1), place((best + 1).min(STEPS)));
    let ratio = 0.5 * (5f64.sqrt() - 1.0);
    while b - a > 1e-7 {
        let (c, d) = (b - ratio * (b - a), a + ratio * (b - a));
        if apart(c) < apart(d) {
            b = d;
        } else {
            a = c;
        }
    }
    apart(0.5 * (a + b))
}

/// Holds every running rail to the gauge, away from frogs (which have gaps) and from the bend at points;
/// gives how many places were measured.
fn gauge_is_constant(plan: &Plan) -> Result<usize, TestCaseError> {
    let gauge = plan.build.clearances.gauge;
    let running = |role: Role| !matches!(role, Role::Guard | Role::Check);
    let near = |point: Point, other: Point, gauges: f64| (point - other).hypot() < gauges * gauge;
    let mut measured = 0;
    for rail in plan.rails.iter().filter(|rail| running(rail.role)) {
        let reach = rail
            .knee
            .map_or(rail.line.reach(), |knee| knee.min(rail.line.reach()));
        for step in 1..12 {
            let point = rail.line.at(reach * f64::from(step) / 12.0).point();
            let skip = plan.frogs.iter().any(|frog| near(point, frog.point, 1.6))
                || plan
                    .junctions
                    .iter()
                    .any(|junction| near(point, junction.point, 0.8))
                // At the ends of the plan nothing may lie over against.
                || plan.routes.iter().all(|route| {
                    let center = route.center();
                    let (u, _) = center.project(point);
                    u < gauge || u > center.reach() - gauge
                });
            if skip {
                continue;
            }
            let off = plan
                .rails
                .iter()
                .filter(|other| running(other.role))
                .map(|other| distance(other, point))
                .map(|apart| (apart - gauge).abs())
                .fold(f64::INFINITY, f64::min);
            prop_assert!(
                off < 1e-6,
                "{}, {}: gauge is {} mm off",
                plan.title,
                rail.name,
                off * 1000.0
            );
            measured += 1;
        }
    }
    Ok(measured)
}

/// By how much a route bends where it does; everywhere else its heading runs on.
fn bends(plan: &Plan, route: usize) -> Vec<f64> {
    let center = plan.routes[route].center();
    let step = plan.build.clearances.gauge * 0.02;
    let mut bends = Vec::new();
    let mut before = center.at(0.0);
    let mut u = step;
    while u < center.reach() {
        let place = center.at(u);
        let sharpest = place.curvature.abs().max(before.curvature.abs());
        let turned = (place.heading - before.heading).abs();
        if turned > sharpest * step * 1.01 + 1e-9 {
            bends.push(turned);
        }
        before = place;
        u += step;
    }
    bends
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Gauge is constant to a micrometre along every route, but for the gaps at frogs and the bend that
    /// straight points need; that bend is the switch angle, and curved points have none.
    #[test]
    fn gauge_and_tangents(
        number in 4.0..10.0f64, bend in -1.1..1.1f64, left in any::<bool>(),
        curved_points in any::<bool>(), curved_frog in any::<bool>(),
        practice in prop::sample::select(vec![
            Practice::Model, Practice::Prototype, Practice::Circular,
        ]),
    ) {
        let mut style = style("HO", practice);
        style.build.points = if curved_points { PointStyle::Curved } else { PointStyle::Straight };
        style.build.frog = if curved_frog { FrogStyle::Curved } else { FrogStyle::Straight };
        let side = if left { Side::Left } else { Side::Right };
        let Ok(plan) = turnout::lateral(&style, number, side, &Site::curved(bend)) else {
            // To scale, short points do not turn to a spread that lets coarse wheels by.
            prop_assert!(practice == Practice::Prototype && number < 6.0);
            return Ok(());
        };
        prop_assert!(gauge_is_constant(&plan)? > 30);
        prop_assert_eq!(bends(&plan, 0), Vec::<f64>::new());
        let given = style.build.proportions(number).unwrap().given;
        let found = bends(&plan, 1);
        if given.curved_points {
            prop_assert_eq!(found, Vec::<f64>::new());
        } else {
            let angle = ((given.heel - given.thickness) / given.points).asin();
            prop_assert_eq!(found.len(), 1);
            // On a curve the center line bends where the rails do on either side of it, half a
            // millimetre apart, and the step over the bend turns with the curve.
            prop_assert!((found[0] - angle).abs() < 1e-3, "{} {}", found[0], angle);
        }
        // There is one frog, and it has its angle.
        prop_assert_eq!(plan.frogs.len(), 1);
        prop_assert!((plan.frogs[0].angle - 2.0 * (0.5 / number).atan()).abs() < 1e-7);
    }

    /// The mirror image of a left-hand turnout is the right-hand one, on a curve mirrored as well.
    #[test]
    fn left_is_right_in_a_mirror(number in 4.0..9.0f64, bend in -1.0..1.0f64) {
        let style = style("HO", Practice::Model);
        let left = turnout::lateral(&style, number, Side::Left, &Site::curved(bend)).unwrap();
        let right = turnout::lateral(&style, number, Side::Right, &Site::curved(-bend)).unwrap();
        prop_assert_eq!(left.rails.len(), right.rails.len());
        for rail in &left.rails {
            let apart = |other: &Rail| {
                (0..=10).map(|step| {
                    let share = f64::from(step) / 10.0;
                    let a = rail.line.at(share * rail.line.reach()).point();
                    let b = other.line.at(share * other.line.reach()).point();
                    (a.x - b.x).hypot(a.y + b.y)
                }).fold(0.0, f64::max)
            };
            let best = right.rails.iter()
                .filter(|other| other.name == rail.name && other.metal == -rail.metal)
                .map(apart)
                .fold(f64::INFINITY, f64::min);
            prop_assert!(best < 1e-9, "{}: {}", rail.name, best);
        }
    }

    /// A turnout on a curve of next to no curvature is the straight one.
    #[test]
    fn without_curvature_it_is_the_straight_one(number in 4.0..9.0f64, outward in any::<bool>()) {
        let style = style("N", Practice::Model);
        // A radius of a thousand kilometres.
        let flat = if outward { -1e-6 } else { 1e-6 };
        let straight = turnout::lateral(&style, number, Side::Left, &Site::straight()).unwrap();
        let curved = turnout::lateral(&style, number, Side::Left, &Site::curved(flat)).unwrap();
        prop_assert_eq!(straight.rails.len(), curved.rails.len());
        for (a, b) in straight.rails.iter().zip(&curved.rails) {
            prop_assert_eq!(&a.name, &b.name);
            for step in 0..=10 {
                let share = f64::from(step) / 10.0;
                let p = a.line.at(share * a.line.reach()).point();
                let q = b.line.at(share * b.line.reach()).point();
                prop_assert!((p - q).hypot() < 1e-6, "{}: {:?} {:?}", a.name, p, q);
            }
        }
    }
}

/// Gauge through what has more routes than two.
#[test]
fn gauge_in_slips_and_crossovers() {
    let style = style("HO", Practice::Model);
    let angle = 2.0 * (0.5f64 / 7.0).atan();
    for plan in [
        turnout::crossing(&style, angle, Slips::Double),
        turnout::crossover(&style, 6.0, Side::Right, 0.052),
        turnout::three_way(&style, 6.0, Side::Left, None, &Site::straight()),
    ] {
        let plan = plan.unwrap();
        assert!(gauge_is_constant(&plan).unwrap() > 30, "{}", plan.title);
    }
}

/// x = (c − g)/tan F − g/sin F between theoretical points of frog along the tracks, and c/sin F from
/// one switch of a ladder to the next: textbook formulas, the worked values computed apart from this
/// program; measured in the plans.
#[test]
fn crossovers_and_ladders_are_as_long_as_the_textbooks_say() {
    for (number, centers, gauge, unit, between, step) in [
        (6.0, 2.0, 0.650, 0.0254, 4.1167, 12.0833),
        (8.0, 13.0, 4.708_333, 0.3048, 28.2604, 104.4062),
        (10.0, 14.0, 4.708_333, 0.3048, 45.4833, 140.3500),
    ] {
        let ratio = if gauge < 1.0 { 87.1 } else { 1.0 };
        let clearances = Clearances::by_proportion(gauge * unit);
        let style = with(ratio, clearances, Practice::Model);
        let plan = turnout::crossover(&style, number, Side::Left, centers * unit).unwrap();
        assert_eq!(plan.frogs.len(), 2);
        let found = (plan.frogs[1].point.x - plan.frogs[0].point.x).abs() / unit;
        assert!(
            (found - between).abs() < 1e-4 * between,
            "No. {number}: {found}"
        );
        // Two turnouts that far apart on a straight lead part to tracks that lie at those centers.
        let begin = Place::new(0.0, 0.0, 0.0);
        let track = Path::new([Piece::tangent(begin, 4.0 * step * unit)]);
        let on = |name: &str, at: f64| OnTrack {
            name: name.into(),
            at: at * unit,
            facing: true,
            side: Side::Left,
            number,
        };
        let two = [on("a", step), on("b", 2.0 * step)];
        let plan = turnout::along(&style, "ladder", &track, &two).unwrap();
        let ends = [1, 2].map(|route: usize| {
            let center = plan.routes[route].center();
            center.at(center.reach())
        });
        let apart = (ends[1].point() - ends[0].point())
            .dot(ends[0].left())
            .abs()
            / unit;
        assert!(
            (apart - centers).abs() < 1e-4 * centers,
            "No. {number}: {apart}"
        );
    }
}

/// Turnouts on one track, faced and trailed, with rails that do not lie twice in one place.
#[test]
fn turnouts_on_a_track() {
    let style = style("HO", Practice::Model);
    let row = ROWS.iter().find(|row| row.sizes.contains(&"HO")).unwrap();
    let begin = Place::new(0.0, 0.0, 0.3);
    let track = Path::new([
        Piece::tangent(begin, 0.5),
        Piece::spiral(Piece::tangent(begin, 0.5).end(), 1.5, [0.0, 0.8]),
    ]);
    let on = |name: &str, at: f64, facing: bool, side: Side| OnTrack {
        name: name.into(),
        at,
        facing,
        side,
        number: 6.0,
    };
    let all = [
        on("a", 0.2, true, Side::Left),
        on("b", 0.9, true, Side::Right),
        on("c", 1.7, false, Side::Left),
    ];
    let plan = turnout::along(&style, "track", &track, &all).unwrap();
    assert_eq!(plan.frogs.len(), 3);
    assert_eq!(judge(&plan, row, true), 18);
    assert!(gauge_is_constant(&plan).unwrap() > 60);
    // Length of all stock and running rails, with points, closures and frog points: what three routes
    // and a track need, and no rail twice. Each rail's middle lies on no other rail.
    for (at, rail) in plan.rails.iter().enumerate() {
        let middle = rail.line.at(0.5 * rail.line.reach()).point();
        for (other_at, other) in plan.rails.iter().enumerate() {
            if at != other_at && rail.role != Role::Point && other.role != Role::Point {
                let apart = distance(other, middle);
                assert!(apart > 1e-4, "{} lies on {}", rail.name, other.name);
            }
        }
    }
}

/// A bought frog keeps its own toe and heel, and an impossible wish is refused with what is wrong.
#[test]
fn cast_frogs_and_refusals() {
    let mut style = style("HO", Practice::Model);
    let steep = turnout::crossing(&style, 0.7, Slips::Double).err().unwrap();
    assert!(steep.contains("leaves slips no room"), "{steep}");
    let near = turnout::crossover(&style, 6.0, Side::Left, 0.030)
        .err()
        .unwrap();
    assert!(near.contains("too near for a crossover"), "{near}");
    assert!(turnout::crossing(&style, 0.02, Slips::None).is_err());
    style.build.cast = Some(CastFrog {
        toe: 0.022,
        heel: 0.03,
    });
    let plan = turnout::lateral(&style, 6.0, Side::Left, &Site::straight()).unwrap();
    assert_eq!((plan.frogs[0].toe, plan.frogs[0].heel), (0.022, 0.03));
    assert!(
        plan.bill()
            .iter()
            .any(|line| line.what.starts_with("ready-cast frog No. 6"))
    );
}
