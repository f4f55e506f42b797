//! The plan on paper.

use std::fmt::Write as _;

use engineering::{
    curve::{Path, Point, Vec2, to_bezier},
    room::BenchworkKind,
};
use kurbo::{BezPath, PathEl};
use model::units::Actual;
use railroad::identity::UnitsStyle;

use super::{Facts, labels::Taken};
use crate::svg::{Anchor, Sheet, Stroke, Type};

const INK: &str = "#1c2126";
const WALL: &str = "#3a4046";
const FLOOR: &str = "#ffffff";
const BENCH: &str = "#f3ead9";
const BENCH_EDGE: &str = "#b29b72";
const OPENS: &str = "#e3edf5";
const GRID: &str = "#e6e8ea";
const TRACK: &str = "#1f3a5f";
const SIDE_TRACK: &str = "#6a7685";
const CURVE: &str = "#7a3b10";
const GRADE: &str = "#0b5d4e";

/// Paper: how large the drawing itself may be, millimetres.
const LARGEST: (f64, f64) = (560.0, 400.0);
const MARGIN: f64 = 14.0;
const HEAD: f64 = 16.0;
const FOOT: f64 = 12.0;

/// Scales a plan may have: one of these many times smaller than the model.
const SCALES: [f64; 10] = [4.0, 5.0, 8.0, 10.0, 12.0, 16.0, 20.0, 24.0, 32.0, 48.0];

/// A grade's figure: where it may stand, on which side, and what it says.
type Figure = ((f64, f64), (f64, f64), String);

/// The plan as SVG.
pub fn draw(facts: &Facts, units: UnitsStyle) -> String {
    let Some((low, high)) = extent(facts) else {
        let mut sheet = Sheet::new(180.0, 40.0, &*facts.title);
        let text = "Nothing of this has a place in an alignment yet.";
        sheet.text((MARGIN, 22.0), text, Type::plain(4.0, INK), Anchor::Start);
        return sheet.finish();
    };
    let size = high - low;
    let fits =
        |scale: f64| size.x * 1000.0 / scale <= LARGEST.0 && size.y * 1000.0 / scale <= LARGEST.1;
    let least = (size.x * 1000.0 / LARGEST.0)
        .max(size.y * 1000.0 / LARGEST.1)
        .ceil();
    let scale = SCALES
        .into_iter()
        .find(|scale| fits(*scale))
        .unwrap_or(least);
    let (width, height) = (size.x * 1000.0 / scale, size.y * 1000.0 / scale);
    let whole = (
        width.max(150.0) + 2.0 * MARGIN,
        height + HEAD + FOOT + 2.0 * MARGIN,
    );
    let title = format!("{}: {}", facts.railroad, facts.title);
    let mut plan = Plan {
        sheet: Sheet::new(whole.0, whole.1, title),
        origin: (
            MARGIN + 0.5 * (whole.0 - 2.0 * MARGIN - width),
            MARGIN + HEAD + height,
        ),
        low,
        scale,
        taken: Taken::new(whole),
        units,
    };
    plan.grid(low, high);
    plan.rooms(facts);
    plan.tracks(facts);
    let arrows = plan.arrows(facts);
    plan.turnouts(facts);
    plan.curves(facts);
    plan.grades(facts, &arrows);
    plan.names(facts);
    plan.frame(facts, whole);
    plan.sheet.finish()
}

/// What has to go on, with a hand's breadth around it.
fn extent(facts: &Facts) -> Option<(Point, Point)> {
    let tracks = facts.tracks.iter().filter_map(|track| track.path.bounds());
    let corners = facts.rooms.iter().flat_map(|room| &room.corners);
    let points = corners.map(|corner| kurbo::Rect::from_points(*corner, *corner));
    let all = tracks
        .chain(points)
        .reduce(|a, b| a.union(b))?
        .inflate(0.1, 0.1);
    Some((Point::new(all.x0, all.y0), Point::new(all.x1, all.y1)))
}

struct Plan {
    sheet: Sheet,
    /// Where the lower left of the plan is on the sheet.
    origin: (f64, f64),
    low: Point,
    scale: f64,
    taken: Taken,
    units: UnitsStyle,
}

impl Plan {
    fn mm(&self, at: Point) -> (f64, f64) {
        let off = (at - self.low) * (1000.0 / self.scale);
        (self.origin.0 + off.x, self.origin.1 - off.y)
    }

    /// A length of the model on the sheet.
    fn on_sheet(&self, metres: f64) -> f64 {
        metres * 1000.0 / self.scale
    }

    fn show(&self, metres: f64) -> String {
        self.units.show(Actual::from_meters(metres))
    }

    /// Lines every foot, or every half metre, stronger and numbered every fifth (or every second).
    fn grid(&mut self, low: Point, high: Point) {
        let (step, strong) = match self.units {
            UnitsStyle::Metric => (0.5, 2),
            _ => (0.3048, 5),
        };
        let range = |a: f64, b: f64| (a / step).ceil() as i32..=(b / step).floor() as i32;
        for n in range(low.x, high.x) {
            let x = f64::from(n) * step;
            let (from, to) = (
                self.mm(Point::new(x, low.y)),
                self.mm(Point::new(x, high.y)),
            );
            self.grid_line(from, to, n % strong == 0);
            if n % strong == 0 {
                let text = self.show(x);
                let kind = Type::plain(2.4, "#8a9199");
                self.sheet
                    .text((from.0, from.1 + 3.6), &text, kind, Anchor::Middle);
            }
        }
        for n in range(low.y, high.y) {
            let y = f64::from(n) * step;
            let (from, to) = (
                self.mm(Point::new(low.x, y)),
                self.mm(Point::new(high.x, y)),
            );
            self.grid_line(from, to, n % strong == 0);
            if n % strong == 0 {
                let text = self.show(y);
                let kind = Type::plain(2.4, "#8a9199");
                self.sheet
                    .text((from.0 - 1.2, from.1 + 0.8), &text, kind, Anchor::End);
            }
        }
    }

    fn grid_line(&mut self, from: (f64, f64), to: (f64, f64), strong: bool) {
        let width = if strong { 0.25 } else { 0.1 };
        self.sheet.line(from, to, Stroke::solid(GRID, width));
    }

    fn outline(&mut self, corners: &[Point], stroke: Stroke, fill: &str) {
        let points: Vec<(f64, f64)> = corners.iter().map(|corner| self.mm(*corner)).collect();
        self.sheet.path(&points, stroke, Some(fill));
    }

    fn rooms(&mut self, facts: &Facts) {
        for room in &facts.rooms {
            let wall = Stroke::solid(WALL, 1.6);
            let points: Vec<(f64, f64)> = room
                .corners
                .iter()
                .chain(room.corners.first())
                .map(|corner| self.mm(*corner))
                .collect();
            for (_, outline, kind) in &room.benchwork {
                let (stroke, fill) = match kind {
                    BenchworkKind::Fixed => (Stroke::solid(BENCH_EDGE, 0.35), BENCH),
                    _ => (Stroke::dashed(BENCH_EDGE, 0.35, "1.6 1"), OPENS),
                };
                self.outline(outline, stroke, fill);
                for at in 0..outline.len() {
                    let (a, b) = (
                        self.mm(outline[at]),
                        self.mm(outline[(at + 1) % outline.len()]),
                    );
                    self.taken.keep_off_line(a, b, 1);
                }
            }
            self.sheet.path(&points, wall, None);
            for pair in points.windows(2) {
                self.taken.keep_off_line(pair[0], pair[1], 3);
            }
            for ([a, b], name) in &room.doors {
                let (from, to) = (self.mm(*a), self.mm(*b));
                self.sheet.line(from, to, Stroke::solid(FLOOR, 2.2));
                let jamb = |at: (f64, f64)| ((at.0 - 0.6, at.1 - 0.6), (1.2, 1.2));
                for at in [from, to] {
                    let (corner, size) = jamb(at);
                    self.sheet
                        .rect(corner, size, Stroke::solid(WALL, 0.1), WALL);
                }
                if let Some(name) = name {
                    let middle = (0.5 * (from.0 + to.0), 0.5 * (from.1 + to.1));
                    self.text_near(middle, (0.0, 1.0), 3.4, name, Type::italic(2.8, WALL));
                }
            }
            for (at, radius, name) in &room.posts {
                let middle = self.mm(*at);
                let radius = self.on_sheet(*radius).max(0.6);
                self.sheet
                    .circle(middle, radius, Stroke::solid(WALL, 0.3), WALL);
                self.taken.take([
                    middle.0 - radius,
                    middle.1 - radius,
                    middle.0 + radius,
                    middle.1 + radius,
                ]);
                if let Some(name) = name {
                    self.text_near(
                        middle,
                        (1.0, 0.0),
                        radius + 1.4,
                        name,
                        Type::italic(2.6, WALL),
                    );
                }
            }
        }
    }

    /// A center line as Béziers on the sheet.
    fn course(&mut self, path: &Path) -> String {
        // A fiftieth of a millimetre on paper.
        let drawn: BezPath = to_bezier(path, 0.0, 2e-5 * self.scale);
        let mut d = String::new();
        let mut put = |plan: &Self, letter: &str, points: &[Point]| {
            d.push_str(letter);
            for (at, point) in points.iter().enumerate() {
                let (x, y) = plan.mm(*point);
                let gap = if at == 0 { "" } else { " " };
                let _ = write!(d, "{gap}{x:.2} {y:.2}");
            }
        };
        for element in drawn.elements() {
            match *element {
                PathEl::MoveTo(a) => put(self, "M", &[a]),
                PathEl::LineTo(a) => put(self, "L", &[a]),
                PathEl::QuadTo(a, b) => put(self, "Q", &[a, b]),
                PathEl::CurveTo(a, b, c) => put(self, "C", &[a, b, c]),
                PathEl::ClosePath => {}
            }
        }
        for (_, place) in path.places(5e-4 * self.scale) {
            let at = self.mm(place.point());
            self.taken.keep_off(at, 2);
        }
        d
    }

    fn tracks(&mut self, facts: &Facts) {
        let courses: Vec<(bool, String)> = facts
            .tracks
            .iter()
            .map(|track| (track.main, self.course(&track.path)))
            .collect();
        // Ties as a broad dashed band under the rails tell the width of the track.
        let ties = (self.on_sheet(facts.gauge) * 1.8).clamp(0.9, 6.0);
        for (_, d) in &courses {
            self.sheet
                .drawn(d, Stroke::dashed("#c9bda6", ties, "0.5 0.9"));
        }
        for (main, d) in courses
            .iter()
            .filter(|(main, _)| !main)
            .chain(courses.iter().filter(|(main, _)| *main))
        {
            let (color, width) = if *main {
                (TRACK, 0.8)
            } else {
                (SIDE_TRACK, 0.55)
            };
            self.sheet.drawn(d, Stroke::solid(color, width));
        }
    }

    fn turnouts(&mut self, facts: &Facts) {
        for turnout in &facts.turnouts {
            let at = self.mm(turnout.at.point());
            self.sheet
                .circle(at, 0.75, Stroke::solid(TRACK, 0.35), FLOOR);
            let number = turnout
                .number
                .map_or_else(String::new, |number| format!(" No. {number}"));
            let text = format!("{}{number}", turnout.name);
            // On the side to which nothing leaves.
            let away = turnout.at.left() * -turnout.hand;
            self.text_near(at, (away.x, -away.y), 1.8, &text, Type::plain(2.4, INK));
        }
    }

    fn curves(&mut self, facts: &Facts) {
        for curve in &facts.curves {
            let at = self.mm(curve.at.point());
            let inward = curve.at.left() * curve.at.curvature.signum();
            let mut text = format!(
                "R {}  {:.1}°",
                self.show(curve.radius),
                curve.angle.to_degrees()
            );
            let [a, b] = curve.easements;
            if a > 0.0 || b > 0.0 {
                let eased = if (a - b).abs() < 1e-6 {
                    format!(", eased {}", self.show(a))
                } else {
                    format!(", eased {} and {}", self.show(a), self.show(b))
                };
                text.push_str(&eased);
            }
            self.text_near(
                at,
                (inward.x, -inward.y),
                2.6,
                &text,
                Type::plain(2.8, CURVE),
            );
        }
    }

    /// Arrows up the grades; gives where each grade's figure may stand, and on which side.
    fn arrows(&mut self, facts: &Facts) -> Vec<Figure> {
        let mut figures = Vec::new();
        for grade in &facts.grades {
            let aside = self.scale / 1000.0 * 2.6;
            let Some(mut beside) = grade.at.beside(aside) else {
                continue;
            };
            if grade.at.curvature > 0.0 {
                // On the outside of curves, whose data stand on the inside.
                beside = grade.at.beside(-aside).unwrap_or(beside);
            }
            let (at, ahead) = (self.mm(beside.point()), beside.ahead());
            let to = (ahead.x, -ahead.y);
            let half = 3.4;
            let tip = (at.0 + to.0 * half, at.1 + to.1 * half);
            let tail = (at.0 - to.0 * half, at.1 - to.1 * half);
            self.sheet.line(tail, tip, Stroke::solid(GRADE, 0.3));
            let wing = |turn: f64| {
                let back = (-to.0 * 1.5, -to.1 * 1.5);
                let (sin, cos) = turn.sin_cos();
                (
                    tip.0 + back.0 * cos - back.1 * sin,
                    tip.1 + back.0 * sin + back.1 * cos,
                )
            };
            let head = [wing(0.4), tip, wing(-0.4)];
            self.sheet
                .path(&head, Stroke::solid(GRADE, 0.2), Some(GRADE));
            self.taken.take([
                tip.0.min(tail.0) - 0.4,
                tip.1.min(tail.1) - 0.4,
                tip.0.max(tail.0) + 0.4,
                tip.1.max(tail.1) + 0.4,
            ]);
            let side = beside.point() - grade.at.point();
            let out = side / side.hypot();
            figures.push((at, (out.x, -out.y), format!("{:.1} %", 100.0 * grade.grade)));
        }
        figures
    }

    fn grades(&mut self, facts: &Facts, arrows: &[Figure]) {
        for (at, out, text) in arrows {
            self.text_near(*at, *out, 1.4, text, Type::bold(2.6, GRADE));
        }
        for (place, height) in &facts.heights {
            let at = self.mm(place.point());
            let left = place.left();
            self.sheet.line(
                self.mm(place.point() + left * (self.scale * 1.2e-3)),
                self.mm(place.point() - left * (self.scale * 1.2e-3)),
                Stroke::solid(GRADE, 0.4),
            );
            let text = format!("▲ {}", self.show(*height));
            self.text_near(at, (left.x, -left.y), 2.4, &text, Type::plain(2.6, GRADE));
        }
    }

    fn names(&mut self, facts: &Facts) {
        for track in &facts.tracks {
            let at = self.mm(track.label.point());
            let left = track.label.left();
            let kind = match (track.station, track.main) {
                (true, _) => Type::bold(4.2, INK),
                (_, true) => Type::bold(3.0, TRACK),
                _ => Type::plain(2.8, SIDE_TRACK),
            };
            self.text_near(at, (left.x, -left.y), 2.0, &track.name, kind);
        }
        for room in &facts.rooms {
            for (name, outline, _) in &room.benchwork {
                let middle = center(outline);
                let at = self.mm(middle);
                self.text_near(at, (1.0, 0.0), 0.0, name, Type::italic(3.0, BENCH_EDGE));
            }
            let at = self.mm(center(&room.corners));
            self.text_near(at, (0.0, -1.0), 0.0, &room.name, Type::bold(5.0, "#9aa3ab"));
        }
    }

    /// A text beside a point, on the side that is wished for if there is room, else around it.
    fn text_near(&mut self, at: (f64, f64), wish: (f64, f64), gap: f64, text: &str, kind: Type) {
        let (width, height) = (kind.width(text), kind.size);
        let wished = Vec2::new(wish.0, wish.1).atan2();
        let turns = [
            0.0,
            0.5,
            -0.5,
            std::f64::consts::PI,
            1.1,
            -1.1,
            2.4,
            -2.4,
            1.6,
            -1.6,
        ];
        let mut places = Vec::new();
        for far in [1.0, 2.2, 4.0] {
            for turn in turns {
                let (sin, cos) = (wished + turn).sin_cos();
                // The box touches the point's circle with the side that looks at it.
                let reach = gap * far + (1.0 - far.recip()) * 1.5;
                let middle = (
                    at.0 + cos * (reach + 0.5 * width),
                    at.1 + sin * (reach + 0.5 * height),
                );
                places.push([
                    middle.0 - 0.5 * width,
                    middle.1 - 0.5 * height,
                    middle.0 + 0.5 * width,
                    middle.1 + 0.5 * height,
                ]);
            }
        }
        if let Some(chosen) = self.taken.place(&places) {
            let place = places[chosen];
            let base = (0.5 * (place[0] + place[2]), place[3] - 0.22 * height);
            self.sheet.text(base, text, kind, Anchor::Middle);
        }
    }

    fn frame(&mut self, facts: &Facts, whole: (f64, f64)) {
        let left = MARGIN;
        self.sheet.text(
            (left, MARGIN + 3.0),
            &facts.railroad,
            Type::plain(4.0, INK),
            Anchor::Start,
        );
        self.sheet.text(
            (left, MARGIN + 9.4),
            &facts.title,
            Type::bold(5.6, INK),
            Anchor::Start,
        );
        let right = whole.0 - MARGIN;
        let note = format!(
            "1:{:.0} of the model. Heights are railhead above the floor.",
            self.scale
        );
        self.sheet.text(
            (right, MARGIN + 3.0),
            &note,
            Type::plain(3.0, INK),
            Anchor::End,
        );
        // A bar to measure by, whatever the printer has done.
        let (text, length) = match self.units {
            UnitsStyle::Metric => ("1 m", 1.0),
            _ => ("3 ft", 3.0 * 0.3048),
        };
        let bar = self.on_sheet(length);
        let y = MARGIN + 8.0;
        self.sheet
            .line((right - bar, y), (right, y), Stroke::solid(INK, 0.5));
        for x in [right - bar, right] {
            self.sheet
                .line((x, y - 1.2), (x, y + 1.2), Stroke::solid(INK, 0.5));
        }
        self.sheet.text(
            (right - 0.5 * bar, y - 1.4),
            text,
            Type::plain(3.0, INK),
            Anchor::Middle,
        );
        let y = whole.1 - MARGIN;
        let legend: [(&str, &str, &str); 4] = [
            (TRACK, "", "main, siding, open line"),
            (SIDE_TRACK, "", "other track"),
            (GRADE, "arrow", "uphill"),
            (BENCH_EDGE, "", "benchwork"),
        ];
        let mut x = left;
        for (color, kind, text) in legend {
            self.sheet
                .line((x, y - 1.0), (x + 8.0, y - 1.0), Stroke::solid(color, 0.8));
            if kind == "arrow" {
                let head = [(x + 6.6, y - 1.7), (x + 8.4, y - 1.0), (x + 6.6, y - 0.3)];
                self.sheet
                    .path(&head, Stroke::solid(color, 0.1), Some(color));
            }
            let style = Type::plain(3.0, INK);
            self.sheet.text((x + 9.6, y), text, style, Anchor::Start);
            x += 14.0 + style.width(text);
        }
    }
}

/// The middle of an outline's area.
fn center(corners: &[Point]) -> Point {
    let mut area = 0.0;
    let mut sum = Vec2::ZERO;
    for (at, a) in corners.iter().enumerate() {
        let b = corners[(at + 1) % corners.len()];
        let part = a.to_vec2().cross(b.to_vec2());
        area += part;
        sum += (a.to_vec2() + b.to_vec2()) * part;
    }
    if area.abs() < 1e-9 {
        return corners.first().copied().unwrap_or(Point::ORIGIN);
    }
    (sum / (3.0 * area)).to_point()
}
