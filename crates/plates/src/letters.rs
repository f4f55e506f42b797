//! The letters of plates: DejaVu Sans, whose licence allows embedding.

use std::sync::LazyLock;

use ttf_parser::Face;

/// The regular face, as a file.
pub fn regular() -> &'static [u8] {
    dejavu::sans_condensed::regular()
}

/// The heavy face, as a file.
pub fn bold() -> &'static [u8] {
    dejavu::sans_condensed::bold()
}

static FACES: LazyLock<[Option<Face<'static>>; 2]> =
    LazyLock::new(|| [regular(), bold()].map(|data| Face::parse(data, 0).ok()));

/// Width of letters of a size, in the unit of the size.
pub fn width(text: &str, size: f64, heavy: bool) -> f64 {
    let Some(face) = &FACES[usize::from(heavy)] else {
        return 0.55 * size * text.chars().count() as f64;
    };
    let units: u32 = text
        .chars()
        .filter_map(|c| face.glyph_index(c))
        .filter_map(|glyph| face.glyph_hor_advance(glyph))
        .map(u32::from)
        .sum();
    f64::from(units) * size / f64::from(face.units_per_em())
}

/// Parts a text into lines no wider than a width; a word that is too long stands alone.
pub fn wrapped(text: &str, size: f64, heavy: bool, most: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if !line.is_empty() && width(&longer, size, heavy) > most {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        } else {
            line = longer;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_have_widths_and_lines_keep_within_them() {
        assert!(width("W", 10.0, false) > width("i", 10.0, false));
        assert!(width("frog", 10.0, true) > width("frog", 10.0, false));
        let text = "File each point rail to half the angle and keep the saw cool";
        for line in wrapped(text, 3.0, false, 30.0) {
            assert!(width(&line, 3.0, false) <= 30.0, "{line}");
        }
        assert_eq!(wrapped(text, 3.0, false, 1e9), [text]);
        for c in "0123456789°′″×±·½¼²≤≥–’".chars() {
            assert!(width(&c.to_string(), 1.0, false) > 0.0, "{c}");
        }
    }
}
