//! The books as the folder leaves them.

use std::{collections::HashMap, sync::Arc};

use engineering::ids::TrackRef;
use mechanical::{CarId, CarState};
use traffic::{
    Flow, Place,
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
    let flows = by_track(railroad);
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
        let spot = spot(railroad, &flows, &books, car, track);
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

/// The shippers' rows by station and track.
type ByTrack<'a> = HashMap<(&'a str, &'a str), Vec<&'a Flow>>;

fn by_track(railroad: &Railroad) -> ByTrack<'_> {
    let mut rows: ByTrack = HashMap::new();
    for flow in &railroad.traffic.flows {
        if let (Some(station), Some(track)) = (&flow.station, &flow.track) {
            let at = (station.value.as_str(), track.value.as_str());
            rows.entry(at).or_default().push(flow);
        }
    }
    rows
}

/// The first free spot of a track that some shipper uses for such a car.
fn spot(
    railroad: &Railroad,
    flows: &ByTrack<'_>,
    books: &Books,
    car: CarId,
    track: TrackRef,
) -> Option<usize> {
    let station = railroad.way.station(track.station);
    let page = railroad.way.track(track);
    let kind = railroad.roster.car(car).kind?.value;
    let here = flows.get(&(station.name.value.as_str(), page.name.value.as_str()))?;
    (0..page.spots.len()).find(|&spot| {
        let name = &page.spots[spot].value;
        let used = here.iter().any(|flow| {
            flow.car_kind.is_some_and(|wanted| wanted.value == kind)
                && (flow.spots.is_empty() || flow.spots.iter().any(|one| one.value == *name))
        });
        used && books.spot_is_free(track, spot)
    })
}
