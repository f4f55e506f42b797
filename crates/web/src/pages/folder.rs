//! The files of the folder, and what was changed here.

use std::sync::Arc;

use maud::{Markup, html};
use model::Severity;

use super::Lack;
use crate::{
    frame::{Ask, Page, ledger},
    office::Snapshot,
    show,
};

/// All files.
#[derive(Debug)]
pub struct FolderPage {
    now: Arc<Snapshot>,
}

impl FolderPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            now: ask.now.clone(),
        })
    }

    fn found(&self, file: &str, severity: Severity) -> usize {
        let loaded = &self.now.loaded;
        loaded
            .diagnostics
            .iter()
            .filter(|found| {
                found.rule.severity == severity
                    && loaded.sources.get(found.primary.span.file).path == file
            })
            .count()
    }
}

impl Page for FolderPage {
    fn title(&self) -> String {
        "Files and changes".into()
    }

    fn document(&self) -> &'static str {
        "/folder"
    }

    fn body(&self) -> Markup {
        let mut files: Vec<&str> = self.now.folder.iter().map(|(file, _)| file).collect();
        // Those of the whole railroad first.
        files.sort_by_key(|file| {
            (
                file.contains('/'),
                *file != "railroad.toml",
                file.to_owned(),
            )
        });
        let missing: Vec<_> = railroad::pages()
            .into_iter()
            .filter(|page| !page.path.contains('*') && !files.contains(&page.path))
            .collect();
        html! {
            p.lead {
                "The railroad is kept in a folder of plain files, which any editor and any spreadsheet opens. What is changed \
                 with another program is seen here within a second or two."
            }
            (ledger("Files of the folder", &html! {
                table {
                    thead { tr {
                        th scope="col" { "File" }
                        th scope="col" { "What it is about" }
                        th.number scope="col" { "Bytes" }
                        th scope="col" { "State" }
                    } }
                    tbody {
                        @for file in &files {
                            @let page = railroad::edit::page_of(file);
                            @let (errors, warnings) = (self.found(file, Severity::Error), self.found(file, Severity::Warning));
                            tr {
                                th scope="row" {
                                    @if page.is_some() { a href={ "/edit?file=" (show::escape(file)) } { (file) } }
                                    @else { (file) }
                                }
                                td { (page.map_or("not a page of the railroad", |page| page.about)) }
                                td.number { (self.now.folder.get(file).map_or(0, <[u8]>::len)) }
                                td {
                                    @if errors > 0 { (super::attention::sign(Severity::Error)) " \u{d7} " (errors) " " }
                                    @if warnings > 0 { (super::attention::sign(Severity::Warning)) " \u{d7} " (warnings) }
                                    @if errors + warnings == 0 { "\u{2713}" }
                                }
                            }
                        }
                    }
                }
            }))
            @if !missing.is_empty() {
                h2 { "Not written yet" }
                ul { @for page in missing { li { code { (page.path) } ": " (page.about) } } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_file_is_listed_with_its_state() {
        let office = example();
        let ask = ask(&office, "/folder", &[], &[]);
        let page = whole(&ask, &FolderPage::of(&ask).unwrap());
        for (file, _) in office.now().folder.iter() {
            assert!(page.contains(file));
        }
    }
}
