//! Fields, and tables of fields, from a page's declaration.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};
use model::text::{Choice, Field, Form, Kind, Need, Noun, Table};
use railroad::{Railroad, edit::Step};

use super::{
    document::{Document, path_text, place, step},
    notes::{Notes, beside},
};
use crate::{pages::attention::ticks, show::escape};

/// A form under way: the document, its notes, and which lists of names it has used.
#[derive(Debug)]
pub struct Sheet<'a> {
    /// The document.
    pub document: &'a Document,
    /// The diagnostics of its fields.
    pub notes: &'a Notes,
    nouns: std::cell::RefCell<BTreeSet<Noun>>,
    words: std::cell::RefCell<BTreeMap<String, &'static [Choice]>>,
}

/// How many words a list may have that is repeated in every row of a table.
const FEW: usize = 5;

impl<'a> Sheet<'a> {
    /// A form of a document.
    pub fn new(document: &'a Document, notes: &'a Notes) -> Self {
        Self {
            document,
            notes,
            nouns: std::cell::RefCell::default(),
            words: std::cell::RefCell::default(),
        }
    }

    /// The fields of a record, and under them the tables of what it holds.
    pub fn record(&self, table: &'static Table, path: &[Step]) -> Markup {
        let (plain, inner): (Vec<&Field>, Vec<&Field>) =
            table.fields.iter().partition(|field| is_plain(&field.kind));
        let written = |field: &&&Field| {
            field.need == Need::Required
                || self.document.at(&step(path, field.key)).is_some()
                || self.notes.contains_key(&path_text(&step(path, field.key)))
        };
        let (shown, more): (Vec<&Field>, Vec<&Field>) = plain.iter().partition(written);
        let (held, empty): (Vec<&Field>, Vec<&Field>) = inner.iter().partition(written);
        html! {
            (beside(&path_text(path), self.notes))
            div.fields { @for field in shown { (self.labelled(field, path)) } }
            @if !more.is_empty() {
                details.more {
                    summary { (more.len()) " more: " (more.iter().map(|field| words(field.key)).collect::<Vec<_>>().join(", ")) }
                    div.fields { @for field in more { (self.labelled(field, path)) } }
                }
            }
            @for field in &held { (self.held(field, &step(path, field.key))) }
            @if !empty.is_empty() {
                details.more {
                    summary { "Nothing yet: " (empty.iter().map(|field| words(field.key)).collect::<Vec<_>>().join(", ")) }
                    @for field in &empty { (self.held(field, &step(path, field.key))) }
                }
            }
        }
    }

    /// A field that holds other fields.
    fn held(&self, field: &Field, path: &[Step]) -> Markup {
        match field.kind {
            Kind::Table(table) => html! {
                fieldset {
                    legend { (words(field.key)) }
                    p.hint { (ticks(field.about)) }
                    (self.record(table, path))
                }
            },
            _ => self.collection(field, path),
        }
    }

    /// A label, its field, what it means and what is wrong with it.
    fn labelled(&self, field: &Field, path: &[Step]) -> Markup {
        let path = step(path, field.key);
        let text = path_text(&path);
        if let Kind::Row(cells) = field.kind {
            return html! {
                fieldset.row {
                    legend { (words(field.key)) (self.must(field)) }
                    @for (at, (name, kind)) in cells.iter().enumerate() {
                        @let cell = place(&path, at);
                        label {
                            span { (name) }
                            (self.input(kind, &cell, None))
                        }
                    }
                    p.hint { (ticks(field.about)) }
                    (beside(&text, self.notes))
                }
            };
        }
        html! {
            div.field {
                label for={ "v:" (text) } { (words(field.key)) (self.must(field)) }
                (self.input(&field.kind, &path, Some(field)))
                p.hint id={ "h:" (text) } {
                    (ticks(field.about))
                    @if let Need::Default(default) = field.need { " Left out: " code { (default) } }
                }
                (beside(&text, self.notes))
            }
        }
    }

    fn must(&self, field: &Field) -> Markup {
        html! { @if field.need == Need::Required { " " span.must { "(must be there)" } } }
    }

    /// The field itself.
    fn input(&self, kind: &Kind, path: &[Step], field: Option<&Field>) -> Markup {
        let text = path_text(path);
        let value = self.document.text(path).unwrap_or_default();
        let name = format!("v:{text}");
        let wrong = self.notes.contains_key(&text);
        let hint = field.map(|_| format!("h:{text} n:{text}"));
        self.named(kind, &name, &value, hint.as_deref(), wrong, None)
    }

    /// An input of any name. `label` is its name where no label stands beside it.
    fn named(
        &self,
        kind: &Kind,
        name: &str,
        value: &str,
        hint: Option<&str>,
        wrong: bool,
        label: Option<&str>,
    ) -> Markup {
        let invalid = wrong.then_some("true");
        match kind {
            // In a table a long list of words is offered once, not in every row.
            Kind::OneOf(choices) if label.is_some() && choices.len() > FEW => {
                let list = format!(
                    "words-{}",
                    name.rsplit(['/', ':']).next().unwrap_or_default()
                );
                self.words.borrow_mut().insert(list.clone(), choices);
                html! {
                    input id=(name) name=(name) value=(value) list=(list) size="10" autocomplete="off" aria-describedby=[hint] aria-invalid=[invalid] aria-label=[label];
                }
            }
            Kind::OneOf(choices) => html! {
                select id=(name) name=(name) aria-describedby=[hint] aria-invalid=[invalid] aria-label=[label] {
                    option value="" selected[value.is_empty()] {}
                    @for choice in *choices {
                        option value=(choice.word) selected[choice.word == value] { (choice.word) }
                    }
                    @if !value.is_empty() && choices.iter().all(|choice| choice.word != value) {
                        option value=(value) selected { (value) }
                    }
                }
            },
            Kind::Flag => html! {
                select id=(name) name=(name) aria-describedby=[hint] aria-invalid=[invalid] aria-label=[label] {
                    option value="" selected[value.is_empty()] {}
                    option value="true" selected[value == "true"] { "yes" }
                    option value="false" selected[value == "false"] { "no" }
                }
            },
            Kind::List(_) if self.document.page.form == Form::Toml => html! {
                textarea id=(name) name=(name) rows=(value.lines().count().clamp(2, 8)) aria-describedby=[hint] aria-invalid=[invalid] aria-label=[label] { (value) }
            },
            Kind::Ref(noun) => {
                self.nouns.borrow_mut().insert(*noun);
                html! {
                    input id=(name) name=(name) value=(value) list={ "names-" (noun.word().replace(' ', "-")) }
                        autocomplete="off" aria-describedby=[hint] aria-invalid=[invalid] aria-label=[label];
                }
            }
            _ => {
                let mode = matches!(kind, Kind::Whole(..) | Kind::Number(..)).then_some("decimal");
                html! {
                    input id=(name) name=(name) value=(value) inputmode=[mode] size=(size(kind, value))
                        autocomplete="off" aria-describedby=[hint] aria-invalid=[invalid] aria-label=[label];
                }
            }
        }
    }

    /// Many records of a kind as a table with a line for a new one.
    fn collection(&self, field: &Field, path: &[Step]) -> Markup {
        let text = path_text(path);
        let (named, table) = match field.kind {
            Kind::Named(_, table) => (true, table),
            Kind::Tables(table) => (false, table),
            Kind::Map(kind) => return self.map(field, path, kind),
            // Lists of lists are for the text.
            _ => {
                return html! {
                    fieldset {
                        legend { (words(field.key)) }
                        p.hint { (ticks(field.about)) " Mended in the text of the file." }
                        @if let Some(value) = self.document.text(path) { pre tabindex="0" { (value) } }
                    }
                };
            }
        };
        let records: Vec<(String, Vec<Step>)> = if named {
            self.document
                .names(path)
                .iter()
                .map(|name| ((*name).to_owned(), step(path, name)))
                .collect()
        } else {
            (0..self.document.count(path))
                .map(|at| ((at + 1).to_string(), place(path, at)))
                .collect()
        };
        html! {
            fieldset.collection {
                legend { (words(field.key)) }
                p.hint { (ticks(field.about)) }
                (self.grid(table, &records, named, &text, true))
            }
        }
    }

    /// Records as a table of fields: those that must be there, and those that any of them has.
    pub fn grid(
        &self,
        table: &'static Table,
        records: &[(String, Vec<Step>)],
        named: bool,
        text: &str,
        new: bool,
    ) -> Markup {
        let columns: Vec<&Field> = table
            .fields
            .iter()
            .filter(|field| is_plain(&field.kind) && !matches!(field.kind, Kind::Row(_)))
            .filter(|field| {
                field.need == Need::Required
                    || records.iter().any(|(_, path)| {
                        self.document
                            .text(&step(path, field.key))
                            .is_some_and(|value| !value.is_empty())
                    })
            })
            .collect();
        let file = escape(&self.document.file);
        let grid = html! {
            table.grid {
                thead { tr {
                    th scope="col" { (table.noun) }
                    @for field in &columns { th scope="col" { (words(field.key)) } }
                    th scope="col" { "Out" }
                } }
                tbody {
                    @for (name, path) in records {
                        @let record = path_text(path);
                        tr {
                            th scope="row" {
                                a href={ "/edit?file=" (file) "&at=" (escape(&record)) } { (name) }
                                (beside(&record, self.notes))
                            }
                            @for field in &columns {
                                @let cell = step(path, field.key);
                                @let at = path_text(&cell);
                                td {
                                    @let wrong = self.notes.contains_key(&at);
                                    (self.named(&field.kind, &format!("v:{at}"),
                                        &self.document.text(&cell).unwrap_or_default(),
                                        wrong.then(|| format!("n:{at}")).as_deref(), wrong,
                                        Some(&format!("{} of {name}", words(field.key)))))
                                    // The script makes room for others when they are found.
                                    @if wrong { (beside(&at, self.notes)) }
                                }
                            }
                            td.out { input type="checkbox" name={ "x:" (record) } aria-label={ "Take " (name) " out" }; }
                        }
                    }
                    @if new {
                        tr.new {
                            th scope="row" {
                                @if named {
                                    input name={ "n:" (text) ":" } aria-label={ "Name of a new " (table.noun) } placeholder="new" size="8" autocomplete="off";
                                } @else { "new" }
                                (beside(&format!("n:{text}"), self.notes))
                            }
                            @for field in &columns {
                                td {
                                    (self.named(&field.kind, &format!("n:{text}:{}", field.key), "", None, false,
                                        Some(&format!("{} of a new {}", words(field.key), table.noun))))
                                }
                            }
                            td {}
                        }
                    }
                }
            }
        };
        crate::frame::ledger(&format!("Table of {}", plural(table.noun)), &grid)
    }

    fn map(&self, field: &Field, path: &[Step], kind: &Kind) -> Markup {
        let text = path_text(path);
        html! {
            fieldset.collection {
                legend { (words(field.key)) }
                p.hint { (ticks(field.about)) }
                div.fields {
                    @for name in self.document.names(path) {
                        @let at = step(path, name);
                        div.field {
                            label for={ "v:" (path_text(&at)) } { (name) }
                            (self.input(kind, &at, None))
                            (beside(&path_text(&at), self.notes))
                        }
                    }
                    div.field {
                        input name={ "n:" (text) ":" } aria-label="Name of a new one" placeholder="new" autocomplete="off";
                        input name={ "n:" (text) ":value" } aria-label="Value of the new one" autocomplete="off";
                    }
                }
            }
        }
    }

    /// The lists of names that fields offer, once each.
    pub fn names(&self, railroad: &Railroad) -> Markup {
        html! {
            @for (list, choices) in self.words.borrow().iter() {
                datalist id=(list) { @for choice in *choices { option value=(choice.word) {} } }
            }
            @for noun in self.nouns.borrow().iter() {
                datalist id={ "names-" (noun.word().replace(' ', "-")) } {
                    @for name in names_of(railroad, *noun) { option value=(name) {} }
                }
            }
        }
    }
}

fn names_of(railroad: &Railroad, noun: Noun) -> Vec<&str> {
    let way = &railroad.way;
    match noun {
        Noun::Line => way
            .lines
            .iter()
            .map(|line| line.name.value.as_str())
            .collect(),
        Noun::Station => way
            .stations
            .iter()
            .map(|station| station.name.value.as_str())
            .collect(),
        Noun::Road => railroad
            .identity
            .roads
            .iter()
            .map(|road| road.marks.as_str())
            .collect(),
        Noun::Division => railroad
            .identity
            .divisions
            .iter()
            .map(|(name, _)| name.as_str())
            .collect(),
        Noun::Engine => railroad
            .roster
            .engines
            .iter()
            .map(|engine| engine.number.value.as_str())
            .collect(),
        Noun::Train => railroad
            .service
            .trains
            .iter()
            .map(|train| train.symbol.value.as_str())
            .collect(),
        Noun::Job => railroad
            .service
            .jobs
            .iter()
            .map(|job| job.name.value.as_str())
            .collect(),
        // Thousands of names are of no help in a list.
        _ => Vec::new(),
    }
}

/// Whether a kind is one field, or a few in a row.
fn is_plain(kind: &Kind) -> bool {
    match kind {
        Kind::Table(_) | Kind::Map(_) | Kind::Named(..) | Kind::Tables(_) => false,
        Kind::List(inner) => is_plain(inner) && !matches!(inner, Kind::Row(_) | Kind::List(_)),
        _ => true,
    }
}

fn size(kind: &Kind, value: &str) -> usize {
    let usual = match kind {
        Kind::Whole(..) | Kind::Number(..) | Kind::Grade => 6,
        Kind::Text | Kind::Name(_) | Kind::List(_) => 16,
        _ => 10,
    };
    value.chars().count().clamp(usual, 28)
}

/// A key as words: `light_weight` is "light weight".
pub fn words(key: &str) -> String {
    key.replace('_', " ")
}

/// `track` is "tracks", `switch` "switches", `row of a table` as it is.
pub fn plural(noun: &str) -> String {
    match noun {
        noun if noun.ends_with("ch") || noun.ends_with('s') => format!("{noun}es"),
        noun => format!("{noun}s"),
    }
}
