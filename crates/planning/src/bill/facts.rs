//! What the judge is told of a session, taken from the railroad's pages.

use std::collections::HashMap;

use engineering::{ids::TrackRef, station::StationKind};
use traffic::{CarLoad, books::Whereabouts};
use transportation::make_up::{CallFacts, CarFacts, Facts, TrackFacts, TrainFacts};

use super::{Session, YardMove, cars::Want, trains::weights};

pub(super) fn facts(session: &Session<'_>, wants: &[Want], yard_moves: &[YardMove]) -> Facts {
    let railroad = session.railroad;
    let books = session.books;
    let loaded: HashMap<_, _> = wants
        .iter()
        .map(|want| (want.car, want.state == CarLoad::Loaded))
        .collect();
    let cars = books
        .cars()
        .iter()
        .map(|book| {
            let id = book.car;
            let (tons, weight) = weights(
                railroad,
                id,
                loaded.get(&id).copied().unwrap_or(book.load.is_some()),
            );
            let (mut track, station) = match &book.at {
                Whereabouts::Track { track, spot, .. } => {
                    (Some((*track, *spot)), Some(track.station))
                }
                // It is taken where it was taken, and the train is played from there again.
                Whereabouts::Train { from, .. } => (None, Some(*from)),
                Whereabouts::Off { .. } | Whereabouts::Aside => (None, None),
            };
            // Moved within its station before any train comes.
            if let Some(moved) = yard_moves.iter().find(|moved| moved.car == id) {
                track = Some((moved.to, moved.spot));
            }
            CarFacts {
                name: railroad.roster.car(id).name.value.clone(),
                length: books.ground().cars[id.index()].length,
                tons,
                weight,
                station,
                track,
            }
        })
        .collect();
    let mut trains = vec![None; railroad.service.trains.len()];
    for (at, day) in &session.runs {
        if *day > 0 {
            continue;
        }
        let train = &session.trains[*at];
        trains[train.id.index()] = Some(TrainFacts {
            symbol: train.symbol.clone(),
            own_length: train.own[0] + train.own[1],
            caboose: train.caboose.unwrap_or((0.0, model::units::Weight::ZERO)),
            calls: train
                .calls
                .iter()
                .enumerate()
                .map(|(call, works)| CallFacts {
                    station: works.station,
                    arrive: works.arrive,
                    leave: works.leave,
                    takes: works.takes,
                    leaves: works.leaves,
                    allowed: train.allowed.get(call).copied().unwrap_or_default(),
                })
                .collect(),
        });
    }
    let mut tracks = HashMap::new();
    for (station, page) in railroad.way.stations() {
        for (track, on) in page.tracks() {
            // Staging and the tracks of a yard without spots change as they are worked.
            if on.spots.is_empty() || page.kind == StationKind::Staging {
                continue;
            }
            let track = TrackRef { station, track };
            tracks.insert(
                track,
                TrackFacts {
                    name: railroad.way.track_name(track),
                    usable: railroad.network.usable(&railroad.way, track).length,
                    spots: on.spots.len(),
                },
            );
        }
    }
    Facts {
        cars,
        trains,
        stations: railroad
            .way
            .stations()
            .map(|(_, page)| page.name.value.clone())
            .collect(),
        cut_off: session
            .problem
            .stations
            .iter()
            .map(|station| station.cut_off)
            .collect(),
        tracks,
    }
}
