//! A drawing written as an ASCII DXF of release 12 in millimetres: lines, arcs, circles, polylines and
//! letters. What neither is, is a polyline within a micrometre.

use std::fmt::Write;

use kurbo::Point;

use crate::shape::{Art, Layer, Shape, Stand};

/// How near polylines keep to true curves, mm.
const FINE: f64 = 0.001;

/// Writes the drawing.
pub fn write(art: &Art) -> String {
    let mut out = String::new();
    pair(&mut out, 0, "SECTION");
    pair(&mut out, 2, "HEADER");
    pair(&mut out, 9, "$ACADVER");
    pair(&mut out, 1, "AC1009");
    // Millimetres, and metric as a whole.
    pair(&mut out, 9, "$INSUNITS");
    pair(&mut out, 70, "4");
    pair(&mut out, 9, "$MEASUREMENT");
    pair(&mut out, 70, "1");
    pair(&mut out, 0, "ENDSEC");
    pair(&mut out, 0, "SECTION");
    pair(&mut out, 2, "TABLES");
    let used: Vec<Layer> = Layer::ALL
        .iter()
        .copied()
        .filter(|layer| art.items.iter().any(|(on, _)| on == layer))
        .collect();
    pair(&mut out, 0, "TABLE");
    pair(&mut out, 2, "LAYER");
    pair(&mut out, 70, &used.len().to_string());
    for layer in &used {
        pair(&mut out, 0, "LAYER");
        pair(&mut out, 2, layer.name());
        pair(&mut out, 70, "0");
        pair(&mut out, 62, color(*layer));
        pair(&mut out, 6, "CONTINUOUS");
    }
    pair(&mut out, 0, "ENDTAB");
    pair(&mut out, 0, "ENDSEC");
    pair(&mut out, 0, "SECTION");
    pair(&mut out, 2, "ENTITIES");
    for (layer, shape) in &art.items {
        entity(&mut out, *layer, shape);
    }
    pair(&mut out, 0, "ENDSEC");
    pair(&mut out, 0, "EOF");
    out
}

/// Of the nine colours every reader knows.
fn color(layer: Layer) -> &'static str {
    match layer {
        Layer::Gap => "1",
        Layer::Center | Layer::Mark => "5",
        Layer::Tie | Layer::Cut => "8",
        _ => "7",
    }
}

fn entity(out: &mut String, layer: Layer, shape: &Shape) {
    let begin = |out: &mut String, kind: &str| {
        pair(out, 0, kind);
        pair(out, 8, layer.name());
    };
    match shape {
        Shape::Line(a, b) => {
            begin(out, "LINE");
            point(out, 10, *a);
            point(out, 11, *b);
        }
        Shape::Arc(center, radius, start, turn) => {
            let whole = turn.abs() > std::f64::consts::TAU - 1e-9;
            begin(out, if whole { "CIRCLE" } else { "ARC" });
            point(out, 10, *center);
            number(out, 40, *radius);
            if !whole {
                // Counted to the left from 0 to 360 degrees.
                let (from, to) = if *turn < 0.0 {
                    (start + turn, *start)
                } else {
                    (*start, start + turn)
                };
                number(out, 50, from.to_degrees().rem_euclid(360.0));
                number(out, 51, to.to_degrees().rem_euclid(360.0));
            }
        }
        Shape::Curve(_) | Shape::Polygon(_) => {
            let closed = matches!(shape, Shape::Polygon(_));
            begin(out, "POLYLINE");
            pair(out, 66, "1");
            pair(out, 70, if closed { "1" } else { "0" });
            for vertex in shape.points(FINE) {
                pair(out, 0, "VERTEX");
                pair(out, 8, layer.name());
                point(out, 10, vertex);
            }
            pair(out, 0, "SEQEND");
        }
        Shape::Text(at, text, size, heading, stand) => {
            begin(out, "TEXT");
            point(out, 10, *at);
            number(out, 40, 0.72 * size);
            pair(out, 1, &plain(text));
            number(out, 50, heading.to_degrees());
            if *stand != Stand::Begin {
                pair(out, 72, if *stand == Stand::Middle { "1" } else { "2" });
                point(out, 11, *at);
            }
        }
    }
}

/// Release 12 knows the letters of ASCII, and a way to write a degree sign.
fn plain(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '°' => "%%d".to_owned(),
            '±' => "%%p".to_owned(),
            '′' | '’' => "'".to_owned(),
            '″' => "\"".to_owned(),
            '·' => "*".to_owned(),
            c if c.is_ascii() && !c.is_control() => c.to_string(),
            _ => "?".to_owned(),
        })
        .collect()
}

fn pair(out: &mut String, code: u16, value: &str) {
    let _ = writeln!(out, "{code:>3}\n{value}");
}

/// A ten-millionth of a millimetre.
fn number(out: &mut String, code: u16, value: f64) {
    pair(out, code, &format!("{value:.7}"));
}

fn point(out: &mut String, code: u16, at: Point) {
    number(out, code, at.x);
    number(out, code + 10, at.y);
    number(out, code + 20, 0.0);
}
