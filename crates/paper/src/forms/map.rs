//! The map of the lines: which stations there are, in order, and where lines join.

use railroad::Railroad;
use serde::Serialize;

use crate::form::{Form, Sheet};

/// The map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Map {
    /// The drawing's file; empty for a railroad without stations.
    pub drawing: String,
    /// Names of the lines.
    pub lines: Vec<String>,
}

impl Form for Map {
    const SHEET: Sheet = Sheet {
        path: "map.typ",
        text: include_str!("../../forms/map.typ"),
    };
    const TITLE: &'static str = "map-title";

    fn page(&self) -> String {
        "/track-chart".into()
    }
}

impl Map {
    /// The map of a railroad, and its drawing.
    pub fn new(railroad: &Railroad) -> (Self, Vec<(String, String)>) {
        let drawing = drawing::line_map::draw(&drawing::line_map::facts(railroad));
        let lines = railroad
            .way
            .lines()
            .map(|(_, line)| line.name.value.clone())
            .collect();
        let name = if drawing.is_some() { "line-map" } else { "" };
        (
            Self {
                drawing: name.to_owned(),
                lines,
            },
            drawing
                .map(|svg| (name.to_owned(), svg))
                .into_iter()
                .collect(),
        )
    }
}
