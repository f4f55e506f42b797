//! What a drawing is made of: lines, arcs, curves, polygons and letters on named layers, in
//! millimetres with *y* up.

use engineering::curve::{Path, PieceKind, to_bezier};
use engineering::turnout::Line;
use kurbo::{BezPath, Point, Rect, Shape as _, Vec2};

/// On what layer a shape lies. The layer decides how it is drawn and what a drawing program calls it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// Ties.
    Tie,
    /// Center lines.
    Center,
    /// Rail heads as areas.
    Head,
    /// Working faces: gauge lines and guarding faces.
    Face,
    /// The other side of rail heads.
    Back,
    /// Points as they lie when closed.
    Closed,
    /// Gaps cut in rails.
    Gap,
    /// Marks and leaders for dimensions.
    Mark,
    /// Letters.
    Text,
    /// Frames of sheets.
    Frame,
    /// Where sheets are cut and laid on each other.
    Cut,
    /// Crosses by which sheets are registered.
    Register,
    /// Bars to check the print's size.
    Bar,
    /// A solid area in the page map.
    Here,
    /// Lines of a table.
    Rule,
}

impl Layer {
    /// All of them.
    pub const ALL: &'static [Self] = &[
        Self::Tie,
        Self::Center,
        Self::Head,
        Self::Face,
        Self::Back,
        Self::Closed,
        Self::Gap,
        Self::Mark,
        Self::Text,
        Self::Frame,
        Self::Cut,
        Self::Register,
        Self::Bar,
        Self::Here,
        Self::Rule,
    ];

    /// Its name in a drawing program.
    pub fn name(self) -> &'static str {
        match self {
            Self::Tie => "TIE",
            Self::Center => "CENTER",
            Self::Head => "HEAD",
            Self::Face => "FACE",
            Self::Back => "BACK",
            Self::Closed => "POINT-CLOSED",
            Self::Gap => "GAP",
            Self::Mark => "MARK",
            Self::Text => "TEXT",
            Self::Frame => "FRAME",
            Self::Cut => "CUT",
            Self::Register => "REGISTER",
            Self::Bar => "BAR",
            Self::Here => "HERE",
            Self::Rule => "RULE",
        }
    }

    /// Width of its lines in mm; nought for an area without an outline.
    pub fn width(self) -> f64 {
        match self {
            Self::Tie | Self::Center | Self::Back | Self::Closed | Self::Mark => 0.12,
            Self::Head | Self::Here => 0.0,
            Self::Face => 0.2,
            Self::Gap => 0.35,
            Self::Text | Self::Rule => 0.1,
            Self::Frame | Self::Cut | Self::Register => 0.15,
            Self::Bar => 0.2,
        }
    }

    /// Colour of its lines.
    pub fn color(self) -> [u8; 3] {
        match self {
            Self::Tie => [0xa0, 0x94, 0x80],
            Self::Center | Self::Mark => [0x1f, 0x4e, 0x8c],
            Self::Gap => [0xb0, 0x20, 0x20],
            Self::Cut => [0x70, 0x70, 0x70],
            Self::Rule => [0xc4, 0xc4, 0xc4],
            _ => [0, 0, 0],
        }
    }

    /// Colour of its areas.
    pub fn fill(self) -> Option<[u8; 3]> {
        match self {
            Self::Tie => Some([0xf3, 0xee, 0xe4]),
            Self::Head => Some([0xcc, 0xcc, 0xcc]),
            Self::Here => Some([0x60, 0x60, 0x60]),
            _ => None,
        }
    }

    /// Dashes in mm: on, off, on, off.
    pub fn dashes(self) -> &'static [f64] {
        match self {
            Self::Center => &[4.0, 1.0, 0.5, 1.0],
            Self::Closed => &[1.0, 0.6],
            Self::Cut => &[2.0, 2.0],
            _ => &[],
        }
    }
}

/// Where letters stand from their point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    /// They begin there.
    Begin,
    /// Centered on it.
    Middle,
    /// They end there.
    End,
}

/// A shape.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A straight line.
    Line(Point, Point),
    /// An arc: center, radius, the angle where it begins and how far it turns, radians.
    Arc(Point, f64, f64, f64),
    /// A curve that is neither.
    Curve(BezPath),
    /// A closed polygon.
    Polygon(Vec<Point>),
    /// Letters: where their base line begins, what, how tall, in which direction, and how they stand.
    Text(Point, String, f64, f64, Stand),
}

/// A drawing: shapes on layers.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Art {
    /// The shapes, those drawn first in front.
    pub items: Vec<(Layer, Shape)>,
}

/// A turn about the origin and then a move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placing {
    /// Radians.
    pub turn: f64,
    /// Millimetres.
    pub shift: Vec2,
}

impl Placing {
    /// Where a point comes to lie.
    pub fn apply(&self, point: Point) -> Point {
        let (sin, cos) = self.turn.sin_cos();
        Point::new(
            point.x * cos - point.y * sin + self.shift.x,
            point.x * sin + point.y * cos + self.shift.y,
        )
    }
}

impl Art {
    /// Adds a shape.
    pub fn add(&mut self, layer: Layer, shape: Shape) {
        self.items.push((layer, shape));
    }

    /// A straight line.
    pub fn line(&mut self, layer: Layer, from: Point, to: Point) {
        self.add(layer, Shape::Line(from, to));
    }

    /// Level letters.
    pub fn text(&mut self, at: Point, text: impl Into<String>, size: f64, stand: Stand) {
        self.add(Layer::Text, Shape::Text(at, text.into(), size, 0.0, stand));
    }

    /// A parallel of center lines given in metres: straight parts as lines, arcs as arcs, spirals as
    /// curves within a tenth of a micrometre.
    pub fn track_line(&mut self, layer: Layer, line: &Line) {
        for part in line.parts() {
            for piece in part.path.pieces() {
                let alone = Path::new([*piece]);
                let (begin, end) = (piece.begin(), piece.end());
                let [from, to] =
                    [begin, end].map(|place| mm(place.point() + place.left() * part.left));
                let k = piece.curvature[0];
                match piece.kind() {
                    PieceKind::Tangent => self.line(layer, from, to),
                    PieceKind::Arc => {
                        let center = begin.point() + begin.left() / k;
                        let radius = (1.0 / k - part.left).abs();
                        let start = (from - mm(center)).atan2();
                        self.add(
                            layer,
                            Shape::Arc(mm(center), radius * 1000.0, start, piece.turn()),
                        );
                    }
                    PieceKind::Spiral => {
                        let mut curve = to_bezier(&alone, part.left, 1e-7);
                        curve.apply_affine(kurbo::Affine::scale(1000.0));
                        self.add(layer, Shape::Curve(curve));
                    }
                }
            }
        }
    }

    /// Everything of another drawing, moved.
    pub fn place(&mut self, other: &Self, placing: Placing) {
        for (layer, shape) in &other.items {
            self.add(*layer, shape.placed(placing));
        }
    }

    /// A rectangle that holds it; letters count by their point.
    pub fn bounds(&self) -> Option<Rect> {
        self.items
            .iter()
            .map(|(_, shape)| shape.bounds())
            .reduce(|a, b| a.union(b))
    }
}

/// Metres to millimetres.
pub fn mm(point: Point) -> Point {
    Point::new(point.x * 1000.0, point.y * 1000.0)
}

impl Shape {
    /// Turned and moved.
    #[must_use]
    pub fn placed(&self, placing: Placing) -> Self {
        let at = |point: &Point| placing.apply(*point);
        match self {
            Self::Line(a, b) => Self::Line(at(a), at(b)),
            Self::Arc(center, radius, start, turn) => {
                Self::Arc(at(center), *radius, start + placing.turn, *turn)
            }
            Self::Curve(curve) => {
                let mut curve = curve.clone();
                curve.apply_affine(
                    kurbo::Affine::translate(placing.shift) * kurbo::Affine::rotate(placing.turn),
                );
                Self::Curve(curve)
            }
            Self::Polygon(points) => Self::Polygon(points.iter().map(at).collect()),
            Self::Text(point, text, size, heading, stand) => Self::Text(
                at(point),
                text.clone(),
                *size,
                heading + placing.turn,
                *stand,
            ),
        }
    }

    /// A rectangle that holds it.
    pub fn bounds(&self) -> Rect {
        match self {
            Self::Line(a, b) => Rect::from_points(*a, *b),
            Self::Arc(center, radius, start, turn) => {
                arc(*center, *radius, *start, *turn).bounding_box()
            }
            Self::Curve(curve) => curve.bounding_box(),
            Self::Polygon(points) => points
                .iter()
                .map(|point| Rect::from_points(*point, *point))
                .reduce(|a, b| a.union(b))
                .unwrap_or(Rect::ZERO),
            Self::Text(at, ..) => Rect::from_points(*at, *at),
        }
    }

    /// Points along it, a chord at most `within` mm from it.
    pub fn points(&self, within: f64) -> Vec<Point> {
        match self {
            Self::Line(a, b) => vec![*a, *b],
            Self::Arc(center, radius, start, turn) => {
                // Sagitta of a chord that turns by φ: r(1 − cos ½φ), about rφ²/8.
                let step = (8.0 * within / radius).sqrt().min(0.5);
                let steps = (turn.abs() / step).ceil().clamp(1.0, 1e5);
                (0..=steps as u32)
                    .map(|at| {
                        let angle = start + turn * f64::from(at) / steps;
                        *center + Vec2::from_angle(angle) * *radius
                    })
                    .collect()
            }
            Self::Curve(curve) => {
                let mut points = Vec::new();
                kurbo::flatten(curve, within, |element| {
                    if let kurbo::PathEl::MoveTo(point) | kurbo::PathEl::LineTo(point) = element {
                        points.push(point);
                    }
                });
                points
            }
            Self::Polygon(points) => points.clone(),
            Self::Text(at, ..) => vec![*at],
        }
    }
}

/// An arc as cubics of at most an eighth of a turn: within a thousand-millionth of the radius for a
/// twenty-fourth, the step used.
pub fn arc(center: Point, radius: f64, start: f64, turn: f64) -> BezPath {
    let parts = (turn.abs() / (std::f64::consts::PI / 12.0)).ceil().max(1.0);
    let step = turn / parts;
    // The arms of a cubic that fits an arc.
    let arm = 4.0 / 3.0 * (step / 4.0).tan() * radius;
    let mut path = BezPath::new();
    let at = |angle: f64| center + Vec2::from_angle(angle) * radius;
    let along = |angle: f64| Vec2::from_angle(angle + std::f64::consts::FRAC_PI_2) * arm;
    path.move_to(at(start));
    for part in 0..parts as u32 {
        let from = start + step * f64::from(part);
        let to = from + step;
        path.curve_to(at(from) + along(from), at(to) - along(to), at(to));
    }
    path
}
