//! Any page of the folder as a form.

use std::sync::Arc;

use maud::{Markup, html};
use model::text::{Form, Kind};
use railroad::{Loaded, edit::Step};

use super::{Lack, Leaf};
use crate::{
    forms::{
        desk::mark,
        document::{Document, path_text, place},
        fields::{Sheet, plural},
        notes::{Notes, beside, notes},
        place::record_of,
    },
    frame::{Ask, Page},
    show,
};

/// One file, or one record of it, or its text.
#[derive(Debug)]
pub struct EditPage {
    loaded: Arc<Loaded>,
    document: Document,
    at: Vec<Step>,
    as_text: Option<String>,
    leaf: Leaf,
    rows: Vec<usize>,
    find: String,
    mark: String,
    notes: Notes,
}

/// How many rows of fields a leaf has: twenty fields a row are heavy.
const FIELD_ROWS: usize = 20;

impl EditPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let file = ask.query("file").unwrap_or_default();
        let bytes = ask.now.folder.get(file);
        let document = Document::open(file, bytes.unwrap_or_default())
            .ok_or_else(|| Lack::page(&format!("/edit?file={file}")))?;
        let at = match ask.query("at") {
            None => Vec::new(),
            Some(at) => document
                .path(at)
                .filter(|path| document.at(path).is_some())
                .ok_or_else(|| {
                    Lack::because("No such record", format!("{file} has nothing at {at}."))
                })?,
        };
        let find = ask.query("find").unwrap_or_default().to_owned();
        let rows: Vec<usize> = match document.page.form {
            Form::Csv => (0..document.count(&[]))
                .filter(|row| find.is_empty() || holds(&document, *row, &find))
                .collect(),
            Form::Toml => Vec::new(),
        };
        let as_text = (ask.query("as") == Some("text"))
            .then(|| String::from_utf8_lossy(bytes.unwrap_or_default()).into_owned());
        Ok(Self {
            leaf: Leaf::of_size(ask, rows.len(), &["file", "find"], FIELD_ROWS),
            notes: notes(&document, ask.loaded(), &ask.loaded().diagnostics),
            mark: mark(bytes.unwrap_or_default()),
            loaded: ask.now.loaded.clone(),
            document,
            at,
            as_text,
            rows,
            find,
        })
    }

    fn address(&self, at: &[Step]) -> String {
        let file = show::escape(&self.document.file);
        if at.is_empty() {
            format!("/edit?file={file}")
        } else {
            format!("/edit?file={file}&at={}", show::escape(&path_text(at)))
        }
    }

    /// What the form shows, and where its fields are.
    fn fields(&self, sheet: &Sheet<'_>) -> Markup {
        if let Some(text) = &self.as_text {
            return html! {
                div.field {
                    label for="text" { "The text of " (self.document.file) }
                    textarea.text #text name="text" rows=(text.lines().count().clamp(12, 40)) spellcheck="false" aria-describedby="n:" { (text) }
                }
                div.notes #all-notes {
                    @for (path, found) in &self.notes {
                        @for note in found {
                            p { (super::attention::sign(note.severity)) " " @if !path.is_empty() { code { (path) } ": " } (super::attention::ticks(&note.words)) }
                        }
                    }
                }
            };
        }
        if self.document.page.form == Form::Csv && self.at.is_empty() {
            let records: Vec<(String, Vec<Step>)> = self.rows[self.leaf.range()]
                .iter()
                .map(|row| (self.name_of(*row), place(&[], *row)))
                .collect();
            let table = self.document.page.table;
            return html! {
                (sheet.grid(table, &records, false, "", true))
                (self.leaf.links())
            };
        }
        match self.document.kind(&self.at) {
            Some(Kind::Table(table)) => sheet.record(table, &self.at),
            _ => html! { p { "This is mended in the text of the file." } },
        }
    }

    /// What a row is called: its first cells that say something.
    fn name_of(&self, row: usize) -> String {
        let first: Vec<String> = self
            .document
            .page
            .table
            .fields
            .iter()
            .take(2)
            .filter_map(|field| {
                self.document
                    .text(&[Step::At(row), Step::Key(field.key.to_owned())])
            })
            .filter(|text| !text.is_empty())
            .collect();
        if first.is_empty() {
            format!("row {}", row + 1)
        } else {
            first.join(" ")
        }
    }
}

fn holds(document: &Document, row: usize, find: &str) -> bool {
    let find = find.to_lowercase();
    let names = document.names(&[Step::At(row)]);
    let words: Vec<String> = names
        .into_iter()
        .filter_map(|key| document.text(&[Step::At(row), Step::Key(key.to_owned())]))
        .collect();
    words.join(" ").to_lowercase().contains(&find)
}

impl Page for EditPage {
    fn title(&self) -> String {
        match (self.document.page.form, self.at.as_slice()) {
            (_, []) => self.document.file.clone(),
            (Form::Csv, [Step::At(row), ..]) => {
                format!("{}: {}", self.document.file, self.name_of(*row))
            }
            (_, path) => format!(
                "{}: {}",
                self.document.file,
                path_text(path).replace('/', " / ").replace("%2F", "/")
            ),
        }
    }

    fn document(&self) -> &'static str {
        "/folder"
    }

    fn scripts(&self) -> &'static [&'static str] {
        &["form.js"]
    }

    fn wide(&self) -> bool {
        self.document.page.form == Form::Csv && self.at.is_empty()
    }

    fn body(&self) -> Markup {
        let sheet = Sheet::new(&self.document, &self.notes);
        let csv = self.document.page.form == Form::Csv;
        let about = self.document.page.about;
        let here = self.address(&self.at);
        let above = (!self.at.is_empty()).then(|| {
            let (_, above) = self.at.split_at(self.at.len() - 1);
            self.address(record_of(
                &self.document,
                &self.at[..above.len().saturating_sub(1).min(self.at.len())],
            ))
        });
        html! {
            @if self.at.is_empty() { p.lead { (about) } }
            p.actions {
                @if let Some(above) = &above { a href=(above) { "\u{2191} " (self.document.file) } }
                @if self.at.is_empty() && self.as_text.is_none() {
                    a href={ (here) "&as=text" } { "As text" }
                }
                @if self.as_text.is_some() { a href=(here) { "As a form" } }
                @if csv && self.at.is_empty() {
                    a href={ "/paste?file=" (show::escape(&self.document.file)) } { "Paste from a spreadsheet" }
                }
            }
            @if csv && self.at.is_empty() && self.as_text.is_none() {
                form.find method="get" action="/edit" {
                    input type="hidden" name="file" value=(self.document.file);
                    label for="find" { "Find" }
                    input #find type="search" name="find" value=(self.find);
                    button { "Find" }
                    span.quiet { (show::count(self.rows.len(), "row", "rows")) }
                }
            }
            form #form.edit method="post" action="/review" data-check="/check" {
                input type="hidden" name="file" value=(self.document.file);
                input type="hidden" name="mark" value=(self.mark);
                input type="hidden" name="back" value=(here);
                input type="hidden" name="form" value=(here);
                (self.fields(&sheet))
                @if self.as_text.is_none() && !self.at.is_empty() { (beside("", &Notes::new())) }
                div #elsewhere.notes {}
                p.actions.send {
                    button.primary type="submit" { "Review the change" }
                    span #verdict role="status" {}
                }
                @if !self.at.is_empty() && matches!(self.at.last(), Some(Step::At(_) | Step::Key(_))) {
                    p.take-out {
                        label {
                            input type="checkbox" name={ "x:" (path_text(&self.at)) };
                            " Take this " (self.noun()) " out"
                        }
                    }
                }
            }
            (sheet.names(&self.loaded.railroad))
            @if csv && self.at.is_empty() { p.hint { "Each " (plural(self.document.page.table.noun)) " is a row; its name leads to all its fields." } }
        }
    }
}

impl EditPage {
    fn noun(&self) -> &'static str {
        match self.document.kind(&self.at) {
            Some(Kind::Table(table)) => table.noun,
            _ => "record",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_file_of_the_example_has_its_form() {
        let office = example();
        let now = office.now();
        for (file, _) in now.folder.iter() {
            for way in ["form", "text"] {
                let ask = ask(&office, "/edit", &[], &[("file", file), ("as", way)]);
                let page = whole(&ask, &EditPage::of(&ask).unwrap());
                assert!(page.contains("Review the change"), "{file}");
                assert!(
                    page.len() < 150_000,
                    "{file} as {way}: {} bytes",
                    page.len()
                );
            }
        }
    }

    #[test]
    fn a_record_shows_its_fields_with_what_they_mean() {
        let office = example();
        let ask = ask(
            &office,
            "/edit",
            &[],
            &[("file", "stations/sandrill.toml"), ("at", "tracks/siding")],
        );
        let page = whole(&ask, &EditPage::of(&ask).unwrap());
        assert!(
            page.contains("name=\"v:tracks/siding/length\" value=\"11 ft 2 in\""),
            "{page}"
        );
        assert!(
            page.contains("aria-describedby=\"h:tracks/siding/length n:tracks/siding/length\"")
        );
    }

    #[test]
    fn nothing_outside_the_folder_can_be_asked_for() {
        let office = example();
        for file in [
            "../../etc/passwd",
            "/etc/passwd",
            "stations/../cars.csv",
            ".git/config",
            "",
        ] {
            let ask = ask(&office, "/edit", &[], &[("file", file)]);
            let found = EditPage::of(&ask);
            // A name of the right family shows an empty form, never a file.
            if let Ok(page) = found {
                assert!(now_has_not(&ask, file), "{file}");
                assert_eq!(page.document.text(&[]).unwrap_or_default(), "");
            }
        }
    }

    fn now_has_not(ask: &Ask, file: &str) -> bool {
        ask.now.folder.get(file).is_none()
    }
}
