//! Diagnostics sorted to the fields they are about.

use std::collections::BTreeMap;

use maud::{Markup, html};
use model::{Diagnostic, Severity};
use railroad::Loaded;

use super::document::{Document, path_text};
use crate::pages::attention::{sign, ticks};

/// One diagnostic beside a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// How bad.
    pub severity: Severity,
    /// What is wrong, and what to write instead.
    pub words: String,
}

/// Notes by the path of their field; those of the whole file under the empty path.
pub type Notes = BTreeMap<String, Vec<Note>>;

/// The diagnostics of a file by field.
pub fn notes<'a>(
    document: &Document,
    loaded: &Loaded,
    found: impl IntoIterator<Item = &'a Diagnostic>,
) -> Notes {
    let mut notes = Notes::new();
    for found in found {
        let span = found.primary.span;
        if loaded.sources.get(span.file).path == document.file {
            let path = path_text(&document.path_at(span.range().start));
            notes.entry(path).or_default().push(note(found));
        }
    }
    notes
}

/// A diagnostic in a sentence or two.
pub fn note(found: &Diagnostic) -> Note {
    let mut words = found.message.clone();
    for help in &found.help {
        words.push_str(". ");
        words.push_str(help);
    }
    Note {
        severity: found.rule.severity,
        words,
    }
}

/// The notes of one field, in an element that scripts may fill anew.
pub fn beside(path: &str, notes: &Notes) -> Markup {
    html! {
        div.notes id={ "n:" (path) } data-notes=(path) {
            @for note in notes.get(path).into_iter().flatten() {
                p { (sign(note.severity)) " " (ticks(&note.words)) }
            }
        }
    }
}
