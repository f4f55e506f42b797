//! The restaging list: what is done by hand between sessions in staging: trains that came in, with the
//! cars that go off the railroad there, and trains that begin there next time.

use engineering::{ids::StationId, station::StationKind};
use model::time::RailTime;
use serde::Serialize;

use crate::{
    form::{Form, Sheet},
    session::Session,
    words::Wording,
};

/// The list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Restaging {
    /// Each staging yard.
    pub places: Vec<Place>,
}

/// A staging yard.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Place {
    /// The station.
    pub station: String,
    /// Trains that stand there at the end of the session, by the time they came.
    pub came: Vec<Came>,
    /// Trains that begin there next session, by the time they leave.
    pub leaves: Vec<Leaves>,
}

/// A train that came.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Came {
    /// Number or symbol.
    pub train: String,
    /// When it came.
    pub time: String,
    /// On which track it stands.
    pub track: String,
    /// Its engines.
    pub power: String,
    /// Its cars, from the engine.
    pub cars: Vec<Car>,
}

/// A car of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Car {
    /// Marks and number.
    pub car: String,
    /// What it carries.
    pub lading: String,
    /// Where it goes beyond the railroad; empty if it stays.
    pub beyond: String,
}

/// A train that begins.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Leaves {
    /// Number or symbol.
    pub train: String,
    /// When it leaves.
    pub time: String,
    /// On which track it is made up; empty if its page does not say.
    pub track: String,
    /// Its engines.
    pub power: String,
}

impl Form for Restaging {
    const SHEET: Sheet = Sheet {
        path: "restaging.typ",
        text: include_str!("../../forms/restaging.typ"),
    };
    const TITLE: &'static str = "restaging-title";
}

impl Restaging {
    /// The list of a session, or of one station.
    pub fn new(session: &Session<'_>, wording: &Wording, only: Option<&str>) -> Self {
        let places = session
            .railroad
            .way
            .stations()
            .filter(|(_, station)| match only {
                Some(name) => station.name.value == name,
                None => station.kind == StationKind::Staging,
            })
            .map(|(id, station)| Place {
                station: station.name.value.clone(),
                came: came(session, wording, id),
                leaves: leaves(session, id),
            })
            .collect();
        Self { places }
    }
}

fn power(train: &transportation::Train) -> String {
    let engines: Vec<&str> = train.engines.iter().map(|e| e.value.as_str()).collect();
    engines.join(", ")
}

fn came(session: &Session<'_>, wording: &Wording, at: StationId) -> Vec<Came> {
    let name = session.station(at);
    let mut out: Vec<(Option<RailTime>, Came)> = session
        .railroad
        .service
        .train_ids()
        .filter(|(_, train)| train.to.as_ref().is_some_and(|to| to.value == name))
        .map(|(id, train)| {
            let call = session.planned(id).and_then(|plan| plan.calls.last());
            let time = call
                .map(|call| call.arrive)
                .or(train.arrive.map(|time| time.value));
            let track = call.and_then(|call| call.track).map_or_else(
                || train.to_track.as_ref().map_or("", |track| &track.value),
                |track| session.track(at, track),
            );
            let made_up = session.made_up.iter().find(|made_up| made_up.train == id);
            let cars =
                made_up
                    .and_then(|made_up| made_up.work_at(at))
                    .map_or_else(Vec::new, |work| {
                        work.set_out
                            .iter()
                            .map(|moved| {
                                let bill = session.bill(moved.bill);
                                Car {
                                    car: session.car(moved.car).name.value.clone(),
                                    lading: bill.map_or_else(String::new, |bill| {
                                        session.lading(bill, wording.at("empty"))
                                    }),
                                    beyond: bill
                                        .filter(|bill| bill.to.station == at)
                                        .and_then(|bill| bill.to.beyond.clone())
                                        .unwrap_or_default(),
                                }
                            })
                            .collect()
                    });
            let came = Came {
                train: train.symbol.value.clone(),
                time: time.map_or_else(String::new, |time| session.time(time)),
                track: track.to_owned(),
                power: power(train),
                cars,
            };
            (time, came)
        })
        .collect();
    out.sort_by(|a, b| (a.0, &a.1.train).cmp(&(b.0, &b.1.train)));
    out.into_iter().map(|(_, came)| came).collect()
}

fn leaves(session: &Session<'_>, at: StationId) -> Vec<Leaves> {
    let name = session.station(at);
    let mut out: Vec<(Option<RailTime>, Leaves)> = session
        .railroad
        .service
        .trains
        .iter()
        .filter(|train| train.from.as_ref().is_some_and(|from| from.value == name))
        .map(|train| {
            let time = train.leave.map(|time| time.value);
            let leaves = Leaves {
                train: train.symbol.value.clone(),
                time: time.map_or_else(String::new, |time| session.time(time)),
                track: train
                    .from_track
                    .as_ref()
                    .map_or_else(String::new, |track| track.value.clone()),
                power: power(train),
            };
            (time, leaves)
        })
        .collect();
    out.sort_by(|a, b| (a.0, &a.1.train).cmp(&(b.0, &b.1.train)));
    out.into_iter().map(|(_, leaves)| leaves).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_train_of_staging_is_listed() {
        let folder = railroad::Folder::built_in("example").unwrap();
        let railroad = railroad::load(&folder).railroad;
        let session = Session::blank(&railroad);
        let list = Restaging::new(&session, &Wording::english(), None);
        assert!(!list.places.is_empty());
        let staging = |end: Option<&model::Spanned<String>>| {
            end.and_then(|end| railroad.way.find_station(&end.value))
                .is_some_and(|at| railroad.way.station(at).kind == StationKind::Staging)
        };
        let trains = &railroad.service.trains;
        let ends = trains
            .iter()
            .filter(|train| staging(train.to.as_ref()))
            .count();
        let begins = trains
            .iter()
            .filter(|train| staging(train.from.as_ref()))
            .count();
        let [came, leaves] = [
            list.places.iter().map(|at| at.came.len()).sum::<usize>(),
            list.places.iter().map(|at| at.leaves.len()).sum(),
        ];
        assert!(ends > 0 && begins > 0);
        assert_eq!([came, leaves], [ends, begins]);
    }
}
