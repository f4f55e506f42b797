//! A drawing parted over sheets: in a grid, or in windows that follow the track.

use kurbo::{Point, Rect, Vec2};

use engineering::turnout::Line;

use crate::{
    shape::{Art, Layer, Placing, mm},
    sheet::{Paper, Sheet, Title},
};

/// How far neighbouring sheets show the same, mm.
pub const OVERLAP: f64 = 12.0;

/// A window on the drawing.
#[derive(Debug, Clone, PartialEq)]
struct Window {
    name: String,
    /// Its lower left corner on the drawing, mm.
    corner: Point,
    /// The direction of its lower edge, radians.
    turn: f64,
}

/// How a drawing is parted.
#[derive(Debug, Clone, PartialEq, Default)]
struct Parting {
    lying: bool,
    size: (f64, f64),
    windows: Vec<Window>,
    /// Where to cut: lines on the drawing.
    cuts: Vec<[Point; 2]>,
    /// Where sheets are registered.
    crosses: Vec<Point>,
}

impl Window {
    fn corners(&self, (w, h): (f64, f64)) -> [Point; 4] {
        let along = Vec2::from_angle(self.turn);
        let up = Vec2::from_angle(self.turn + std::f64::consts::FRAC_PI_2);
        [
            self.corner,
            self.corner + along * w,
            self.corner + along * w + up * h,
            self.corner + up * h,
        ]
    }

    /// Whether a point lies in it.
    fn holds(&self, point: Point, (w, h): (f64, f64)) -> bool {
        let away = point - self.corner;
        let x = away.dot(Vec2::from_angle(self.turn));
        let y = away.dot(Vec2::from_angle(self.turn + std::f64::consts::FRAC_PI_2));
        (0.0..=w).contains(&x) && (0.0..=h).contains(&y)
    }
}

/// The sheets of a drawing; `along` is the track that long drawings are parted along, `more` says how
/// many other sheets follow so many.
pub(crate) fn sheets(
    art: &Art,
    along: Option<&Line>,
    paper: Paper,
    title: &Title,
    more: impl Fn(usize) -> usize,
) -> Vec<Sheet> {
    let parting = best(art, along, paper);
    let of = parting.windows.len() + more(parting.windows.len());
    let names: Vec<String> = parting
        .windows
        .iter()
        .map(|window| window.name.clone())
        .collect();
    let corners: Vec<[Point; 4]> = parting
        .windows
        .iter()
        .map(|window| window.corners(parting.size))
        .collect();
    let mut marks = Art::default();
    for [from, to] in &parting.cuts {
        marks.line(Layer::Cut, *from, *to);
    }
    for cross in &parting.crosses {
        Sheet::register(&mut marks, *cross);
    }
    parting
        .windows
        .iter()
        .enumerate()
        .map(|(at, window)| {
            let name = format!("window {}", window.name);
            let mut sheet = Sheet::new(paper, parting.lying, title, (at + 1, of), &name);
            let room = sheet.room();
            // The window's corner comes to lie at the room's.
            let (sin, cos) = (-window.turn).sin_cos();
            let corner = window.corner;
            let placing = Placing {
                turn: -window.turn,
                shift: Vec2::new(
                    room.x0 - (corner.x * cos - corner.y * sin),
                    room.y0 - (corner.x * sin + corner.y * cos),
                ),
            };
            sheet.seen.place(art, placing);
            sheet.seen.place(&marks, placing);
            sheet.window = Some(room);
            for (from, to) in [
                ((room.x0, room.y0), (room.x1, room.y0)),
                ((room.x1, room.y0), (room.x1, room.y1)),
                ((room.x1, room.y1), (room.x0, room.y1)),
                ((room.x0, room.y1), (room.x0, room.y0)),
            ] {
                sheet.around.line(Layer::Frame, from.into(), to.into());
            }
            sheet.map(&corners, at, &names);
            sheet
        })
        .collect()
}

/// Of the grids both ways and the windows along the track, the one with the fewest sheets; of equals
/// the first.
fn best(art: &Art, along: Option<&Line>, paper: Paper) -> Parting {
    let mut all = Vec::new();
    for lying in [true, false] {
        let (w, h) = paper.upright();
        let (w, h) = if lying { (h, w) } else { (w, h) };
        let room = Sheet::new(paper, lying, &Title::default(), (1, 1), "").room();
        debug_assert!(room.width() < w && room.height() < h);
        let size = (room.width(), room.height());
        all.push(grid(art, size, lying));
        if let Some(line) = along.filter(|line| line.length() * 1000.0 > size.0) {
            all.extend(following(art, line, size, lying));
        }
    }
    all.into_iter()
        .filter(|parting| !parting.windows.is_empty())
        .reduce(|a, b| {
            if b.windows.len() < a.windows.len() {
                b
            } else {
                a
            }
        })
        .unwrap_or_default()
}

/// Points of everything drawn, close enough together that no sheet is missed.
fn sampled(art: &Art) -> Vec<Point> {
    let mut points = Vec::new();
    for (_, shape) in &art.items {
        let corners = shape.points(0.5);
        for pair in corners.windows(2) {
            let steps = ((pair[1] - pair[0]).hypot() / 4.0).ceil().clamp(1.0, 1e5) as u32;
            for step in 0..steps {
                points.push(pair[0].lerp(pair[1], f64::from(step) / f64::from(steps)));
            }
        }
        points.extend(corners.last());
    }
    points
}

fn grid(art: &Art, size: (f64, f64), lying: bool) -> Parting {
    let mut parting = Parting {
        lying,
        size,
        ..Parting::default()
    };
    let Some(bounds) = art.bounds() else {
        return parting;
    };
    let bounds = bounds.inflate(4.0, 4.0);
    let (step_x, step_y) = (size.0 - OVERLAP, size.1 - OVERLAP);
    let count = |reach: f64, size: f64, step: f64| {
        (((reach - size) / step).ceil().max(0.0) as usize).min(10_000) + 1
    };
    let (columns, rows) = (
        count(bounds.width(), size.0, step_x),
        count(bounds.height(), size.1, step_y),
    );
    // What is left over is shared by both sides.
    let spare_x = columns as f64 * step_x + OVERLAP - bounds.width();
    let spare_y = rows as f64 * step_y + OVERLAP - bounds.height();
    let origin = Point::new(bounds.x0 - 0.5 * spare_x, bounds.y0 - 0.5 * spare_y);
    let points = sampled(art);
    let corner =
        |column: usize, row: usize| origin + Vec2::new(column as f64 * step_x, row as f64 * step_y);
    let mut kept = vec![vec![false; columns]; rows];
    // Read like a page: from the top down.
    for row in (0..rows).rev() {
        for (column, is_kept) in kept[row].iter_mut().enumerate() {
            let window = Window {
                name: if rows == 1 {
                    format!("{}", column + 1)
                } else {
                    format!("{}{}", letter(rows - 1 - row), column + 1)
                },
                corner: corner(column, row),
                turn: 0.0,
            };
            if points.iter().any(|point| window.holds(*point, size)) {
                *is_kept = true;
                parting.windows.push(window);
            }
        }
    }
    let (mid, far) = (0.5 * OVERLAP, 12.0);
    for (row, kept_here) in kept.iter().enumerate() {
        for (column, is_kept) in kept_here.iter().enumerate() {
            if !is_kept {
                continue;
            }
            let at = corner(column, row);
            if column + 1 < columns && kept[row][column + 1] {
                let x = at.x + step_x + mid;
                parting
                    .cuts
                    .push([Point::new(x, at.y), Point::new(x, at.y + size.1)]);
                parting.crosses.push(Point::new(x, at.y + far));
                parting.crosses.push(Point::new(x, at.y + size.1 - far));
            }
            if row + 1 < rows && kept[row + 1][column] {
                let y = at.y + step_y + mid;
                parting
                    .cuts
                    .push([Point::new(at.x, y), Point::new(at.x + size.0, y)]);
                parting.crosses.push(Point::new(at.x + far, y));
                parting.crosses.push(Point::new(at.x + size.0 - far, y));
            }
        }
    }
    parting
}

fn letter(row: usize) -> String {
    let first = char::from(b'A' + (row % 26) as u8);
    if row < 26 {
        first.to_string()
    } else {
        format!("{}{first}", letter(row / 26 - 1))
    }
}

/// Windows that follow a track: each is turned along a chord of it and holds all that lies beside that
/// stretch.
fn following(art: &Art, line: &Line, size: (f64, f64), lying: bool) -> Option<Parting> {
    let reach = line.reach();
    // Everything drawn belongs to the nearest place of the track.
    let beside: Vec<(f64, Point)> = sampled(art)
        .into_iter()
        .map(|point| {
            let metres = Point::new(point.x / 1000.0, point.y / 1000.0);
            (line.project(metres).0, point)
        })
        .collect();
    let mut parting = Parting {
        lying,
        size,
        ..Parting::default()
    };
    let half = 0.5 * OVERLAP / 1000.0;
    let mut from = 0.0;
    while from < reach - 1e-9 {
        // The longest stretch that fits, by halving.
        let fit = |to: f64| window(&beside, line, from - half, to + half, size);
        let (mut low, mut high) = (from, (from + 2.0 * size.0 / 1000.0).min(reach));
        if fit(high).is_none() {
            for _ in 0..40 {
                let middle = 0.5 * (low + high);
                if fit(middle).is_some() {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            high = low;
        }
        if high < from + 0.02 || parting.windows.len() > 5000 {
            return None;
        }
        let mut found = fit(high)?;
        found.name = format!("{}", parting.windows.len() + 1);
        parting.windows.push(found);
        if high < reach - 1e-9 {
            let place = line.at(high);
            let (at, left) = (mm(place.point()), place.left());
            // As far aside as anything is drawn there.
            let aside = beside
                .iter()
                .filter(|(u, _)| (u - high).abs() < 0.01)
                .map(|(_, point)| (*point - at).dot(left).abs())
                .fold(0.0, f64::max)
                + 8.0;
            parting.cuts.push([at - left * aside, at + left * aside]);
            parting
                .crosses
                .extend([at - left * (aside - 4.0), at + left * (aside - 4.0)]);
        }
        from = high;
    }
    Some(parting)
}

fn window(
    beside: &[(f64, Point)],
    line: &Line,
    from: f64,
    to: f64,
    (w, h): (f64, f64),
) -> Option<Window> {
    let ends = [from, to].map(|u| mm(line.at(u.clamp(0.0, line.reach())).point()));
    let chord = ends[1] - ends[0];
    let turn = if chord.hypot() > 1.0 {
        chord.atan2()
    } else {
        line.at(from.max(0.0)).heading
    };
    let (along, up) = (
        Vec2::from_angle(turn),
        Vec2::from_angle(turn + std::f64::consts::FRAC_PI_2),
    );
    let box_ = beside
        .iter()
        .filter(|(u, _)| from <= *u && *u <= to)
        .map(|(_, point)| *point)
        .chain(ends)
        .map(|point| {
            let (x, y) = (point.to_vec2().dot(along), point.to_vec2().dot(up));
            Rect::new(x, y, x, y)
        })
        .reduce(|a, b| a.union(b))?
        .inflate(4.0, 10.0);
    if box_.width() > w || box_.height() > h {
        return None;
    }
    let (x, y) = (
        box_.x0 - 0.5 * (w - box_.width()),
        box_.y0 - 0.5 * (h - box_.height()),
    );
    Some(Window {
        name: String::new(),
        corner: (along * x + up * y).to_point(),
        turn,
    })
}
