//! The books as the folder leaves them.

use std::sync::Arc;

use engineering::ids::TrackRef;
use mechanical::{CarId, CarState};
use traffic::{
    Place,
    books::{Books, Moment, Waiting, Whereabouts},
};

use super::ground;
use crate::Railroad;

/// Opens the books: cars stand where the car record says. On a track with spots they are put at those
/// that their shippers use, from the beginning of the track. Cars for which the track has no room stay
/// aside, and are given back: `sawby check` reports them.
pub fn open(railroad: &Railroad) -> (Books, Vec<CarId>) {
    let ground = Arc::new(ground(railroad));
    let mut books = Books::new(ground, railroad.roster.car_ids().map(|(id, _)| id));
    let mut left = vec![];
    for (car, page) in railroad.roster.car_ids() {
        if !page.state.on_the_railroad() {
            continue;
        }
        if page.at.is_none() {
            if let Some(off) = off(railroad, car) {
                // Nothing stands in the way of a car that is not on the railroad.
                let _ = books.found(&[(car, off)], Moment::midnight(0));
            }
            continue;
        }
        let Some(track) = page
            .at
            .as_ref()
            .and_then(|at| railroad.way.find_track(&at.value))
        else {
            continue;
        };
        let spot = spot(railroad, &books, car, track);
        let at = match spot {
            Some(spot) => books.place_for_spot(track, spot),
            None => books.standing(track).len(),
        };
        let there = Whereabouts::Track { track, spot, at };
        if books.found(&[(car, there)], Moment::midnight(0)).is_err() {
            left.push(car);
            continue;
        }
        let waiting = match page.state {
            CarState::BadOrder => Waiting::Repairs,
            _ => Waiting::Order,
        };
        books.remark(car, Some(waiting));
    }
    (books, left)
}

/// A car that stands nowhere and whose last waybill leads off the railroad is with the other road.
fn off(railroad: &Railroad, car: CarId) -> Option<Whereabouts> {
    let name = &railroad.roster.car(car).name.value;
    let last = railroad
        .traffic
        .waybills
        .iter()
        .rev()
        .find(|waybill| waybill.car.as_ref().is_some_and(|car| car.value == *name))?;
    let Some(Place::Via { name, via }) = &last.to else {
        return None;
    };
    Some(Whereabouts::Off {
        via: railroad.way.find_station(&via.value)?,
        place: Some(name.value.clone()),
        back: None,
    })
}

/// The first free spot of a track that some shipper uses for such a car.
fn spot(railroad: &Railroad, books: &Books, car: CarId, track: TrackRef) -> Option<usize> {
    let station = railroad.way.station(track.station);
    let page = railroad.way.track(track);
    let kind = railroad.roster.car(car).kind?.value;
    (0..page.spots.len()).find(|&spot| {
        let name = &page.spots[spot].value;
        let used = railroad.traffic.flows.iter().any(|flow| {
            flow.station
                .as_ref()
                .is_some_and(|at| at.value == station.name.value)
                && flow
                    .track
                    .as_ref()
                    .is_some_and(|on| on.value == page.name.value)
                && flow.car_kind.is_some_and(|wanted| wanted.value == kind)
                && (flow.spots.is_empty() || flow.spots.iter().any(|one| one.value == *name))
        });
        used && books.spot_is_free(track, spot)
    })
}
