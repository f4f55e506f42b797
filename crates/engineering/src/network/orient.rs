//! Which way each track of a station runs, and which end of its track each switch faces.
//!
//! Station pages say which station end a switch's points face. From that, from the sides on which the
//! ends lie, and from joints, the direction of every track follows outward: a track that leaves a
//! switch whose points face the low-mile end heads for the high-mile end, and so on.

use std::collections::VecDeque;

use crate::{
    ids::{EndId, JointId, SwitchId, TrackId},
    station::{Meets, Points, Side, Station, TrackEnd},
};

/// The directions of a station's tracks.
#[derive(Debug, Clone, PartialEq)]
pub struct Orientation {
    /// For each track: toward which miles it runs from its beginning to its end.
    pub tracks: Vec<Side>,
    /// For each switch: which end of the track it lies on its points face.
    pub facing: Vec<TrackEnd>,
    /// For each station end: on which side it lies, as far as it follows from anything.
    pub ends: Vec<Option<Side>>,
    /// Tracks that would have to run both ways.
    pub conflicts: Vec<Conflict>,
}

/// A track that would have to run both ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Conflict {
    /// The track.
    pub track: TrackId,
    /// What says otherwise than the track's first direction.
    pub cause: Cause,
    /// What gave the track its first direction.
    pub first: Cause,
    /// Whether both follow from words for station ends alone, so that one of them is a mistake.
    /// Otherwise the track is part of a wye or a loop.
    pub mistake: bool,
}

/// What gives a track its direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// The station end it reaches.
    End(EndId),
    /// A switch it begins or ends at, or lies under.
    Switch(SwitchId),
    /// A joint with another track.
    Joint(JointId),
    /// Nothing: it is taken to run up the line.
    Nothing,
}

#[derive(Clone, Copy)]
struct Fact {
    sign: i8,
    cause: Cause,
    /// Whether it follows without any `from` or `to` for points.
    compass: bool,
}

struct Work<'a> {
    station: &'a Station,
    tracks: Vec<Option<Fact>>,
    ends: Vec<Option<(Side, bool)>>,
    facing: Vec<Option<TrackEnd>>,
    on: Vec<Vec<SwitchId>>,
    faces: Vec<Vec<SwitchId>>,
    queue: VecDeque<TrackId>,
    conflicts: Vec<Conflict>,
}

/// Finds all directions. Takes time in proportion to the station.
pub(crate) fn orient(station: &Station) -> Orientation {
    let mut on = vec![Vec::new(); station.tracks.len()];
    let mut faces = vec![Vec::new(); station.ends.len()];
    for (at, switch) in station.switches.iter().enumerate() {
        if let Some(track) = switch.track {
            on[track.index()].push(SwitchId::at(at));
        }
        if let Points::End(end) = switch.points {
            faces[end.index()].push(SwitchId::at(at));
        }
    }
    let mut work = Work {
        station,
        tracks: vec![None; station.tracks.len()],
        ends: station
            .ends
            .iter()
            .map(|end| end.side.map(|side| (side, true)))
            .collect(),
        facing: station
            .switches
            .iter()
            .map(|switch| match switch.points {
                Points::Track(end) => Some(end),
                _ => None,
            })
            .collect(),
        on,
        faces,
        queue: VecDeque::new(),
        conflicts: Vec::new(),
    };
    // Tracks that reach an end of a known side, main tracks among them.
    for at in 0..station.tracks.len() {
        work.ends_of(TrackId::at(at));
    }
    work.run();
    // Tracks beside them whose switches face a known side.
    for at in 0..station.ends.len() {
        if work.ends[at].is_some() {
            work.end_known(EndId::at(at));
        }
    }
    work.run();
    // The rest hangs together with nothing: taken to run up the line.
    for at in 0..station.tracks.len() {
        if work.tracks[at].is_none() {
            work.set(TrackId::at(at), 1, Cause::Nothing, false);
            work.run();
        }
    }
    // A switch on no track, or facing nothing, is taken to face its track's beginning.
    let facing = work
        .facing
        .iter()
        .map(|facing| facing.unwrap_or(TrackEnd::From))
        .collect();
    Orientation {
        tracks: work
            .tracks
            .iter()
            .map(|fact| fact.map_or(Side::High, |f| Side::of_sign(f.sign)))
            .collect(),
        facing,
        ends: work
            .ends
            .iter()
            .map(|end| end.map(|(side, _)| side))
            .collect(),
        conflicts: work.conflicts,
    }
}

/// Direction of going out of a track by one of its ends, when it runs so from beginning to end.
fn outward(sign: i8, end: TrackEnd) -> i8 {
    match end {
        TrackEnd::From => -sign,
        TrackEnd::To => sign,
    }
}

impl Work<'_> {
    fn set(&mut self, track: TrackId, sign: i8, cause: Cause, compass: bool) {
        match self.tracks[track.index()] {
            None => {
                self.tracks[track.index()] = Some(Fact {
                    sign,
                    cause,
                    compass,
                });
                self.queue.push_back(track);
            }
            Some(first) if first.sign != sign => {
                let known = self
                    .conflicts
                    .iter()
                    .any(|c| c.track == track && (c.cause == cause || c.first == cause));
                if !known {
                    let mistake = compass && first.compass;
                    self.conflicts.push(Conflict {
                        track,
                        cause,
                        first: first.cause,
                        mistake,
                    });
                }
            }
            Some(_) => {}
        }
    }

    fn run(&mut self) {
        while let Some(track) = self.queue.pop_front() {
            self.spread(track);
        }
    }

    fn ends_of(&mut self, track: TrackId) {
        for (end, meets) in both(self.station, track) {
            if let Meets::End(id) = meets
                && let Some((side, compass)) = self.ends[id.index()]
            {
                self.set(track, outward(side.sign(), end), Cause::End(id), compass);
            }
        }
    }

    /// A track has got its direction: what follows for its neighbors.
    fn spread(&mut self, track: TrackId) {
        let Some(Fact { sign, compass, .. }) = self.tracks[track.index()] else {
            return;
        };
        for (end, meets) in both(self.station, track) {
            let out = outward(sign, end);
            match meets {
                Meets::End(id) => {
                    let side = Side::of_sign(out);
                    match self.ends[id.index()] {
                        None => {
                            // A side that only follows from the tracks proves no mistake: where a branch
                            // leaves by a wye, trains come to its end from both sides.
                            self.ends[id.index()] = Some((side, false));
                            self.end_known(id);
                            // Other tracks that reach the same end.
                            for at in 0..self.station.tracks.len() {
                                if self.station.tracks[at].meets.contains(&Meets::End(id)) {
                                    self.ends_of(TrackId::at(at));
                                }
                            }
                        }
                        Some((known, known_compass)) if known != side => {
                            self.set(
                                track,
                                outward(known.sign(), end),
                                Cause::End(id),
                                known_compass,
                            );
                        }
                        Some(_) => {}
                    }
                }
                Meets::Joint(id) => {
                    for &(other, other_end) in &self.station.joints[id.index()].tracks {
                        if (other, other_end) != (track, end) {
                            self.set(other, -outward(out, other_end), Cause::Joint(id), compass);
                        }
                    }
                }
                Meets::Switch(id) => self.leg_known(id, -out),
                Meets::Turntable(_) | Meets::Bumper | Meets::Nowhere => {}
            }
        }
        for at in 0..self.on[track.index()].len() {
            let id = self.on[track.index()][at];
            self.switch_known(id);
        }
    }

    /// The side on which an end lies has become known.
    fn end_known(&mut self, id: EndId) {
        for at in 0..self.faces[id.index()].len() {
            let switch = self.faces[id.index()][at];
            self.switch_known(switch);
        }
    }

    /// Something about a switch has become known: the direction of the track it lies on, or the side
    /// of the end it faces.
    fn switch_known(&mut self, id: SwitchId) {
        let switch = &self.station.switches[id.index()];
        let on = switch.track.and_then(|track| self.tracks[track.index()]);
        let (faced, compass) = match switch.points {
            Points::End(end) => {
                let Some((side, compass)) = self.ends[end.index()] else {
                    return;
                };
                if let Some(on) = on {
                    let facing = if on.sign == side.sign() {
                        TrackEnd::To
                    } else {
                        TrackEnd::From
                    };
                    self.facing[id.index()] = Some(facing);
                }
                (side.sign(), compass)
            }
            Points::Track(end) => match on {
                Some(on) => (outward(on.sign, end), false),
                None => return,
            },
            Points::Unknown => return,
        };
        for &(track, end) in &switch.diverging {
            // Toward the switch it heads for what the points face.
            self.set(track, outward(faced, end), Cause::Switch(id), compass);
        }
    }

    /// A track that begins or ends at a switch has got its direction: `away` is that of leaving the
    /// switch by it.
    fn leg_known(&mut self, id: SwitchId, away: i8) {
        let switch = &self.station.switches[id.index()];
        match switch.points {
            Points::End(end) => match self.ends[end.index()] {
                None => {
                    self.ends[end.index()] = Some((Side::of_sign(-away), false));
                    self.end_known(end);
                }
                Some(_) => self.switch_known(id),
            },
            Points::Track(end) => {
                if let Some(on) = switch.track {
                    if self.tracks[on.index()].is_some() {
                        self.switch_known(id);
                    } else {
                        self.set(on, outward(-away, end), Cause::Switch(id), false);
                    }
                }
            }
            Points::Unknown => {}
        }
    }
}

fn both(station: &Station, track: TrackId) -> [(TrackEnd, Meets); 2] {
    let meets = station.tracks[track.index()].meets;
    [(TrackEnd::From, meets[0]), (TrackEnd::To, meets[1])]
}
