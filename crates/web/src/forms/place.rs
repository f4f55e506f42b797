//! The way from a place in a file to the field where it is mended.

use std::{cell::RefCell, collections::HashMap, rc::Rc};

use model::{FileId, Span, text::Form};
use railroad::{Loaded, edit::Step};

use super::document::{Document, path_text};
use crate::show::escape;

/// The ways to the fields of a railroad; each file is read once.
#[derive(Debug)]
pub struct Links<'a> {
    loaded: &'a Loaded,
    documents: RefCell<HashMap<FileId, Option<Rc<Document>>>>,
}

impl<'a> Links<'a> {
    /// Those of a railroad as read.
    pub fn new(loaded: &'a Loaded) -> Self {
        Self {
            loaded,
            documents: RefCell::default(),
        }
    }

    /// The address of the form that shows a place, and of the field in it.
    pub fn to(&self, span: Span) -> String {
        let source = self.loaded.sources.get(span.file);
        let plain = format!("/edit?file={}&as=text", escape(&source.path));
        let document = self
            .documents
            .borrow_mut()
            .entry(span.file)
            .or_insert_with(|| Document::open(&source.path, source.text.as_bytes()).map(Rc::new))
            .clone();
        let Some(document) = document else {
            return plain;
        };
        let path = document.path_at(span.range().start);
        if document.page.form == Form::Toml && document.kind(&path).is_none() {
            // A key that means nothing has no field.
            return plain;
        }
        record_link(&document, &path)
    }
}

/// The way to one field.
pub fn link(loaded: &Loaded, span: Span) -> String {
    Links::new(loaded).to(span)
}

/// The address of the form that shows a path.
pub fn record_link(document: &Document, path: &[Step]) -> String {
    let record = record_of(document, path);
    format!(
        "/edit?file={}&at={}#v:{}",
        escape(&document.file),
        escape(&path_text(record)),
        escape(&path_text(path)),
    )
}

/// The innermost record that a path lies in.
pub fn record_of<'a>(document: &Document, path: &'a [Step]) -> &'a [Step] {
    for depth in (1..=path.len()).rev() {
        if matches!(document.kind(&path[..depth]), Some(model::text::Kind::Table(_)))
            // The parts of a table that is itself a field stand with the record around it.
            && (matches!(path[depth - 1], Step::At(_)) || is_named(document, &path[..depth]))
        {
            return &path[..depth];
        }
    }
    &[]
}

fn is_named(document: &Document, path: &[Step]) -> bool {
    path.split_last().is_some_and(|(_, above)| {
        matches!(document.kind(above), Some(model::text::Kind::Named(..)))
    })
}

#[cfg(test)]
mod tests {
    use railroad::{Folder, load};

    use super::*;

    #[test]
    fn a_place_leads_to_its_field() {
        let loaded = load(&Folder::built_in("example").unwrap());
        let way = &loaded.railroad.way;
        let station = way.station(way.find_station("Sandrill").unwrap());
        let siding = station.track(station.find_track("siding").unwrap());
        assert_eq!(
            link(&loaded, siding.length.unwrap().span),
            "/edit?file=stations%2Fsandrill.toml&at=tracks%2Fsiding#v:tracks%2Fsiding%2Flength"
        );
        let car = &loaded.railroad.roster.cars[3];
        assert_eq!(
            link(&loaded, car.length.unwrap().span),
            "/edit?file=cars.csv&at=3#v:3%2Flength"
        );
        let date = loaded.railroad.identity.date.unwrap().span;
        assert_eq!(link(&loaded, date), "/edit?file=railroad.toml&at=#v:date");
    }
}
