//! The plan of the rooms: where the track lies, what a track is and what depends on it, and its control
//! points, which can be moved. What a move would come to is seen at once; nothing is written before it
//! was reviewed.

mod control;
mod ink;
mod track;

use std::{sync::Arc, time::Instant};

use axum::{
    Form, Json,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Response},
};
use engineering::alignment::{
    Located,
    solve::{Fault, FaultKind, resolve},
};
use maud::{Markup, PreEscaped, html};
use model::units::Actual;
use railroad::{Loaded, Railroad, edit::Step};
use serde_json::json;

use super::Lack;
use crate::{
    Office,
    forms::{
        changes::{Sent, sent},
        desk::mark,
        document::Document,
    },
    frame::{Ask, Page},
    show,
};
use control::{Handle, Move};
use ink::{Look, draw};

/// The plan, with a track picked or none.
#[derive(Debug)]
pub struct Rooms {
    loaded: Arc<Loaded>,
    picked: Option<Picked>,
}

/// A picked center line.
#[derive(Debug)]
struct Picked {
    line: usize,
    file: String,
    mark: String,
    handles: Vec<Handle>,
    again: Vec<usize>,
}

impl Rooms {
    /// The page; `line` in the query picks a center line by its name.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let located = &ask.railroad().way.located;
        let picked = match ask.query("line") {
            None => None,
            Some(name) => {
                let names = || located.described.iter().map(|one| one.name.value.as_str());
                let line = find(located, name)
                    .ok_or_else(|| Lack::named("center line", name, "rooms", names()))?;
                Some(Picked::new(ask, line))
            }
        };
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            picked,
        })
    }
}

/// The center line of a name.
fn find(located: &Located, name: &str) -> Option<usize> {
    located
        .described
        .iter()
        .position(|one| one.name.value == name)
}

/// The file a center line is written in, and its record there.
fn written(loaded: &Loaded, document: &Document, line: usize) -> Vec<Step> {
    let span = loaded.railroad.way.located.described[line].name.span;
    let mut path = document.path_at(span.range().start);
    path.truncate(2);
    path
}

impl Picked {
    fn new(ask: &Ask, line: usize) -> Self {
        let loaded = ask.loaded();
        let located = &loaded.railroad.way.located;
        let span = located.described[line].name.span;
        let file = loaded.sources.get(span.file).path.clone();
        let bytes = ask.now.folder.get(&file).unwrap_or_default();
        let handles = Document::open(&file, bytes).map_or_else(Vec::new, |document| {
            let record = written(loaded, &document, line);
            control::handles(&document, &record, located, line)
        });
        let (_, again) = resolve(&located.plan, &located.solved, &[line]);
        Self {
            line,
            mark: mark(bytes),
            file,
            handles,
            again,
        }
    }
}

/// The plan of a railroad as it would be, with a center line picked and the course it has now.
pub fn redraw(then: &Railroad, now: &Railroad, name: &str) -> Option<String> {
    let located = &then.way.located;
    let line = find(located, name)?;
    let (_, again) = resolve(&located.plan, &located.solved, &[line]);
    let look = Look {
        picked: Some(line),
        again: &again,
        controls: &control::places(located, line),
        before: Some(&now.way.located.solved),
    };
    Some(draw(then, located, &look))
}

/// Moves a control point of a form's center line, from where the form has it: the drawing and the new
/// values of the fields. Only what depends on the line is laid anew, and nothing is checked but
/// whether it closes; the whole check follows when the point is let go.
pub async fn tried(
    State(office): State<Arc<Office>>,
    Form(form): Form<Vec<(String, String)>>,
) -> Response {
    let begun = Instant::now();
    let now = office.now();
    let made = tokio::task::spawn_blocking(move || try_move(&now.loaded, &now.folder, &form)).await;
    match made {
        Ok(Some(mut answer)) => {
            answer["ms"] = json!(begun.elapsed().as_secs_f64() * 1000.0);
            Json(answer).into_response()
        }
        Ok(None) => (StatusCode::UNPROCESSABLE_ENTITY, Json(json!({}))).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

fn try_move(loaded: &Loaded, folder: &railroad::Folder, form: &Sent) -> Option<serde_json::Value> {
    let located = &loaded.railroad.way.located;
    let line = find(located, sent(form, "line")?)?;
    let file = sent(form, "file")?;
    let document = Document::open(file, folder.get(file)?)?;
    let record = written(loaded, &document, line);
    let mut handles = control::handles(&document, &record, located, line);
    let mut moved = located.clone();
    let center_line = &mut moved.plan.lines[line];
    for handle in &mut handles {
        handle.take(form, center_line);
    }
    let by = Move::of(form);
    let point = sent(form, "point").unwrap_or_default();
    if let Some(handle) = handles.iter_mut().find(|handle| handle.id() == point) {
        handle.shift(&by, center_line);
    }
    let (solved, again) = resolve(&moved.plan, &located.solved, &[line]);
    moved.solved = solved;
    let look = Look {
        picked: Some(line),
        again: &again,
        controls: &control::places(&moved, line),
        before: Some(&located.solved),
    };
    let fields: serde_json::Map<String, serde_json::Value> = handles
        .iter()
        .flat_map(|handle| &handle.fields)
        .map(|field| (field.name.clone(), json!(field.text)))
        .collect();
    let words: Vec<String> = moved
        .solved
        .faults
        .iter()
        .filter(|fault| again.contains(&fault.line))
        .map(|fault| fault_words(&loaded.railroad, &moved, fault))
        .collect();
    Some(json!({
        "drawing": draw(&loaded.railroad, &moved, &look),
        "fields": fields,
        "words": words,
        "facts": track::measures(&loaded.railroad, &moved, line).into_string(),
    }))
}

/// What is wrong with a course, in short: the checks say it at length.
fn fault_words(railroad: &Railroad, located: &Located, fault: &Fault) -> String {
    let length = |metres: f64| {
        railroad
            .identity
            .units
            .show(Actual::from_meters(metres.abs()))
    };
    let name = &located.described[fault.line].name.value;
    let what = match fault.kind {
        FaultKind::Circle => "depends on itself".to_owned(),
        FaultKind::Orphan(other) => format!(
            "cannot be laid, for {} cannot",
            located.described[other].name.value
        ),
        FaultKind::Easements(by) => {
            format!("has a curve {} shorter than its easements", length(by))
        }
        FaultKind::Negative => "has a curve of less than no length".to_owned(),
        FaultKind::Connect(Some(most)) => {
            format!(
                "does not connect; with a radius of {} it would",
                length(most)
            )
        }
        FaultKind::Connect(None) => "does not connect by any curve".to_owned(),
        FaultKind::Between(tangent) => format!(
            "has only {} of tangent between its reverse curves",
            length(tangent)
        ),
        FaultKind::Parallel(wanting) => {
            format!("wants {} of room to become parallel", length(wanting))
        }
        FaultKind::TooFarInside => "lies beyond the center of the other's curve".to_owned(),
        FaultKind::BeyondEnd(by) => {
            format!(
                "leaves by a switch {} beyond the end of its track",
                length(by)
            )
        }
        FaultKind::NoEnd => "has nothing to connect to".to_owned(),
        FaultKind::Open(misfit) => format!("misses its end by {}", length(misfit.distance())),
    };
    format!("{name} {what}.")
}

impl Page for Rooms {
    fn title(&self) -> String {
        match &self.picked {
            Some(picked) => {
                let way = &self.loaded.railroad.way;
                way.located.described[picked.line].name.value.clone()
            }
            None => "Plan of the rooms".into(),
        }
    }

    fn document(&self) -> &'static str {
        "/rooms"
    }

    fn wide(&self) -> bool {
        true
    }

    fn scripts(&self) -> &'static [&'static str] {
        &["plan.js"]
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let located = &railroad.way.located;
        if located.laid().next().is_none() {
            return html! {
                p { "Nothing has a place in the rooms yet: describe center lines under " code { "alignments/" } "." }
            };
        }
        let none = Vec::new();
        let (picked, again) = match &self.picked {
            Some(picked) => (Some(picked.line), &picked.again),
            None => (None, &none),
        };
        let controls = picked.map_or_else(Vec::new, |line| control::places(located, line));
        let look = Look {
            picked,
            again,
            controls: &controls,
            before: None,
        };
        let drawing = draw(railroad, located, &look);
        html! {
            p.lead {
                @match &self.picked {
                    None => "Where the track lies, as far as its center lines are described. Pick a track to see its facts and what depends on it.",
                    Some(_) => { "A ring is a control point: drag it, or pick it with the tabulator and move it with the arrow keys, finer with Shift; \
                        < and > turn it, or change a curve's radius. Broken lines are laid anew with it. Nothing is written before you have seen the change." }
                }
            }
            div.zoom {
                div #zoom hidden {
                    button type="button" data-zoom="out" { "Smaller" }
                    button type="button" data-zoom="in" { "Larger" }
                    button type="button" data-zoom="all" { "All of it" }
                }
                @if self.picked.is_some() { a.button href="/rooms" { "Pick none" } }
            }
            div.drawing #plan role="region" aria-label="Plan of the rooms" tabindex="0" { (PreEscaped(&drawing)) }
            p.key { "Broad: main and open line. Thin: other tracks. Small rings: points of turnouts. \
                Shaded: benchwork, with walls in black; ruled edges can be opened." }
            @match &self.picked {
                Some(picked) => (self.track(picked)),
                None => (self.tracks()),
            }
        }
    }
}

impl Rooms {
    /// The tracks as a table: for those who do not point.
    fn tracks(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let located = &railroad.way.located;
        html! {
            h2 { "Tracks with a place" }
            (crate::frame::ledger("Tracks with a place", &html! {
                table {
                    thead { tr { th scope="col" { "Center line" } th.number scope="col" { "Length" } th.number scope="col" { "Sharpest curve" } th scope="col" { "Its end" } } }
                    tbody { @for (line, described) in located.described.iter().enumerate() {
                        tr {
                            th scope="row" { a href={ "/rooms?line=" (show::escape(&described.name.value)) } { (described.name.value) } }
                            td.number { (located.path(line).map_or(String::new(), |path| show::length(railroad, Actual::from_meters(path.length())))) }
                            td.number { (located.path(line).and_then(track::sharpest).map_or(String::new(), |radius| show::length(railroad, Actual::from_meters(radius)))) }
                            td { (track::end_words(railroad, located, line)) }
                        }
                    } }
                }
            }))
        }
    }

    fn track(&self, picked: &Picked) -> Markup {
        let railroad = &self.loaded.railroad;
        let located = &railroad.way.located;
        let name = &located.described[picked.line].name.value;
        let here = format!("/rooms?line={}", show::escape(name));
        html! {
            div #measures { (track::measures(railroad, located, picked.line)) }
            ul.changes #closes aria-live="polite" {}
            @if picked.handles.is_empty() {
                p { "It has no control points of its own: where it lies follows from others." }
            } @else {
                form #form.edit method="post" action="/review" data-check="/check" {
                    input type="hidden" name="file" value=(picked.file);
                    input type="hidden" name="mark" value=(picked.mark);
                    input type="hidden" name="draw" value={ "rooms:" (name) };
                    input type="hidden" name="line" value=(name);
                    input type="hidden" name="back" value=(here);
                    input type="hidden" name="form" value=(here);
                    h2 { "Its control points" }
                    (crate::frame::ledger("Control points", &control::table(&picked.handles)))
                    p.actions {
                        button.primary type="submit" { "Review the change" }
                        span #verdict role="status" {}
                    }
                    div #all-notes.notes {}
                    div #elsewhere.notes {}
                }
            }
            h2 { "What depends on it" }
            (track::dependents(railroad, picked.line, &picked.again))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    const LINE: &str = "Whistle Ledge / main";

    fn fields(page: &Rooms) -> Vec<(String, String)> {
        let picked = page.picked.as_ref().unwrap();
        let mut form: Vec<(String, String)> = picked
            .handles
            .iter()
            .flat_map(|handle| &handle.fields)
            .map(|field| (field.name.clone(), field.text.clone()))
            .collect();
        form.push(("file".into(), picked.file.clone()));
        form.push(("line".into(), LINE.into()));
        form
    }

    #[test]
    fn every_center_line_is_drawn_and_can_be_picked() {
        let office = example();
        let ask = ask(&office, "/rooms", &[], &[]);
        let page = whole(&ask, &Rooms::of(&ask).unwrap());
        let now = office.now();
        let located = &now.loaded.railroad.way.located;
        assert!(located.described.len() > 5);
        assert_eq!(
            page.matches("class=\"course").count(),
            located.laid().count()
        );
        for line in &located.described {
            let name = show::escape(&line.name.value);
            assert!(page.contains(&format!("/rooms?line={name}")), "{name}");
        }
        assert!(page.len() < 150_000, "{} bytes", page.len());
    }

    #[test]
    fn a_picked_track_has_its_control_points_and_what_depends_on_it() {
        let office = example();
        let ask = ask(&office, "/rooms", &[], &[("line", LINE)]);
        let page = Rooms::of(&ask).unwrap();
        let text = whole(&ask, &page);
        for field in [
            "v:center_lines/0/begin/at/0",
            "v:center_lines/0/begin/bearing",
            "v:center_lines/0/elements/2/tangent",
        ] {
            assert!(
                text.contains(&format!("name=\"{field}\"")),
                "{field}\n{text}"
            );
        }
        assert!(text.contains("Whistle Ledge / siding") && text.contains("Cold Saddle / main"));
    }

    #[test]
    fn a_moved_beginning_takes_with_it_what_follows_and_is_written_as_its_owner_would() {
        let office = example();
        let ask = ask(&office, "/rooms", &[], &[("line", LINE)]);
        let page = Rooms::of(&ask).unwrap();
        let now = office.now();
        let mut form = fields(&page);
        form.push(("point".into(), "begin".into()));
        form.push(("x".into(), "0.0508".into()));
        let answer = try_move(&now.loaded, &now.folder, &form).unwrap();
        assert_eq!(answer["fields"]["v:center_lines/0/begin/at/0"], "1 ft 8 in");
        assert_eq!(
            answer["fields"]["v:center_lines/0/begin/at/1"],
            "23 ft 6 in"
        );
        let drawing = answer["drawing"].as_str().unwrap();
        // The course it had stays faintly in sight, also of what is laid anew.
        let anew = page.picked.as_ref().unwrap().again.len();
        assert!(anew > 4);
        assert_eq!(drawing.matches("class=\"ghost\"").count(), anew);
        // The same values written into the folder give the same drawing.
        for (name, value) in answer["fields"].as_object().unwrap() {
            if let Some(field) = form.iter_mut().find(|(key, _)| key == name) {
                value.as_str().unwrap().clone_into(&mut field.1);
            }
        }
        let document = Document::open(
            "alignments/hill.toml",
            now.folder.get("alignments/hill.toml").unwrap(),
        )
        .unwrap();
        let changes = crate::forms::changes::changes(&document, &form);
        assert_eq!(changes.edits.len(), 1);
        let outcome = office.at_desk(|desk| crate::forms::desk::outcome(desk, &document, changes));
        let crate::forms::desk::Outcome::Proposed(proposal) = outcome else {
            panic!("{outcome:?}");
        };
        let then = redraw(&proposal.loaded.railroad, &now.loaded.railroad, LINE).unwrap();
        assert_eq!(then, drawing);
    }

    #[test]
    fn an_end_that_is_missed_is_told_at_once() {
        let mut folder = railroad::Folder::built_in("smallest").unwrap();
        let text = "[[center_lines]]\nname = \"lead\"\nbegin = { at = [\"1 ft\", \"2 ft\"], bearing = 90 }\n\
            elements = [{ tangent = \"4 ft\" }]\nend = { at = [\"5 ft\", \"2 ft\"], bearing = 90 }\n";
        folder.insert("alignments/yard.toml", text.as_bytes().to_vec());
        let loaded = railroad::load(&folder);
        let form = |by: &str| {
            [
                ("file", "alignments/yard.toml"),
                ("line", "lead"),
                ("point", "e0"),
                ("along", by),
            ]
            .map(|(name, value)| (name.to_owned(), value.to_owned()))
        };
        let words = |by: &str| {
            let answer = try_move(&loaded, &folder, &form(by)).unwrap();
            answer["words"].as_array().unwrap().len()
        };
        assert_eq!(words("0"), 0);
        assert_eq!(words("0.0254"), 1);
    }
}
