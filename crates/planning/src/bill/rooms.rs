//! Room on the tracks where cars are put.

use std::collections::HashMap;

use engineering::{
    ids::{StationId, TrackRef},
    station::{StationKind, TrackUse},
};
use model::units::Actual;
use railroad::Railroad;
use traffic::{
    Stand,
    books::{Books, Whereabouts},
};

use super::trains::size_up;
use crate::routing::Room;

/// A room: spots of a track, the length of a track, or the length of several tracks together.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Key {
    Spots(TrackRef, Vec<usize>),
    Length(TrackRef),
    Together(Vec<TrackRef>),
}

/// The rooms of a session.
pub(super) struct Rooms {
    keys: Vec<Key>,
    by_key: HashMap<Key, usize>,
    /// For each track the rooms it is part of.
    of_track: HashMap<TrackRef, Vec<usize>>,
    pub rooms: Vec<Room>,
}

/// The tracks of a yard, or of staging, where cars that go no farther are kept.
pub(super) fn keeping_tracks(railroad: &Railroad, station: StationId) -> Vec<TrackRef> {
    let page = railroad.way.station(station);
    let staging = page.kind == StationKind::Staging;
    page.tracks()
        .filter(|(_, track)| {
            if staging {
                track.usage == TrackUse::Staging
            } else {
                matches!(
                    track.usage,
                    TrackUse::Classification | TrackUse::ArrivalDeparture | TrackUse::Storage
                )
            }
        })
        .map(|(track, _)| TrackRef { station, track })
        .collect()
}

/// The tracks of a stand.
pub(super) fn tracks_of(railroad: &Railroad, stand: &Stand) -> Vec<TrackRef> {
    if stand.tracks.is_empty() {
        return keeping_tracks(railroad, stand.station);
    }
    let station = stand.station;
    stand
        .tracks
        .iter()
        .map(|&track| TrackRef { station, track })
        .collect()
}

/// The spots of a stand: those named, or all of its only track.
pub(super) fn spots_of(books: &Books, stand: &Stand, tracks: &[TrackRef]) -> Vec<usize> {
    let [track] = tracks else {
        return vec![];
    };
    if stand.spots.is_empty() {
        let count = books.ground().track(*track).map_or(0, |track| track.spots);
        (0..count).collect()
    } else {
        let mut spots = stand.spots.clone();
        spots.sort_unstable();
        spots
    }
}

impl Rooms {
    /// The rooms that any of these stands needs, with what is free now.
    pub fn new<'a>(
        railroad: &Railroad,
        books: &Books,
        stands: impl IntoIterator<Item = &'a Stand>,
    ) -> Self {
        let mut all = Self {
            keys: vec![],
            by_key: HashMap::new(),
            of_track: HashMap::new(),
            rooms: vec![],
        };
        for stand in stands {
            let tracks = tracks_of(railroad, stand);
            let spots = spots_of(books, stand, &tracks);
            for key in keys(&tracks, &spots) {
                all.declare(books, key);
            }
        }
        all
    }

    fn declare(&mut self, books: &Books, key: Key) {
        if self.by_key.contains_key(&key) {
            return;
        }
        let taken_at = |track: TrackRef, spot: usize| {
            books.standing(track).iter().any(|&car| {
                matches!(books.car(car).at, Whereabouts::Track { spot: Some(s), .. } if s == spot)
            })
        };
        let length = |tracks: &[TrackRef], free: bool| {
            let of = |&track: &TrackRef| {
                let room = books
                    .ground()
                    .track(track)
                    .map_or(Actual::ZERO, |of| of.room);
                if free {
                    room - books.taken(track)
                } else {
                    room
                }
            };
            let sum: Actual = tracks.iter().map(of).sum();
            (sum.inches().max(0.0) * 100.0 + 1e-6).floor() as i64
        };
        let (free, tracks) = match &key {
            Key::Spots(track, spots) => {
                let free = spots
                    .iter()
                    .filter(|&&spot| !taken_at(*track, spot))
                    .count();
                ([free as i64, spots.len() as i64], vec![*track])
            }
            Key::Length(track) => (
                [length(&[*track], true), length(&[*track], false)],
                vec![*track],
            ),
            Key::Together(tracks) => (
                [length(tracks, true), length(tracks, false)],
                tracks.clone(),
            ),
        };
        let number = self.rooms.len();
        self.rooms.push(Room { free });
        for track in tracks {
            self.of_track.entry(track).or_default().push(number);
        }
        self.by_key.insert(key.clone(), number);
        self.keys.push(key);
    }

    /// What a car needs that is put at a stand: every set of spots that holds all it may be put at.
    pub fn needs(
        &self,
        railroad: &Railroad,
        books: &Books,
        stand: &Stand,
        length: Actual,
    ) -> Vec<(usize, i64)> {
        let tracks = tracks_of(railroad, stand);
        let spots = spots_of(books, stand, &tracks);
        let inches = size_up(length.inches() * 100.0);
        match tracks[..] {
            [track] => self
                .of_track
                .get(&track)
                .into_iter()
                .flatten()
                .filter_map(|&room| match &self.keys[room] {
                    Key::Spots(_, set) => (!spots.is_empty()
                        && spots.iter().all(|spot| set.contains(spot)))
                    .then_some((room, 1)),
                    Key::Length(_) | Key::Together(_) => Some((room, inches)),
                })
                .collect(),
            _ => self
                .by_key
                .get(&Key::Together(tracks))
                .map(|&room| (room, inches))
                .into_iter()
                .collect(),
        }
    }

    /// What a car frees that is taken from where it stands.
    pub fn frees(&self, track: TrackRef, spot: Option<usize>, length: Actual) -> Vec<(usize, i64)> {
        let inches = (length.inches() * 100.0 + 1e-6).floor() as i64;
        self.of_track
            .get(&track)
            .into_iter()
            .flatten()
            .filter_map(|&room| match &self.keys[room] {
                Key::Spots(_, set) => spot
                    .is_some_and(|spot| set.contains(&spot))
                    .then_some((room, 1)),
                Key::Length(_) | Key::Together(_) => Some((room, inches)),
            })
            .collect()
    }

    /// The track that a room is part of, for the words.
    pub fn track(&self, room: usize) -> TrackRef {
        match &self.keys[room] {
            Key::Spots(track, _) | Key::Length(track) => *track,
            Key::Together(tracks) => tracks[0],
        }
    }

    /// Takes some of a room for a car that is put there without a train; whether there is so much.
    pub fn take(&mut self, needs: &[(usize, i64)]) -> bool {
        let fits = needs
            .iter()
            .all(|&(room, amount)| self.rooms[room].free[0] >= amount);
        if fits {
            for &(room, amount) in needs {
                self.rooms[room].free[0] -= amount;
            }
        }
        fits
    }

    /// Gives back what a car leaves that is moved without a train.
    pub fn give(&mut self, frees: &[(usize, i64)]) {
        for &(room, amount) in frees {
            self.rooms[room].free[0] += amount;
        }
    }
}

fn keys(tracks: &[TrackRef], spots: &[usize]) -> Vec<Key> {
    match tracks {
        [] => vec![],
        [track] if spots.is_empty() => vec![Key::Length(*track)],
        [track] => vec![Key::Spots(*track, spots.to_vec()), Key::Length(*track)],
        tracks => vec![Key::Together(tracks.to_vec())],
    }
}
