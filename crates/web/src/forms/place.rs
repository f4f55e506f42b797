//! The way from a place in a file to the field where it is mended.

use model::{Span, text::Form};
use railroad::{Loaded, edit::Step};

use super::document::{Document, path_text};
use crate::show::escape;

/// The address of the form that shows a place, and of the field in it.
pub fn link(loaded: &Loaded, span: Span) -> String {
    let source = loaded.sources.get(span.file);
    let plain = format!("/edit?file={}&as=text", escape(&source.path));
    let Some(document) = Document::open(&source.path, source.text.as_bytes()) else {
        return plain;
    };
    let path = document.path_at(span.range().start);
    if document.page.form == Form::Toml && document.kind(&path).is_none() {
        // A key that means nothing has no field.
        return plain;
    }
    record_link(&document, &path)
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
