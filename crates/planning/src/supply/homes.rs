//! By which way other roads' cars go home.

use std::collections::BTreeMap;

use engineering::{
    ids::StationId,
    station::{StationKind, TrackUse},
};
use railroad::Railroad;
use traffic::Place;

/// For each foreign road's marks the staging or interchange by which its cars go home.
///
/// What the owner says of the road holds, where it names such a station. Else it is the one by which the
/// road's cars came or went most often in the waybills kept; else the one where most of its cars stand.
pub fn homes(railroad: &Railroad) -> BTreeMap<String, StationId> {
    let way = &railroad.way;
    let gateways: Vec<StationId> = way
        .stations()
        .filter(|(_, page)| {
            page.kind == StationKind::Staging
                || page
                    .tracks
                    .iter()
                    .any(|track| track.usage == TrackUse::Interchange)
        })
        .map(|(id, _)| id)
        .collect();
    let shop = railroad::shop(railroad);
    // Votes in two ranks: by waybills, then by where cars stand.
    let mut votes: BTreeMap<&str, BTreeMap<StationId, [usize; 2]>> = BTreeMap::new();
    for waybill in &railroad.traffic.waybills {
        let car = waybill
            .car
            .as_ref()
            .and_then(|car| railroad.roster.find_car(&car.value));
        let Some(car) = car else { continue };
        for place in [&waybill.from, &waybill.to] {
            if let Some(Place::Via { via, .. }) = place
                && let Some(station) = way.find_station(&via.value)
            {
                let marks = railroad.roster.car(car).marks.value.as_str();
                votes.entry(marks).or_default().entry(station).or_default()[0] += 1;
            }
        }
    }
    for car in &railroad.roster.cars {
        if let Some(track) = car.at.as_ref().and_then(|at| way.find_track(&at.value))
            && gateways.contains(&track.station)
        {
            let marks = car.marks.value.as_str();
            votes
                .entry(marks)
                .or_default()
                .entry(track.station)
                .or_default()[1] += 1;
        }
    }
    let mut homes = BTreeMap::new();
    for car in railroad
        .roster
        .cars
        .iter()
        .filter(|car| car.is_foreign(&shop))
    {
        let marks = car.marks.value.as_str();
        if homes.contains_key(marks) {
            continue;
        }
        let said = railroad
            .identity
            .roads
            .iter()
            .find(|road| road.marks == marks)
            .and_then(|road| road.about.as_ref())
            .and_then(|about| {
                gateways
                    .iter()
                    .copied()
                    .find(|&station| about.contains(&way.station(station).name.value))
            });
        let voted = votes.get(marks).and_then(|votes| {
            votes
                .iter()
                .max_by_key(|(station, votes)| (**votes, std::cmp::Reverse(**station)))
                .map(|(station, _)| *station)
        });
        if let Some(home) = said.or(voted) {
            homes.insert(marks.to_owned(), home);
        }
    }
    homes
}
