//! Sheets of paper: a window on the drawing or a table, and around it what every sheet carries.

use kurbo::{Point, Rect, Vec2};

use crate::{
    letters,
    shape::{Art, Layer, Shape, Stand},
};

/// Paper sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 mm.
    A4,
}

impl Paper {
    /// Width and height when it stands upright, mm.
    pub fn upright(self) -> (f64, f64) {
        match self {
            Self::Letter => (215.9, 279.4),
            Self::A4 => (210.0, 297.0),
        }
    }
}

/// One sheet, in mm from its lower left corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Width and height, mm.
    pub size: (f64, f64),
    /// The window through which the drawing is seen.
    pub window: Option<Rect>,
    /// What is seen through it, placed on the sheet.
    pub seen: Art,
    /// What stands around it.
    pub around: Art,
    /// Heavy letters: where, what, how tall.
    pub heavy: Vec<(Point, String, f64)>,
}

/// What the title block says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Title {
    /// What is drawn.
    pub what: String,
    /// Whose: the railroad's name.
    pub railroad: String,
    /// Lines of the block.
    pub lines: Vec<String>,
}

/// Paper that no printer reaches, and a little more, mm.
pub const MARGIN: f64 = 9.0;
/// Height of the strip below the window, mm.
pub const STRIP: f64 = 31.0;

impl Sheet {
    /// A bare sheet with its frame, check bars and title block.
    pub fn new(
        paper: Paper,
        lying: bool,
        title: &Title,
        number: (usize, usize),
        name: &str,
    ) -> Self {
        let (w, h) = paper.upright();
        let size = if lying { (h, w) } else { (w, h) };
        let mut sheet = Self {
            size,
            window: None,
            seen: Art::default(),
            around: Art::default(),
            heavy: Vec::new(),
        };
        sheet.bars();
        sheet.title(title, number, name);
        sheet
    }

    /// What is left for the window or a table.
    pub fn room(&self) -> Rect {
        Rect::new(
            MARGIN,
            MARGIN + STRIP,
            self.size.0 - MARGIN,
            self.size.1 - MARGIN,
        )
    }

    /// Two bars to hold a ruler to.
    fn bars(&mut self) {
        let x = MARGIN + 1.0;
        for (y, length, every, text) in [
            (MARGIN + 20.0, 100.0, 10.0, "100 mm"),
            (MARGIN + 9.0, 101.6, 25.4, "4 in"),
        ] {
            self.around
                .line(Layer::Bar, Point::new(x, y), Point::new(x + length, y));
            let ticks = (length / every + 0.5) as u32;
            for tick in 0..=ticks {
                let at = x + every * f64::from(tick);
                let tall = if tick == 0 || tick == ticks { 3.5 } else { 1.8 };
                self.around
                    .line(Layer::Bar, Point::new(at, y), Point::new(at, y + tall));
            }
            let label = format!("{text} exactly");
            self.around
                .text(Point::new(x + 2.0, y - 3.2), label, 2.6, Stand::Begin);
        }
        self.around.text(
            Point::new(x, MARGIN + 0.6),
            "Hold a steel rule to both bars. If either is off, the printer scaled the sheet: print at 100 %.",
            2.1,
            Stand::Begin,
        );
    }

    fn title(&mut self, title: &Title, (at, of): (usize, usize), name: &str) {
        let left = MARGIN + 106.0;
        let right = self.size.0 - MARGIN - MAP - 2.0;
        let top = MARGIN + STRIP - 3.0;
        for (from, to) in [
            (Point::new(left, MARGIN), Point::new(right, MARGIN)),
            (Point::new(right, MARGIN), Point::new(right, top)),
            (Point::new(right, top), Point::new(left, top)),
            (Point::new(left, top), Point::new(left, MARGIN)),
        ] {
            self.around.line(Layer::Frame, from, to);
        }
        let room = right - left - 3.0;
        let mut y = top - 3.6;
        let heading = letters::wrapped(&title.what, 3.0, true, room);
        for line in heading.iter().take(2) {
            self.heavy
                .push((Point::new(left + 1.5, y), line.clone(), 3.0));
            y -= 3.7;
        }
        let mut lines: Vec<(String, f64)> = Vec::new();
        if !title.railroad.is_empty() {
            lines.push((title.railroad.clone(), 2.2));
        }
        lines.extend(title.lines.iter().map(|line| (line.clone(), 2.2)));
        let wrapped: Vec<String> = lines
            .iter()
            .flat_map(|(line, size)| letters::wrapped(line, *size, false, room))
            .collect();
        let step = ((y - MARGIN - 4.2) / wrapped.len().max(1) as f64).min(3.0);
        let size = (0.8 * step).min(2.2);
        for line in wrapped {
            self.around
                .text(Point::new(left + 1.5, y), line, size, Stand::Begin);
            y -= step;
        }
        self.around.text(
            Point::new(left + 1.5, MARGIN + 1.2),
            format!("sheet {at} of {of}: {name}"),
            2.4,
            Stand::Begin,
        );
    }

    /// Draws where a window lies among all of them; of very many, among its neighbours.
    pub fn map(&mut self, windows: &[[Point; 4]], here: usize, names: &[String]) {
        const MOST: usize = 24;
        let (first, last) = if windows.len() > MOST {
            (here.saturating_sub(2), (here + 3).min(windows.len()))
        } else {
            (0, windows.len())
        };
        let (windows, names, here) = (&windows[first..last], &names[first..last], here - first);
        let Some(bounds) = windows
            .iter()
            .flatten()
            .map(|point| Rect::from_points(*point, *point))
            .reduce(|a, b| a.union(b))
        else {
            return;
        };
        let (left, low) = (self.size.0 - MARGIN - MAP, MARGIN);
        let scale = (MAP / bounds.width()).min((STRIP - 3.0) / bounds.height());
        let at = |point: &Point| {
            Point::new(
                left + (point.x - bounds.x0) * scale,
                low + (point.y - bounds.y0) * scale,
            )
        };
        for (index, window) in windows.iter().enumerate() {
            let corners: Vec<Point> = window.iter().map(at).collect();
            if here == index {
                self.around
                    .add(Layer::Here, Shape::Polygon(corners.clone()));
            }
            for pair in 0..4 {
                self.around
                    .line(Layer::Frame, corners[pair], corners[(pair + 1) % 4]);
            }
            let middle = corners.iter().fold(Vec2::ZERO, |sum, c| sum + c.to_vec2()) / 4.0;
            let wide = (corners[1] - corners[0]).hypot();
            let size = (0.35 * wide).min(2.4);
            // A name on the dark window would not be read; it stands in the title block.
            if here != index && size > 0.8 {
                self.around.text(
                    middle.to_point() - Vec2::new(0.0, 0.35 * size),
                    names[index].clone(),
                    size,
                    Stand::Middle,
                );
            }
        }
    }

    /// A cross with a ring, the same on every sheet that shows its place.
    pub fn register(art: &mut Art, at: Point) {
        for arm in [Vec2::new(3.0, 0.0), Vec2::new(0.0, 3.0)] {
            art.line(Layer::Register, at - arm, at + arm);
        }
        art.add(
            Layer::Register,
            Shape::Arc(at, 1.5, 0.0, std::f64::consts::TAU),
        );
    }
}

/// Width of the page map, mm.
pub const MAP: f64 = 34.0;
