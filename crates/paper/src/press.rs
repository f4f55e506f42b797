//! The press: sets a sheet with its data into pages, and gives them as PDF, SVG, PNG or plain text.
//!
//! It reads no disk and no clock: fonts and sheets are built in, data and drawings are handed in.

use std::{
    collections::HashMap,
    sync::{Arc, LazyLock},
};

use typst::{
    Library, LibraryExt as _, World,
    diag::{FileError, FileResult, SourceDiagnostic},
    foundations::{Bytes, Datetime, Duration, Smart},
    layout::{Frame, FrameItem},
    syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot},
    text::{Font, FontBook},
    utils::LazyHash,
};
use typst_layout::PagedDocument;

/// Why something could not be set. It is a fault of a sheet, never of the railroad: whatever the
/// railroad's owners write is data.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the form could not be set: {}", .0.join("; "))]
pub struct PressError(Vec<String>);

impl PressError {
    pub(crate) fn data(error: &serde_json::Error) -> Self {
        Self(vec![error.to_string()])
    }

    fn new(faults: impl IntoIterator<Item = SourceDiagnostic>) -> Self {
        Self(
            faults
                .into_iter()
                .map(|fault| fault.message.to_string())
                .collect(),
        )
    }
}

/// Fonts and the library are the same for every form.
struct Cases {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

static CASES: LazyLock<Cases> = LazyLock::new(|| {
    let fonts: Vec<Font> = typst_assets::fonts()
        .flat_map(|data| Font::iter(Bytes::new(data)))
        .collect();
    Cases {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
    }
});

/// What a form is set from: files by path, each beginning with a slash.
#[derive(Debug, Clone, Default)]
pub struct Press {
    files: HashMap<String, Arc<[u8]>>,
}

impl Press {
    /// A press with nothing on it.
    pub fn new() -> Self {
        Self::default()
    }

    /// Lays a file ready: a sheet, data, a drawing.
    #[must_use]
    pub fn with(mut self, path: &str, bytes: impl Into<Vec<u8>>) -> Self {
        self.files.insert(path.to_owned(), bytes.into().into());
        self
    }

    /// Sets the sheet of that path.
    ///
    /// # Errors
    /// If the sheet is faulty or asks for a file that was not laid ready.
    pub fn set(&self, sheet: &str) -> Result<Printed, PressError> {
        let main = id(sheet).ok_or_else(|| PressError(vec![format!("{sheet} is no path")]))?;
        let bed = Bed { press: self, main };
        let set = typst::compile::<PagedDocument>(&bed);
        set.output
            .map(|document| Printed { document })
            .map_err(PressError::new)
    }
}

fn id(path: &str) -> Option<FileId> {
    let path = VirtualPath::new(path).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

struct Bed<'a> {
    press: &'a Press,
    main: FileId,
}

impl Bed<'_> {
    fn find(&self, id: FileId) -> FileResult<&Arc<[u8]>> {
        let path = id.get().vpath();
        self.press
            .files
            .get(path.get_with_slash())
            .ok_or_else(|| FileError::NotFound(path.get_with_slash().into()))
    }
}

impl World for Bed<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &CASES.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &CASES.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let bytes = self.find(id)?;
        let text = std::str::from_utf8(bytes).map_err(|_| FileError::InvalidUtf8)?;
        Ok(Source::new(id, text.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.find(id).map(|bytes| Bytes::new(Arc::clone(bytes)))
    }

    fn font(&self, index: usize) -> Option<Font> {
        CASES.fonts.get(index).cloned()
    }

    /// Forms carry the railroad's date, handed in as data.
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Lets go of what was kept of forms set long ago to set them again faster: for programs that set many.
pub fn forget() {
    /// What was not used in so many calls goes.
    const AGE: usize = 4;
    typst::comemo::evict(AGE);
}

/// Pages that have been set.
#[derive(Debug, Clone)]
pub struct Printed {
    document: PagedDocument,
}

impl Printed {
    /// How many pages.
    pub fn pages(&self) -> usize {
        self.document.pages().len()
    }

    /// Width and height of each page, points.
    pub fn sizes_pt(&self) -> Vec<[f64; 2]> {
        self.document
            .pages()
            .iter()
            .map(|page| [page.frame.width().to_pt(), page.frame.height().to_pt()])
            .collect()
    }

    /// As PDF: tagged, with outline and metadata, fonts embedded. The same pages give the same bytes.
    ///
    /// # Errors
    /// If something set cannot be expressed in PDF.
    pub fn pdf(&self) -> Result<Vec<u8>, PressError> {
        let options = typst_pdf::PdfOptions {
            creator: Smart::Custom(Some("Sawby".into())),
            ..typst_pdf::PdfOptions::default()
        };
        typst_pdf::pdf(&self.document, &options).map_err(PressError::new)
    }

    /// A page as SVG; `None` if there is none of that number, counted from 0.
    pub fn svg(&self, page: usize) -> Option<String> {
        let page = self.document.pages().get(page)?;
        Some(typst_svg::svg(page, &typst_svg::SvgOptions::default()))
    }

    /// A page as PNG at a number of dots to the inch; `None` if there is none of that number, counted
    /// from 0, or it is too large.
    pub fn png(&self, page: usize, dots_per_inch: f64) -> Option<Vec<u8>> {
        let page = self.document.pages().get(page)?;
        let options = typst_render::RenderOptions {
            pixel_per_pt: (dots_per_inch / 72.0).into(),
            ..typst_render::RenderOptions::default()
        };
        typst_render::render(page, &options).encode_png().ok()
    }

    /// Text that sticks out of its page or of the box that clips it, or runs into other text: none, on
    /// a sound form.
    pub fn overflows(&self) -> Vec<Overflow> {
        let mut out = vec![];
        for (number, page) in self.document.pages().iter().enumerate() {
            let size = [page.frame.width().to_pt(), page.frame.height().to_pt()];
            let mut texts = vec![];
            all_text(&page.frame, &|point| point, [[0.0, 0.0], size], &mut texts);
            overflows(number, texts, &mut out);
        }
        out
    }

    /// The words of each page in the order in which they were set, a line for each run of text that
    /// stands by itself: for a screen reader, and for tests.
    pub fn text(&self) -> Vec<String> {
        self.document
            .pages()
            .iter()
            .map(|page| {
                let mut out = String::new();
                collect(&page.frame, &mut out);
                out
            })
            .collect()
    }
}

/// A fault of setting: text where it cannot be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Overflow {
    /// The page, from 0.
    pub page: usize,
    /// The text.
    pub text: String,
    /// The text it runs into; `None` if it sticks out of its page or of the box that clips it.
    pub into: Option<String>,
    /// By how much, points.
    pub by_pt: f64,
}

/// A point, x before y, in points.
type Point = [f64; 2];

/// Text on a page: its box from about cap height to the base line, and the box it must stay in.
struct Set {
    text: String,
    reach: [Point; 2],
    bounds: [Point; 2],
}

/// A slanted letter may lean over its own advance, and letters of neighbouring lines may touch: so
/// much is let pass, points.
const LEAN: f64 = 0.6;

fn all_text(frame: &Frame, place: &dyn Fn(Point) -> Point, bounds: [Point; 2], out: &mut Vec<Set>) {
    for (at, item) in frame.items() {
        let at = [at.x.to_pt(), at.y.to_pt()];
        match item {
            FrameItem::Text(text) if !text.text.trim().is_empty() => {
                let (width, size) = (text.width().to_pt(), text.size.to_pt());
                let (a, b) = (
                    place([at[0], at[1] - 0.65 * size]),
                    place([at[0] + width, at[1]]),
                );
                out.push(Set {
                    text: text.text.to_string(),
                    reach: hull(a, b),
                    bounds,
                });
            }
            FrameItem::Group(group) => {
                let turn = group.transform;
                let place = |[x, y]: Point| {
                    place([
                        at[0] + turn.sx.get() * x + turn.kx.get() * y + turn.tx.to_pt(),
                        at[1] + turn.ky.get() * x + turn.sy.get() * y + turn.ty.to_pt(),
                    ])
                };
                let bounds = if group.clip.is_some() {
                    let size = [group.frame.width().to_pt(), group.frame.height().to_pt()];
                    meet(hull(place([0.0, 0.0]), place(size)), bounds)
                } else {
                    bounds
                };
                all_text(&group.frame, &place, bounds, out);
            }
            _ => {}
        }
    }
}

fn hull(a: Point, b: Point) -> [Point; 2] {
    [
        [a[0].min(b[0]), a[1].min(b[1])],
        [a[0].max(b[0]), a[1].max(b[1])],
    ]
}

fn meet(a: [Point; 2], b: [Point; 2]) -> [Point; 2] {
    [
        [a[0][0].max(b[0][0]), a[0][1].max(b[0][1])],
        [a[1][0].min(b[1][0]), a[1][1].min(b[1][1])],
    ]
}

fn overflows(page: usize, mut texts: Vec<Set>, out: &mut Vec<Overflow>) {
    texts.sort_by(|a, b| a.reach[0][1].total_cmp(&b.reach[0][1]));
    for (at, text) in texts.iter().enumerate() {
        let out_by = [0, 1]
            .map(|axis| {
                (text.bounds[0][axis] - text.reach[0][axis])
                    .max(text.reach[1][axis] - text.bounds[1][axis])
            })
            .into_iter()
            .fold(0.0, f64::max);
        if out_by > LEAN {
            out.push(Overflow {
                page,
                text: text.text.clone(),
                into: None,
                by_pt: out_by,
            });
        }
        for other in &texts[at + 1..] {
            if other.reach[0][1] > text.reach[1][1] {
                break;
            }
            let both = meet(text.reach, other.reach);
            let by = (both[1][0] - both[0][0]).min(both[1][1] - both[0][1]);
            if by > LEAN {
                out.push(Overflow {
                    page,
                    text: text.text.clone(),
                    into: Some(other.text.clone()),
                    by_pt: by,
                });
            }
        }
    }
}

fn collect(frame: &Frame, out: &mut String) {
    for (_, item) in frame.items() {
        match item {
            FrameItem::Text(text) => {
                out.push_str(&text.text);
                out.push('\n');
            }
            FrameItem::Group(group) => collect(&group.frame, out),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_is_set_with_its_data() {
        let press = Press::new()
            .with("/sheet.typ", "#let data = json(\"/data.json\")\n#set page(width: 100mm, height: 50mm)\nTrain #data.train")
            .with("/data.json", "{\"train\": \"No. 46 #escaped *as it is*\"}");
        let printed = press.set("/sheet.typ").unwrap();
        assert_eq!(printed.pages(), 1);
        let [width, height] = printed.sizes_pt()[0];
        assert!((width - 283.464_566_9).abs() < 1e-4 && (height - 141.732_283_5).abs() < 1e-4);
        assert!(
            printed.text()[0]
                .replace('\n', "")
                .contains("No. 46 #escaped *as it is*")
        );
        let pdf = printed.pdf().unwrap();
        assert!(pdf.starts_with(b"%PDF"));
        assert_eq!(pdf, press.set("/sheet.typ").unwrap().pdf().unwrap());
        assert!(printed.svg(0).unwrap().starts_with("<svg") && printed.svg(1).is_none());
        assert!(printed.png(0, 96.0).unwrap().starts_with(b"\x89PNG"));
    }

    #[test]
    fn text_that_sticks_out_is_found() {
        let set = |body: &str| {
            let sheet = format!("#set page(width: 60mm, height: 40mm, margin: 5mm)\n{body}");
            Press::new()
                .with("/sheet.typ", sheet)
                .set("/sheet.typ")
                .unwrap()
                .overflows()
        };
        assert_eq!(set("It fits."), []);
        assert_eq!(set("#box(width: 20mm, clip: true)[It fits.]"), []);
        assert_eq!(set("#rotate(90deg)[It fits.]"), []);
        let out = set(&"W".repeat(60));
        assert!(out.len() == 1 && out[0].by_pt > 100.0, "{out:?}");
        let out = set("#box(width: 8mm, height: 4mm, clip: true)[Itdoesnotfit]");
        assert!(out.len() == 1 && out[0].text == "Itdoesnotfit", "{out:?}");
        let table = |word: &str| set(&format!("#table(columns: (10mm, 10mm), [{word}], [short])"));
        assert_eq!(table("brief"), []);
        let out = table("Wollaramundaburra");
        assert!(
            out.len() == 1 && out[0].into.as_deref() == Some("short"),
            "{out:?}"
        );
    }

    #[test]
    fn a_faulty_sheet_says_why() {
        let error = Press::new()
            .with("/sheet.typ", "#unheard-of")
            .set("/sheet.typ")
            .unwrap_err();
        assert!(error.to_string().contains("unknown variable"), "{error}");
        let error = Press::new()
            .with("/sheet.typ", "#json(\"/none.json\")")
            .set("/sheet.typ")
            .unwrap_err();
        assert!(error.to_string().contains("not found"), "{error}");
    }
}
