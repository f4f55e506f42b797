//! Rooms: walls, posts and benchwork, and where people can stand.

mod floor;
mod page;
pub mod rules;

use model::{
    Span, Spanned,
    text::{Reader, Record, Value},
    units::Actual,
};

pub use floor::{Edge, edges, inside, to_segment};
pub use page::PAGE;

use crate::{alignment::point, curve::Point};

model::words! {
    /// Whether and how people get through a piece of benchwork.
    pub enum BenchworkKind {
        Fixed = "fixed", "they do not";
        DuckUnder = "duck-under", "they stoop under it";
        LiftOut = "lift-out", "it is taken out";
        Gate = "gate", "it swings";
    }
}

/// A room.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Its name.
    pub name: Spanned<String>,
    /// Its corners, metres on the plan.
    pub corners: Vec<Point>,
    /// Openings in its walls.
    pub doors: Vec<Door>,
    /// What stands in it.
    pub posts: Vec<Post>,
    /// What the track stands on.
    pub benchwork: Vec<Benchwork>,
}

/// An opening in a wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Door {
    /// Where it stands.
    pub span: Span,
    /// Its sides.
    pub ends: [Point; 2],
    /// Its name.
    pub name: Option<String>,
}

/// A post.
#[derive(Debug, Clone, PartialEq)]
pub struct Post {
    /// Where it stands.
    pub span: Span,
    /// Its middle.
    pub at: Point,
    /// Half its thickness, metres.
    pub radius: f64,
    /// Its name.
    pub name: Option<String>,
}

/// A piece of benchwork.
#[derive(Debug, Clone, PartialEq)]
pub struct Benchwork {
    /// Its name.
    pub name: Spanned<String>,
    /// Its corners, metres on the plan.
    pub outline: Vec<Point>,
    /// Whether and how people get through.
    pub kind: BenchworkKind,
    /// Height below it.
    pub clear: Option<Spanned<Actual>>,
}

fn outline(record: &Record, key: &str) -> Vec<Point> {
    let cells = record.list(key).iter();
    cells
        .filter_map(|cell| match &cell.value {
            Value::List(cells) => point(cells),
            _ => None,
        })
        .collect()
}

/// A room from its page.
pub(crate) fn build(page: &Record, name: Spanned<String>, reader: &mut Reader<'_>) -> Room {
    let words = |record: &Record, key| record.text(key).map(|text| text.value.to_owned());
    let room = Room {
        corners: outline(page, "corners"),
        doors: page
            .tables("doors")
            .iter()
            .filter_map(|door| {
                let ends = [point(door.list("from"))?, point(door.list("to"))?];
                Some(Door {
                    span: door.span,
                    ends,
                    name: words(door, "name"),
                })
            })
            .collect(),
        posts: page
            .tables("posts")
            .iter()
            .filter_map(|post| {
                Some(Post {
                    span: post.span,
                    at: point(post.list("at"))?,
                    radius: 0.5 * post.length("size")?.meters(),
                    name: words(post, "name"),
                })
            })
            .collect(),
        benchwork: page
            .tables("benchwork")
            .iter()
            .map(|piece| Benchwork {
                name: piece.text("name").map_or(
                    Spanned {
                        value: String::new(),
                        span: piece.span,
                    },
                    |name| name.map(str::to_owned),
                ),
                outline: outline(piece, "outline"),
                kind: BenchworkKind::read(piece, "kind")
                    .map_or(BenchworkKind::Fixed, |kind| kind.value),
                clear: piece.length("clear"),
            })
            .collect(),
        name,
    };
    let outlines = room
        .benchwork
        .iter()
        .map(|piece| (piece.name.span, &piece.outline, "benchwork"));
    for (span, corners, what) in std::iter::once((page.span, &room.corners, "room")).chain(outlines)
    {
        if page.written("corners") && corners.len() < 3 && !corners.is_empty() {
            reader.out.push(rules::outline_too_short::diagnostic(
                span,
                what,
                corners.len(),
            ));
        }
    }
    room
}

impl Room {
    /// Its walls, corner to corner, without regard to doors.
    pub fn walls(&self) -> impl Iterator<Item = [Point; 2]> + '_ {
        sides(&self.corners)
    }

    /// Whether a point lies in one of its doors, give or take a little.
    pub fn in_door(&self, at: Point) -> bool {
        self.doors
            .iter()
            .any(|door| to_segment(at, door.ends).0 < 0.05)
    }
}

/// The sides of a closed outline.
pub(crate) fn sides(corners: &[Point]) -> impl Iterator<Item = [Point; 2]> + '_ {
    (0..corners.len()).map(|at| [corners[at], corners[(at + 1) % corners.len()]])
}
