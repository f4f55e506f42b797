//! A town's track arrangement, drawn and changed as a diagram.

use std::sync::Arc;

use engineering::ids::StationId;
use maud::{Markup, PreEscaped, html};
use railroad::{Loaded, Railroad, edit::Step};

use super::{Lack, station};
use crate::{
    forms::{
        desk::mark,
        document::Document,
        fields::Sheet,
        notes::{Notes, beside, notes},
    },
    frame::{Ask, Page},
    ink::{self, How},
    show,
};

/// The diagram and the fields of its tracks and switches.
#[derive(Debug)]
pub struct TownPage {
    loaded: Arc<Loaded>,
    id: StationId,
    drawing: String,
    document: Document,
    mark: String,
    notes: Notes,
}

impl TownPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let id = station::find(railroad, ask.param("name"))?;
        let file = station::file(ask.loaded(), id);
        let bytes = ask.now.folder.get(&file).unwrap_or_default();
        let document = Document::open(&file, bytes).ok_or_else(|| Lack::page(&ask.path))?;
        Ok(Self {
            drawing: draw(railroad, id),
            notes: notes(&document, ask.loaded(), &ask.loaded().diagnostics),
            mark: mark(bytes),
            loaded: ask.now.loaded.clone(),
            id,
            document,
        })
    }
}

fn draw(railroad: &Railroad, id: StationId) -> String {
    let [low, high] = station::ways_out(railroad, id);
    let standing = station::standing(railroad, id, &railroad::books::open(railroad).0);
    station::chart(railroad, id).map_or_else(String::new, |chart| {
        ink::town(&chart, [&low, &high], &standing, How { editable: true })
    })
}

/// The diagram of a town of a railroad as it would be.
pub fn redraw(railroad: &Railroad, name: &str) -> Option<String> {
    railroad.way.find_station(name).map(|id| draw(railroad, id))
}

impl Page for TownPage {
    fn title(&self) -> String {
        format!(
            "Tracks of {}",
            self.loaded.railroad.way.station(self.id).name.value
        )
    }

    fn document(&self) -> &'static str {
        "/stations"
    }

    fn scripts(&self) -> &'static [&'static str] {
        &["town.js"]
    }

    fn wide(&self) -> bool {
        true
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let name = railroad.way.station(self.id).name.value.as_str();
        let sheet = Sheet::new(&self.document, &self.notes);
        let records = |key: &str| -> Vec<(String, Vec<Step>)> {
            let path = [Step::Key(key.to_owned())];
            self.document
                .names(&path)
                .into_iter()
                .map(|name| {
                    let path = vec![Step::Key(key.to_owned()), Step::Key(name.to_owned())];
                    (name.to_owned(), path)
                })
                .collect()
        };
        let table = |key: &str| {
            self.document
                .page
                .table
                .fields
                .iter()
                .find(|field| field.key == key)
                .and_then(|field| match field.kind {
                    model::text::Kind::Named(_, table) => Some(table),
                    _ => None,
                })
        };
        html! {
            form #form.edit method="post" action="/review" data-check="/check" {
                input type="hidden" name="file" value=(self.document.file);
                input type="hidden" name="mark" value=(self.mark);
                input type="hidden" name="draw" value=(name);
                input type="hidden" name="back" value=(show::url(&["stations", name]));
                input type="hidden" name="form" value=(show::url(&["stations", name, "tracks"]));
                p.lead {
                    "Pick a track or a switch to come to its fields. A switch picked is moved along its track by dragging, or "
                    "with the arrow keys; a track is lengthened with + and shortened with \u{2212}. "
                    "Nothing is written before you have seen the change."
                }
                div.drawing #town role="region" aria-label={ "The tracks of " (name) } tabindex="0" { (PreEscaped(&self.drawing)) }
                p #picked.picked role="status" {}
                (beside("", &self.notes))
                div #elsewhere.notes {}
                p.actions {
                    button.primary type="submit" { "Review the change" }
                    span #verdict role="status" {}
                }
                fieldset.collection {
                    legend { "switches" }
                    @if let Some(table) = table("switches") { (sheet.grid(table, &records("switches"), true, "switches", true)) }
                }
                fieldset.collection {
                    legend { "tracks" }
                    @if let Some(table) = table("tracks") { (sheet.grid(table, &records("tracks"), true, "tracks", true)) }
                }
                p.hint {
                    "A new track that leaves another: write a switch in the last line of the switches, and a track "
                    code { "from" } " that switch in the last line of the tracks; both are made together."
                }
            }
            (sheet.names(railroad))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_track_and_switch_has_its_fields_under_the_diagram() {
        let office = example();
        let ask = ask(
            &office,
            "/stations/Sandrill/tracks",
            &[("name", "Sandrill")],
            &[],
        );
        let page = whole(&ask, &TownPage::of(&ask).unwrap());
        for field in [
            "v:switches/r2/at",
            "v:tracks/siding/length",
            "n:tracks:",
            "n:switches:on",
        ] {
            assert!(page.contains(&format!("name=\"{field}\"")), "{field}");
        }
        assert!(page.contains("data-switch=\"r2\""));
    }
}
