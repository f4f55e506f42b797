//! What needs attention: every diagnostic, where it is and the way out.

use std::sync::Arc;

use maud::{Markup, PreEscaped, html};
use model::{Diagnostic, Severity, diagnostic::render};
use railroad::{Loaded, Look, find_rule};

use super::Lack;
use crate::{
    forms::place::Links,
    frame::{Ask, Page},
    show,
};

/// All diagnostics.
#[derive(Debug)]
pub struct Attention {
    loaded: Arc<Loaded>,
}

impl Attention {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
        })
    }
}

/// The sign before a diagnostic: its shape tells as much as its colour.
pub fn sign(severity: Severity) -> Markup {
    let (class, mark) = match severity {
        Severity::Error => ("error", "\u{2716}"),
        Severity::Warning => ("warning", "\u{25b2}"),
        Severity::Note => ("note", "\u{25cb}"),
    };
    html! {
        span.sign.(class) { span aria-hidden="true" { (mark) } " " (severity.word()) }
    }
}

/// One diagnostic in a line: what it is, and the way to the field.
pub fn line(links: &Links<'_>, found: &Diagnostic) -> Markup {
    html! {
        (sign(found.rule.severity)) " " (ticks(&found.message)) " "
        a href=(links.to(found.primary.span)) aria-label={ "Mend: " (found.message) } { "Mend" }
    }
}

/// Names between grave accents, as diagnostics write them, in type of their own.
pub fn ticks(text: &str) -> Markup {
    html! {
        @for (at, part) in text.split('`').enumerate() {
            @if at % 2 == 1 { code { (part) } } @else { (part) }
        }
    }
}

impl Page for Attention {
    fn title(&self) -> String {
        "What needs attention".into()
    }

    fn document(&self) -> &'static str {
        "/attention"
    }

    fn body(&self) -> Markup {
        let loaded = &self.loaded;
        let links = Links::new(loaded);
        let mut found: Vec<&Diagnostic> = loaded.diagnostics.iter().collect();
        found.sort_by_key(|found| found.rule.severity);
        html! {
            @if found.is_empty() {
                p { "\u{2713} Everything in the folder holds together." }
            }
            @for found in found.iter().take(200) {
                article.diagnostic {
                    h2 { (sign(found.rule.severity)) " " (ticks(&found.message)) }
                    pre tabindex="0" { (render(found, &loaded.sources, Look::Plain).lines().skip(1).collect::<Vec<_>>().join("\n")) }
                    p {
                        a.button href=(links.to(found.primary.span)) aria-label={ "Mend: " (found.message) } { "Mend" }
                        " "
                        a href=(show::url(&["attention", found.rule.code])) aria-label={ "Why it matters: " (found.rule.title) } { "Why it matters" }
                    }
                }
            }
            @if found.len() > 200 {
                p { "\u{2026} and " (found.len() - 200) " more. Mending these often mends those." }
            }
        }
    }
}

/// What one kind of diagnostic means.
#[derive(Debug)]
pub struct Explained {
    rule: &'static model::Rule,
}

impl Explained {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let code = ask.param("code");
        find_rule(code).map(|rule| Self { rule }).map_err(|_| {
            let codes: Vec<&str> = railroad::all_rules().iter().map(|rule| rule.code).collect();
            Lack::named("diagnostic", code, "attention", codes)
        })
    }
}

impl Page for Explained {
    fn title(&self) -> String {
        self.rule.title.into()
    }

    fn document(&self) -> &'static str {
        "/attention"
    }

    fn body(&self) -> Markup {
        html! {
            p { (sign(self.rule.severity)) " " code { (self.rule.code) } }
            (PreEscaped(prose(self.rule.explain)))
            h2 { "An example" }
            pre tabindex="0" { (self.rule.fixture.trim()) }
            p { "gives" }
            pre tabindex="0" { (self.rule.rendered.trim()) }
        }
    }
}

/// The little of Markdown that explanations use: paragraphs, blocks of code, names in grave accents.
fn prose(text: &str) -> String {
    let mut out = String::new();
    for block in text.trim().split("\n\n") {
        let block = block.trim();
        if let Some(code) = block.strip_prefix("```") {
            let code = code.split_once('\n').map_or("", |(_, code)| code);
            let code = code.trim_end_matches('`');
            out.push_str(&html! { pre tabindex="0" { (code.trim_end()) } }.into_string());
        } else {
            let line = block
                .split('\n')
                .map(str::trim)
                .collect::<Vec<_>>()
                .join(" ");
            out.push_str(&html! { p { (ticks(&line)) } }.into_string());
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Office, Services,
        pages::testing::{ask, whole},
    };

    #[test]
    fn each_diagnostic_is_worded_placed_and_explained() {
        let mut folder = railroad::Folder::built_in("smallest").unwrap();
        let (path, text) = folder
            .iter()
            .find(|(path, _)| path.starts_with("stations/"))
            .map(|(path, bytes)| (path.to_owned(), String::from_utf8(bytes.to_vec()).unwrap()))
            .unwrap();
        folder.insert(path, text.replacen("mile = ", "mile = \"far\" # ", 1));
        let office = Office::in_memory(folder, Services::default());
        let ask = ask(&office, "/attention", &[], &[]);
        let page = whole(&ask, &Attention::of(&ask).unwrap());
        assert!(
            page.contains("far") && page.contains("/edit?file=stations%2F"),
            "{page}"
        );
        assert!(page.contains("error"));
    }

    #[test]
    fn a_code_that_is_not_known_is_guessed() {
        let office = crate::pages::testing::example();
        let ask = ask(&office, "/attention/x", &[("code", "unkown-name")], &[]);
        let lack = Explained::of(&ask).unwrap_err();
        assert!(whole(&ask, &lack).contains("unknown-name"));
    }
}
