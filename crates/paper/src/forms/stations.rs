//! The station list: every station by line and mile, with what its tracks hold and what is there.

use drawing::track_chart::{self, ChartStation};
use engineering::{ids::LineId, station::TrackUse};
use railroad::Railroad;
use serde::Serialize;

use crate::{
    form::{Form, Sheet},
    words::Wording,
};

/// What the station list says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stations {
    /// A table for each line.
    pub lines: Vec<Line>,
    /// At the foot.
    pub note: String,
}

/// A line's stations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// The line's name.
    pub name: String,
    /// By mile.
    pub stations: Vec<Row>,
}

/// A station's row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Scheduled mile, to the tenth.
    pub mile: String,
    /// Name.
    pub name: String,
    /// Telegraph call.
    pub call: String,
    /// How many cars its longest siding holds.
    pub siding: String,
    /// How many cars its other tracks hold together.
    pub other: String,
    /// What is there.
    pub facilities: String,
}

impl Form for Stations {
    const SHEET: Sheet = Sheet {
        path: "stations.typ",
        text: include_str!("../../forms/stations.typ"),
    };
    const TITLE: &'static str = "stations-title";

    fn page(&self) -> String {
        "/stations".into()
    }
}

impl Stations {
    /// The list of a railroad.
    pub fn new(railroad: &Railroad, wording: &Wording) -> Self {
        let lines = (0..railroad.way.lines.len())
            .map(|at| {
                let facts = track_chart::facts(railroad, LineId(at as u32));
                Line {
                    name: railroad.way.lines[at].name.value.clone(),
                    stations: facts
                        .stations
                        .iter()
                        .map(|station| row(station, wording))
                        .collect(),
                }
            })
            .collect();
        Self {
            lines,
            note: wording.at("stations-note").to_owned(),
        }
    }
}

/// How many cars a station's longest siding holds, if it has one.
pub(super) fn longest_siding(station: &ChartStation) -> Option<u32> {
    station
        .tracks
        .iter()
        .filter(|track| track.usage == TrackUse::Siding)
        .map(|track| track.cars)
        .max()
}

fn row(station: &ChartStation, wording: &Wording) -> Row {
    let siding = longest_siding(station);
    let other: u32 = station
        .tracks
        .iter()
        .filter(|track| track.usage != TrackUse::Siding && track.usage.holds_cars())
        .map(|track| track.cars)
        .sum();
    let facilities: Vec<&str> = station
        .facilities
        .iter()
        .map(|facility| facility.word())
        .collect();
    Row {
        mile: station
            .mile
            .map_or_else(String::new, |mile| format!("{mile:.1}")),
        name: station.name.clone(),
        call: station.call.clone().unwrap_or_default(),
        siding: siding.map_or_else(
            || wording.at("no-siding").to_owned(),
            |cars| cars.to_string(),
        ),
        other: other.to_string(),
        facilities: facilities.join(", "),
    }
}
