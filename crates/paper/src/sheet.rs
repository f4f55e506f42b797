//! Sheets: paper sizes, and how large the type is.

use serde::Serialize;

model::words! {
    /// Paper that people have.
    pub enum Paper {
        Letter = "letter", "8 1/2 by 11 inches";
        A4 = "a4", "210 by 297 millimetres";
    }
}

impl Paper {
    /// Width and height upright, in millimetres.
    pub const fn size_mm(self) -> [f64; 2] {
        match self {
            Self::Letter => [215.9, 279.4],
            Self::A4 => [210.0, 297.0],
        }
    }
}

/// Paper and type of a form.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Size {
    /// Width of the page, millimetres.
    pub width_mm: f64,
    /// Height of the page, millimetres.
    pub height_mm: f64,
    /// Size of the running text, points.
    pub type_pt: f64,
}

impl Size {
    /// A whole sheet upright, in the usual type.
    pub const fn whole(paper: Paper) -> Self {
        let [width_mm, height_mm] = paper.size_mm();
        Self {
            width_mm,
            height_mm,
            type_pt: 10.0,
        }
    }

    /// Half a sheet, upright: the whole cut across.
    pub const fn half(paper: Paper) -> Self {
        let [width_mm, height_mm] = paper.size_mm();
        Self {
            width_mm: height_mm / 2.0,
            height_mm: width_mm,
            type_pt: 9.0,
        }
    }

    /// A quarter of a sheet, upright: for the pocket.
    pub const fn pocket(paper: Paper) -> Self {
        let [width_mm, height_mm] = paper.size_mm();
        Self {
            width_mm: width_mm / 2.0,
            height_mm: height_mm / 2.0,
            type_pt: 8.0,
        }
    }

    /// The same page in large print.
    #[must_use]
    pub fn large(self) -> Self {
        Self {
            type_pt: self.type_pt * 1.5,
            ..self
        }
    }

    /// The same page on its side.
    #[must_use]
    pub const fn sideways(self) -> Self {
        Self {
            width_mm: self.height_mm,
            height_mm: self.width_mm,
            ..self
        }
    }
}
