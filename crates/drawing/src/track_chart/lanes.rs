//! Which lane each track of a station is drawn on.
//!
//! The main is lane 0. A track that leaves another through a switch lies on a lane to the hand of that
//! switch, on the nearest one that is free along its reach.

use std::collections::VecDeque;

use engineering::{
    Way,
    ids::{StationId, TrackId},
    network::Network,
    station::{Hand, Meets, Side, Station, TrackEnd, TrackUse},
};
use model::units::Actual;

/// A track's lane and reach along the station's main.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placed {
    pub lane: i32,
    pub reach: [Actual; 2],
}

/// Lanes of a station's tracks; none for a track that hangs together with nothing.
pub(super) fn lanes(way: &Way, network: &Network, id: StationId) -> Vec<Option<Placed>> {
    let station = way.station(id);
    let reach: Vec<Option<[Actual; 2]>> = station
        .tracks()
        .map(|(track, _)| reach(network, id, station, track))
        .collect();
    let mut placed: Vec<Option<Draft>> = vec![None; station.tracks.len()];
    let mut queue: VecDeque<TrackId> = VecDeque::new();

    // The mains first, those beside each other on lanes downward; then whatever reaches an end.
    let mut roots: Vec<TrackId> = station.tracks().map(|(track, _)| track).collect();
    roots.retain(|&track| {
        let page = station.track(track);
        page.usage == TrackUse::Main
            || page
                .meets
                .iter()
                .all(|meets| !matches!(meets, Meets::Switch(_)))
    });
    roots.sort_by_key(|&track| station.track(track).usage != TrackUse::Main);
    for root in roots {
        if placed[root.index()].is_none() && !is_stall(station, root) {
            // The first main is lane 0; others go below whatever overlaps them.
            if placed.iter().flatten().next().is_none() {
                placed[root.index()] = reach[root.index()].map(|reach| Draft { lane: 0.0, reach });
            } else {
                place(&mut placed, &reach, root, 0.0, -1.0);
            }
            queue.push_back(root);
        }
        while let Some(track) = queue.pop_front() {
            let Some(from) = placed[track.index()] else {
                continue;
            };
            for (next, side) in leaving(station, network, id, track) {
                // Through a crossover to the track it leads to.
                let next = if is_crossover(station, next) {
                    let beyond = station
                        .track(next)
                        .meets
                        .iter()
                        .find_map(|meets| match meets {
                            Meets::Switch(switch) => station.switches[switch.index()]
                                .track
                                .filter(|on| *on != track),
                            _ => None,
                        });
                    let Some(beyond) = beyond else { continue };
                    beyond
                } else {
                    next
                };
                if !is_stall(station, next)
                    && place(&mut placed, &reach, next, from.lane, f64::from(side))
                {
                    queue.push_back(next);
                }
            }
        }
    }
    settle(&placed)
}

/// A track's place while others may still have to come between: lanes in fractions.
#[derive(Debug, Clone, Copy)]
struct Draft {
    lane: f64,
    reach: [Actual; 2],
}

/// Puts a track beside the one it leaves: on a lane in use there if one is free along its reach,
/// else on a new one, between its neighbours if something lies beyond.
fn place(
    drafts: &mut [Option<Draft>],
    reach: &[Option<[Actual; 2]>],
    track: TrackId,
    from: f64,
    side: f64,
) -> bool {
    let Some(reach) = reach[track.index()].filter(|_| drafts[track.index()].is_none()) else {
        return false;
    };
    let beyond = |lane: f64| (lane - from) * side;
    let apart = Actual::from_inches(0.5);
    let overlaps =
        |other: &Draft| other.reach[1] > reach[0] + apart && other.reach[0] < reach[1] - apart;
    let nearest = drafts
        .iter()
        .flatten()
        .filter(|other| overlaps(other) && beyond(other.lane) > 1e-9)
        .map(|other| beyond(other.lane))
        .fold(f64::INFINITY, f64::min);
    let in_use = drafts
        .iter()
        .flatten()
        .map(|other| beyond(other.lane))
        .filter(|&distance| distance > 1e-9 && distance < nearest - 1e-9)
        .fold(f64::INFINITY, f64::min);
    let distance = match (in_use.is_finite(), nearest.is_finite()) {
        (true, _) => in_use,
        (false, true) => nearest / 2.0,
        (false, false) => 1.0,
    };
    drafts[track.index()] = Some(Draft {
        lane: from + side * distance,
        reach,
    });
    true
}

/// Whole numbers for the lanes in use, the main's 0.
fn settle(drafts: &[Option<Draft>]) -> Vec<Option<Placed>> {
    let mut lanes: Vec<f64> = drafts.iter().flatten().map(|draft| draft.lane).collect();
    lanes.sort_by(f64::total_cmp);
    lanes.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let main = lanes.iter().position(|lane| lane.abs() < 1e-9).unwrap_or(0) as i32;
    drafts
        .iter()
        .map(|draft| {
            let draft = (*draft)?;
            let rank = lanes
                .iter()
                .position(|lane| (lane - draft.lane).abs() < 1e-9)?;
            Some(Placed {
                lane: rank as i32 - main,
                reach: draft.reach,
            })
        })
        .collect()
}

/// A crossover: it takes no lane of its own, but slopes from one track to the other.
pub(super) fn is_crossover(station: &Station, track: TrackId) -> bool {
    let page = station.track(track);
    page.usage == TrackUse::Crossover
        && page
            .meets
            .iter()
            .all(|meets| matches!(meets, Meets::Switch(_)))
}

/// A stall: an engine track between a turntable and its bumper. Stalls are drawn as spokes.
pub(super) fn is_stall(station: &Station, track: TrackId) -> bool {
    let meets = station.track(track).meets;
    matches!(
        meets,
        [Meets::Turntable(_), Meets::Bumper] | [Meets::Bumper, Meets::Turntable(_)]
    )
}

/// Tracks that leave a track through its switches, or go on from it at a joint, and to which side on
/// the chart: 1 up, which is to the left of the direction of higher miles.
fn leaving(
    station: &Station,
    network: &Network,
    id: StationId,
    track: TrackId,
) -> Vec<(TrackId, i32)> {
    let mut found = Vec::new();
    let orientation = network.orientation(id);
    for (at, switch) in station.switches.iter().enumerate() {
        let sides = |toward_high: bool| {
            let left = if toward_high { 1 } else { -1 };
            match switch.hand {
                Hand::Right => [-left, left],
                Hand::Left | Hand::Equilateral | Hand::ThreeWay => [left, -left],
            }
        };
        // Both from the track it lies on and from a track that ends at it.
        let toward_high = diverges_up(station, orientation, at);
        if switch.track == Some(track) {
            let sides = sides(toward_high);
            for (which, (next, _)) in switch.diverging.iter().enumerate() {
                found.push((*next, sides[which.min(1)]));
            }
        } else if switch.diverging.iter().any(|(other, _)| *other == track)
            && let Some(on) = switch.track
        {
            found.push((on, -sides(toward_high)[0]));
        }
    }
    for joint in &station.joints {
        if joint.tracks.iter().any(|(other, _)| *other == track) {
            found.extend(
                joint
                    .tracks
                    .iter()
                    .filter(|(o, _)| *o != track)
                    .map(|(o, _)| (*o, 1)),
            );
        }
    }
    for table in &station.turntables {
        if table.tracks.iter().any(|(other, _)| *other == track) {
            found.extend(
                table
                    .tracks
                    .iter()
                    .filter(|(o, _)| *o != track)
                    .map(|(o, _)| (*o, 1)),
            );
        }
    }
    found
}

/// Whether a switch diverges toward higher miles: its points face the other way.
pub(super) fn diverges_up(
    station: &Station,
    orientation: &engineering::network::Orientation,
    switch: usize,
) -> bool {
    let Some(track) = station.switches[switch].track else {
        return true;
    };
    let up = orientation.tracks[track.index()] == Side::High;
    match orientation.facing[switch] {
        TrackEnd::From => up,
        TrackEnd::To => !up,
    }
}

/// From where to where a track lies along its station's main.
pub(super) fn reach(
    network: &Network,
    id: StationId,
    station: &Station,
    track: TrackId,
) -> Option<[Actual; 2]> {
    let run = station.track(track).run();
    let a = network.position_on(id, track, Actual::ZERO)?;
    let b = network.position_on(id, track, run)?;
    Some(if a <= b { [a, b] } else { [b, a] })
}
