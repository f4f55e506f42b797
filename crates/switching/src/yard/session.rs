//! A yard over a whole session: trains come and go, tracks fill, and where it jams.

use crate::town::Length;

/// A classification track.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct YardTrack {
    /// Its name.
    pub name: String,
    /// Usable length.
    pub length: Length,
}

/// A cut that arrives.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrival {
    /// The train.
    pub name: String,
    /// When it can be switched, in seconds from the start of the session.
    pub at_s: u32,
    /// Its cars: block and length.
    pub cars: Vec<(usize, Length)>,
}

/// A train that departs.
#[derive(Clone, Debug, PartialEq)]
pub struct Departing {
    /// The train.
    pub name: String,
    /// When it takes its cars, in seconds from the start of the session.
    pub at_s: u32,
    /// The blocks it takes, engine first.
    pub blocks: Vec<usize>,
    /// Longest train it may be, engine not counted.
    pub most: Length,
}

/// What happens, in order of time.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// When, in seconds from the start of the session.
    pub at_s: u32,
    /// What.
    pub kind: EventKind,
}

/// Kinds of events in a yard.
#[derive(Clone, Debug, PartialEq)]
pub enum EventKind {
    /// A cut has been switched: how many cars of each block went to which track.
    Switched {
        /// The arrival.
        arrival: usize,
        /// Track, block, cars.
        put: Vec<(usize, usize, usize)>,
    },
    /// A train has left.
    Left {
        /// The departure.
        departure: usize,
        /// Cars of each of its blocks that it took, in the order of its blocks.
        took: Vec<usize>,
        /// Cars of its blocks left behind because it was full.
        left: usize,
    },
    /// Something did not fit.
    Jammed(Jam),
}

/// Why a yard jams.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Jam {
    /// No track has room for a car: it stays on the arrival track and blocks it.
    #[error(
        "{cars} cars of block {block} from arrival {arrival} find no room; the tracks lack {short} in all"
    )]
    NoRoom {
        /// The arrival.
        arrival: usize,
        /// The block.
        block: usize,
        /// Cars that found no room.
        cars: usize,
        /// Their length.
        short: Length,
    },
    /// A cut was still being switched when its train left.
    #[error(
        "departure {departure} left before arrival {arrival} was switched and missed {cars} of its cars"
    )]
    Missed {
        /// The departure.
        departure: usize,
        /// The arrival.
        arrival: usize,
        /// Cars missed.
        cars: usize,
    },
}

/// A yard's session, played through.
#[derive(Clone, Debug, PartialEq)]
pub struct SessionPlan {
    /// The track given to each block, where one is.
    pub track_of_block: Vec<Option<usize>>,
    /// Everything that happens.
    pub events: Vec<Event>,
    /// Longest load of each track.
    pub peak: Vec<Length>,
    /// What stands on each track in the end: block and length of each car.
    pub left_over: Vec<Vec<(usize, Length)>>,
    /// Cars that never found room.
    pub stranded: usize,
}

impl SessionPlan {
    /// All jams, in order of time.
    pub fn jams(&self) -> impl Iterator<Item = (u32, &Jam)> {
        self.events.iter().filter_map(|e| match &e.kind {
            EventKind::Jammed(j) => Some((e.at_s, j)),
            _ => None,
        })
    }
}

/// Gives each block a track and plays the session through.
///
/// Blocks are given tracks by the longest load they build up between departures, longest block to
/// longest track; blocks beyond the number of tracks share the last, which is then switched again
/// by whoever departs (counted as mixed in [`EventKind::Switched`] by its track). A block whose
/// track is full spills to the emptiest track with room. Switching takes `cut_s` for each change
/// of track along the cut and `car_s` for each car; one engine does it, cut after cut.
pub fn plan_session(
    tracks: &[YardTrack],
    arrivals: &[Arrival],
    departures: &[Departing],
    cut_s: f64,
    car_s: f64,
) -> SessionPlan {
    let blocks = arrivals
        .iter()
        .flat_map(|a| a.cars.iter().map(|c| c.0 + 1))
        .chain(
            departures
                .iter()
                .flat_map(|d| d.blocks.iter().map(|b| b + 1)),
        )
        .max()
        .unwrap_or(0);
    let track_of_block = give_tracks(tracks, arrivals, departures, blocks);
    // When each cut is switched: one engine, first come first served.
    let mut order: Vec<usize> = (0..arrivals.len()).collect();
    order.sort_by_key(|&i| (arrivals[i].at_s, i));
    let mut free_at = 0.0f64;
    let mut work: Vec<(u32, u8, usize)> = vec![];
    for i in order {
        let a = &arrivals[i];
        let cuts = a
            .cars
            .iter()
            .enumerate()
            .filter(|(k, c)| *k == 0 || track_of_block[a.cars[k - 1].0] != track_of_block[c.0])
            .count();
        free_at =
            free_at.max(f64::from(a.at_s)) + cut_s * cuts as f64 + car_s * a.cars.len() as f64;
        work.push((free_at.ceil() as u32, 0, i));
    }
    work.extend(departures.iter().enumerate().map(|(i, d)| (d.at_s, 1, i)));
    work.sort_unstable();
    let switched_at: Vec<(usize, u32)> = work
        .iter()
        .filter(|w| w.1 == 0)
        .map(|w| (w.2, w.0))
        .collect();
    let mut on: Vec<Vec<(usize, Length)>> = vec![vec![]; tracks.len()];
    let mut peak = vec![0; tracks.len()];
    let mut events = vec![];
    let mut stranded = 0;
    let load = |t: &Vec<(usize, Length)>| t.iter().map(|c| c.1).sum::<Length>();
    for (at_s, kind, i) in work {
        if kind == 0 {
            let mut put: Vec<(usize, usize, usize)> = vec![];
            let mut missing: Vec<(usize, usize, Length)> = vec![];
            for &(block, len) in &arrivals[i].cars {
                let own = track_of_block[block];
                let fits = |t: usize| load(&on[t]) + len <= tracks[t].length;
                let to = own.filter(|&t| fits(t)).or_else(|| {
                    (0..tracks.len())
                        .filter(|&t| fits(t))
                        .max_by_key(|&t| (tracks[t].length - load(&on[t]), usize::MAX - t))
                });
                match to {
                    Some(t) => {
                        on[t].push((block, len));
                        peak[t] = peak[t].max(load(&on[t]));
                        match put.iter_mut().find(|p| p.0 == t && p.1 == block) {
                            Some(p) => p.2 += 1,
                            None => put.push((t, block, 1)),
                        }
                    }
                    None => {
                        stranded += 1;
                        match missing.iter_mut().find(|m| m.0 == block) {
                            Some(m) => {
                                m.1 += 1;
                                m.2 += len;
                            }
                            None => missing.push((block, 1, len)),
                        }
                    }
                }
            }
            events.push(Event {
                at_s,
                kind: EventKind::Switched { arrival: i, put },
            });
            for (block, cars, short) in missing {
                let jam = Jam::NoRoom {
                    arrival: i,
                    block,
                    cars,
                    short,
                };
                events.push(Event {
                    at_s,
                    kind: EventKind::Jammed(jam),
                });
            }
        } else {
            let d = &departures[i];
            let mut room = d.most;
            let mut took = vec![];
            let mut left = 0;
            for &b in &d.blocks {
                let mut n = 0;
                for t in &mut on {
                    t.retain(|&(block, len)| {
                        if block != b {
                            return true;
                        }
                        if len <= room {
                            room -= len;
                            n += 1;
                            false
                        } else {
                            left += 1;
                            true
                        }
                    });
                }
                took.push(n);
            }
            events.push(Event {
                at_s,
                kind: EventKind::Left {
                    departure: i,
                    took,
                    left,
                },
            });
            for &(a, done) in &switched_at {
                let cars = arrivals[a]
                    .cars
                    .iter()
                    .filter(|c| d.blocks.contains(&c.0))
                    .count();
                if arrivals[a].at_s <= at_s && done > at_s && cars > 0 {
                    let jam = Jam::Missed {
                        departure: i,
                        arrival: a,
                        cars,
                    };
                    events.push(Event {
                        at_s,
                        kind: EventKind::Jammed(jam),
                    });
                }
            }
        }
    }
    SessionPlan {
        track_of_block,
        events,
        peak,
        left_over: on,
        stranded,
    }
}

fn give_tracks(
    tracks: &[YardTrack],
    arrivals: &[Arrival],
    departures: &[Departing],
    blocks: usize,
) -> Vec<Option<usize>> {
    // Longest load each block builds up between departures that take it.
    let mut need: Vec<(Length, usize)> = (0..blocks)
        .map(|b| {
            let mut times: Vec<(u32, u8, Length)> = arrivals
                .iter()
                .map(|a| {
                    let len = a.cars.iter().filter(|c| c.0 == b).map(|c| c.1).sum();
                    (a.at_s, 0, len)
                })
                .chain(
                    departures
                        .iter()
                        .filter(|d| d.blocks.contains(&b))
                        .map(|d| (d.at_s, 1, 0)),
                )
                .collect();
            times.sort_unstable();
            let (mut now, mut most) = (0, 0);
            for (_, kind, len) in times {
                now = if kind == 1 { 0 } else { now + len };
                most = most.max(now);
            }
            (most, b)
        })
        .collect();
    need.sort_by_key(|&(n, b)| (std::cmp::Reverse(n), b));
    let mut by_length: Vec<usize> = (0..tracks.len()).collect();
    by_length.sort_by_key(|&t| (std::cmp::Reverse(tracks[t].length), t));
    let mut out = vec![None; blocks];
    for (k, &(_, b)) in need.iter().enumerate() {
        out[b] = by_length.get(k).or(by_length.last()).copied();
    }
    out
}
