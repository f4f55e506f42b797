//! A plan drawn: ties, rails with their faces, points open and closed, gaps, marks.

use engineering::turnout::{FrogKind, Line, Plan, Rail, Role};
use kurbo::{Point, Vec2};

use crate::{
    shape::{Art, Layer, Shape, Stand, mm},
    words,
};

/// How near polygons and chords keep to true curves, mm.
const FINE: f64 = 0.003;

/// Draws a plan at full size, in millimetres.
pub fn draw(plan: &Plan) -> Art {
    let mut art = Art::default();
    for tie in &plan.ties {
        art.add(Layer::Tie, Shape::Polygon(tie.corners().map(mm).to_vec()));
    }
    for route in &plan.routes {
        art.track_line(Layer::Center, &route.center());
    }
    let head = plan.build.rail.head;
    // Of each pair of points the one of the diverging route is drawn open.
    for rail in &plan.rails {
        let open = rail.role == Role::Point && opens(plan, rail);
        if open {
            art.track_line(Layer::Closed, &rail.line);
            let moved = opened(plan, rail);
            rail_head(&mut art, &moved, head);
        } else {
            rail_head(&mut art, rail, head);
        }
    }
    for gap in &plan.gaps {
        let across = Vec2::from_angle(gap.heading + std::f64::consts::FRAC_PI_2);
        let along = Vec2::from_angle(gap.heading) * (0.2 * head);
        let reach = 1.6 * head;
        for side in [-1.0, 1.0] {
            let middle = gap.at + along * side;
            art.line(
                Layer::Gap,
                mm(middle - across * reach),
                mm(middle + across * reach),
            );
        }
    }
    marks(plan, &mut art);
    art
}

/// A rail's head as an area, its working face and its back.
fn rail_head(art: &mut Art, rail: &Rail, head: f64) {
    let back = rail.line.moved(rail.metal * head);
    let [from, to] = rail.full;
    let full = back.cut(from, to);
    let step = chord(&rail.line);
    let mut outline = rail.line.points(step);
    // From the end of the face back along the back; where the head is planed, straight to the tip.
    outline.extend(full.points(step).into_iter().rev());
    art.add(
        Layer::Head,
        Shape::Polygon(outline.into_iter().map(mm).collect()),
    );
    art.track_line(Layer::Back, &full);
    for (u, planed) in [
        (0.0, from > 1e-9),
        (rail.line.reach(), to < rail.line.reach() - 1e-9),
    ] {
        let face = rail.line.at(u).point();
        let other = if planed {
            let edge = if u > 0.0 { to } else { from };
            back.at(edge).point()
        } else {
            back.at(u).point()
        };
        art.line(Layer::Back, mm(face), mm(other));
    }
    art.track_line(Layer::Face, &rail.line);
}

/// A step along a line whose chords keep within [`FINE`] of it.
fn chord(line: &Line) -> f64 {
    let sharpest = line
        .parts()
        .iter()
        .flat_map(|part| part.path.pieces())
        .map(|piece| piece.sharpest())
        .fold(1e-6, f64::max);
    (8.0 * FINE / 1000.0 / sharpest).sqrt()
}

/// Whether a point is the one drawn open.
fn opens(plan: &Plan, rail: &Rail) -> bool {
    plan.junctions.iter().any(|junction| {
        plan.routes[junction.diverging].name.as_str() == rail.name.trim_end_matches(" point")
    })
}

/// A point swung open about its heel by the throw.
fn opened(plan: &Plan, rail: &Rail) -> Rail {
    let reach = rail.line.reach();
    let (tip, heel) = if rail.tip_first {
        (0.0, reach)
    } else {
        (reach, 0.0)
    };
    let pivot = rail.line.at(heel).point();
    let arm = (rail.line.at(tip).point() - pivot).hypot();
    // Away from its stock rail: to the side on which its own head does not lie.
    let throw = plan.build.clearances.throw();
    let side = if rail.tip_first {
        rail.metal
    } else {
        -rail.metal
    };
    let angle = side * throw / arm;
    let mut line = Line::default();
    for part in rail.line.parts() {
        let pieces = part.path.pieces().iter().map(|piece| {
            let mut piece = *piece;
            let (sin, cos) = angle.sin_cos();
            let arm = piece.begin().point() - pivot;
            let at = pivot + Vec2::new(arm.x * cos - arm.y * sin, arm.x * sin + arm.y * cos);
            (piece.x, piece.y) = (at.x, at.y);
            piece.heading += angle;
            piece
        });
        let path = engineering::curve::Path::new(pieces);
        line.push(&path, part.left, 0.0, path.length());
    }
    Rail {
        line,
        ..rail.clone()
    }
}

/// Marks at points, heels and frogs.
fn marks(plan: &Plan, art: &mut Art) {
    let half = 500.0 * plan.build.clearances.gauge;
    let size = (0.16 * 2.0 * half).clamp(1.5, 3.5);
    let aside = 500.0
        * plan
            .ties
            .first()
            .map_or(3.0 * half / 500.0, |tie| tie.length)
        + 1.5 * size;
    let mut ordinates: Vec<(Point, f64, String)> = Vec::new();
    for junction in &plan.junctions {
        let line = plan.routes[junction.through].center();
        for (point, text) in [(junction.point, "PS"), (junction.heel, "heel of points")] {
            let (u, _) = line.project(point);
            let place = line.at(u);
            ordinates.push((
                mm(place.point()),
                place.heading,
                format!("{text}|{}", -junction.side.sign()),
            ));
        }
    }
    for (at, heading, text) in ordinates {
        let (text, side) = text.split_once('|').unwrap_or((&text, "1"));
        let side: f64 = side.parse().unwrap_or(1.0);
        let left = Vec2::from_angle(heading + std::f64::consts::FRAC_PI_2);
        art.line(
            Layer::Mark,
            at + left * (side * half),
            at + left * (side * aside),
        );
        let end = at + left * (side * (aside + if side < 0.0 { size } else { 0.3 * size }));
        art.add(
            Layer::Text,
            Shape::Text(end, text.into(), size, heading, Stand::Middle),
        );
    }
    let axis = engineering::turnout::Route::smooth("", plan.axis.clone()).center();
    let mut labels: Vec<(f64, f64, u32)> = Vec::new();
    for (index, frog) in plan.frogs.iter().enumerate() {
        let point = mm(frog.point);
        // A cross at the theoretical point.
        for turn in [0.0, std::f64::consts::FRAC_PI_2] {
            let arm = Vec2::from_angle(frog.heading + turn) * (0.3 * half).min(2.5);
            art.line(Layer::Mark, point - arm, point + arm);
        }
        // The leader goes out square to the plan, past the ends of the ties there, on the nearer side.
        let along = axis.project(frog.point).0;
        let place = axis.at(along);
        let (forth, left) = (place.ahead(), place.left());
        let width = plan.ties.first().map_or(1e-3, |tie| tie.width);
        let (mut low, mut high) = (0.0f64, 0.0f64);
        for corner in plan
            .ties
            .iter()
            .flat_map(engineering::turnout::Tie::corners)
        {
            let away = corner - frog.point;
            if away.dot(forth).abs() < 5.0 * width {
                let aside = away.dot(left) * 1000.0;
                low = low.min(aside);
                high = high.max(aside);
            }
        }
        // Labels that would stand one upon another go out farther.
        let (sign, reach) = if high <= -low {
            (1.0, high)
        } else {
            (-1.0, -low)
        };
        let taken = |level: u32| {
            labels.iter().any(|(side, at, on)| {
                (*side, *on) == (sign, level) && (at - along).abs() * 1000.0 < 16.0 * size
            })
        };
        let level = (0..).find(|level| !taken(*level)).unwrap_or(0);
        labels.push((sign, along, level));
        let reach = reach + (0.6 + 1.3 * f64::from(level)) * size;
        let direction = left * sign;
        let spot = point + direction * reach;
        art.line(Layer::Mark, point, spot);
        let what = match frog.kind {
            FrogKind::Point => "PF",
            FrogKind::Obtuse => "corner",
        };
        let label = format!(
            "{what} {}: No. {}, {}",
            index + 1,
            words::number(frog.number),
            words::angle(frog.angle)
        );
        art.add(
            Layer::Text,
            Shape::Text(
                spot + direction * if sign > 0.0 { 0.3 * size } else { size },
                label,
                size,
                place.heading,
                Stand::Middle,
            ),
        );
    }
}
