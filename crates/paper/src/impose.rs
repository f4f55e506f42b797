//! Imposition: small pages put on whole sheets so that, printed on both sides and cut or folded, they
//! come to lie in order.
//!
//! Sheets are turned over about their upright axis: half sheets, which lie side by side on a sheet laid
//! across, over its short edge; pocket pages, on an upright sheet, over its long edge.

use serde::Serialize;

use crate::{
    press::{Press, PressError, Printed},
    sheet::{Paper, Size},
    words::Wording,
};

model::words! {
    /// How small the pages are.
    pub enum Format {
        Half = "half", "half a sheet: two pages to a side";
        Pocket = "pocket", "a quarter of a sheet: four pages to a side";
    }
}

model::words! {
    /// What becomes of the sheets.
    pub enum Binding {
        Booklet = "booklet", "cut where marked, laid one on another and folded: one booklet";
        Leaves = "leaves", "cut apart: single leaves, printed on both sides";
    }
}

/// A side of a sheet: the page of each place, from 0, row by row from the upper left; `None` where it
/// stays empty.
pub type Face = Vec<Option<usize>>;

impl Format {
    /// Size of a page.
    pub const fn size(self, paper: Paper) -> Size {
        match self {
            Self::Half => Size::half(paper),
            Self::Pocket => Size::pocket(paper),
        }
    }

    /// Rows of pages on a sheet; there are always two columns.
    const fn rows(self) -> usize {
        match self {
            Self::Half => 1,
            Self::Pocket => 2,
        }
    }

    /// Which page goes where: front and back of each sheet.
    pub fn sheets(self, binding: Binding, pages: usize) -> Vec<[Face; 2]> {
        let rows = self.rows();
        let sheets = pages.div_ceil(4 * rows);
        let all = sheets * 4 * rows;
        let page = |page: usize| (page < pages).then_some(page);
        (0..sheets)
            .map(|sheet| {
                let mut faces = [vec![], vec![]];
                for row in 0..rows {
                    let [front, back] = match binding {
                        // The cut strips are laid upper pile first, so the strip's place in the booklet,
                        // counted from outside, is its sheet and then its row's pile.
                        Binding::Booklet => {
                            let strip = row * sheets + sheet;
                            [
                                [all - 1 - 2 * strip, 2 * strip],
                                [2 * strip + 1, all - 2 - 2 * strip],
                            ]
                        }
                        Binding::Leaves => {
                            let first = (sheet * rows + row) * 4;
                            [[first, first + 2], [first + 3, first + 1]]
                        }
                    };
                    faces[0].extend(front.map(page));
                    faces[1].extend(back.map(page));
                }
                faces
            })
            .collect()
    }
}

#[derive(Serialize)]
struct Given {
    width_mm: f64,
    height_mm: f64,
    rows: usize,
    /// Whether there is a fold between the columns, or a cut.
    fold: bool,
    title: String,
    language: String,
    fold_word: String,
    cut_word: String,
    /// Faces in the order of printing: page and whether it lies on its side.
    faces: Vec<Vec<Option<Placed>>>,
}

#[derive(Serialize)]
struct Placed {
    page: usize,
    turned: bool,
}

/// Puts pages on sheets. They must have been set in the format's size; pages on their side are turned.
///
/// # Errors
/// If the pages cannot be written as PDF.
pub fn impose(
    pages: &Printed,
    title: &str,
    format: Format,
    binding: Binding,
    paper: Paper,
    wording: &Wording,
) -> Result<Printed, PressError> {
    let sizes = pages.sizes_pt();
    let [width_mm, height_mm] = match format {
        Format::Half => {
            let [width, height] = paper.size_mm();
            [height, width]
        }
        Format::Pocket => paper.size_mm(),
    };
    let given = Given {
        width_mm,
        height_mm,
        rows: format.rows(),
        fold: binding == Binding::Booklet,
        title: title.to_owned(),
        language: wording.language.clone(),
        fold_word: wording.at("fold").to_owned(),
        cut_word: wording.at("cut").to_owned(),
        faces: format
            .sheets(binding, pages.pages())
            .into_iter()
            .flatten()
            .map(|face| {
                face.into_iter()
                    .map(|page| {
                        page.map(|page| Placed {
                            page: page + 1,
                            turned: sizes[page][0] > sizes[page][1],
                        })
                    })
                    .collect()
            })
            .collect(),
    };
    Press::new()
        .with("/impose.typ", include_str!("../forms/impose.typ"))
        .with(
            "/given.json",
            serde_json::to_vec(&given).map_err(|error| PressError::data(&error))?,
        )
        .with("/pages.pdf", pages.pdf()?)
        .set("/impose.typ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What comes to hand when the sheets are turned over, cut and folded as paper is: the pages in the
    /// order in which they are read, each leaf's front and back together.
    fn read(format: Format, binding: Binding, pages: usize) -> Vec<[Option<usize>; 2]> {
        let sheets = format.sheets(binding, pages);
        let rows = format.rows();
        let front = |sheet: usize, row: usize, column: usize| sheets[sheet][0][2 * row + column];
        // Behind a place is the one in the other column of the back.
        let back = |sheet: usize, row: usize, column: usize| sheets[sheet][1][2 * row + 1 - column];
        let mut read = vec![];
        match binding {
            Binding::Leaves => {
                for sheet in 0..sheets.len() {
                    for row in 0..rows {
                        for column in 0..2 {
                            read.push([front(sheet, row, column), back(sheet, row, column)]);
                        }
                    }
                }
            }
            Binding::Booklet => {
                // The pile, the upper strips on top, front up; its top is the cover when it is folded
                // away from the reader.
                let pile: Vec<(usize, usize)> = (0..rows)
                    .flat_map(|row| (0..sheets.len()).map(move |sheet| (sheet, row)))
                    .collect();
                // Right halves from outside in: front, then what is behind it.
                for &(sheet, row) in &pile {
                    read.push([front(sheet, row, 1), back(sheet, row, 1)]);
                }
                // Then left halves from inside out: the inner side first.
                for &(sheet, row) in pile.iter().rev() {
                    read.push([back(sheet, row, 0), front(sheet, row, 0)]);
                }
            }
        }
        read
    }

    #[test]
    fn pages_come_to_lie_in_order() {
        for &format in &[Format::Half, Format::Pocket] {
            for binding in [Binding::Booklet, Binding::Leaves] {
                for pages in 0..70 {
                    let read: Vec<Option<usize>> =
                        read(format, binding, pages).into_iter().flatten().collect();
                    let sheet = 4 * format.rows();
                    assert_eq!(read.len(), pages.div_ceil(sheet) * sheet);
                    for (at, page) in read.into_iter().enumerate() {
                        assert_eq!(page, (at < pages).then_some(at), "{format:?} {binding:?}");
                    }
                }
            }
        }
    }
}
