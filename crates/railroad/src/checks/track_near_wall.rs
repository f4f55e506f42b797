//! Track lies too close to a wall or post.

use model::{Rule, Severity};

use engineering::{
    curve::Point,
    room::{inside, to_segment},
};
use model::{Diagnostics, units::Actual};

use super::{
    context::Context,
    swings::{fine, swing, widest_swing},
};

/// Track lies too close to a wall or post.
pub static RULE: Rule = Rule {
    code: "track-near-wall",
    severity: Severity::Warning,
    title: "Track lies too close to a wall or post.",
    explain: "Beside the longest car, its swing on curves counted, there must be room to the \
        wall, to the posts and whatever else stands in the room: `side_clearance` \
        under `[limits]`; 2 ft full size if that is left out (common practice, no \
        source). A hand that lifts a car off the track needs far more.",
    fixture: r#"
--- rooms/cellar.toml
name = "Cellar"
corners = [["0 ft", "0 ft"], ["12 ft", "0 ft"], ["12 ft", "10 ft"], ["0 ft", "10 ft"]]
posts = [{ at = ["6 ft", "1 ft 1 in"], size = "4 in", name = "lally column" }]
--- alignments/house.toml
[[center_lines]]
name = "back track"
begin = { at = ["1 ft", "3/4 in"], bearing = 90 }
elements = [{ tangent = "8 ft" }]

[[center_lines]]
name = "front track"
begin = { at = ["1 ft", "10 1/4 in"], bearing = 90 }
elements = [{ tangent = "8 ft" }]
"#,
    rendered: r#"
warning[track-near-wall]: the middle of `back track` is 0.75 in (19.0 mm) from the wall of Cellar, too near for SMR 101
 --> alignments/house.toml:4:15
  |
4 | elements = [{ tangent = "8 ft" }]
  |               ^^^^^^^^^^^^^^^ 0.24 in (6.0 mm) wanting, at 0" along it

warning[track-near-wall]: the middle of `front track` is 0.76 in (19.3 mm) from `lally column` of Cellar, too near for SMR 101
 --> alignments/house.toml:9:15
  |
9 | elements = [{ tangent = "8 ft" }]
  |               ^^^^^^^^^^^^^^^ 0.23 in (5.8 mm) wanting, at 4'-11 3/4" along it
  |
 ::: rooms/cellar.toml:3:12
  |
3 | posts = [{ at = ["6 ft", "1 ft 1 in"], size = "4 in", name = "lally column" }]
  |            --------------------------------------------------------------- stands here
"#,
    file: file!(),
};

pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let way = &context.road.way;
    let located = &way.located;
    let Some(body) = widest_swing(context) else {
        return;
    };
    let limits = context.road.network.limits();
    let beside = 0.5 * body.width.meters() + limits.plan.beside_cars.meters();
    for room in &way.rooms {
        for (line, path) in located.laid() {
            // The worst place at a wall, and at each post.
            let mut worst: Vec<Option<(f64, f64, f64)>> = vec![None; room.posts.len() + 1];
            for (s, place) in path.places(0.025) {
                let at = place.point();
                if !inside(&room.corners, at) {
                    continue;
                }
                let mut look = |which: usize, near: Point, apart: f64| {
                    let left = (near - at).dot(place.left()) > 0.0;
                    let needed = beside + swing(&body, place.curvature, left);
                    let short = needed - apart;
                    if short > 1e-4 && worst[which].is_none_or(|(most, _, _)| short > most) {
                        worst[which] = Some((short, s, apart));
                    }
                };
                for wall in room.walls() {
                    let (apart, near) = to_segment(at, wall);
                    // Track leaves a room by its doors.
                    if !room.in_door(near) {
                        look(0, near, apart);
                    }
                }
                for (which, post) in room.posts.iter().enumerate() {
                    look(which + 1, post.at, at.distance(post.at) - post.radius);
                }
            }
            for (which, found) in worst.into_iter().enumerate() {
                let Some((short, s, apart)) = found else {
                    continue;
                };
                let what = match which.checked_sub(1).map(|post| &room.posts[post]) {
                    None => "the wall".to_owned(),
                    Some(post) => post
                        .name
                        .as_ref()
                        .map_or_else(|| "a post".to_owned(), |name| format!("`{name}`")),
                };
                let message = format!(
                    "the middle of `{}` is {} from {what} of {}, too near for {}",
                    located.described[line].name.value,
                    fine(apart.max(0.0)),
                    room.name.value,
                    body.name
                );
                let mut diagnostic = RULE.at(located.span_at(line, s), message).label(format!(
                    "{} wanting, at {} along it",
                    fine(short),
                    context.show(Actual::from_meters(s))
                ));
                if let Some(post) = which.checked_sub(1).map(|post| &room.posts[post]) {
                    diagnostic = diagnostic.also(post.span, "stands here");
                }
                out.push(diagnostic);
            }
        }
    }
}
