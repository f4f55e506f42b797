//! Crossings, slips, crossovers and double crossovers, in straight track; and plain curves.

use super::{
    Build, Junction, Plan, PointStyle, Route, Side, Site, Style,
    plan::{Amount, Axis, Draft, TRY_THE_GAUGE},
    turnouts::{Fitted, facts, hand_word},
};
use crate::{
    clearance::frog_angle,
    curve::{Path, Piece, Place, Point},
};

/// How many slips a crossing has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slips {
    /// None: a diamond.
    None,
    /// One.
    Single,
    /// One on each side.
    Double,
}

/// Straight track through a point, `reach` metres either way.
fn through(middle: Point, heading: f64, reach: f64) -> Path {
    let place = Place::new(
        middle.x - heading.cos() * reach,
        middle.y - heading.sin() * reach,
        heading,
    );
    Path::new([Piece::tangent(place, 2.0 * reach)])
}

/// A crossing of two straight tracks, with or without slips. Each track lies half the angle off the x
/// axis; they cross at the origin.
///
/// # Errors
/// An angle that is none, or one at which slips have no room.
pub fn crossing(style: &Style, angle: f64, slips: Slips) -> Result<Plan, String> {
    let degrees = angle.to_degrees();
    if !(2.0..=90.0).contains(&degrees) {
        return Err(format!(
            "tracks cross at 2 to 90 degrees, not at {degrees:.2}"
        ));
    }
    let build = &style.build;
    let gauge = build.clearances.gauge;
    let number = 0.5 / (0.5 * angle).tan();
    let size = style.ties.size(gauge, build.ratio);
    let frog = lengths(build, number);
    // Beyond the frogs' heels, and until each track has ties of its own.
    let steep = angle > STEEP;
    let apart = if steep {
        size.length
    } else {
        1.1 * size.length / (2.0 * (0.5 * angle).sin())
    };
    let reach = apart.max(gauge / (2.0 * (0.5 * angle).sin()) + frog[1]) + 4.0 * size.spacing;
    let middle = Point::ZERO;
    // The one runs down to the right, the other up: in all else they are alike.
    let tracks = [-0.5, 0.5].map(|share| through(middle, share * angle, reach));
    let mut routes = vec![
        Route::smooth("falling", tracks[0].clone()),
        Route::smooth("rising", tracks[1].clone()),
    ];
    let mut junctions = Vec::new();
    let mut slip = None;
    let sides = match slips {
        Slips::None => vec![],
        Slips::Single => vec![Side::Left],
        Slips::Double => vec![Side::Left, Side::Right],
    };
    for &side in &sides {
        let curve = Slip::fit(build, angle, number)?;
        // The left slip leads from the falling track to the rising one, the right slip back.
        let (from, to) = if side == Side::Left { (0, 1) } else { (1, 0) };
        let (route, pair) = curve.route(build, &tracks, [from, to], side, reach, routes.len());
        routes.push(route);
        junctions.extend(pair);
        slip = Some(curve);
    }
    let across = |route: usize| Axis {
        line: tracks[route].clone(),
        reach: [0.0, 2.0 * reach],
        routes: vec![route],
        head_blocks: vec![],
    };
    let axes = if steep {
        vec![across(0), across(1)]
    } else {
        let length = reach * (0.5 * angle).cos();
        // Pairs of points at each end, and their stands on one side.
        let stands: Vec<(f64, f64)> = slip
            .iter()
            .flat_map(|slip| {
                let at = slip.tangent * (0.5 * angle).cos();
                [(length - at, -1.0), (length + at, -1.0)]
            })
            .collect();
        vec![Axis {
            line: through(middle, 0.0, length),
            reach: [0.0, 2.0 * length],
            routes: (0..routes.len()).collect(),
            head_blocks: stands,
        }]
    };
    let kind = match slips {
        Slips::None => "crossing",
        Slips::Single => "single slip",
        Slips::Double => "double slip",
    };
    let mut plan = Draft {
        title: format!("{kind}, {degrees:.2} degrees"),
        build,
        feed: style.feed,
        tie_table: style.ties,
        routes,
        junctions,
        frog: (number, frog),
        axes,
    }
    .finish();
    plan.fact("angle of crossing", Amount::Angle(angle));
    plan.fact(
        "frog number, half the cotangent of half the angle",
        Amount::Number(number),
    );
    plan.fact(
        "between the acute frogs' theoretical points",
        Amount::Length(gauge / (0.5 * angle).sin()),
    );
    plan.fact(
        "between the obtuse corners",
        Amount::Length(gauge / (0.5 * angle).cos()),
    );
    plan.fact(
        "side, acute frog to obtuse corner along a rail",
        Amount::Length(gauge / angle.sin()),
    );
    if let Some(slip) = slip {
        plan.fact(
            "slip points, tip to middle of crossing along the track",
            Amount::Length(slip.tangent),
        );
        plan.fact("slip points, tip to heel", Amount::Length(slip.points));
        if slip.switch_angle > 0.0 {
            plan.fact(
                "slip points, switch angle",
                Amount::Angle(slip.switch_angle),
            );
        }
        plan.fact(
            "slip curve, radius of the outer gauge line",
            Amount::Length(slip.radius),
        );
        plan.fact("throw of points", Amount::Length(build.clearances.throw()));
    }
    plan.clearance_facts();
    if degrees > SHOWN {
        plan.notes.push(TRY_THE_GAUGE.into());
    }
    if degrees < 7.0 {
        plan.notes.push(
            "Full-size roads used movable points in obtuse corners flatter than about 1 in 8: the check \
             rails hardly overlap."
                .into(),
        );
    }
    Ok(plan)
}

/// The steepest crossing, in degrees, whose guard rails the tests measure in every size.
const SHOWN: f64 = 48.0;

/// The sharpest slip curve drawn, in gauges. Common practice, no source: no train runs on less.
const SHARPEST: f64 = 10.0;

/// Above this angle ties lie square to each track rather than to the line between.
const STEEP: f64 = 0.7;

/// Toe and heel lengths of a frog of a number where no practice gives them.
fn lengths(build: &Build, number: f64) -> [f64; 2] {
    if let Some(cast) = build.cast {
        return [cast.toe, cast.heel];
    }
    let gauge = build.clearances.gauge;
    // A steep frog still needs rail to hold it.
    [0.2, 0.21].map(|share| (share * gauge * number).max(0.5 * gauge))
}

/// The curve of a slip, alike at both ends.
#[derive(Debug, Clone, Copy)]
struct Slip {
    /// From the middle of the crossing to the points along the track.
    tangent: f64,
    /// Length of the points.
    points: f64,
    switch_angle: f64,
    /// Of its outer gauge line.
    radius: f64,
    /// Angle of the curve between the points.
    turn: f64,
}

impl Slip {
    fn fit(build: &Build, angle: f64, number: f64) -> Result<Self, String> {
        let clearances = &build.clearances;
        let gauge = clearances.gauge;
        // Between the wings of the acute frogs, with half a flangeway to spare at each.
        let tangent = number * (gauge - 1.5 * clearances.flangeway);
        // On the outer gauge line the tangents meet that much farther on.
        let outer = tangent + 0.5 * gauge * (0.5 * angle).tan();
        let none = || {
            format!(
                "a crossing of {:.2} degrees leaves slips no room: take a flatter one",
                angle.to_degrees()
            )
        };
        let half_gauge = 0.5 * gauge;
        let spread = build.spread();
        let found = if build.points == PointStyle::Curved {
            let radius = outer / (0.5 * angle).tan();
            Self {
                tangent,
                points: (2.0 * (radius - half_gauge) * spread).sqrt(),
                switch_angle: 0.0,
                radius,
                turn: angle,
            }
        } else {
            let points = 0.6 * tangent;
            let switch = (spread / points).asin();
            let turn = angle - 2.0 * switch;
            // From the tip of the points to where the tangents of the curve meet.
            let leg = outer * (0.5 * angle).cos() / (0.5 * turn).cos();
            Self {
                tangent,
                points,
                switch_angle: switch,
                radius: (leg - points) / (0.5 * turn).tan(),
                turn,
            }
        };
        let fits = found.turn > 0.0
            && found.radius > SHARPEST * gauge
            && found.radius.is_finite()
            && found.points < 0.8 * tangent;
        if fits { Ok(found) } else { Err(none()) }
    }

    /// The route from one track to the other, and where it leaves and joins.
    fn route(
        &self,
        build: &Build,
        tracks: &[Path; 2],
        [from, to]: [usize; 2],
        side: Side,
        reach: f64,
        index: usize,
    ) -> (Route, [Junction; 2]) {
        let half = 0.5 * build.clearances.gauge;
        let sign = side.sign();
        let leaves = reach - self.tangent;
        let there = tracks[from]
            .at(leaves)
            .unwrap_or_else(|| Place::new(0.0, 0.0, 0.0));
        let pivot = there.point() - there.left() * (sign * half);
        let mut start = there;
        start.heading += sign * self.switch_angle;
        let at = pivot + start.left() * (sign * half);
        (start.x, start.y) = (at.x, at.y);
        let radius = self.radius - half;
        let straight = if self.switch_angle > 0.0 {
            self.points
        } else {
            0.0
        };
        let mut own = Path::default();
        let mut place = start;
        for (length, curvature) in [
            (straight, 0.0),
            (radius * self.turn, sign / radius),
            (straight, 0.0),
        ] {
            let piece = Piece::arc(place, length, curvature);
            place = piece.end();
            own.push(piece);
        }
        let length = own.length();
        let spot = |s: f64| own.at(s).map_or(Point::ZERO, |place| place.point());
        let junctions = [
            Junction {
                through: from,
                diverging: index,
                side,
                facing: true,
                point: spot(0.0),
                heel: spot(self.points),
            },
            Junction {
                through: to,
                diverging: index,
                side,
                facing: false,
                point: spot(length),
                heel: spot(length - self.points),
            },
        ];
        let name = format!("{} slip", hand_word(side));
        let joins = reach + self.tangent;
        let route = if self.switch_angle > 0.0 {
            let mut route = Route::smooth(name, tracks[from].clone());
            route.bend(own, [leaves, 0.0]);
            route.bend(tracks[to].clone(), [length, joins]);
            route
        } else {
            let mut path = tracks[from].part(0.0, leaves);
            for piece in own.pieces() {
                path.push(*piece);
            }
            for piece in tracks[to].part(joins, 2.0 * reach).pieces() {
                path.push(*piece);
            }
            Route::smooth(name, path)
        };
        (route, junctions)
    }
}

/// A track from one of two parallel tracks to the other, by two turnouts of a number.
///
/// # Errors
/// What does not fit together: centers too near for the gauge.
pub fn crossover(style: &Style, number: f64, side: Side, centers: f64) -> Result<Plan, String> {
    crossovers(style, number, &[side], side, centers)
}

/// Two crossovers laid across each other.
///
/// # Errors
/// As [`crossover`].
pub fn double_crossover(style: &Style, number: f64, centers: f64) -> Result<Plan, String> {
    crossovers(
        style,
        number,
        &[Side::Left, Side::Right],
        Side::Left,
        centers,
    )
}

fn crossovers(
    style: &Style,
    number: f64,
    which: &[Side],
    up: Side,
    centers: f64,
) -> Result<Plan, String> {
    // The legs of a crossover are straight beyond their frogs.
    let mut style = *style;
    style.build.frog = super::FrogStyle::Straight;
    let build = &style.build;
    let gauge = build.clearances.gauge;
    let angle = frog_angle(number).radians();
    let proportions = build.proportions(number)?;
    let fitted = style.fit(&Site::straight(), &proportions, up, number, 1.0)?;
    let between = (centers - gauge) / angle.tan() - gauge / angle.sin();
    if between < 0.0 {
        return Err(format!(
            "tracks {:.1} mm apart are too near for a crossover of No. {number}: its frogs would pass \
             each other; {:.1} mm is the least",
            centers * 1000.0,
            1000.0 * (gauge + gauge / angle.cos())
        ));
    }
    let lead = fitted.solved.lead;
    let before = style.before();
    let length = 2.0 * before + 2.0 * lead + between;
    // The lower track and the upper one; the crossover goes up or down between them.
    let lower = Path::new([Piece::tangent(Place::new(0.0, 0.0, 0.0), length)]);
    let upper = Path::new([Piece::tangent(Place::new(0.0, centers, 0.0), length)]);
    let tracks = [&lower, &upper];
    let mut routes = vec![
        Route::smooth("lower", lower.clone()),
        Route::smooth("upper", upper.clone()),
    ];
    let mut junctions = Vec::new();
    for &side in which {
        let (from, to) = if side == Side::Left { (0, 1) } else { (1, 0) };
        let site = Site {
            line: tracks[from].clone(),
            points: before,
        };
        let leg: Fitted = style.fit(&site, &proportions, side, number, 1.0)?;
        let index = routes.len();
        let (route, pair) = cross(
            &leg,
            tracks,
            [from, to],
            side,
            before,
            length,
            centers,
            index,
        );
        routes.push(route);
        junctions.extend(pair);
    }
    let double = which.len() > 1;
    let title = if double {
        format!("double crossover No. {number}")
    } else {
        format!("crossover No. {number}, {} hand", hand_word(up))
    };
    let all = (0..routes.len()).collect();
    let mut plan = Draft {
        title,
        build,
        feed: style.feed,
        tie_table: style.ties,
        routes,
        junctions,
        frog: (number, [proportions.given.toe, proportions.heel]),
        axes: vec![Axis {
            line: lower,
            reach: [0.0, length],
            routes: all,
            head_blocks: vec![(before, -1.0), (length - before, 1.0)],
        }],
    }
    .finish();
    plan.fact("track centers", Amount::Length(centers));
    plan.fact(
        "between theoretical points of frog, along the tracks",
        Amount::Length(between),
    );
    plan.fact(
        "from points to points, along the tracks",
        Amount::Length(2.0 * lead + between),
    );
    if double {
        plan.fact("angle of the crossing between", Amount::Angle(2.0 * angle));
        plan.notes.push(TRY_THE_GAUGE.into());
    }
    facts(&mut plan, &style, number, &proportions, &fitted);
    plan.offsets = super::turnouts::offsets(&fitted, &Site::straight().line, up, build);
    Ok(plan)
}

/// One crossover: out by a leg, straight across, and in by the same leg turned about.
#[allow(clippy::too_many_arguments, reason = "what one crossover is made of")]
fn cross(
    leg: &Fitted,
    tracks: [&Path; 2],
    [from, to]: [usize; 2],
    side: Side,
    before: f64,
    length: f64,
    centers: f64,
    index: usize,
) -> (Route, [Junction; 2]) {
    let first = leg.leg.path.part(0.0, leg.leg.marks[3]);
    let end = first.end().unwrap_or_else(|| Place::new(0.0, 0.0, 0.0));
    // Straight as far as the middle between the tracks.
    let up = (0.5 * centers - end.y) / end.heading.sin();
    let half = Piece::tangent(end, up);
    let mut own = first;
    own.push(half);
    // Turned half round about that middle, and run the other way, it is the second half.
    let middle = half.end();
    let there: Vec<Piece> = own
        .pieces()
        .iter()
        .rev()
        .map(|piece| {
            let back = piece.reversed();
            Piece {
                x: 2.0 * middle.x - back.x,
                y: 2.0 * middle.y - back.y,
                heading: back.heading - std::f64::consts::PI,
                ..back
            }
        })
        .collect();
    for piece in there {
        own.push(piece);
    }
    let whole = own.length();
    let spot = |s: f64| own.at(s).map_or(Point::ZERO, |place| place.point());
    let [tip, heel] = leg.points;
    let junctions = [
        Junction {
            through: from,
            diverging: index,
            side,
            facing: true,
            point: spot(tip),
            heel: spot(heel),
        },
        Junction {
            through: to,
            diverging: index,
            side: side.other(),
            facing: false,
            point: spot(whole - tip),
            heel: spot(whole - heel),
        },
    ];
    let leaves = leg.leg.leaves;
    let joins = length - leaves;
    debug_assert!((leaves - before).abs() < before);
    let name = format!("{} crossover", hand_word(side));
    let route = if leg.solved.switch_angle > 0.0 {
        let mut route = Route::smooth(name, tracks[from].clone());
        route.bend(own, [leaves, 0.0]);
        route.bend(tracks[to].clone(), [whole, joins]);
        route
    } else {
        let mut path = tracks[from].part(0.0, leaves);
        for piece in own.pieces() {
            path.push(*piece);
        }
        for piece in tracks[to].part(joins, length).pieces() {
            path.push(*piece);
        }
        Route::smooth(name, path)
    };
    (route, junctions)
}

/// Plain track along a center line.
pub fn plain(style: &Style, title: impl Into<String>, line: &Path) -> Plan {
    let mut plan = Draft {
        title: title.into(),
        build: &style.build,
        feed: style.feed,
        tie_table: style.ties,
        routes: vec![Route::smooth("track", line.clone())],
        junctions: vec![],
        frog: (6.0, lengths(&style.build, 6.0)),
        axes: vec![Axis {
            line: line.clone(),
            reach: [0.0, line.length()],
            routes: vec![0],
            head_blocks: vec![],
        }],
    }
    .finish();
    plan.fact(
        "length along the center line",
        Amount::Length(line.length()),
    );
    plan
}

/// A curve of a radius and an angle, turning left, with a clothoid of a length at each end (none if
/// nought); the whole turns by the angle.
///
/// # Errors
/// If the easements alone turn farther than the angle.
pub fn curve(style: &Style, radius: f64, angle: f64, easement: f64) -> Result<Plan, String> {
    let turn = angle - easement / radius;
    if radius <= style.build.clearances.gauge || angle <= 0.0 || turn < 0.0 {
        return Err(format!(
            "no curve of radius {:.0} mm turns {:.2} degrees with easements of {:.0} mm",
            radius * 1000.0,
            angle.to_degrees(),
            easement * 1000.0
        ));
    }
    let mut line = Path::default();
    let mut place = Place::new(0.0, 0.0, 0.0);
    let k = 1.0 / radius;
    for (length, curvature) in [
        (easement, [0.0, k]),
        (turn * radius, [k, k]),
        (easement, [k, 0.0]),
    ] {
        let piece = Piece::spiral(place, length, curvature);
        place = piece.end();
        line.push(piece);
    }
    let mut plan = plain(
        style,
        format!(
            "curve, radius {:.1} mm, {:.2} degrees",
            radius * 1000.0,
            angle.to_degrees()
        ),
        &line,
    );
    let gauge = style.build.clearances.gauge;
    plan.fact("radius, center line", Amount::Length(radius));
    plan.fact(
        "radius, inner gauge line",
        Amount::Length(radius - 0.5 * gauge),
    );
    plan.fact(
        "radius, outer gauge line",
        Amount::Length(radius + 0.5 * gauge),
    );
    plan.fact("angle", Amount::Angle(angle));
    if easement > 0.0 {
        plan.fact("easement at each end", Amount::Length(easement));
    }
    plan.clearance_facts();
    Ok(plan)
}
