//! What is wrong, where, and what to write instead.
//!
//! Each kind of diagnostic is a [`Rule`] in a file of its own, which holds everything about it: the
//! title, the explanation, a faulty example, the text it prints (pinned), and the code that finds or
//! words it. `docs/diagnostics.md` is generated from the rules, and a test runs every example.

mod render;

pub use render::{Look, render};

use crate::source::Span;

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The railroad cannot be worked as written.
    Error,
    /// It can be worked, but is probably not what was meant.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word in front of the message.
    pub fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// One kind of diagnostic: everything about it but the code that looks for it.
#[derive(Debug)]
pub struct Rule {
    /// Stable code: lower-case words joined by hyphens, as `sawby explain` takes it.
    pub code: &'static str,
    /// How bad.
    pub severity: Severity,
    /// What is wrong, as a sentence without names.
    pub title: &'static str,
    /// Why it matters and the way out, in Markdown.
    pub explain: &'static str,
    /// A faulty example: files laid over the smallest clean railroad, each headed `--- path`.
    /// A head `--- path -` removes the file.
    pub fixture: &'static str,
    /// What the rule prints for [`Rule::fixture`]; a test holds it to that.
    pub rendered: &'static str,
    /// The source file of the rule: `file!()`.
    pub file: &'static str,
}

impl Rule {
    /// A diagnostic of this kind.
    pub fn at(&'static self, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic {
            rule: self,
            message: message.into(),
            primary: Label {
                span,
                text: String::new(),
            },
            others: Vec::new(),
            help: Vec::new(),
        }
    }
}

impl PartialEq for Rule {
    fn eq(&self, other: &Self) -> bool {
        self.code == other.code
    }
}

/// A place and what to say beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The place.
    pub span: Span,
    /// A few words; may be empty.
    pub text: String,
}

/// One thing wrong with the railroad.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// What kind.
    pub rule: &'static Rule,
    /// What is wrong, with the names of this railroad.
    pub message: String,
    /// The place to mend.
    pub primary: Label,
    /// Other places that have to do with it.
    pub others: Vec<Label>,
    /// What to write instead, or what was probably meant.
    pub help: Vec<String>,
}

impl Diagnostic {
    /// Words beside the place to mend.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        self.primary.text = text.into();
        self
    }

    /// Another place that has to do with it.
    #[must_use]
    pub fn also(mut self, span: Span, text: impl Into<String>) -> Self {
        self.others.push(Label {
            span,
            text: text.into(),
        });
        self
    }

    /// A line of help.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    /// "did you mean `x`?" if one of the candidates is near what was written.
    #[must_use]
    pub fn did_you_mean<'a>(
        self,
        written: &str,
        candidates: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        match nearest(written, candidates) {
            Some(near) => self.help(format!("did you mean `{near}`?")),
            None => self,
        }
    }
}

/// The candidate most like what was written, if any is like it at all. Ties go to the first.
pub fn nearest<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let folded = written.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for candidate in candidates {
        let other = candidate.to_lowercase();
        // Jaro-Winkler favours a common beginning; the edit distance catches a slip anywhere.
        let edits = strsim::damerau_levenshtein(&folded, &other);
        let length = folded.chars().count().max(other.chars().count()).max(1);
        let likeness =
            strsim::jaro_winkler(&folded, &other).max(1.0 - edits as f64 / length as f64);
        let near = likeness >= 0.8 || (edits <= 1 && length > 1);
        if near && best.is_none_or(|(score, _)| likeness > score) {
            best = Some((likeness, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// The diagnostics of one reading, collected in any order.
#[derive(Debug, Clone, Default)]
pub struct Diagnostics {
    list: Vec<Diagnostic>,
}

impl Diagnostics {
    /// Adds one.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.list.push(diagnostic);
    }

    /// Adds several.
    pub fn extend(&mut self, more: impl IntoIterator<Item = Diagnostic>) {
        self.list.extend(more);
    }

    /// All of them by file and place, the same one only once.
    pub fn into_sorted(mut self) -> Vec<Diagnostic> {
        self.list.sort_by(|a, b| {
            let key = |d: &Diagnostic| (d.primary.span, d.rule.severity, d.rule.code);
            key(a).cmp(&key(b)).then_with(|| a.message.cmp(&b.message))
        });
        self.list.dedup();
        self.list
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_guessed_and_a_stranger_is_not() {
        let names = ["Pell Crossing", "Ridge", "Alder"];
        assert_eq!(nearest("Pel Crossing", names), Some("Pell Crossing"));
        assert_eq!(nearest("ridge", names), Some("Ridge"));
        assert_eq!(nearest("Adler", names), Some("Alder"));
        assert_eq!(nearest("Harbor", names), None);
    }
}
