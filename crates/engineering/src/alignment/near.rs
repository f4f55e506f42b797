//! What lies near what: spots along all center lines, found by where they are.

use std::collections::HashMap;

use super::{Located, Of, plan};
use crate::{
    Limits, Way, clearance,
    curve::{Place, Point},
    ids::TrackRef,
    station::{Meets, TrackEnd},
};

/// Spots along all center lines of a way.
#[derive(Debug, Clone)]
pub struct Spots<'a> {
    located: &'a Located,
    spots: Vec<Spot>,
    /// Spots by the square of the plan they lie in, numbered from the first.
    squares: HashMap<(i32, i32), Vec<u32>>,
    side: f64,
    zones: Vec<Zone>,
}

/// A spot on a center line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// The center line.
    pub line: usize,
    /// The piece of its course.
    pub piece: usize,
    /// Distance from its beginning.
    pub s: f64,
    /// Where it is and which way it runs.
    pub place: Place,
}

/// Another center line near a spot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    /// Where it is nearest.
    pub other: Spot,
    /// How far that is, in the plan.
    pub apart: f64,
    /// Whether it lies to the left of the spot's own line.
    pub left: bool,
}

/// Where a center line is not yet clear of the track it leaves, and what meets it where.
#[derive(Debug, Clone, Default)]
struct Zone {
    /// Fouled up to so far from its beginning, and from so far on.
    clear: [f64; 2],
    /// Center lines joined to its two ends: which, and at which end of theirs.
    joined: [Vec<(usize, TrackEnd)>; 2],
    /// Crossings: the other line, where along this one, and how far to either side they foul.
    crossings: Vec<(usize, f64, f64)>,
}

impl<'a> Spots<'a> {
    /// Spots at most `step` metres apart, for looking as far as `side` metres around them.
    pub fn new(way: &'a Way, limits: &Limits, step: f64, side: f64) -> Self {
        let located = &way.located;
        let mut spots = Vec::new();
        for (line, path) in located.laid() {
            for (piece, (start, course)) in path.placed().enumerate() {
                let parts = (course.length / step).ceil().clamp(1.0, 1e6) as u32;
                for part in 0..parts {
                    let along = course.length * (f64::from(part) + 0.5) / f64::from(parts);
                    spots.push(Spot {
                        line,
                        piece,
                        s: start + along,
                        place: course.at(along),
                    });
                }
            }
        }
        let mut squares: HashMap<(i32, i32), Vec<u32>> = HashMap::new();
        for (at, spot) in spots.iter().enumerate() {
            squares
                .entry(square(spot.place.point(), side))
                .or_default()
                .push(at as u32);
        }
        let zones = zones(way, limits);
        Self {
            located,
            spots,
            squares,
            side,
            zones,
        }
    }

    /// The spots, line by line.
    pub fn spots(&self) -> &[Spot] {
        &self.spots
    }

    /// Every other piece of track within reach of a spot: at most once for each piece. Track of the
    /// same center line counts only if it is not just the way on.
    pub fn near(&self, spot: &Spot) -> Vec<Near> {
        let (column, row) = square(spot.place.point(), self.side);
        let mut seen: Vec<(usize, usize)> = Vec::new();
        let mut found = Vec::new();
        for (x, y) in (-1..=1).flat_map(|x| (-1..=1).map(move |y| (column + x, row + y))) {
            for &at in self.squares.get(&(x, y)).into_iter().flatten() {
                let other = &self.spots[at as usize];
                if seen.contains(&(other.line, other.piece)) {
                    continue;
                }
                let Some(path) = self.located.path(other.line) else {
                    continue;
                };
                // Of the way on, what is so near along the track is no other track.
                if other.line == spot.line && (other.s - spot.s).abs() < 3.0 * self.side {
                    continue;
                }
                seen.push((other.line, other.piece));
                let course = &path.pieces()[other.piece];
                let start = path.start_of(other.piece);
                let (along, apart) = course.nearest(spot.place.point());
                let s = start + along;
                if apart > self.side
                    || (other.line == spot.line && (s - spot.s).abs() < 3.0 * self.side)
                {
                    continue;
                }
                let place = course.at(along);
                found.push(Near {
                    other: Spot { s, place, ..*other },
                    apart,
                    left: (place.point() - spot.place.point()).dot(spot.place.left()) > 0.0,
                });
            }
        }
        found
    }

    /// Whether two spots must keep clear of each other: not where the one's track has not yet parted
    /// from that which it leaves, nor about a joint or a crossing of the two.
    pub fn apart(&self, one: &Spot, other: &Spot) -> bool {
        let fouled = |spot: &Spot| {
            let [from, to] = self.zones[spot.line].clear;
            spot.s < from || spot.s > to
        };
        if fouled(one) || fouled(other) {
            return false;
        }
        let length = |line: usize| {
            self.located
                .path(line)
                .map_or(0.0, crate::curve::Path::length)
        };
        let to_end = |spot: &Spot, end: TrackEnd| match end {
            TrackEnd::From => spot.s,
            TrackEnd::To => length(spot.line) - spot.s,
        };
        let zone = &self.zones[one.line];
        for end in [TrackEnd::From, TrackEnd::To] {
            for &(line, at) in &zone.joined[end.index()] {
                if line == other.line && to_end(one, end) + to_end(other, at) < 3.0 * self.side {
                    return false;
                }
            }
        }
        !zone
            .crossings
            .iter()
            .any(|(line, s, aside)| *line == other.line && (one.s - s).abs() < *aside)
    }
}

fn square(at: Point, side: f64) -> (i32, i32) {
    ((at.x / side).floor() as i32, (at.y / side).floor() as i32)
}

fn zones(way: &Way, limits: &Limits) -> Vec<Zone> {
    let located = &way.located;
    let mut zones = vec![Zone::default(); located.described.len()];
    let setback = |number: f64| limits.from_points(number).meters();
    let mut ends: HashMap<(u32, Meets), Vec<(usize, TrackEnd)>> = HashMap::new();
    for (line, path) in located.laid() {
        let plan = &located.plan.lines[line];
        let length = path.length();
        let begin = match plan.begin {
            plan::Begin::Switch(diverging) => setback(diverging.number),
            _ => 0.0,
        };
        let end = match plan.end {
            plan::End::Switch(diverging) => length - setback(diverging.number),
            _ => length,
        };
        zones[line].clear = [begin, end];
        if let Some(Of::Track(track)) = located.described[line].of {
            let page = way.track(track);
            for which in [TrackEnd::From, TrackEnd::To] {
                if let Some(clear) = page.clear[which.index()] {
                    let clear = clear.meters();
                    zones[line].clear[which.index()] = if which == TrackEnd::From {
                        clear
                    } else {
                        length - clear
                    };
                }
                let meets = page.meets[which.index()];
                match meets {
                    Meets::Joint(_) | Meets::End(_) | Meets::Switch(_) => {
                        ends.entry((track.station.0, meets))
                            .or_default()
                            .push((line, which));
                    }
                    // Whatever meets at a turntable fans out from it.
                    Meets::Turntable(_) => {
                        let clear = &mut zones[line].clear[which.index()];
                        *clear += if which == TrackEnd::From { 0.3 } else { -0.3 };
                    }
                    Meets::Bumper | Meets::Nowhere => {}
                }
            }
        }
        if let Some(Of::Open(open, number)) = located.described[line].of {
            let page = way.open(open);
            for which in [TrackEnd::From, TrackEnd::To] {
                let side = &page.ends[which.index()];
                let Some(station) = side.id else { continue };
                let name = side.end_name(page.tracks.value, number);
                if let Some(end) = way.station(station).find_end(&name) {
                    ends.entry((station.0, Meets::End(end)))
                        .or_default()
                        .push((line, which));
                }
            }
        }
        // Those joined by name alone.
        match plan.begin {
            plan::Begin::After(other) => {
                join(&mut zones, (line, TrackEnd::From), (other, TrackEnd::To));
            }
            plan::Begin::Back(other) => {
                join(&mut zones, (line, TrackEnd::From), (other, TrackEnd::From));
            }
            _ => {}
        }
        if let plan::End::Before(other) = plan.end {
            join(&mut zones, (line, TrackEnd::To), (other, TrackEnd::From));
        }
    }
    for meeting in ends.values() {
        for (at, &one) in meeting.iter().enumerate() {
            for &other in &meeting[at + 1..] {
                join(&mut zones, one, other);
            }
        }
    }
    for (id, station) in way.stations() {
        for crossing in &station.crossings {
            let [Some(a), Some(b)] = crossing.tracks else {
                continue;
            };
            let Some(at) = crossing.at else { continue };
            let lines =
                [a, b].map(|track| located.find(Of::Track(TrackRef { station: id, track })));
            let [Some(a), Some(b)] = lines else { continue };
            let angle = model::units::Angle::from_degrees(crossing.angle);
            let aside = clearance::beyond_crossing(angle, limits.track_centers).meters() * 1.2;
            zones[a].crossings.push((b, at[0].meters(), aside));
            zones[b].crossings.push((a, at[1].meters(), aside));
        }
    }
    zones
}

fn join(zones: &mut [Zone], one: (usize, TrackEnd), other: (usize, TrackEnd)) {
    if !zones[one.0].joined[one.1.index()].contains(&other) {
        zones[one.0].joined[one.1.index()].push(other);
        zones[other.0].joined[other.1.index()].push(one);
    }
}
