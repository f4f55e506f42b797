//! Names looked up, and the books read and written by names.

use engineering::ids::{StationId, TrackId, TrackRef};
use mechanical::CarId;
use model::{diagnostic::nearest, time::RailTime};
use traffic::books::{Books, Whereabouts};

use super::State;
use crate::{
    clock::RealMillis,
    opening::{CarPlace, Opening},
    refused::{Refused, Why},
};

impl State {
    /// Railroad time at a moment of real time.
    pub fn rail(&self, now: RealMillis) -> RailTime {
        self.sheet.clock.at(now)
    }

    /// Where a car is.
    pub fn car_place(&self, car: &str) -> Option<CarPlace> {
        let at = self.opening.find_car(car)?;
        Some(place(&self.opening, &self.books, at))
    }

    /// The cars on a track, from its beginning.
    pub fn standing(&self, station: &str, track: &str) -> Vec<&str> {
        self.opening
            .track(station, track)
            .map_or_else(Vec::new, |track| {
                self.books
                    .standing(track)
                    .iter()
                    .map(|car| self.opening.cars[car.index()].name.as_str())
                    .collect()
            })
    }

    /// What is in a car.
    pub fn load_of(&self, car: &str) -> Option<&str> {
        let at = self.opening.find_car(car)?;
        let book = self.books.car(CarId(at as u32));
        book.load.as_ref().map(|load| load.commodity.as_str())
    }

    pub(super) fn train_at(&self, symbol: &str) -> Result<usize, Refused> {
        let trains = &self.sheet.trains;
        trains
            .iter()
            .position(|train| train.sheet.symbol == symbol)
            .ok_or_else(|| {
                let names = trains.iter().map(|train| train.sheet.symbol.as_str());
                unknown("train", symbol, names)
            })
    }

    pub(super) fn station_at(&self, name: &str) -> Result<usize, Refused> {
        self.opening.find_station(name).ok_or_else(|| {
            let names = self.opening.stations.iter().map(|one| one.name.as_str());
            unknown("station", name, names)
        })
    }

    pub(super) fn car_at(&self, name: &str) -> Result<usize, Refused> {
        self.opening.find_car(name).ok_or_else(|| {
            let names = self.opening.cars.iter().map(|one| one.name.as_str());
            unknown("car", name, names)
        })
    }

    pub(super) fn track_at(&self, station: usize, name: &str) -> Result<TrackRef, Refused> {
        let sheet = &self.opening.stations[station];
        let at = sheet.tracks.iter().position(|track| track.name == name);
        let Some(at) = at else {
            let names = sheet.tracks.iter().map(|one| one.name.as_str());
            let mut refused = unknown("track", name, names);
            refused.found = format!("there is no track `{name}` at {}", sheet.name);
            return Err(refused);
        };
        Ok(TrackRef {
            station: StationId(station as u32),
            track: TrackId(at as u32),
        })
    }
}

impl Opening {
    /// A track by the names of its station and its own.
    pub fn track(&self, station: &str, track: &str) -> Option<TrackRef> {
        let at = self.find_station(station)?;
        let on = self.stations[at]
            .tracks
            .iter()
            .position(|one| one.name == track)?;
        Some(TrackRef {
            station: StationId(at as u32),
            track: TrackId(on as u32),
        })
    }
}

pub(super) fn unknown<'a>(
    what: &str,
    name: &str,
    names: impl Iterator<Item = &'a str> + Clone,
) -> Refused {
    let expected = nearest(name, names).map_or_else(
        || format!("say a {what} of this session"),
        |near| format!("did you mean `{near}`?"),
    );
    Refused::new(
        Why::Unknown,
        format!("there is no {what} `{name}`"),
        expected.trim_end_matches('?').to_owned(),
    )
}

/// Where the books have a car, by names.
pub(super) fn place(opening: &Opening, books: &Books, car: usize) -> CarPlace {
    match &books.car(CarId(car as u32)).at {
        Whereabouts::Track { track, spot, at } => {
            let station = &opening.stations[track.station.index()];
            CarPlace::Track {
                station: station.name.clone(),
                track: station.tracks[track.track.index()].name.clone(),
                spot: *spot,
                place: *at,
            }
        }
        Whereabouts::Train { train, from } => CarPlace::Train {
            train: train.clone(),
            from: opening.stations[from.index()].name.clone(),
        },
        Whereabouts::Off { via, place, .. } => CarPlace::Off {
            via: opening.stations[via.index()].name.clone(),
            place: place.clone(),
        },
        Whereabouts::Aside => CarPlace::Aside,
    }
}

/// The books' words for a place; nothing if a name in it is unknown.
pub(super) fn whereabouts(opening: &Opening, place: &CarPlace) -> Option<Whereabouts> {
    let station = |name: &str| Some(StationId(opening.find_station(name)? as u32));
    Some(match place {
        CarPlace::Track {
            station,
            track,
            spot,
            place,
        } => Whereabouts::Track {
            track: opening.track(station, track)?,
            spot: *spot,
            at: *place,
        },
        CarPlace::Train { train, from } => Whereabouts::Train {
            train: train.clone(),
            from: station(from)?,
        },
        CarPlace::Off { via, place } => Whereabouts::Off {
            via: station(via)?,
            place: place.clone(),
            back: None,
        },
        CarPlace::Aside => Whereabouts::Aside,
    })
}
