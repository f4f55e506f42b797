//! Scenes: real places that the model shows.

mod page;
pub mod rules;

use model::{
    Span, Spanned,
    text::Record,
    units::{Actual, Prototype},
};

pub use page::PAGE;

use crate::{ids::StationId, line::word, way::Lookup};

model::words! {
    /// How far the work on a scene has come.
    pub enum Status {
        Idea = "idea", "not begun";
        Benchwork = "benchwork", "the frame stands";
        TrackLaid = "track laid", "the track lies on it";
        Wired = "wired", "trains can run";
        SceneryBegun = "scenery begun", "the land takes shape";
        Finished = "finished", "nothing more is planned";
    }
}

/// A scene.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Its name.
    pub name: Spanned<String>,
    /// The real place.
    pub place: Option<String>,
    /// Its station as written.
    pub station: Option<Spanned<String>>,
    /// Its station.
    pub station_id: Option<StationId>,
    /// Length of the real place along the track.
    pub full_size_length: Option<Spanned<Prototype>>,
    /// Length on the model.
    pub model_length: Option<Spanned<Actual>>,
    /// How far the work has come.
    pub status: Status,
    /// Photographs, maps, measurements.
    pub sources: Vec<String>,
    /// What is left to do.
    pub work: Vec<String>,
    /// The owner's note.
    pub note: Option<String>,
    /// Where it stands.
    pub span: Span,
}

/// The scenes of a page.
pub(crate) fn build(page: &Record, stations: &Lookup<StationId>) -> Vec<Scene> {
    let texts = |record: &Record, key| {
        record
            .texts(key)
            .iter()
            .map(|t| t.value.to_owned())
            .collect()
    };
    page.named("scenes")
        .iter()
        .map(|(name, record)| {
            let station = word(record, "station");
            Scene {
                name: name.clone(),
                place: record.text("place").map(|text| text.value.to_owned()),
                station_id: station
                    .as_ref()
                    .and_then(|station| stations.find(&station.value)),
                station,
                full_size_length: record.full_size("full_size_length"),
                model_length: record.length("model_length"),
                status: record
                    .word("status")
                    .and_then(|w| Status::from_word(w.value))
                    .unwrap_or(Status::Idea),
                sources: texts(record, "sources"),
                work: texts(record, "work"),
                note: record.text("note").map(|text| text.value.to_owned()),
                span: record.span,
            }
        })
        .collect()
}
