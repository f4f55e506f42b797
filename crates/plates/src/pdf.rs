//! Sheets written as PDF.

use krilla::{
    Document,
    color::rgb,
    geom::{PathBuilder, Point as At, Transform},
    metadata::Metadata,
    num::NormalizedF32,
    page::PageSettings,
    paint::{Fill, FillRule, Stroke, StrokeDash},
    surface::Surface,
    text::{Font, TextDirection},
};
use kurbo::{PathEl, Point};

use crate::{
    letters,
    shape::{Art, Layer, Shape, Stand, arc},
    sheet::Sheet,
};

/// Points to the millimetre.
const POINTS: f64 = 72.0 / 25.4;

struct Faces {
    regular: Font,
    heavy: Font,
}

/// Writes sheets, each a page.
///
/// # Errors
/// What the PDF library says; it has no reason to.
pub fn write(sheets: &[Sheet], title: &str) -> Result<Vec<u8>, String> {
    let face = |data: &'static [u8]| {
        Font::new(data.into(), 0).ok_or_else(|| "the font cannot be read".to_owned())
    };
    let faces = Faces {
        regular: face(letters::regular())?,
        heavy: face(letters::bold())?,
    };
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title(title.to_owned()));
    for sheet in sheets {
        let (w, h) = sheet.size;
        let settings = PageSettings::from_wh((w * POINTS) as f32, (h * POINTS) as f32)
            .ok_or("a sheet has no size")?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        let pen = Pen {
            height: h,
            faces: &faces,
        };
        if let Some(window) = sheet.window {
            let mut frame = PathBuilder::new();
            for (index, (x, y)) in [
                (window.x0, window.y0),
                (window.x1, window.y0),
                (window.x1, window.y1),
                (window.x0, window.y1),
            ]
            .into_iter()
            .enumerate()
            {
                let (x, y) = pen.at(Point::new(x, y));
                if index == 0 {
                    frame.move_to(x, y);
                } else {
                    frame.line_to(x, y);
                }
            }
            frame.close();
            if let Some(frame) = frame.finish() {
                surface.push_clip_path(&frame, &FillRule::NonZero);
                pen.draw(&mut surface, &sheet.seen, Some(window));
                surface.pop();
            }
        }
        pen.draw(&mut surface, &sheet.around, None);
        for (at, text, size) in &sheet.heavy {
            pen.letters(&mut surface, *at, text, *size, 0.0, Stand::Begin, true);
        }
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|error| format!("{error:?}"))
}

struct Pen<'a> {
    height: f64,
    faces: &'a Faces,
}

impl Pen<'_> {
    /// From millimetres up the sheet to points down the page.
    fn at(&self, point: Point) -> (f32, f32) {
        (
            (point.x * POINTS) as f32,
            ((self.height - point.y) * POINTS) as f32,
        )
    }

    fn draw(&self, surface: &mut Surface<'_>, art: &Art, window: Option<kurbo::Rect>) {
        for layer in Layer::ALL {
            for (_, shape) in art.items.iter().filter(|(on, _)| on == layer) {
                // What no one sees through the window need not be in the file.
                if let Some(window) = window {
                    let bounds = shape.bounds().inflate(60.0, 20.0);
                    let apart = bounds.x1 < window.x0
                        || bounds.x0 > window.x1
                        || bounds.y1 < window.y0
                        || bounds.y0 > window.y1;
                    if apart {
                        continue;
                    }
                }
                self.shape(surface, *layer, shape);
            }
        }
    }

    fn shape(&self, surface: &mut Surface<'_>, layer: Layer, shape: &Shape) {
        let mut path = PathBuilder::new();
        match shape {
            Shape::Text(at, text, size, heading, stand) => {
                self.letters(surface, *at, text, *size, *heading, *stand, false);
                return;
            }
            Shape::Line(a, b) => {
                let ((x0, y0), (x1, y1)) = (self.at(*a), self.at(*b));
                path.move_to(x0, y0);
                path.line_to(x1, y1);
            }
            Shape::Arc(center, radius, start, turn) => {
                self.curve(&mut path, &arc(*center, *radius, *start, *turn));
            }
            Shape::Curve(curve) => self.curve(&mut path, curve),
            Shape::Polygon(points) => {
                for (index, point) in points.iter().enumerate() {
                    let (x, y) = self.at(*point);
                    if index == 0 {
                        path.move_to(x, y);
                    } else {
                        path.line_to(x, y);
                    }
                }
                path.close();
            }
        }
        let Some(path) = path.finish() else { return };
        let closed = matches!(shape, Shape::Polygon(_));
        surface.set_fill(layer.fill().filter(|_| closed).map(|color| Fill {
            paint: ink(color).into(),
            opacity: NormalizedF32::ONE,
            rule: FillRule::NonZero,
        }));
        surface.set_stroke((layer.width() > 0.0).then(|| Stroke {
            paint: ink(layer.color()).into(),
            width: (layer.width() * POINTS) as f32,
            dash: (!layer.dashes().is_empty()).then(|| StrokeDash {
                array: layer.dashes().iter().map(|d| (d * POINTS) as f32).collect(),
                offset: 0.0,
            }),
            ..Stroke::default()
        }));
        surface.draw_path(&path);
    }

    fn curve(&self, path: &mut PathBuilder, curve: &kurbo::BezPath) {
        for element in curve.elements() {
            match element {
                PathEl::MoveTo(p) => {
                    let (x, y) = self.at(*p);
                    path.move_to(x, y);
                }
                PathEl::LineTo(p) => {
                    let (x, y) = self.at(*p);
                    path.line_to(x, y);
                }
                PathEl::QuadTo(a, b) => {
                    let ((x1, y1), (x, y)) = (self.at(*a), self.at(*b));
                    path.quad_to(x1, y1, x, y);
                }
                PathEl::CurveTo(a, b, c) => {
                    let ((x1, y1), (x2, y2), (x, y)) = (self.at(*a), self.at(*b), self.at(*c));
                    path.cubic_to(x1, y1, x2, y2, x, y);
                }
                PathEl::ClosePath => path.close(),
            }
        }
    }

    #[allow(clippy::too_many_arguments, reason = "what letters need")]
    fn letters(
        &self,
        surface: &mut Surface<'_>,
        at: Point,
        text: &str,
        size: f64,
        heading: f64,
        stand: Stand,
        heavy: bool,
    ) {
        let back = match stand {
            Stand::Begin => 0.0,
            Stand::Middle => 0.5,
            Stand::End => 1.0,
        } * letters::width(text, size, heavy);
        let (x, y) = self.at(at);
        surface.set_fill(Some(Fill {
            paint: ink(Layer::Text.color()).into(),
            opacity: NormalizedF32::ONE,
            rule: FillRule::NonZero,
        }));
        surface.set_stroke(None);
        let turned = heading.abs() > 1e-9;
        if turned {
            let degrees = -heading.to_degrees() as f32;
            surface.push_transform(&Transform::from_rotate_at(degrees, x, y));
        }
        let font = if heavy {
            &self.faces.heavy
        } else {
            &self.faces.regular
        };
        surface.draw_text(
            At::from_xy(x - (back * POINTS) as f32, y),
            font.clone(),
            (size * POINTS) as f32,
            text,
            false,
            TextDirection::Auto,
        );
        if turned {
            surface.pop();
        }
    }
}

fn ink([r, g, b]: [u8; 3]) -> rgb::Color {
    rgb::Color::new(r, g, b)
}
