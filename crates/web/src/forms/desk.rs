//! What becomes of a form that is sent.

use std::sync::Arc;

use axum::{
    Form,
    extract::{Request, State},
    http::StatusCode,
    response::{IntoResponse, Json, Redirect, Response},
};
use model::Severity;
use railroad::{
    Loaded,
    edit::{Desk, DeskError, Edit, Proposal, Refusal},
};
use serde_json::{Value, json};

use super::{
    changes::{Changes, Sent, changes, sent},
    document::Document,
    notes::{Note, Notes, note, notes},
};
use crate::{
    Office,
    app::{answer, ask, back},
    frame::{Ask, Page},
    pages::{Lack, paste, review::Review},
};

type Fields = Vec<(String, String)>;

/// What would come of the edits of a form.
#[derive(Debug)]
pub enum Outcome {
    /// Nothing was changed.
    Nothing,
    /// They may be made.
    Proposed(Box<Proposal>),
    /// They may not, for these reasons at these fields.
    Refused(Notes),
}

/// Works the edits out. All that cannot be made are found, not the first only.
pub fn outcome(desk: &Desk, document: &Document, Changes { mut edits }: Changes) -> Outcome {
    let mut refused = Notes::new();
    let note_down = |refused: &mut Notes, field: &str, words: String| {
        refused.entry(field.to_owned()).or_default().push(Note {
            severity: Severity::Error,
            words,
        });
    };
    while !edits.is_empty() {
        let one: Vec<Edit> = edits.iter().map(|(_, edit)| edit.clone()).collect();
        let edit = match one.as_slice() {
            [edit @ Edit::Rewrite { .. }] => edit.clone(),
            _ => Edit::Together {
                file: document.file.clone(),
                edits: one,
            },
        };
        match desk.propose(&edit) {
            Ok(proposal) if refused.is_empty() => return Outcome::Proposed(Box::new(proposal)),
            Ok(_) => return Outcome::Refused(refused),
            Err(Refusal::Among { at, why }) => {
                note_down(&mut refused, &edits[at].0, why.to_string());
                edits.remove(at);
            }
            Err(Refusal::Unreadable { found, loaded }) => {
                let then = document_of(&document.file, &loaded);
                let mut found = notes(then.as_ref().unwrap_or(document), &loaded, &found);
                for (field, notes) in refused {
                    found.entry(field).or_default().extend(notes);
                }
                return Outcome::Refused(found);
            }
            Err(refusal) => {
                note_down(&mut refused, "", refusal.to_string());
                return Outcome::Refused(refused);
            }
        }
    }
    if refused.is_empty() {
        Outcome::Nothing
    } else {
        Outcome::Refused(refused)
    }
}

fn document_of(file: &str, loaded: &Loaded) -> Option<Document> {
    let id = loaded.sources.find(file)?;
    Document::open(file, loaded.sources.get(id).text.as_bytes())
}

/// A mark of a file's bytes, by which a form knows whether the file is still what it shows.
pub fn mark(bytes: &[u8]) -> String {
    // FNV-1a: no secret is kept by it.
    let hash = bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x100_0000_01b3)
    });
    format!("{hash:x}")
}

/// Opens the document a form is about, if the file still is what the form showed.
fn open(desk: &Desk, form: &Sent) -> Result<Document, Lack> {
    let file = sent(form, "file").unwrap_or_default();
    let bytes = desk.folder().get(file);
    let document = Document::open(file, bytes.unwrap_or_default())
        .ok_or_else(|| Lack::page(&format!("/edit?file={file}")))?;
    match sent(form, "mark") {
        Some(shown) if shown != mark(bytes.unwrap_or_default()) => Err(Lack::because(
            "The file has changed",
            format!(
                "{file} was changed since this form was shown, here or with another program. Open the form \
                 again: what you typed was not written."
            ),
        )),
        _ => Ok(document),
    }
}

async fn asked(office: &Arc<Office>, path: &str) -> Ask {
    let request = Request::builder().uri(path).body(axum::body::Body::empty());
    let mut ask = ask(office.clone(), request.unwrap_or_default()).await;
    // Only who may change the railroad comes here.
    ask.who = Some(session::Who::office());
    ask
}

fn shown(ask: &Ask, page: Result<Box<dyn Page + Send>, Lack>) -> Response {
    match page {
        Ok(page) => answer(ask, page.as_ref(), StatusCode::OK),
        Err(lack) => answer(ask, &lack, lack.status()),
    }
}

/// Shows what a form would change, before it is written.
pub async fn review(
    State(office): State<Arc<Office>>,
    headers: axum::http::HeaderMap,
    Form(form): Form<Fields>,
) -> Response {
    let mut ask = asked(&office, "/review").await;
    ask.theme = crate::app::theme(&headers);
    let page = aside(move || {
        let page = office.at_desk(|desk| {
            let document = open(desk, &form)?;
            let outcome = outcome(desk, &document, changes(&document, &form));
            Ok(Review::new(&document, outcome, form))
        });
        page.map(|page| Box::new(page) as Box<dyn Page + Send>)
    });
    shown(&ask, page.await)
}

/// Writes what was reviewed.
pub async fn write(
    State(office): State<Arc<Office>>,
    headers: axum::http::HeaderMap,
    Form(form): Form<Fields>,
) -> Response {
    let mut ask = asked(&office, "/write").await;
    ask.theme = crate::app::theme(&headers);
    let to = back(sent(&form, "back"));
    let done = aside(move || {
        office.at_desk(|desk| {
            let document = open(desk, &form)?;
            match outcome(desk, &document, changes(&document, &form)) {
                Outcome::Nothing => Ok(None),
                Outcome::Proposed(proposal) => match desk.make(*proposal) {
                    Ok(()) => Ok(None),
                    Err(error) => Err(failed(&error)),
                },
                refused @ Outcome::Refused(_) => Ok(Some(Review::new(&document, refused, form))),
            }
        })
    });
    match done.await {
        Ok(None) => Redirect::to(&to).into_response(),
        Ok(Some(review)) => answer(&ask, &review, StatusCode::UNPROCESSABLE_ENTITY),
        Err(lack) => answer(&ask, &lack, lack.status()),
    }
}

fn failed(error: &DeskError) -> Lack {
    Lack::because("It was not written", format!("{error}."))
}

/// Says what would come of a form, while one types: notes by field, for the script.
pub async fn check(State(office): State<Arc<Office>>, Form(form): Form<Fields>) -> Response {
    let answer = aside(move || {
        office.at_desk(|desk| {
            let document = open(desk, &form)?;
            let drawn = sent(&form, "draw").map(str::to_owned);
            Ok(verdict(
                desk,
                &document,
                changes(&document, &form),
                drawn.as_deref(),
            ))
        })
    });
    match answer.await {
        Ok(value) => Json(value).into_response(),
        Err(lack) => (lack.status(), Json(json!({ "stale": true }))).into_response(),
    }
}

fn verdict(desk: &Desk, document: &Document, asked: Changes, draw: Option<&str>) -> Value {
    let to_json = |notes: &Notes| {
        let fields: serde_json::Map<String, Value> = notes
            .iter()
            .map(|(field, notes)| {
                let notes: Vec<Value> = notes
                    .iter()
                    .map(|note| json!({ "severity": note.severity.word(), "words": note.words }))
                    .collect();
                (field.clone(), Value::Array(notes))
            })
            .collect();
        Value::Object(fields)
    };
    match outcome(desk, document, asked) {
        Outcome::Nothing => {
            let loaded = desk.loaded();
            let now = notes(document, loaded, &loaded.diagnostics);
            json!({ "changed": false, "fields": to_json(&now) })
        }
        Outcome::Refused(notes) => {
            json!({ "changed": true, "refused": true, "fields": to_json(&notes) })
        }
        Outcome::Proposed(proposal) => {
            let then = document_of(&document.file, &proposal.loaded);
            let all = then
                .map(|then| notes(&then, &proposal.loaded, &proposal.loaded.diagnostics))
                .unwrap_or_default();
            // What the change spoils elsewhere is told beside the whole form.
            let elsewhere: Vec<Value> = proposal
                .worse
                .iter()
                .filter(|found| {
                    proposal.loaded.sources.get(found.primary.span.file).path != document.file
                })
                .map(|found| {
                    let note = note(found);
                    json!({ "severity": note.severity.word(), "words": note.words })
                })
                .collect();
            let then = &proposal.loaded.railroad;
            let drawing = draw.and_then(|what| match what.strip_prefix("rooms:") {
                Some(line) => crate::pages::rooms::redraw(then, &desk.loaded().railroad, line),
                None => crate::pages::town::redraw(then, what),
            });
            json!({
                "changed": true,
                "fields": to_json(&all),
                "elsewhere": elsewhere,
                "worse": proposal.worse.len(),
                "better": proposal.better,
                "drawing": drawing,
            })
        }
    }
}

/// Takes the last change back, or makes it again.
pub async fn undo_or_redo(
    State(office): State<Arc<Office>>,
    headers: axum::http::HeaderMap,
    Form(form): Form<Fields>,
) -> Response {
    let mut ask = asked(&office, "/desk").await;
    ask.theme = crate::app::theme(&headers);
    let to = back(sent(&form, "back"));
    let again = sent(&form, "do") == Some("redo");
    let done = aside(move || {
        office
            .at_desk(|desk| if again { desk.redo() } else { desk.undo() })
            .map_err(|error| failed(&error))
    });
    match done.await {
        Ok(_) => Redirect::to(&to).into_response(),
        Err(lack) => answer(&ask, &lack, lack.status()),
    }
}

/// Takes rows from a spreadsheet.
pub async fn paste(
    State(office): State<Arc<Office>>,
    headers: axum::http::HeaderMap,
    Form(form): Form<Fields>,
) -> Response {
    let mut ask = asked(&office, "/paste").await;
    ask.theme = crate::app::theme(&headers);
    let to = back(sent(&form, "back"));
    let write = sent(&form, "do") == Some("write");
    let done = aside(move || {
        office.at_desk(|desk| {
            let pasted = paste::Pasted::of(desk, &form)?;
            if write && let Some(proposal) = pasted.proposal() {
                return match desk.make(proposal) {
                    Ok(()) => Ok(None),
                    Err(error) => Err(failed(&error)),
                };
            }
            Ok(Some(pasted))
        })
    });
    match done.await {
        Ok(None) => Redirect::to(&to).into_response(),
        Ok(Some(pasted)) => answer(&ask, &pasted, StatusCode::OK),
        Err(lack) => answer(&ask, &lack, lack.status()),
    }
}

/// Does work that may take a while beside the server's own.
async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Lack> + Send + 'static,
) -> Result<T, Lack> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| {
        Err(Lack::because(
            "A mistake in the program",
            "Nothing was written. The railroad is unharmed.",
        ))
    })
}
