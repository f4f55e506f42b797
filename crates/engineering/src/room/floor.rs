//! Where people can stand, and how far they reach from there.

use super::{BenchworkKind, Room, sides};
use crate::curve::{Point, Vec2};

/// Along edges of benchwork one looks in steps of this many metres.
const STEP: f64 = 0.05;
/// Less floor than this before an edge is no place to stand, metres.
const STAND: f64 = 0.3;

/// A spot at the edge of benchwork where someone can stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// Where it is.
    pub at: Point,
    /// Which piece of benchwork it is the edge of.
    pub benchwork: usize,
    /// How much floor there is straight before it, metres.
    pub floor: f64,
}

/// Whether a point lies within a closed outline.
pub fn inside(corners: &[Point], at: Point) -> bool {
    let mut within = false;
    for [a, b] in sides(corners) {
        if (a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            within = !within;
        }
    }
    within
}

/// How far a point is from a straight piece, and its point nearest to it.
pub fn to_segment(at: Point, [a, b]: [Point; 2]) -> (f64, Point) {
    let along = b - a;
    let square = along.hypot2();
    let part = if square > 0.0 {
        ((at - a).dot(along) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let near = a + along * part;
    (near.distance(at), near)
}

/// How far one sees from a point in a direction before a straight piece is in the way.
fn ray(from: Point, to: Vec2, [a, b]: [Point; 2]) -> Option<f64> {
    let along = b - a;
    let (cross, square) = (to.cross(along), along.hypot2());
    if cross.abs() < 1e-12 {
        return None;
    }
    let (distance, part) = (
        (a - from).cross(along) / cross,
        (a - from).cross(to) / cross,
    );
    // One that is only grazed bounds the floor at its end, not across.
    let grazed = cross.abs() < 0.5 * square.sqrt();
    (!grazed && distance > 1e-6 && (-1e-9..=1.0 + 1e-9).contains(&part)).then_some(distance)
}

/// The spots along the edges of a room's benchwork where someone can stand, with the floor before each.
/// Pieces that open count as floor: that is what they are for.
pub fn edges(room: &Room) -> Vec<Edge> {
    let mut found = Vec::new();
    let fixed = |at: usize| room.benchwork[at].kind == BenchworkKind::Fixed;
    for (index, piece) in room.benchwork.iter().enumerate() {
        if !fixed(index) {
            continue;
        }
        for [a, b] in sides(&piece.outline) {
            let length = a.distance(b);
            if length < 1e-6 {
                continue;
            }
            let parts = (length / STEP).ceil().min(1e5) as u32;
            let normal = {
                let along = (b - a) / length;
                Vec2::new(along.y, -along.x)
            };
            for part in 0..parts {
                let at = a + (b - a) * ((f64::from(part) + 0.5) / f64::from(parts));
                let outward = if inside(&piece.outline, at + normal * 1e-4) {
                    -normal
                } else {
                    normal
                };
                let spot = at + outward * 0.01;
                let taken = (0..room.benchwork.len()).any(|other| {
                    fixed(other) && other != index && inside(&room.benchwork[other].outline, spot)
                });
                if taken || !inside(&room.corners, spot) {
                    continue;
                }
                let pieces = (0..room.benchwork.len()).filter(|other| fixed(*other));
                let edges = pieces.flat_map(|other| sides(&room.benchwork[other].outline));
                let walls = room.walls();
                let mut floor = edges
                    .chain(walls)
                    .filter_map(|side| ray(at + outward * 1e-4, outward, side))
                    .fold(f64::INFINITY, f64::min);
                for post in &room.posts {
                    let off = post.at - at;
                    let (ahead, aside) = (off.dot(outward), off.cross(outward).abs());
                    if aside < post.radius && ahead > 0.0 {
                        floor =
                            floor.min(ahead - (post.radius * post.radius - aside * aside).sqrt());
                    }
                }
                if floor >= STAND {
                    found.push(Edge {
                        at,
                        benchwork: index,
                        floor,
                    });
                }
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use model::{FileId, Sources, Span, Spanned};

    use super::super::Benchwork;
    use super::*;

    fn name(file: FileId) -> Spanned<String> {
        Spanned {
            value: String::new(),
            span: Span::new(file, 0..0),
        }
    }

    /// A room of 4 by 3 with a shelf of 0.5 along the left wall and a table in the middle.
    fn room() -> Room {
        let file = Sources::default().add("rooms/a.toml", b"");
        let rect = |x0: f64, y0: f64, x1: f64, y1: f64| {
            vec![
                Point::new(x0, y0),
                Point::new(x1, y0),
                Point::new(x1, y1),
                Point::new(x0, y1),
            ]
        };
        let piece = |outline| Benchwork {
            name: name(file),
            outline,
            kind: BenchworkKind::Fixed,
            clear: None,
        };
        Room {
            name: name(file),
            corners: rect(0.0, 0.0, 4.0, 3.0),
            doors: Vec::new(),
            posts: Vec::new(),
            benchwork: vec![
                piece(rect(0.0, 0.0, 0.5, 3.0)),
                piece(rect(1.5, 1.0, 3.0, 2.0)),
            ],
        }
    }

    #[test]
    fn people_stand_where_there_is_floor() {
        let spots = edges(&room());
        // The shelf along its front only; the table all around.
        for spot in &spots {
            match spot.benchwork {
                0 => assert!((spot.at.x - 0.5).abs() < 1e-9),
                _ => assert!(spot.at.x >= 1.5 - 1e-9),
            }
        }
        let narrowest = spots
            .iter()
            .map(|spot| spot.floor)
            .fold(f64::INFINITY, f64::min);
        assert!((narrowest - 1.0).abs() < 1e-3, "{narrowest}");
        // Before the shelf beside the table: 1.0; beyond it: across the room, 3.5.
        let across = spots
            .iter()
            .filter(|s| s.benchwork == 0)
            .map(|s| s.floor)
            .fold(0.0, f64::max);
        assert!((across - 3.5).abs() < 1e-3);
    }

    #[test]
    fn in_and_out() {
        let room = room();
        assert!(
            inside(&room.corners, Point::new(0.1, 0.1))
                && !inside(&room.corners, Point::new(-0.1, 1.0))
        );
        let (off, near) = to_segment(
            Point::new(1.0, 1.0),
            [Point::new(0.0, 0.0), Point::new(4.0, 0.0)],
        );
        assert!((off - 1.0).abs() < 1e-12 && near == Point::new(1.0, 0.0));
    }
}
