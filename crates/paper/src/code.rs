//! Square codes that a phone reads, as SVG.

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_drawn_with_its_quiet_zone() {
        let svg = code("http://192.168.1.20:7841/crew/41").unwrap();
        assert!(svg.starts_with("<svg") && svg.contains("viewBox"));
        assert!(code(&"x".repeat(8000)).is_none());
    }
}
