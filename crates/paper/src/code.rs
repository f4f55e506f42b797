//! Square codes that a phone reads, as SVG.

use std::fmt::Write as _;

use fast_qr::{
    ECL, QRBuilder,
    convert::{Builder as _, Shape, svg::SvgBuilder},
};

/// The code of a text, usually an address; `None` if it is too long for one (about 2,900 letters).
/// Error correction is medium (15 %): paper on a layout gets thumbed.
pub fn code(text: &str) -> Option<String> {
    let code = QRBuilder::new(text).ecl(ECL::M).build().ok()?;
    Some(
        SvgBuilder::default()
            .shape(Shape::Square)
            .margin(4)
            .to_str(&code),
    )
}

/// A name as a segment of an address: everything but plain letters, figures and `-._~` as `%` and two
/// figures (RFC 3986).
pub fn segment(name: &str) -> String {
    let mut out = String::new();
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_drawn_with_its_quiet_zone() {
        let svg = code("http://192.168.1.20:7841/crew/41").unwrap();
        assert!(svg.starts_with("<svg") && svg.contains("viewBox"));
        assert!(code(&"x".repeat(8000)).is_none());
    }

    #[test]
    fn names_become_segments() {
        assert_eq!(segment("Port Corvane"), "Port%20Corvane");
        assert_eq!(segment("No. 46/é"), "No.%2046%2F%C3%A9");
    }
}
