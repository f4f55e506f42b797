//! Tracks and cars as the books know them.

use engineering::{ids::TrackRef, station::StationKind};
use model::units::Actual;
use traffic::books::{CarGround, Ground, TrackGround};

use crate::Railroad;

/// The railroad's tracks and cars, for keeping books. Cars may stand on every track of staging, and
/// elsewhere on those that are not kept clear. A car without a length takes as much as the others do on
/// the mean.
pub fn ground(railroad: &Railroad) -> Ground {
    let way = &railroad.way;
    let lengths: Vec<Actual> = railroad
        .roster
        .cars
        .iter()
        .filter_map(|car| car.length.map(|length| length.value))
        .collect();
    let mean = match lengths.len() {
        0 => Actual::ZERO,
        count => lengths.iter().copied().sum::<Actual>() / count as f64,
    };
    Ground {
        tracks: way
            .stations()
            .map(|(station, page)| {
                page.tracks()
                    .map(|(track, on)| {
                        let id = TrackRef { station, track };
                        TrackGround {
                            name: way.track_name(id),
                            room: railroad.network.usable(way, id).length,
                            spots: on.spots.len(),
                            holds_cars: on.usage.holds_cars() || page.kind == StationKind::Staging,
                        }
                    })
                    .collect()
            })
            .collect(),
        cars: railroad
            .roster
            .cars
            .iter()
            .map(|car| CarGround {
                name: car.name.value.clone(),
                length: car.length.map_or(mean, |length| length.value),
            })
            .collect(),
    }
}
