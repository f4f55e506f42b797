//! Meets planned in the timetable, within the ways of both trains.

use engineering::{
    ids::{StationId, TrackId, TrackRef},
    station::TrackUse,
};
use model::{Spanned, units::Actual};
use transportation::Train;

use super::context::{Context, TrainWay};

/// A meet of two trains at a station within both their ways.
pub(super) struct PlannedMeet<'a> {
    /// The train that names it: the first of the two, if both do.
    pub(super) train: &'a Train,
    /// The other.
    pub(super) other: &'a Train,
    /// Where it is written.
    pub(super) at: &'a Spanned<String>,
    /// The station.
    pub(super) station: StationId,
    /// The way of `train`.
    pub(super) way: &'a TrainWay,
    /// The way of `other`.
    pub(super) other_way: &'a TrainWay,
    /// Where on the way of `train` the station is.
    pub(super) place: usize,
}

/// Every such meet once. One at the end of a train's way is left out: there it may stand anywhere.
pub(super) fn meets<'a>(context: &'a Context<'_>) -> Vec<PlannedMeet<'a>> {
    let service = &context.road.service;
    let mut list = Vec::new();
    for (id, train, way) in context.trains() {
        for meet in &train.meets {
            let (Some(at), Some(name)) = (&meet.at, &meet.train) else {
                continue;
            };
            let (Some(station), Some(other_id)) =
                (context.station(Some(at)), service.find_train(&name.value))
            else {
                continue;
            };
            let other = service.train(other_id);
            let named_there = other.meets.iter().any(|theirs| {
                theirs
                    .train
                    .as_ref()
                    .is_some_and(|name| name.value == train.symbol.value)
                    && theirs
                        .at
                        .as_ref()
                        .is_some_and(|there| there.value == at.value)
            });
            let Some(other_way) = context.way_of(other_id) else {
                continue;
            };
            let first = id < other_id || (id != other_id && !named_there);
            let within = |way: &TrainWay| way.position(station).is_some() && !way.is_end(station);
            if let Some(place) = way.position(station)
                && first
                && within(way)
                && within(other_way)
            {
                list.push(PlannedMeet {
                    train,
                    other,
                    at,
                    station,
                    way,
                    other_way,
                    place,
                });
            }
        }
    }
    list
}

/// A track on which one of two trains can stand while the other goes by.
pub(super) struct Room<'a> {
    /// The train that stands.
    pub(super) train: &'a Train,
    /// The track.
    pub(super) track: TrackId,
    /// How much it holds.
    pub(super) holds: Actual,
}

/// Every such track of a station within the ways of both trains; none if it is not.
pub(super) fn rooms<'a>(
    context: &Context<'_>,
    meet: &PlannedMeet<'a>,
    station: StationId,
) -> Vec<Room<'a>> {
    let ends = |way: &TrainWay| context.ends(way, way.position(station)?);
    let (Some(ours), Some(theirs)) = (ends(meet.way), ends(meet.other_way)) else {
        return Vec::new();
    };
    // Trains that come in and go out by the same ends pass each other side by side.
    let [low, high] = theirs;
    let abreast = ours == [low, high] || ours == [high, low];
    let page = context.road.way.station(station);
    let mut rooms = Vec::new();
    for (train, stands, passes) in [(meet.train, ours, theirs), (meet.other, theirs, ours)] {
        let mut tracks = context.through_tracks(station, stands);
        // Of equals the siding is named rather than the main.
        tracks.sort_by_key(|track| page.track(*track).usage == TrackUse::Main);
        for &track in &tracks {
            if !context.passes(station, track, passes) {
                continue;
            }
            let usable = |track| context.usable(TrackRef { station, track });
            let mut holds = usable(track);
            if abreast && page.track(track).usage == TrackUse::Main {
                // A main holds no more than the siding beside it: their switches are the same. Where
                // the two are written differently, the siding's length is what people mean.
                let others = tracks.iter().filter(|other| **other != track);
                if let Some(beside) = others.map(|other| usable(*other)).reduce(Actual::max) {
                    holds = holds.min(beside);
                }
            }
            rooms.push(Room {
                train,
                track,
                holds,
            });
        }
    }
    rooms
}
