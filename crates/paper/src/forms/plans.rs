//! Station plans: each town's tracks, switches and spots, with what each track holds.

use railroad::Railroad;
use serde::Serialize;

use crate::form::{Form, Sheet};

/// Plans of some stations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plans {
    /// In the order of the lines and miles.
    pub stations: Vec<Plan>,
}

/// A station's plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// The station.
    pub station: String,
    /// The drawing's file.
    pub drawing: String,
    /// Its tracks that hold cars.
    pub tracks: Vec<TrackRow>,
}

/// A track.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrackRow {
    /// Name.
    pub track: String,
    /// Use.
    pub usage: String,
    /// Usable length.
    pub length: String,
    /// Cars.
    pub cars: String,
    /// Spots.
    pub spots: String,
}

impl Form for Plans {
    const SHEET: Sheet = Sheet {
        path: "plans.typ",
        text: include_str!("../../forms/plans.typ"),
    };
    const TITLE: &'static str = "plans-title";

    fn page(&self) -> String {
        "/stations".into()
    }
}

impl Plans {
    /// The plans of all stations, or of one, with the drawings they refer to.
    pub fn new(railroad: &Railroad, only: Option<&str>) -> (Self, Vec<(String, String)>) {
        let units = railroad.identity.units;
        let mut drawings = vec![];
        let mut stations: Vec<Plan> = vec![];
        for (line, _) in railroad.way.lines() {
            let facts = drawing::track_chart::facts(railroad, line);
            for station in &facts.stations {
                let first_of = railroad
                    .way
                    .find_station(&station.name)
                    .and_then(|id| railroad.way.station(id).line());
                if first_of != Some(line) || only.is_some_and(|only| only != station.name) {
                    continue;
                }
                let file = format!("plan-{}", stations.len());
                let svg = drawing::track_chart::station(&facts, &station.name, units, 180.0);
                drawings.extend(svg.map(|svg| (file.clone(), svg)));
                stations.push(Plan {
                    station: station.name.clone(),
                    drawing: file,
                    tracks: station
                        .tracks
                        .iter()
                        .filter(|track| track.usage.holds_cars())
                        .map(|track| TrackRow {
                            track: track.name.clone(),
                            usage: track.usage.word().to_owned(),
                            length: units.show(track.usable),
                            cars: track.cars.to_string(),
                            spots: track.spots.join(", "),
                        })
                        .collect(),
                });
            }
        }
        (Self { stations }, drawings)
    }
}
