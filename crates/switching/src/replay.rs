//! A judge of plans: plays a plan car by car and refuses the first illegal move.
//!
//! It shares no code with the search. It knows only the town, the work and the plan, keeps the
//! position of the train in lengths along real tracks, and also judges plans drawn by hand.
//!
//! What it holds against a plan:
//!
//! - every run follows tracks that are joined, over free track, and ends where the run says;
//! - a train never runs into standing cars further than the free length at that end of their
//!   place (cars without a mark may be bunched; cars on a mark may not be moved by a run);
//! - cars are coupled and set out only at the end of the train that touches them, in the order in
//!   which they stand, never past the engine, and never if they must not be moved;
//! - cars left must fit, must have hand brakes on a grade, and must stand where the plan says;
//! - the main is clear when a train is due;
//! - in the end every car is where it should be, and the train leaves as it should.

use crate::plan::{Handling, Leg, Plan, Side};
use crate::rates::{Effort, Rates};
use crate::town::{Length, NodeKind, PlaceId, Town, TrackEnd, TrackId};
use crate::work::{Goal, Work};

/// Why a plan was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("move {step}: {why}")]
pub struct Refusal {
    /// Which move (from 1); the departure and the final check count as one more than the last.
    pub step: usize,
    /// What is wrong with it.
    pub why: Wrong,
}

/// What is wrong with a move.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Wrong {
    /// The town or the work contradicts itself.
    #[error("the town or the work is not usable; check it first")]
    Unusable,
    /// The run does not begin where the train stands.
    #[error("the run does not begin where the train stands")]
    NotThere,
    /// Two tracks of a run are not joined for a through movement.
    #[error("{from} and {to} are not joined for a train to run through")]
    NotJoined {
        /// One track.
        from: String,
        /// The next.
        to: String,
    },
    /// The stop, direction and distance of a run contradict each other or leave its tracks.
    #[error("the stop, the direction and the distance of the run do not agree")]
    BadRun,
    /// Cars stand in the way.
    #[error("cars standing on {place} are in the way")]
    Occupied {
        /// The place.
        place: String,
    },
    /// The train does not fit before the cars standing there.
    #[error("the train runs {depth} into {place}, where only {rest} is free")]
    NoRoom {
        /// The place.
        place: String,
        /// How far in.
        depth: Length,
        /// What is free.
        rest: Length,
    },
    /// The train is not at the place it is to work, or not touching.
    #[error("the train does not touch the cars (or stand in the place) at {place}")]
    NotTouching {
        /// The place.
        place: String,
    },
    /// The cars named are not the ones next to the train.
    #[error("the cars at that end of {place} or of the train are not those the plan names")]
    OtherCars {
        /// The place.
        place: String,
    },
    /// A car that must not be moved.
    #[error("{car} must not be moved, shoved or coupled to")]
    Immovable {
        /// The car.
        car: String,
    },
    /// Nothing is handled.
    #[error("no car is handled")]
    Nothing,
    /// Too much for the place.
    #[error("the cars do not fit on {place}, or not where the plan puts them")]
    DoesNotFit {
        /// The place.
        place: String,
    },
    /// Cars left on a grade without hand brakes.
    #[error("{cars} cars are left on the grade at {place} with {brakes} hand brakes")]
    Brakes {
        /// The place.
        place: String,
        /// Cars left.
        cars: usize,
        /// Brakes set.
        brakes: usize,
    },
    /// The main is not clear, or the crew not ready, when a train is due.
    #[error("the main is not clear for {train}")]
    NotClear {
        /// The train.
        train: String,
    },
    /// The other engine is not there.
    #[error("no other engine stands outermost there")]
    NoEngine,
    /// A car is not where it should be in the end.
    #[error("{car} does not end where it should")]
    NotDone {
        /// The car.
        car: String,
    },
    /// Cars are left where none may be.
    #[error("{place} must be clear in the end")]
    LeftStanding {
        /// The place.
        place: String,
    },
    /// The train does not leave as it should.
    #[error("the train does not leave with its engine and cars in the right order and direction")]
    BadDeparture,
    /// The effort written down is not what the move takes.
    #[error("the effort written down does not match the move")]
    WrongEffort,
}

/// What a replay saw after each move: for drawings and for people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Items on each place from end 0 to end 1, with their position where it matters. Cars have
    /// their number; the engine comes after the last car, the second engine after it.
    pub places: Vec<Vec<(u16, Option<Length>)>>,
    /// Items of the train from front to rear.
    pub train: Vec<u16>,
    /// The engine that is at work.
    pub engine: u16,
    /// Tracks under the train from front to rear.
    pub tracks: Vec<TrackId>,
    /// Distance from the front face to the far end of the first track.
    pub front_at: Length,
    /// Which end of the first track lies ahead of the front.
    pub ahead: TrackEnd,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    track: TrackId,
    /// The end that lies towards the front of the train, and the other.
    front: TrackEnd,
    rear: TrackEnd,
    len: Length,
}

struct Judge<'a> {
    town: &'a Town,
    work: &'a Work,
    places: Vec<Vec<(u16, Option<Length>)>>,
    train: Vec<u16>,
    engine: u16,
    body: Vec<Piece>,
    front_at: Length,
    /// Cars the train was last working against: place, its end, and the side of the train.
    against: Option<(PlaceId, u8, Side)>,
}

/// Plays a plan and returns what the town looks like at the start and after each move, and after
/// the departure; or why it is refused.
///
/// # Errors
/// The first illegal move, or what is still wrong at the end.
pub fn replay(town: &Town, work: &Work, plan: &Plan) -> Result<Vec<Picture>, Refusal> {
    play(town, work, plan, None)
}

/// The same, and also holds the plan to the times of the trains due, at the given rates.
///
/// # Errors
/// As [`replay`].
pub fn replay_timed(
    town: &Town,
    work: &Work,
    plan: &Plan,
    rates: &Rates,
) -> Result<Vec<Picture>, Refusal> {
    play(town, work, plan, Some(rates))
}

fn play(
    town: &Town,
    work: &Work,
    plan: &Plan,
    rates: Option<&Rates>,
) -> Result<Vec<Picture>, Refusal> {
    let refuse = |step: usize| move |why: Wrong| Refusal { step, why };
    if !town.check().is_empty() || !work.check(town).is_empty() {
        return Err(refuse(0)(Wrong::Unusable));
    }
    let mut j = Judge::new(town, work).ok_or(Refusal {
        step: 0,
        why: Wrong::Unusable,
    })?;
    let mut pictures = vec![j.picture()];
    let mut clock = 0.0f64;
    let mut passed = 0;
    let on_time = |clock: f64, passed: usize| -> Result<(), Wrong> {
        match work.trains_due.get(passed) {
            // Half a second for rounding.
            Some(d) if rates.is_some() && clock > f64::from(d.from_s) + 0.5 => {
                Err(Wrong::NotClear {
                    train: d.name.clone(),
                })
            }
            _ => Ok(()),
        }
    };
    for (i, m) in plan.moves.iter().enumerate() {
        let refuse = refuse(i + 1);
        let mut effort = Effort::default();
        for leg in &m.legs {
            effort.starts += 1;
            effort.run += leg.distance;
            j.run(leg).map_err(refuse)?;
        }
        j.handle(&m.handling, &mut effort).map_err(refuse)?;
        // Which switches had to be thrown is left to the rates; all else must agree.
        if (Effort {
            throws: 0,
            ..m.effort
        }) != effort
        {
            return Err(refuse(Wrong::WrongEffort));
        }
        if let Some(r) = rates {
            clock += r.estimate(&m.effort, 1).seconds;
        }
        on_time(clock, passed).map_err(refuse)?;
        if let Handling::Wait { due, until_s } = m.handling {
            j.in_the_clear(due).map_err(refuse)?;
            if due != passed || until_s < work.trains_due[due].to_s {
                let train = work.trains_due[due].name.clone();
                return Err(refuse(Wrong::NotClear { train }));
            }
            passed += 1;
            clock = clock.max(f64::from(until_s));
        }
        pictures.push(j.picture());
    }
    let refuse = refuse(plan.moves.len() + 1);
    if let Some(l) = &plan.leaving {
        for leg in &l.legs {
            j.run(leg).map_err(refuse)?;
        }
        if let Some(r) = rates {
            clock += r.estimate(&l.effort, 1).seconds;
        }
        pictures.push(j.picture());
    }
    j.done(plan).map_err(refuse)?;
    let gone = plan.leaving.is_some();
    if rates.is_some() && passed < work.trains_due.len() {
        let train = work.trains_due[passed].name.clone();
        if !gone || on_time(clock, passed).is_err() || j.main_occupied() {
            return Err(refuse(Wrong::NotClear { train }));
        }
    }
    Ok(pictures)
}

impl<'a> Judge<'a> {
    fn new(town: &'a Town, work: &'a Work) -> Option<Self> {
        let mut places = vec![vec![]; town.places.len()];
        for s in &work.standing {
            for c in &s.cars {
                places[s.place.index()].push((c.car.0, c.at));
            }
        }
        let engine = work.cars.len() as u16;
        if let Some(s) = &work.spare {
            let list: &mut Vec<_> = &mut places[s.place.index()];
            let at = if s.end == 0 { 0 } else { list.len() };
            list.insert(at, (engine + 1, None));
        }
        let mut train: Vec<u16> = work.train.ahead.iter().map(|c| c.0).collect();
        train.push(engine);
        train.extend(work.train.behind.iter().map(|c| c.0));
        let first = &town.tracks[work.train.on.first()?.index()];
        let ahead = *first
            .ends
            .iter()
            .find(|e| e.node == work.train.front_towards)?;
        let body = Self::row(town, &work.train.on, Some(ahead)).ok()?;
        let mut j = Self {
            town,
            work,
            places,
            train,
            engine,
            body,
            front_at: 0,
            against: None,
        };
        j.trim();
        Some(j)
    }

    fn picture(&self) -> Picture {
        Picture {
            places: self.places.clone(),
            train: self.train.clone(),
            engine: self.engine,
            tracks: self.body.iter().map(|p| p.track).collect(),
            front_at: self.front_at,
            ahead: self.body[0].front,
        }
    }

    fn length_of(&self, item: u16) -> Length {
        let n = self.work.cars.len();
        match item as usize {
            i if i < n => self.work.cars[i].length,
            i if i == n => self.work.train.engine.length,
            _ => self.work.spare.as_ref().map_or(0, |s| s.engine.length),
        }
    }

    fn train_length(&self) -> Length {
        self.train.iter().map(|&i| self.length_of(i)).sum()
    }

    fn place_name(&self, p: PlaceId) -> String {
        self.town.places[p.index()].name.clone()
    }

    /// Orients a list of tracks from front to rear. `ahead` settles a list of one.
    fn row(town: &Town, tracks: &[TrackId], ahead: Option<TrackEnd>) -> Result<Vec<Piece>, Wrong> {
        let mut best = Err(Wrong::BadRun);
        let Some(first) = tracks.first().and_then(|t| town.tracks.get(t.index())) else {
            return best;
        };
        'ways: for f in 0..2 {
            if tracks.len() == 1 && ahead.is_some_and(|a| a != first.ends[f]) {
                continue;
            }
            let mut row = vec![Piece {
                track: tracks[0],
                front: first.ends[f],
                rear: first.ends[1 - f],
                len: first.length,
            }];
            for &t in &tracks[1..] {
                let Some(track) = town.tracks.get(t.index()) else {
                    return Err(Wrong::BadRun);
                };
                let last = row[row.len() - 1];
                let Some(n) = (0..2).find(|&n| town.joined(last.rear, track.ends[n])) else {
                    let (from, to) = (last.track.index(), track.name.clone());
                    let from = town.tracks[from].name.clone();
                    // A row that holds the other way round stands.
                    best = best.or(Err(Wrong::NotJoined { from, to }));
                    continue 'ways;
                };
                row.push(Piece {
                    track: t,
                    front: track.ends[n],
                    rear: track.ends[1 - n],
                    len: track.length,
                });
            }
            if ahead.is_none_or(|a| a == row[0].front) || best.is_err() {
                best = Ok(row);
            }
        }
        best
    }

    /// Drops tracks that the train no longer touches.
    fn trim(&mut self) {
        while self.body.len() > 1 && self.front_at >= self.body[0].len {
            self.front_at -= self.body[0].len;
            self.body.remove(0);
        }
        let reach = self.front_at + self.train_length();
        let mut at = 0;
        let mut keep = 0;
        for p in &self.body {
            if keep > 0 && at >= reach {
                break;
            }
            at += p.len;
            keep += 1;
        }
        self.body.truncate(keep);
    }

    /// Free length of a place from one end, as far as the first car with a position.
    fn rest(&self, place: PlaceId, end: u8) -> Length {
        let list = &self.places[place.index()];
        let total = self.town.place_length(place);
        let mut loose = 0;
        let mut walk: Vec<_> = list.clone();
        if end == 1 {
            walk.reverse();
        }
        for (item, at) in walk {
            let len = self.length_of(item);
            if let Some(a) = at {
                let gap = if end == 0 { a } else { total - (a + len) };
                return gap.saturating_sub(loose);
            }
            loose += len;
        }
        total.saturating_sub(loose)
    }

    /// Ends of a place: the track end through which one leaves it at end 0 or 1.
    fn mouth(&self, place: PlaceId, end: u8) -> TrackEnd {
        let tracks = &self.town.places[place.index()].tracks;
        let dirs = self.town.place_directions(place).unwrap_or_default();
        let (i, last) = if end == 0 {
            (0, false)
        } else {
            (tracks.len() - 1, true)
        };
        // Passed forward, a track is left at end 1 by its second end, at end 0 by its first.
        let second = dirs[i] == last;
        self.town.tracks[tracks[i].index()].ends[usize::from(second)]
    }

    fn run(&mut self, leg: &Leg) -> Result<(), Wrong> {
        // The body must be a stretch of the line, the same way round.
        let body: Vec<TrackId> = self.body.iter().map(|p| p.track).collect();
        let n = body.len();
        let Some(at) = leg.line.windows(n).position(|w| w == body.as_slice()) else {
            return Err(Wrong::NotThere);
        };
        let hint = (leg.line.len() == 1).then_some(self.body[0].front);
        let line = Self::row(self.town, &leg.line, hint)?;
        if line[at..at + n].iter().zip(&self.body).any(|(a, b)| a != b) {
            return Err(Wrong::NotThere);
        }
        let offset = |i: usize| -> Length { line[..i].iter().map(|p| p.len).sum() };
        let length = self.train_length();
        let from = offset(at) + self.front_at;
        let m = leg.stop.tracks.len();
        let stop = leg
            .line
            .windows(m.max(1))
            .position(|w| w == leg.stop.tracks.as_slice());
        let Some(stop) = stop else {
            return Err(Wrong::BadRun);
        };
        let to = offset(stop) + leg.stop.front_at;
        let total = offset(line.len());
        let forward = to < from;
        if from.abs_diff(to) != leg.distance
            || from == to
            || forward != (leg.leading == Side::Front)
            || to + length > total
            || from + length > total
        {
            return Err(Wrong::BadRun);
        }
        let (lo, hi) = (from.min(to), from.max(to) + length);
        let mut against = None;
        // Places whose cars the run comes near.
        for (p, cars) in self.places.iter().enumerate() {
            if cars.is_empty() {
                continue;
            }
            let place = PlaceId(p as u16);
            let tracks = &self.town.places[p].tracks;
            let hit: Vec<usize> = (0..line.len())
                .filter(|&i| tracks.contains(&line[i].track))
                .collect();
            let (Some(&a), Some(&b)) = (hit.first(), hit.last()) else {
                continue;
            };
            let (start, end) = (offset(a), offset(b + 1));
            if hi <= start || lo >= end {
                continue;
            }
            let occupied = || Wrong::Occupied {
                place: self.place_name(place),
            };
            if b - a + 1 != hit.len() {
                return Err(occupied());
            }
            // The cars are ahead of the train, or behind it.
            let ahead = if hit.len() < line.len() {
                if a == 0 && line[b].rear == self.mouth_of(place, line[b].rear) {
                    true
                } else if b == line.len() - 1
                    && line[a].front == self.mouth_of(place, line[a].front)
                {
                    false
                } else {
                    return Err(occupied());
                }
            } else {
                match self.against {
                    Some((q, _, side)) if q == place => side == Side::Front,
                    _ => return Err(occupied()),
                }
            };
            let mouth = if ahead { line[b].rear } else { line[a].front };
            let Some(e) = (0..2u8).find(|&e| self.mouth(place, e) == mouth) else {
                return Err(occupied());
            };
            let depth = if ahead { end - lo } else { hi - start };
            let rest = self.rest(place, e);
            if depth > rest {
                return Err(Wrong::NoRoom {
                    place: self.place_name(place),
                    depth,
                    rest,
                });
            }
            let side = if ahead { Side::Front } else { Side::Rear };
            let still = if ahead { to < end } else { to + length > start };
            if still {
                against = Some((place, e, side));
            }
        }
        self.body = line;
        self.front_at = to;
        self.against = against;
        self.trim();
        if self
            .body
            .iter()
            .map(|p| p.track)
            .ne(leg.stop.tracks.iter().copied())
            || self.front_at != leg.stop.front_at
        {
            return Err(Wrong::BadRun);
        }
        Ok(())
    }

    /// The end itself if it is a mouth of the place, else some other mouth.
    fn mouth_of(&self, place: PlaceId, end: TrackEnd) -> TrackEnd {
        if self.mouth(place, 1) == end {
            end
        } else {
            self.mouth(place, 0)
        }
    }

    /// The train seen from one side: pieces from that side inward (each turned so that `front`
    /// looks to that side), and how far the face is from the end of the first.
    fn seen_from(&self, side: Side) -> (Vec<Piece>, Length) {
        match side {
            Side::Front => (self.body.clone(), self.front_at),
            Side::Rear => {
                let total: Length = self.body.iter().map(|p| p.len).sum();
                let turned = self
                    .body
                    .iter()
                    .rev()
                    .map(|p| Piece {
                        front: p.rear,
                        rear: p.front,
                        ..*p
                    })
                    .collect();
                (turned, total - self.front_at - self.train_length())
            }
        }
    }

    /// How deep the face of that side is inside a place, seen from one of the place's ends, and
    /// the tracks outside the place from its mouth outward. `None` if it is not there.
    fn depth(&self, place: PlaceId, end: u8, side: Side) -> Option<(Length, Vec<Piece>)> {
        let (mut pieces, face) = self.seen_from(side);
        let tracks = &self.town.places[place.index()].tracks;
        let mouth = self.mouth(place, end);
        let mut inside = pieces
            .iter()
            .take_while(|p| tracks.contains(&p.track))
            .count();
        // Wholly inside: look on to the mouth along the place's own tracks.
        while inside == pieces.len() && pieces[inside - 1].rear != mouth && inside < tracks.len() {
            let near = pieces[inside - 1].rear;
            let next = tracks.iter().find_map(|&track| {
                if pieces.iter().any(|p| p.track == track) {
                    return None;
                }
                let t = &self.town.tracks[track.index()];
                let n = (0..2).find(|&n| self.town.joined(near, t.ends[n]))?;
                Some(Piece {
                    track,
                    front: t.ends[n],
                    rear: t.ends[1 - n],
                    len: t.length,
                })
            })?;
            pieces.push(next);
            inside += 1;
        }
        if inside > 0 {
            // Outermost of the pieces inside must be at that end of the place.
            let whole = pieces[inside - 1].rear == mouth;
            if !whole {
                return None;
            }
            let depth: Length = pieces[..inside].iter().map(|p| p.len).sum::<Length>() - face;
            return Some((depth, pieces[inside..].to_vec()));
        }
        if face != 0 {
            return None;
        }
        // At the mouth itself, perhaps across track of no length.
        let mut outside = pieces;
        let mut open: Vec<Vec<Piece>> = vec![vec![]];
        while let Some(bridge) = open.pop() {
            let near = bridge.last().map_or(outside[0].front, |p: &Piece| p.front);
            if self.town.joined(near, mouth) {
                let mut out: Vec<Piece> = bridge.into_iter().rev().collect();
                out.append(&mut outside);
                return Some((0, out));
            }
            for (i, t) in self.town.tracks.iter().enumerate() {
                let id = TrackId(i as u16);
                let used = bridge.iter().chain(&outside).any(|p| p.track == id);
                if t.length > 0 || used {
                    continue;
                }
                for n in 0..2 {
                    if self.town.joined(near, t.ends[n]) {
                        let mut b = bridge.clone();
                        b.push(Piece {
                            track: id,
                            front: t.ends[1 - n],
                            rear: t.ends[n],
                            len: 0,
                        });
                        open.push(b);
                    }
                }
            }
        }
        None
    }

    /// Puts the face of the (changed) train at a depth inside a place.
    fn put(&mut self, place: PlaceId, end: u8, side: Side, depth: Length, outside: Vec<Piece>) {
        let p = &self.town.places[place.index()];
        let dirs = self.town.place_directions(place).unwrap_or_default();
        // From the far end of the place outward.
        let mut line: Vec<Piece> = p
            .tracks
            .iter()
            .zip(dirs)
            .map(|(&track, forward)| {
                let t = &self.town.tracks[track.index()];
                let (a, b) = if forward { (0, 1) } else { (1, 0) };
                // Passing towards end 1: entered at `a`.
                Piece {
                    track,
                    front: t.ends[a],
                    rear: t.ends[b],
                    len: t.length,
                }
            })
            .collect();
        if end == 0 {
            line.reverse();
            for p in &mut line {
                std::mem::swap(&mut p.front, &mut p.rear);
            }
        }
        let face = self.town.place_length(place) - depth;
        line.extend(outside);
        match side {
            Side::Front => {
                self.body = line;
                self.front_at = face;
            }
            Side::Rear => {
                let total: Length = line.iter().map(|p| p.len).sum();
                self.front_at = total - face - self.train_length();
                self.body = line
                    .into_iter()
                    .rev()
                    .map(|p| Piece {
                        front: p.rear,
                        rear: p.front,
                        ..p
                    })
                    .collect();
            }
        }
        self.trim();
        self.against = Some((place, end, side));
    }

    fn handle(&mut self, h: &Handling, effort: &mut Effort) -> Result<(), Wrong> {
        match h {
            Handling::Couple {
                place,
                end,
                side,
                cars,
            } => {
                self.known(*place, *end)?;
                let cars: Vec<u16> = cars.iter().map(|c| c.0).collect();
                self.couple(*place, *end, *side, &cars, effort)
            }
            Handling::SetOut {
                place,
                end,
                side,
                cars,
                at,
                brakes,
            } => {
                self.known(*place, *end)?;
                let cars: Vec<u16> = cars.iter().map(|c| c.0).collect();
                self.set_out(*place, *end, *side, &cars, at, *brakes, effort)
            }
            Handling::ChangeEngine {
                place,
                end,
                side,
                brakes,
                to_place,
                to_end,
            } => {
                self.known(*place, *end)?;
                self.known(*to_place, *to_end)?;
                self.change(*place, *end, *side, *brakes, (*to_place, *to_end), effort)
            }
            Handling::Wait { due, .. } => {
                if *due >= self.work.trains_due.len() {
                    return Err(Wrong::BadRun);
                }
                Ok(())
            }
        }
    }

    fn known(&self, place: PlaceId, end: u8) -> Result<(), Wrong> {
        if place.index() < self.town.places.len() && end < 2 {
            Ok(())
        } else {
            Err(Wrong::BadRun)
        }
    }

    fn engine_at(&self) -> usize {
        self.train
            .iter()
            .position(|&i| i == self.engine)
            .unwrap_or(0)
    }

    fn couple(
        &mut self,
        place: PlaceId,
        end: u8,
        side: Side,
        cars: &[u16],
        effort: &mut Effort,
    ) -> Result<(), Wrong> {
        let list = &self.places[place.index()];
        if cars.is_empty() || list.is_empty() {
            return Err(Wrong::Nothing);
        }
        let touching = self.depth(place, end, side);
        let rest = self.rest(place, end);
        let Some((_, outside)) = touching.filter(|(d, _)| *d == rest) else {
            return Err(Wrong::NotTouching {
                place: self.place_name(place),
            });
        };
        let mut outer: Vec<u16> = list.iter().map(|x| x.0).collect();
        if end == 1 {
            outer.reverse();
        }
        if !outer.starts_with(cars) {
            return Err(Wrong::OtherCars {
                place: self.place_name(place),
            });
        }
        for &c in cars {
            match self.work.cars.get(c as usize) {
                Some(car) if car.immovable => {
                    return Err(Wrong::Immovable {
                        car: car.name.clone(),
                    });
                }
                Some(_) => {}
                None => {
                    return Err(Wrong::OtherCars {
                        place: self.place_name(place),
                    });
                }
            }
        }
        let all = cars.len() == list.len();
        let n = list.len();
        let k = cars.len();
        if end == 0 {
            self.places[place.index()].drain(..k);
        } else {
            self.places[place.index()].truncate(n - k);
        }
        let len: Length = cars.iter().map(|&c| self.length_of(c)).sum();
        if side == Side::Front {
            self.train.splice(0..0, cars.iter().rev().copied());
        } else {
            self.train.extend(cars);
        }
        let depth = if all {
            self.town.place_length(place)
        } else {
            self.rest(place, end)
        };
        self.put(place, end, side, depth, outside);
        if all {
            self.against = None;
        }
        effort.couplings += 1;
        effort.hoses += k as u32;
        if !all {
            effort.cuts += 1;
            effort.walked += len;
        }
        if self.town.places[place.index()].on_grade {
            effort.brakes_released += k as u32;
        }
        Ok(())
    }

    #[allow(clippy::too_many_arguments)] // one argument for each field of the handling
    fn set_out(
        &mut self,
        place: PlaceId,
        end: u8,
        side: Side,
        cars: &[u16],
        at: &[Option<Length>],
        brakes: usize,
        effort: &mut Effort,
    ) -> Result<(), Wrong> {
        let k = cars.len();
        let name = self.place_name(place);
        if k == 0 || at.len() != k {
            return Err(Wrong::Nothing);
        }
        // The cars must be outermost at that side, short of the engine. Named from the train
        // outward.
        let n = self.train.len();
        let engine = self.engine_at();
        let spare = if side == Side::Front {
            engine
        } else {
            n - 1 - engine
        };
        if k > spare {
            return Err(Wrong::OtherCars { place: name });
        }
        let cut: Vec<u16> = if side == Side::Front {
            self.train[..k].iter().rev().copied().collect()
        } else {
            self.train[n - k..].to_vec()
        };
        if cut != cars {
            return Err(Wrong::OtherCars { place: name });
        }
        let total = self.town.place_length(place);
        let len: Length = cars.iter().map(|&c| self.length_of(c)).sum();
        let Some((depth, outside)) = self.depth(place, end, side) else {
            return Err(Wrong::NotTouching { place: name });
        };
        let empty = self.places[place.index()].is_empty();
        if !empty || at.iter().any(Option::is_some) {
            // No deeper than what is free (a run has seen to that, but a hand-made plan may begin
            // with the train already there).
            let rest = if empty { total } else { self.rest(place, end) };
            if depth > rest {
                return Err(Wrong::NoRoom {
                    place: name,
                    depth,
                    rest,
                });
            }
        }
        // Any other place with cars on the same track?
        let tracks = &self.town.places[place.index()].tracks;
        for (q, list) in self.places.iter().enumerate() {
            if q != place.index()
                && !list.is_empty()
                && self.town.places[q]
                    .tracks
                    .iter()
                    .any(|t| tracks.contains(t))
            {
                let place = self.town.places[q].name.clone();
                return Err(Wrong::Occupied { place });
            }
        }
        let was_occupied = !empty;
        let marked = at.iter().any(Option::is_some);
        let mut new: Vec<(u16, Option<Length>)> =
            cars.iter().copied().zip(at.iter().copied()).collect();
        if marked {
            self.check_marks(place, end, &new, depth, len)?;
        }
        if end == 0 {
            self.places[place.index()].splice(0..0, new);
        } else {
            new.reverse();
            self.places[place.index()].extend(new);
        }
        if !marked {
            self.shove(place, end)?;
        }
        let rest = self.rest(place, end);
        // Loose cars are shoved as deep as they go; the train stops where they then begin.
        let touching = if empty { depth == total } else { true };
        let fits = if marked {
            depth == rest + len
        } else {
            touching && depth <= rest + len
        };
        if !fits {
            return Err(Wrong::NotTouching { place: name });
        }
        if side == Side::Front {
            self.train.drain(..k);
        } else {
            self.train.truncate(n - k);
        }
        self.put(place, end, side, rest, outside);
        let graded = self.town.places[place.index()].on_grade;
        if graded && brakes < k {
            return Err(Wrong::Brakes {
                place: name,
                cars: k,
                brakes,
            });
        }
        effort.brakes_set += brakes as u32;
        effort.cuts += 1;
        effort.walked += len;
        effort.couplings += u32::from(was_occupied && !marked);
        Ok(())
    }

    /// Positions named by the plan: in a row, against the train, clear of what stands there.
    fn check_marks(
        &self,
        place: PlaceId,
        end: u8,
        new: &[(u16, Option<Length>)],
        depth: Length,
        len: Length,
    ) -> Result<(), Wrong> {
        let bad = || Wrong::DoesNotFit {
            place: self.place_name(place),
        };
        let total = self.town.place_length(place);
        let mut face = depth.checked_sub(len).ok_or_else(bad)?;
        for &(c, at) in new {
            let l = self.length_of(c);
            let want = if end == 0 {
                face
            } else {
                total.checked_sub(face + l).ok_or_else(bad)?
            };
            if at != Some(want) {
                return Err(bad());
            }
            face += l;
        }
        // `face` is now the far face of the cut; loose cars beyond need their room.
        let mut walk = self.places[place.index()].clone();
        if end == 1 {
            walk.reverse();
        }
        let mut loose = 0;
        let mut limit = total;
        for (c, at) in walk {
            let l = self.length_of(c);
            if let Some(a) = at {
                limit = if end == 0 { a } else { total - (a + l) };
                break;
            }
            loose += l;
        }
        if face + loose > limit {
            Err(bad())
        } else {
            Ok(())
        }
    }

    /// Shoves cars off their marks until all fit.
    fn shove(&mut self, place: PlaceId, end: u8) -> Result<(), Wrong> {
        let total = self.town.place_length(place);
        let name = self.place_name(place);
        let n = self.places[place.index()].len();
        let mut loose = 0;
        for s in 0..n {
            let i = if end == 0 { s } else { n - 1 - s };
            let (item, at) = self.places[place.index()][i];
            let l = self.length_of(item);
            if let Some(a) = at {
                let room = if end == 0 { a } else { total - (a + l) };
                if loose <= room {
                    return Ok(());
                }
                if let Some(car) = self.work.cars.get(item as usize).filter(|c| c.immovable) {
                    return Err(Wrong::Immovable {
                        car: car.name.clone(),
                    });
                }
                self.places[place.index()][i].1 = None;
            }
            loose += l;
        }
        if loose > total {
            Err(Wrong::DoesNotFit { place: name })
        } else {
            Ok(())
        }
    }

    fn change(
        &mut self,
        place: PlaceId,
        end: u8,
        side: Side,
        brakes: usize,
        (to_place, to_end): (PlaceId, u8),
        effort: &mut Effort,
    ) -> Result<(), Wrong> {
        let name = self.place_name(place);
        let Some((depth, _)) = self.depth(place, end, side) else {
            return Err(Wrong::NotTouching { place: name });
        };
        let length = self.train_length();
        let total = self.town.place_length(place);
        let rest = if self.places[place.index()].is_empty() {
            total
        } else {
            self.rest(place, end)
        };
        if depth < length || depth != rest || self.work.marked(self.town, place) {
            return Err(Wrong::DoesNotFit { place: name });
        }
        let n = self.train.len();
        if self.town.places[place.index()].on_grade && brakes < n {
            return Err(Wrong::Brakes {
                place: name,
                cars: n,
                brakes,
            });
        }
        let list = &self.places[to_place.index()];
        let at = if to_end == 0 {
            0
        } else {
            list.len().saturating_sub(1)
        };
        let other = match list.get(at) {
            Some(&(item, _)) if item as usize >= self.work.cars.len() && to_place != place => item,
            _ => return Err(Wrong::NoEngine),
        };
        // From the train's outer face inward: the side away from `side` is nearest the mouth.
        let mut laid: Vec<(u16, Option<Length>)> = self.train.iter().map(|&i| (i, None)).collect();
        if side == Side::Front {
            laid.reverse();
        }
        // `laid` now runs from the mouth inward.
        if end == 0 {
            self.places[place.index()].splice(0..0, laid);
        } else {
            laid.reverse();
            self.places[place.index()].extend(laid);
        }
        self.places[to_place.index()].remove(at);
        effort.walked += length;
        effort.brakes_set += brakes as u32;
        self.train = vec![other];
        self.engine = other;
        let own = self.length_of(other);
        // It stands at the face of what is left, or alone at its end of the place; its front looks
        // to end 0.
        let rest = self.rest(to_place, to_end);
        let side = if to_end == 1 { Side::Front } else { Side::Rear };
        let alone = self.places[to_place.index()].is_empty();
        let depth = if alone { own } else { rest };
        self.put(to_place, to_end, side, depth, vec![]);
        if alone {
            self.against = None;
        }
        Ok(())
    }

    fn main_occupied(&self) -> bool {
        self.places.iter().zip(&self.town.places).any(|(cars, p)| {
            !cars.is_empty() && p.tracks.iter().any(|t| self.town.tracks[t.index()].main)
        })
    }

    fn in_the_clear(&self, due: usize) -> Result<(), Wrong> {
        let on_main = self
            .body
            .iter()
            .any(|p| self.town.tracks[p.track.index()].main);
        if on_main || self.main_occupied() {
            let train = self.work.trains_due[due].name.clone();
            return Err(Wrong::NotClear { train });
        }
        Ok(())
    }

    fn done(&self, plan: &Plan) -> Result<(), Wrong> {
        for (p, list) in self.places.iter().enumerate() {
            let place = &self.town.places[p];
            if place.clear_at_end && !list.is_empty() {
                return Err(Wrong::LeftStanding {
                    place: place.name.clone(),
                });
            }
            let mut last = 0;
            for &(item, at) in list {
                let Some(car) = self.work.cars.get(item as usize) else {
                    continue;
                };
                let ok = match &car.goal {
                    Goal::Anywhere => true,
                    Goal::Leave { .. } => false,
                    Goal::Track { places, rank } => {
                        let in_order = rank.is_none_or(|r| r >= last);
                        last = rank.unwrap_or(last);
                        in_order && places.contains(&PlaceId(p as u16))
                    }
                    Goal::Spot { place: q, spots } => {
                        q.index() == p
                            && at.is_some_and(|a| {
                                spots.iter().any(|&s| {
                                    let s = &place.spots[s as usize];
                                    let off = f64::from(a) + f64::from(car.length) / 2.0
                                        - f64::from(s.centre);
                                    off.abs() <= f64::from(s.tolerance)
                                })
                            })
                    }
                };
                if !ok {
                    return Err(Wrong::NotDone {
                        car: car.name.clone(),
                    });
                }
            }
        }
        let engine = self.engine_at();
        let outward: [Vec<u16>; 2] = [
            self.train[..engine].iter().rev().copied().collect(),
            self.train[engine + 1..].to_vec(),
        ];
        for half in &outward {
            let mut block = 0;
            for (i, &c) in half.iter().enumerate() {
                let Some(car) = self.work.cars.get(c as usize) else {
                    continue;
                };
                match car.goal {
                    Goal::Leave { block: b } if b >= block => block = b,
                    Goal::Anywhere => {}
                    _ => {
                        return Err(Wrong::NotDone {
                            car: car.name.clone(),
                        });
                    }
                }
                let caboose = self.work.departure.as_ref().and_then(|d| d.caboose);
                if caboose.is_some_and(|x| x.0 == c) && i + 1 != half.len() {
                    return Err(Wrong::BadDeparture);
                }
            }
        }
        let Some(d) = &self.work.departure else {
            return Ok(());
        };
        let at_front = self.seen_from(Side::Front);
        let at_rear = self.seen_from(Side::Rear);
        let side = [(Side::Front, at_front), (Side::Rear, at_rear)]
            .into_iter()
            .find(|(_, s)| {
                s.1 == 0
                    && s.0[0].front.node == d.boundary
                    && self.town.nodes[d.boundary.index()].kind == NodeKind::Boundary
            });
        let Some((side, _)) = side else {
            return Err(Wrong::BadDeparture);
        };
        let lone = self.train.len() == 1;
        let engine_leads = match side {
            Side::Front => engine == 0,
            Side::Rear => engine + 1 == self.train.len(),
        };
        let engine_last = match side {
            Side::Front => engine + 1 == self.train.len(),
            Side::Rear => engine == 0,
        };
        let right = lone
            || if d.engine_ahead {
                engine_leads
            } else {
                engine_last
            };
        if !right || self.engine as usize != self.work.cars.len() || plan.leaving.is_none() {
            return Err(Wrong::BadDeparture);
        }
        Ok(())
    }
}
