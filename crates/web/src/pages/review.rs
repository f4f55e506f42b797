//! What a form would change, before it is written.

use maud::{Markup, html};
use model::Diagnostic;
use railroad::{Loaded, edit::Proposal};

use super::attention::{sign, ticks};
use crate::{
    diff::diff,
    forms::{
        changes::sent,
        desk::Outcome,
        document::Document,
        notes::{Notes, note},
    },
    frame::Page,
};

/// The review of a form.
#[derive(Debug)]
pub struct Review {
    file: String,
    outcome: Outcome,
    form: Vec<(String, String)>,
}

impl Review {
    /// The page.
    pub fn new(document: &Document, outcome: Outcome, form: Vec<(String, String)>) -> Self {
        Self {
            file: document.file.clone(),
            outcome,
            form,
        }
    }

    fn back_to_form(&self) -> &str {
        sent(&self.form, "form")
            .filter(|path| path.starts_with('/'))
            .unwrap_or("/folder")
    }
}

/// What would be wrong then that is not now.
pub fn worse(proposal: &Proposal) -> Markup {
    worse_of(&proposal.loaded, &proposal.worse, proposal.better)
}

fn worse_of(loaded: &Loaded, worse: &[Diagnostic], better: usize) -> Markup {
    html! {
        @if better > 0 {
            p { "\u{2713} " (crate::show::count(better, "thing that needed attention would be mended", "things that needed attention would be mended")) "." }
        }
        @if worse.is_empty() {
            p { "\u{2713} Nothing would be worse than it is." }
        } @else {
            h2 { "Then these would need attention" }
            ul.attention {
                @for found in worse.iter().take(40) {
                    @let note = note(found);
                    li {
                        (sign(note.severity)) " " (ticks(&note.words))
                        " " span.quiet { (loaded.sources.get(found.primary.span.file).path) }
                    }
                }
                @if worse.len() > 40 { li { "\u{2026} and " (worse.len() - 40) " more." } }
            }
        }
    }
}

fn refused(notes: &Notes) -> Markup {
    html! {
        p { "As it stands it cannot be written:" }
        ul.attention {
            @for (field, notes) in notes {
                @for note in notes {
                    li {
                        (sign(note.severity)) " "
                        @if !field.is_empty() { code { (field.trim_start_matches("n:")) } ": " }
                        (ticks(&note.words))
                    }
                }
            }
        }
    }
}

impl Page for Review {
    fn title(&self) -> String {
        format!("The change of {}", self.file)
    }

    fn document(&self) -> &'static str {
        "/folder"
    }

    fn body(&self) -> Markup {
        let kept = || self.form.iter().filter(|(name, _)| name != "do");
        html! {
            @match &self.outcome {
                Outcome::Nothing => {
                    p { "Nothing was changed in the form." }
                    p.actions { a.button href=(self.back_to_form()) { "Back to the form" } }
                }
                Outcome::Refused(notes) => {
                    (refused(notes))
                    p.actions { a.button href=(self.back_to_form()) { "Back to the form" } }
                    p.hint { "Your browser's way back keeps what you typed." }
                }
                Outcome::Proposed(proposal) => {
                    (diff(proposal.before.as_deref(), proposal.after.as_deref()))
                    (worse(proposal))
                    form method="post" action="/write" {
                        @for (name, value) in kept() { input type="hidden" name=(name) value=(value); }
                        p.actions {
                            button.primary type="submit" { "Write it" }
                            a.button href=(self.back_to_form()) { "Leave it" }
                        }
                    }
                }
            }
        }
    }
}
