//! The dispatcher's train sheet: every train a column, every station a row, with what is due and room
//! for what happens.

use model::time::RailTime;
use serde::Serialize;

use crate::{
    form::{Form, Sheet},
    session::Session,
    sheet::Size,
};

/// A train sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrainSheet {
    /// A page for every line and as many trains as fit across.
    pub pages: Vec<Page>,
}

/// A page of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Page {
    /// The line.
    pub line: String,
    /// The trains, by when they leave.
    pub trains: Vec<Head>,
    /// The stations, by mile.
    pub stations: Vec<Row>,
}

/// Head of a train's column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Head {
    /// Number or symbol.
    pub symbol: String,
    /// Direction.
    pub direction: String,
    /// Class; 0 for an extra.
    pub class: i64,
    /// Its engines.
    pub power: String,
}

/// A station's row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// The station.
    pub station: String,
    /// Telegraph call.
    pub call: String,
    /// When each train is there by the plan or the timetable; empty if it does not come by.
    pub due: Vec<String>,
}

impl Form for TrainSheet {
    const SHEET: Sheet = Sheet {
        path: "train-sheet.typ",
        text: include_str!("../../forms/train-sheet.typ"),
    };
    const TITLE: &'static str = "train-sheet-title";

    fn page(&self) -> String {
        "/diagram".into()
    }
}

/// Trains to a page: so many columns of 17 mm beside 42 mm for the stations.
fn across(size: Size) -> usize {
    (((size.width_mm * 0.88 - 42.0) / 17.0) as usize).max(1)
}

struct Run {
    head: Head,
    begins: RailTime,
    /// Station and time.
    calls: Vec<(String, RailTime)>,
}

impl TrainSheet {
    /// The sheet of a session: by the plan if there is one, else by the timetable.
    pub fn new(session: &Session<'_>, size: Size) -> Self {
        let mut runs = runs(session);
        runs.sort_by(|a, b| (a.begins, &a.head.symbol).cmp(&(b.begins, &b.head.symbol)));
        let mut pages = vec![];
        for (id, line) in session.railroad.way.lines() {
            let stations: Vec<_> = session
                .railroad
                .way
                .line_stations(id)
                .iter()
                .map(|&station| session.railroad.way.station(station))
                .collect();
            let here: Vec<&Run> = runs
                .iter()
                .filter(|run| {
                    run.calls
                        .iter()
                        .filter(|(at, _)| stations.iter().any(|s| s.name.value == *at))
                        .count()
                        > 1
                })
                .collect();
            for trains in here.chunks(across(size)) {
                pages.push(Page {
                    line: line.name.value.clone(),
                    trains: trains.iter().map(|run| run.head.clone()).collect(),
                    stations: stations
                        .iter()
                        .map(|station| Row {
                            station: station.name.value.clone(),
                            call: station
                                .call
                                .as_ref()
                                .map_or_else(String::new, |call| call.value.clone()),
                            due: trains
                                .iter()
                                .map(|run| {
                                    run.calls
                                        .iter()
                                        .find(|(at, _)| *at == station.name.value)
                                        .map_or_else(String::new, |&(_, time)| session.time(time))
                                })
                                .collect(),
                        })
                        .collect(),
                });
            }
        }
        Self { pages }
    }
}

fn runs(session: &Session<'_>) -> Vec<Run> {
    let power = |train: &transportation::Train| {
        let engines: Vec<&str> = train.engines.iter().map(|e| e.value.as_str()).collect();
        engines.join(", ")
    };
    if let Some(plan) = session.plan {
        return plan
            .trains
            .iter()
            .filter_map(|train| {
                Some(Run {
                    head: Head {
                        symbol: train.symbol.clone(),
                        direction: train.direction.clone(),
                        class: if train.extra { 0 } else { train.class },
                        power: train
                            .train
                            .map_or_else(String::new, |id| power(session.train(id))),
                    },
                    begins: train.calls.first()?.leave,
                    calls: train
                        .calls
                        .iter()
                        .map(|call| (session.station(call.station).to_owned(), call.leave))
                        .collect(),
                })
            })
            .collect();
    }
    session
        .railroad
        .service
        .trains
        .iter()
        .filter_map(|train| {
            Some(Run {
                head: Head {
                    symbol: train.symbol.value.clone(),
                    direction: train
                        .direction
                        .as_ref()
                        .map_or_else(String::new, |way| way.value.clone()),
                    class: train.class.map_or(0, |class| class.value),
                    power: power(train),
                },
                begins: train.leave?.value,
                calls: train
                    .times()
                    .iter()
                    .filter_map(|place| {
                        let time = place.leave.or(place.arrive)?.value;
                        Some((place.station?.value.clone(), time))
                    })
                    .collect(),
            })
        })
        .collect()
}
