//! What the shippers of a town, and the roads that interchange there, want of the trains in a day.

use engineering::{
    ids::{StationId, TrackId},
    station::TrackUse,
};
use mechanical::CarKind;
use railroad::Railroad;
use traffic::{Does, Flow, Place};

use super::visit::{Visit, end_toward, has_yard};

/// A stream of cars through a town: each comes, stands a while, and goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// Whose.
    pub who: String,
    /// What, for the words.
    pub commodity: String,
    /// The tracks on which it is loaded or unloaded, or handed over: the first is preferred.
    pub tracks: Vec<TrackId>,
    /// At which spots of the first track, by number; empty if the track has none.
    pub spots: Vec<usize>,
    /// In which kind of car.
    pub kind: CarKind,
    /// Cars brought in a day on which trains run.
    pub brought: f64,
    /// Cars that come to stand here otherwise than by our trains: from the other road.
    pub handed: f64,
    /// How long a car stands, seconds of the railroad's clock.
    pub dwell: i64,
    /// Whether cars go on by our trains; else they are gone by the next day.
    pub returns: bool,
    /// Toward which station it goes, loaded; `None` for empties, which go to whichever yard.
    pub toward: Option<StationId>,
    /// From which it comes.
    pub from: Option<StationId>,
    /// Served first when room is short: 1 before 2.
    pub priority: i64,
}

/// All demands on a town, in the order of the shippers' page. `days` is in how many days of a week
/// trains bring cars.
pub fn demands(railroad: &Railroad, station: StationId, days: f64) -> Vec<Demand> {
    let month = railroad.identity.date.map(|date| date.value.month());
    let page = railroad.way.station(station);
    let name = &page.name.value;
    let mut out = vec![];
    for flow in &railroad.traffic.flows {
        if month.is_some_and(|month| !flow.season.contains(month)) {
            continue;
        }
        let at = flow.station.as_ref().map(|at| at.value.as_str());
        if at == Some(name) {
            out.extend(of_shipper(railroad, station, flow, days));
        } else if let Some(Place::Via { via, .. }) = &flow.place
            && via.value == *name
        {
            out.extend(of_interchange(railroad, station, flow, days));
        }
    }
    out
}

fn rate(flow: &Flow, days: f64) -> f64 {
    flow.cars_per_week.map_or(0.0, |cars| cars.value.max(0.0)) / days.max(1.0)
}

fn station_of(railroad: &Railroad, place: Option<&Place>) -> Option<StationId> {
    let name = match place? {
        Place::Named(name) => name,
        Place::Via { via, .. } => via,
    };
    railroad.way.find_station(&name.value)
}

fn words(flow: &Flow) -> (String, String, CarKind, Does) {
    (
        flow.shipper_name
            .as_ref()
            .map_or_else(|| "a shipper".to_owned(), |name| name.value.clone()),
        flow.commodity
            .as_ref()
            .map_or_else(|| "freight".to_owned(), |what| what.value.clone()),
        flow.car_kind.map_or(CarKind::Boxcar, |kind| kind.value),
        flow.does.map_or(Does::Receives, |does| does.value),
    )
}

fn of_shipper(railroad: &Railroad, station: StationId, flow: &Flow, days: f64) -> Option<Demand> {
    let page = railroad.way.station(station);
    let track = page.find_track(&flow.track.as_ref()?.value)?;
    let all = &page.track(track).spots;
    let spots = if flow.spots.is_empty() {
        (0..all.len()).collect()
    } else {
        flow.spots
            .iter()
            .filter_map(|spot| all.iter().position(|one| one.value == spot.value))
            .collect()
    };
    let place = station_of(railroad, flow.place.as_ref());
    let (who, commodity, kind, does) = words(flow);
    let (from, toward) = match does {
        Does::Ships => (None, place),
        Does::Receives => (place, None),
    };
    Some(Demand {
        who,
        commodity,
        tracks: vec![track],
        spots,
        kind,
        brought: rate(flow, days),
        handed: 0.0,
        dwell: flow.dwell.map_or(8 * 3600, |dwell| dwell.value.seconds()),
        returns: true,
        toward,
        from,
        priority: flow.priority,
    })
}

/// A flow of a shipper elsewhere that goes over to another road here: loads (or empties) are set out
/// on the interchange tracks and fetched by the other road, and others come the other way.
fn of_interchange(
    railroad: &Railroad,
    station: StationId,
    flow: &Flow,
    days: f64,
) -> Option<Demand> {
    let page = railroad.way.station(station);
    let tracks: Vec<TrackId> = page
        .tracks()
        .filter(|(_, track)| track.usage == TrackUse::Interchange)
        .map(|(id, _)| id)
        .collect();
    if tracks.is_empty() {
        return None;
    }
    let there = railroad.way.find_station(&flow.station.as_ref()?.value)?;
    let (who, commodity, kind, _) = words(flow);
    let cars = rate(flow, days);
    Some(Demand {
        who,
        commodity,
        tracks,
        spots: vec![],
        kind,
        brought: cars,
        handed: cars,
        dwell: 0,
        returns: false,
        toward: Some(there),
        from: Some(there),
        priority: flow.priority,
    })
}

/// Which of a town's visits bring the cars of a demand, and which take them away.
///
/// Cars come with a train from a yard, or one that passes where they come from; among those with one
/// that comes from that side. They go the same way. Of equals each takes its share.
pub(crate) fn carriers(railroad: &Railroad, demand: &Demand, visits: &[Visit]) -> [Vec<usize>; 2] {
    let best = |score: &dyn Fn(&Visit) -> u32| {
        let most = visits.iter().map(score).max().unwrap_or(0);
        (0..visits.len())
            .filter(|&at| score(&visits[at]) == most)
            .collect()
    };
    let passes = |train, other: Option<StationId>| {
        let train = railroad.service.train(train);
        other.is_some_and(|other| {
            let name = &railroad.way.station(other).name.value;
            train
                .times()
                .iter()
                .any(|place| place.station.is_some_and(|at| at.value == *name))
        })
    };
    let yard = |name: Option<&model::Spanned<String>>| {
        name.and_then(|name| railroad.way.find_station(&name.value))
            .is_some_and(|station| has_yard(railroad, station))
    };
    let side = |visit: &Visit, end, other: Option<StationId>, entering| {
        other.is_some_and(|other| end_toward(railroad, visit.station, other, entering) == end)
    };
    let brings = |visit: &Visit| {
        let train = railroad.service.train(visit.train);
        let from = demand.from;
        let by_way = side(visit, Some(visit.enter), from, true);
        2 * u32::from(yard(train.from.as_ref()) || (passes(visit.train, from) && by_way))
            + u32::from(by_way)
    };
    let takes = |visit: &Visit| {
        let leaving = visit.onward.unwrap_or(visit.train);
        let train = railroad.service.train(leaving);
        let to = demand.toward;
        let by_way = side(visit, visit.leave, to, false);
        2 * u32::from(yard(train.to.as_ref()) || (passes(leaving, to) && by_way))
            + u32::from(by_way)
    };
    [best(&brings), best(&takes)]
}
