//! A drawing written as one SVG in true units, its title and tables below it.

use drawing::svg::{Anchor, Sheet, Stroke, Type};
use kurbo::Point;

use crate::{
    shape::{Art, Layer, Shape, Stand},
    sheet::Title,
    table::Section,
};

/// How near polylines keep to true curves, mm: as fine as the numbers in the file.
const FINE: f64 = 0.004;
const EDGE: f64 = 10.0;

/// Writes the drawing.
pub fn write(art: &Art, title: &Title, sections: &[Section]) -> String {
    let bounds = art.bounds().unwrap_or_default().inflate(EDGE, EDGE);
    let rows: usize = sections.iter().map(|section| section.rows.len() + 2).sum();
    let head = 4.0 * (title.lines.len() + 3) as f64 + 14.0;
    let width = bounds.width().max(190.0);
    let height = bounds.height() + head + 4.0 * rows as f64;
    let mut sheet = Sheet::new(width, height, title.what.clone());
    let at = |point: Point| (point.x - bounds.x0, bounds.y1 - point.y);
    for layer in Layer::ALL {
        for (_, shape) in art.items.iter().filter(|(on, _)| on == layer) {
            draw(&mut sheet, *layer, shape, &at);
        }
    }
    let mut y = bounds.height() + 6.0;
    // A bar to check whatever prints it.
    let bar = Stroke::solid("#000", Layer::Bar.width());
    sheet.line((EDGE, y), (EDGE + 100.0, y), bar);
    for x in [0.0, 100.0] {
        sheet.line((EDGE + x, y), (EDGE + x, y - 3.0), bar);
    }
    sheet.text(
        (EDGE + 102.0, y),
        "100 mm exactly",
        Type::plain(3.0, "#000"),
        Anchor::Start,
    );
    y += 7.0;
    sheet.text(
        (EDGE, y),
        &title.what,
        Type::bold(4.0, "#000"),
        Anchor::Start,
    );
    for line in std::iter::once(&title.railroad).chain(&title.lines) {
        y += 4.0;
        sheet.text((EDGE, y), line, Type::plain(3.0, "#000"), Anchor::Start);
    }
    for section in sections {
        y += 8.0;
        sheet.text(
            (EDGE, y),
            &section.heading,
            Type::bold(3.2, "#000"),
            Anchor::Start,
        );
        for row in &section.rows {
            y += 4.0;
            for (cell, x) in row.iter().zip([0.0, 112.0, 142.0]) {
                sheet.text((EDGE + x, y), cell, Type::plain(2.8, "#000"), Anchor::Start);
            }
        }
    }
    sheet.finish()
}

fn draw(sheet: &mut Sheet, layer: Layer, shape: &Shape, at: &impl Fn(Point) -> (f64, f64)) {
    let stroke = Stroke {
        color: color(layer),
        width: layer.width(),
        dashes: match layer {
            Layer::Center => "4 1 0.5 1",
            Layer::Closed => "1 0.6",
            Layer::Cut => "2 2",
            _ => "",
        },
    };
    match shape {
        Shape::Text(point, text, size, _, stand) => {
            let anchor = match stand {
                Stand::Begin => Anchor::Start,
                Stand::Middle => Anchor::Middle,
                Stand::End => Anchor::End,
            };
            sheet.text(at(*point), text, Type::plain(*size, "#000"), anchor);
        }
        Shape::Line(a, b) => sheet.line(at(*a), at(*b), stroke),
        Shape::Polygon(points) => {
            let points: Vec<_> = points.iter().map(|point| at(*point)).collect();
            let fill = match layer {
                Layer::Tie => "#f3eee4",
                Layer::Head => "#ccc",
                _ => "#666",
            };
            sheet.path(&points, stroke, Some(fill));
        }
        Shape::Arc(..) | Shape::Curve(_) => {
            let points: Vec<_> = shape.points(FINE).into_iter().map(at).collect();
            sheet.path(&points, stroke, None);
        }
    }
}

fn color(layer: Layer) -> &'static str {
    match layer {
        Layer::Tie => "#a09480",
        Layer::Center | Layer::Mark => "#1f4e8c",
        Layer::Gap => "#b02020",
        Layer::Cut => "#707070",
        _ => "#000",
    }
}
