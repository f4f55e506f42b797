//! Shippers' tracks and spots, and the cars that should fit them.

use std::collections::HashMap;

use engineering::{ids::TrackRef, station::Track};
use mechanical::{Car, CarKind};
use model::units::Actual;
use traffic::Flow;

use super::context::Context;

/// The track of a shipper's row, if there is one of that name.
pub(super) fn track_of<'a>(context: &Context<'a>, flow: &Flow) -> Option<(TrackRef, &'a Track)> {
    let station = context.station(flow.station.as_ref())?;
    let page = context.road.way.station(station);
    let track = page.find_track(&flow.track.as_ref()?.value)?;
    Some((TrackRef { station, track }, page.track(track)))
}

/// How long a spot of a track is: as written, or an even part of what the track holds.
pub(super) fn spot_length(context: &Context<'_>, id: TrackRef, track: &Track) -> Actual {
    let even = || context.usable(id) / (track.spots.len().max(1) as f64);
    track.spot_length.map_or_else(even, |length| length.value)
}

/// The shortest car of each kind that is on the railroad; of equals the first.
pub(super) fn shortest_by_kind<'a>(context: &Context<'a>) -> HashMap<CarKind, (Actual, &'a Car)> {
    let mut shortest: HashMap<CarKind, (Actual, &Car)> = HashMap::new();
    for car in context
        .road
        .roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad())
    {
        let (Some(kind), Some(length)) = (car.kind, car.length) else {
            continue;
        };
        let known = shortest.entry(kind.value).or_insert((length.value, car));
        if length.value < known.0 {
            *known = (length.value, car);
        }
    }
    shortest
}
