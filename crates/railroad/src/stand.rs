//! Where a car goes or comes from, in words: the same on waybills, switch lists, reports and pages.

use engineering::station::StationKind;
use traffic::Stand;

use crate::Railroad;

/// Where a car goes or comes from: `Port Corvane, pier 1 or pier 2`, `Osgrove via Farholt`, `Kellander
/// yard`.
pub fn stand(railroad: &Railroad, stand: &Stand) -> String {
    let station = railroad.way.station(stand.station);
    let at = &station.name.value;
    if let Some(beyond) = &stand.beyond {
        return if beyond == at {
            at.clone()
        } else {
            format!("{beyond} via {at}")
        };
    }
    let Some(track) = stand.tracks.first() else {
        return if station.kind == StationKind::Yard {
            format!("{at} yard")
        } else {
            at.clone()
        };
    };
    let track = station.track(*track);
    let spots: Vec<&str> = stand
        .spots
        .iter()
        .filter_map(|&spot| track.spots.get(spot))
        .map(|spot| spot.value.as_str())
        .collect();
    match spots[..] {
        [] => format!("{at}, {}", track.name.value),
        [one] => format!("{at}, {one}"),
        [first, .., last] => {
            if spots.len() == track.spots.len() {
                format!("{at}, {}", track.name.value)
            } else {
                format!("{at}, {first} to {last}")
            }
        }
    }
}
