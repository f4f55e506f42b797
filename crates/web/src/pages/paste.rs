//! Rows of a spreadsheet, pasted.

use std::collections::HashSet;

use maud::{Markup, html};
use mechanical::import::{self, Imported, List};
use model::text::{Form, read::column_key};
use railroad::edit::{Desk, Edit, Proposal, Refusal};

use super::{Lack, review::worse};
use crate::{
    diff::diff,
    forms::{
        changes::{Sent, sent},
        document::Document,
        fields::words,
    },
    frame::{Ask, Page, ledger},
    show,
};

/// The empty page to paste on.
#[derive(Debug)]
pub struct PastePage {
    file: String,
    keys: Vec<&'static str>,
}

impl PastePage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let file = ask.query("file").unwrap_or("cars.csv").to_owned();
        let document =
            Document::open(&file, b"").filter(|document| document.page.form == Form::Csv);
        let document = document.ok_or_else(|| Lack::page(&format!("/paste?file={file}")))?;
        Ok(Self {
            keys: document
                .page
                .table
                .fields
                .iter()
                .map(|field| field.key)
                .collect(),
            file,
        })
    }
}

fn form(file: &str, text: &str) -> Markup {
    html! {
        form method="post" action="/paste" {
            input type="hidden" name="file" value=(file);
            input type="hidden" name="back" value={ "/edit?file=" (show::escape(file)) };
            div.field {
                label for="rows" { "Rows, with their headings in the first line" }
                textarea.text #rows name="rows" rows="14" spellcheck="false" wrap="off" { (text) }
            }
            p.actions { button.primary name="do" value="look" { "See what they become" } }
        }
    }
}

impl Page for PastePage {
    fn title(&self) -> String {
        format!("Paste into {}", self.file)
    }

    fn document(&self) -> &'static str {
        "/folder"
    }

    fn body(&self) -> Markup {
        html! {
            p.lead {
                "Copy rows with their headings from a spreadsheet and paste them here. You see what they become before anything is written."
            }
            (form(&self.file, ""))
            p.hint { "Columns: " (self.keys.iter().map(|key| words(key)).collect::<Vec<_>>().join(", ")) "." }
        }
    }
}

/// What pasted rows become.
#[derive(Debug)]
pub struct Pasted {
    file: String,
    text: String,
    rows: usize,
    imported: Option<Imported>,
    outcome: Result<Box<Proposal>, String>,
}

impl Pasted {
    /// Works them out.
    pub fn of(desk: &Desk, sent_form: &Sent) -> Result<Self, Lack> {
        let file = sent(sent_form, "file").unwrap_or_default().to_owned();
        let text = sent(sent_form, "rows").unwrap_or_default().to_owned();
        let document = Document::open(&file, b"")
            .filter(|document| document.page.form == Form::Csv)
            .ok_or_else(|| Lack::page(&format!("/paste?file={file}")))?;
        let railroad = &desk.loaded().railroad;
        let list = match file.as_str() {
            "cars.csv" => Some(List::Cars),
            "engines.csv" => Some(List::Engines),
            _ => None,
        };
        let imported = list.map(|list| {
            let known: HashSet<String> = match list {
                List::Cars => railroad
                    .roster
                    .cars
                    .iter()
                    .map(|car| car.name.value.clone())
                    .collect(),
                List::Engines => railroad
                    .roster
                    .engines
                    .iter()
                    .map(|engine| engine.number.value.clone())
                    .collect(),
            };
            import::read(
                list,
                text.as_bytes(),
                &[],
                railroad.identity.scale.scale,
                &known,
            )
        });
        let rows: Vec<Vec<(String, String)>> = match &imported {
            Some(imported) => imported
                .rows
                .iter()
                .map(|row| {
                    imported
                        .keys
                        .iter()
                        .zip(row)
                        .filter(|(_, value)| !value.is_empty())
                        .map(|(key, value)| ((*key).to_owned(), value.clone()))
                        .collect()
                })
                .collect(),
            None => plain(&document, &text),
        };
        let count = rows.len();
        let outcome = if rows.is_empty() {
            Err("No row was found. The first line must hold the headings.".to_owned())
        } else {
            let edits = rows
                .into_iter()
                .map(|values| Edit::AddRow {
                    file: file.clone(),
                    values,
                })
                .collect();
            let edit = Edit::Together {
                file: file.clone(),
                edits,
            };
            desk.propose(&edit)
                .map(Box::new)
                .map_err(|refusal| match refusal {
                    Refusal::Among { at, why } => format!("Row {}: {why}", at + 1),
                    other => other.to_string(),
                })
        };
        Ok(Self {
            file,
            text,
            rows: count,
            imported,
            outcome,
        })
    }

    /// The change, if it can be made.
    pub fn proposal(&self) -> Option<Proposal> {
        self.outcome
            .as_ref()
            .ok()
            .map(|proposal| proposal.as_ref().clone())
    }
}

/// Rows by headings that are the page's own keys.
fn plain(document: &Document, text: &str) -> Vec<Vec<(String, String)>> {
    let Some(sheet) = Document::open(&document.file, text.as_bytes()) else {
        return Vec::new();
    };
    let keys: Vec<&str> = document
        .page
        .table
        .fields
        .iter()
        .map(|field| field.key)
        .collect();
    (0..sheet.count(&[]))
        .map(|row| {
            let row = [railroad::edit::Step::At(row)];
            sheet
                .names(&row)
                .into_iter()
                .filter(|key| keys.contains(key))
                .filter_map(|key| {
                    let value = sheet.text(&crate::forms::document::step(&row, key))?;
                    (!value.is_empty()).then(|| (column_key(key), value))
                })
                .collect::<Vec<_>>()
        })
        .filter(|values: &Vec<(String, String)>| !values.is_empty())
        .collect()
}

impl Page for Pasted {
    fn title(&self) -> String {
        format!("Paste into {}", self.file)
    }

    fn document(&self) -> &'static str {
        "/folder"
    }

    fn body(&self) -> Markup {
        html! {
            @if let Some(imported) = &self.imported { (self.report(imported)) }
            @match &self.outcome {
                Err(words) => {
                    p { (super::attention::sign(model::Severity::Error)) " " (words) }
                    (form(&self.file, &self.text))
                }
                Ok(proposal) => {
                    p.lead { (show::count(self.rows, "row", "rows")) " would be added." }
                    form method="post" action="/paste" {
                        input type="hidden" name="file" value=(self.file);
                        input type="hidden" name="rows" value=(self.text);
                        input type="hidden" name="back" value={ "/edit?file=" (show::escape(&self.file)) };
                        p.actions {
                            button.primary name="do" value="write" { "Write them" }
                            a.button href={ "/paste?file=" (show::escape(&self.file)) } { "Leave it" }
                        }
                    }
                    (worse(proposal))
                    h2 { "The text" }
                    (diff(proposal.before.as_deref(), proposal.after.as_deref()))
                    h2 { "Other rows" }
                    (form(&self.file, &self.text))
                }
            }
        }
    }
}

impl Pasted {
    /// What was guessed, so that nothing is taken for granted.
    fn report(&self, imported: &Imported) -> Markup {
        html! {
            @if !imported.left_out.is_empty() {
                h2 { "Left out" }
                ul { @for (line, why) in &imported.left_out { li { "line " (line) " " (why) } } }
            }
            @if !imported.guesses.is_empty() {
                h2 { "Not taken as written" }
                (ledger("Cells not taken as written", &html! {
                    table {
                        thead { tr { th scope="col" { "Line" } th scope="col" { "Which" } th scope="col" { "Column" } th scope="col" { "Found" } th scope="col" { "Taken for" } th scope="col" { "Why" } } }
                        tbody {
                            @for guess in imported.guesses.iter().take(60) {
                                tr {
                                    td.number { (guess.line) }
                                    th scope="row" { (guess.name) }
                                    td { (words(guess.key)) }
                                    td { (guess.found) }
                                    td { (guess.taken.as_deref().unwrap_or("left out")) }
                                    td { (guess.why) }
                                }
                            }
                        }
                    }
                }))
            }
        }
    }
}
