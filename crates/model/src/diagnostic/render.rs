//! Diagnostics as text for a terminal or a page.

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet, renderer::DecorStyle};

use super::{Diagnostic, Label, Severity};
use crate::source::{Source, Sources};

/// Plain or in colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// No escape codes: for files, pipes and tests.
    Plain,
    /// With terminal colours.
    Coloured,
}

/// One diagnostic as several lines of text: severity, code and message; file, line and column; the
/// line itself with carets under the place; help. Ends without a line end.
pub fn render(diagnostic: &Diagnostic, sources: &Sources, look: Look) -> String {
    let renderer = match look {
        Look::Plain => Renderer::plain(),
        Look::Coloured => Renderer::styled(),
    }
    .decor_style(DecorStyle::Ascii);
    let level = match diagnostic.rule.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut group = Group::with_title(
        level
            .primary_title(&diagnostic.message)
            .id(diagnostic.rule.code),
    );
    group = group.element(snippet(
        sources,
        AnnotationKind::Primary,
        &diagnostic.primary,
        diagnostic
            .others
            .iter()
            .filter(|other| other.span.file == diagnostic.primary.span.file),
    ));
    for other in &diagnostic.others {
        if other.span.file != diagnostic.primary.span.file {
            group = group.element(snippet(sources, AnnotationKind::Context, other, []));
        }
    }
    for help in &diagnostic.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    renderer.render(&[group])
}

/// Only the lines between the first and last place are handed over: a table may have thousands.
fn snippet<'a>(
    sources: &'a Sources,
    kind: AnnotationKind,
    first: &'a Label,
    others: impl IntoIterator<Item = &'a Label>,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let source = sources.get(first.span.file);
    let labels: Vec<(AnnotationKind, &Label)> = std::iter::once((kind, first))
        .chain(
            others
                .into_iter()
                .map(|other| (AnnotationKind::Context, other)),
        )
        .collect();
    let lines = |label: &Label| {
        let (start, _) = source.line_column(label.span.range().start);
        let (end, _) = source.line_column(label.span.range().end.saturating_sub(1));
        (start, end.max(start))
    };
    let from = labels
        .iter()
        .map(|(_, label)| lines(label).0)
        .min()
        .unwrap_or(1);
    let to = labels
        .iter()
        .map(|(_, label)| lines(label).1)
        .max()
        .unwrap_or(1);
    let (start, end) = (source.line_range(from).start, source.line_range(to).end);
    let mut snippet = Snippet::source(&source.text[start..end])
        .line_start(from)
        .path(source.path.as_str());
    for (kind, label) in labels {
        let range = on_characters(source, label.span.range());
        let (a, b) = (
            range.start.clamp(start, end) - start,
            range.end.clamp(start, end) - start,
        );
        let mut annotation = kind.span(a..b);
        if !label.text.is_empty() {
            annotation = annotation.label(label.text.as_str());
        }
        snippet = snippet.annotation(annotation);
    }
    snippet
}

fn on_characters(source: &Source, range: std::ops::Range<usize>) -> std::ops::Range<usize> {
    let text = &source.text;
    let fit = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    fit(range.start)..fit(range.end)
}
