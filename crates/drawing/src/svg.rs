//! The little of SVG that drawings need. All measures are millimetres on paper.

use std::fmt::Write;

/// A sheet under way.
#[derive(Debug, Clone)]
pub struct Sheet {
    width: f64,
    height: f64,
    title: String,
    body: String,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub struct Stroke {
    /// Colour, as SVG takes it.
    pub color: &'static str,
    /// Width.
    pub width: f64,
    /// Dashes and gaps; none for a full line.
    pub dashes: &'static str,
}

impl Stroke {
    /// A full line.
    pub const fn solid(color: &'static str, width: f64) -> Self {
        Self {
            color,
            width,
            dashes: "",
        }
    }

    /// A dashed line.
    pub const fn dashed(color: &'static str, width: f64, dashes: &'static str) -> Self {
        Self {
            color,
            width,
            dashes,
        }
    }
}

/// Where a text stands from its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The text begins there.
    Start,
    /// Centred on it.
    Middle,
    /// The text ends there.
    End,
}

/// How a text is set.
#[derive(Debug, Clone, Copy)]
pub struct Type {
    /// Height of the letters' body.
    pub size: f64,
    /// Heavy letters.
    pub bold: bool,
    /// Slanted letters.
    pub italic: bool,
    /// Colour.
    pub color: &'static str,
}

impl Type {
    /// Plain letters of a size.
    pub const fn plain(size: f64, color: &'static str) -> Self {
        Self {
            size,
            bold: false,
            italic: false,
            color,
        }
    }

    /// Heavy letters of a size.
    pub const fn bold(size: f64, color: &'static str) -> Self {
        Self {
            size,
            bold: true,
            italic: false,
            color,
        }
    }

    /// Slanted letters of a size.
    pub const fn italic(size: f64, color: &'static str) -> Self {
        Self {
            size,
            bold: false,
            italic: true,
            color,
        }
    }

    /// About how wide a text will be. The letter widths are those of common sans-serif faces, rounded
    /// up: a guess that is seldom too small.
    pub fn width(&self, text: &str) -> f64 {
        let units: f64 = text
            .chars()
            .map(|c| match c {
                'i' | 'j' | 'l' | '\'' | '.' | ',' | ':' | '|' | '!' => 0.3,
                'f' | 't' | 'r' | ' ' | '-' | '"' | '/' | '(' | ')' => 0.38,
                'm' | 'w' | 'M' | 'W' | '%' => 0.9,
                c if c.is_uppercase() => 0.7,
                _ => 0.57,
            })
            .sum();
        units * self.size * if self.bold { 1.08 } else { 1.0 }
    }
}

impl Sheet {
    /// An empty sheet. The title is what a screen reader says.
    pub fn new(width: f64, height: f64, title: impl Into<String>) -> Self {
        Self {
            width,
            height,
            title: title.into(),
            body: String::new(),
        }
    }

    /// A straight line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), stroke: Stroke) {
        let _ = writeln!(
            self.body,
            r#"<path d="M{} {}L{} {}" {} fill="none"/>"#,
            Mm(from.0),
            Mm(from.1),
            Mm(to.0),
            Mm(to.1),
            Drawn(stroke)
        );
    }

    /// A line through several points, filled if a fill is given.
    pub fn path(&mut self, points: &[(f64, f64)], stroke: Stroke, fill: Option<&str>) {
        let mut d = String::new();
        for (at, (x, y)) in points.iter().enumerate() {
            let _ = write!(
                d,
                "{}{} {}",
                if at == 0 { "M" } else { "L" },
                Mm(*x),
                Mm(*y)
            );
        }
        let drawn = Drawn(stroke);
        let fill = fill.map_or("none", |fill| fill);
        let close = if fill == "none" { "" } else { "Z" };
        let _ = writeln!(self.body, r#"<path d="{d}{close}" {drawn} fill="{fill}"/>"#);
    }

    /// A path in SVG's own words.
    pub fn drawn(&mut self, d: &str, stroke: Stroke) {
        let _ = writeln!(self.body, r#"<path d="{d}" {}/>"#, Drawn(stroke));
    }

    /// A rectangle.
    pub fn rect(&mut self, at: (f64, f64), size: (f64, f64), stroke: Stroke, fill: &str) {
        let _ = writeln!(
            self.body,
            r#"<rect x="{}" y="{}" width="{}" height="{}" {} fill="{fill}"/>"#,
            Mm(at.0),
            Mm(at.1),
            Mm(size.0),
            Mm(size.1),
            Drawn(stroke)
        );
    }

    /// A circle.
    pub fn circle(&mut self, at: (f64, f64), radius: f64, stroke: Stroke, fill: &str) {
        let _ = writeln!(
            self.body,
            r#"<circle cx="{}" cy="{}" r="{}" {} fill="{fill}"/>"#,
            Mm(at.0),
            Mm(at.1),
            Mm(radius),
            Drawn(stroke)
        );
    }

    /// A line of text; the point is on its base line.
    pub fn text(&mut self, at: (f64, f64), text: &str, kind: Type, anchor: Anchor) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let weight = if kind.bold {
            r#" font-weight="bold""#
        } else {
            ""
        };
        let slant = if kind.italic {
            r#" font-style="italic""#
        } else {
            ""
        };
        let _ = writeln!(
            self.body,
            r#"<text x="{}" y="{}" font-size="{}" text-anchor="{anchor}"{weight}{slant} fill="{}">{}</text>"#,
            Mm(at.0),
            Mm(at.1),
            Mm(kind.size),
            kind.color,
            Escaped(text)
        );
    }

    /// A line of text turned about its point, degrees clockwise.
    pub fn slanted(
        &mut self,
        at: (f64, f64),
        text: &str,
        kind: Type,
        anchor: Anchor,
        degrees: f64,
    ) {
        let _ = writeln!(
            self.body,
            r#"<g transform="rotate({degrees} {} {})">"#,
            Mm(at.0),
            Mm(at.1)
        );
        self.text(at, text, kind, anchor);
        self.body.push_str("</g>\n");
    }

    /// Everything of another sheet, moved.
    pub fn place(&mut self, other: &Self, at: (f64, f64)) {
        let _ = writeln!(
            self.body,
            "<g transform=\"translate({} {})\">\n{}</g>",
            Mm(at.0),
            Mm(at.1),
            other.body
        );
    }

    /// The sheet's height.
    pub fn height(&self) -> f64 {
        self.height
    }

    /// The finished drawing.
    pub fn finish(&self) -> String {
        let (width, height) = (Mm(self.width), Mm(self.height));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
             viewBox=\"0 0 {width} {height}\" font-family=\"'Source Sans 3','DejaVu Sans',Helvetica,Arial,sans-serif\" \
             role=\"img\">\n<title>{}</title>\n<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n{}</svg>\n",
            Escaped(&self.title),
            self.body
        )
    }
}

/// Hundredths of a millimetre are finer than any printer; more digits only make files large.
struct Mm(f64);

impl std::fmt::Display for Mm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let rounded = (self.0 * 100.0).round() / 100.0;
        // No minus sign before a zero.
        write!(f, "{}", if rounded == 0.0 { 0.0 } else { rounded })
    }
}

struct Drawn(Stroke);

impl std::fmt::Display for Drawn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Stroke {
            color,
            width,
            dashes,
        } = self.0;
        write!(f, r#"stroke="{color}" stroke-width="{}""#, Mm(width))?;
        if dashes.is_empty() {
            Ok(())
        } else {
            write!(f, r#" stroke-dasharray="{dashes}""#)
        }
    }
}

struct Escaped<'a>(&'a str);

impl std::fmt::Display for Escaped<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for c in self.0.chars() {
            match c {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                c if c.is_control() => f.write_str(" ")?,
                c => write!(f, "{c}")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_numbers_are_short() {
        let mut sheet = Sheet::new(10.0, 5.0, "A & B");
        sheet.text(
            (1.0 / 3.0, -0.001),
            "<mill>",
            Type::plain(2.0, "#000"),
            Anchor::Start,
        );
        let svg = sheet.finish();
        assert!(svg.contains("<title>A &amp; B</title>"));
        assert!(
            svg.contains(r#"x="0.33" y="0" "#) && svg.contains("&lt;mill&gt;"),
            "{svg}"
        );
    }
}
