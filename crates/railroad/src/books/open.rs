//! The books as the folder leaves them.

use std::sync::Arc;

use engineering::ids::TrackRef;
use mechanical::{CarId, CarState};
use traffic::books::{Books, Moment, Waiting, Whereabouts};

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
