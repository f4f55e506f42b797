//! Trains one behind another on one track, as the judge sees them.
//!
//! The track is a row of trains from its beginning to its end. Whoever comes in joins the row at the end it
//! comes by; whoever leaves must be the outermost there. So a track with a bumper gives back last what came
//! first, and one open at both ends gives back first what came first.

use std::collections::VecDeque;

use engineering::ids::TrackRef;
use model::{
    time::{RailSpan, RailTime},
    units::Actual,
};

use super::{BEGINNING, Judge, Visit};

/// What happens on the track.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Happens {
    /// It is not there any more, such as one broken up.
    Gone,
    Leaves,
    Comes,
}

impl Judge<'_> {
    /// Judges every track on which trains stand one behind another.
    pub(super) fn queues(&mut self, visits: &[Visit]) {
        let mut tracks: Vec<TrackRef> = visits
            .iter()
            .filter_map(|visit| self.queued(visit))
            .collect();
        tracks.sort_unstable();
        tracks.dedup();
        for track in tracks {
            let here: Vec<&Visit> = visits
                .iter()
                .filter(|visit| self.queued(visit) == Some(track))
                .collect();
            self.room(track, &here);
            self.row(track, &here);
        }
    }

    /// The track a train is on, if several may be.
    pub(super) fn queued(&self, visit: &Visit) -> Option<TrackRef> {
        let station = self.plan.trains[visit.train].calls[visit.call].station;
        let track = TrackRef {
            station,
            track: visit.track?,
        };
        self.way.track(track).several_trains.then_some(track)
    }

    fn track_words(&self, track: TrackRef) -> String {
        let name = &self.way.track(track).name.value;
        format!("{name} at {}", self.place(track.station))
    }

    /// All that are there at once fit.
    fn room(&mut self, track: TrackRef, here: &[&Visit]) {
        let room = self.network.usable(self.way, track).length;
        for arrived in here {
            let at = arrived.from;
            let mut together: Vec<&&Visit> = here
                .iter()
                .filter(|other| other.from <= at && at < other.until)
                .collect();
            together.sort_by_key(|visit| visit.train);
            together.dedup_by_key(|visit| self.facts.trains[visit.train].rake);
            let length: Actual = together
                .iter()
                .map(|visit| self.facts.trains[visit.train].length)
                .sum();
            if together.len() > 1 && length > room + Actual::from_mm(0.5) {
                let trains: Vec<usize> = together.iter().map(|visit| visit.train).collect();
                let names: Vec<&str> = trains.iter().map(|train| self.name(*train)).collect();
                let what = format!(
                    "{} are {:.1} ft long together and {} holds {:.1} ft",
                    names.join(" and "),
                    length.feet(),
                    self.track_words(track),
                    room.feet()
                );
                self.fault(&trains, track.station, what);
                return;
            }
        }
    }

    /// Nobody runs through anybody.
    fn row(&mut self, track: TrackRef, here: &[&Visit]) {
        let before = |visit: &Visit| {
            here.iter().position(|other| {
                let rakes = [visit.train, other.train].map(|train| self.facts.trains[train].rake);
                visit.call == 0
                    && other.train != visit.train
                    && rakes[0] == rakes[1]
                    && other.until == visit.from
            })
        };
        let initial: Vec<usize> = (0..here.len())
            .filter(|at| here[*at].from == BEGINNING)
            .collect();
        let mut row: VecDeque<usize> = initial.iter().copied().collect();
        if initial.len() > 1 {
            let said = self.plan.staged.iter().find(|staged| staged.track == track);
            let place = |at: &usize| {
                let order = &said?.order;
                order.iter().position(|train| train.0 == here[*at].train)
            };
            if initial.iter().any(|at| place(at).is_none()) {
                let trains: Vec<usize> = initial.iter().map(|at| here[*at].train).collect();
                let names: Vec<&str> = trains.iter().map(|train| self.name(*train)).collect();
                let what = format!(
                    "the plan does not say in which order {} stand on {}",
                    names.join(" and "),
                    self.track_words(track)
                );
                self.fault(&trains, track.station, what);
                return;
            }
            row.make_contiguous().sort_by_key(place);
        }
        let mut events: Vec<(RailTime, Happens, usize)> = Vec::new();
        for (at, visit) in here.iter().enumerate() {
            if visit.from != BEGINNING && before(visit).is_none() {
                events.push((visit.from, Happens::Comes, at));
            }
            match visit.moves[1] {
                Some((leaves, _)) => events.push((leaves, Happens::Leaves, at)),
                None => events.push((visit.until, Happens::Gone, at)),
            }
        }
        events.sort_unstable();
        for (_, happens, at) in events {
            let visit = here[at];
            match happens {
                Happens::Comes => {
                    // One made up there stands where it goes out.
                    let by_low = visit.by_low[0].or(visit.by_low[1]).unwrap_or(true);
                    if by_low {
                        row.push_front(at);
                    } else {
                        row.push_back(at);
                    }
                }
                Happens::Leaves => {
                    let by_low = visit.by_low[1].unwrap_or(true);
                    let outermost = if by_low { row.front() } else { row.back() }.copied();
                    if let Some(other) = outermost.filter(|other| *other != at) {
                        let (goes, stands) = (visit.train, here[other].train);
                        let what = format!(
                            "{} leaves {} through {}, which stands before it",
                            self.name(goes),
                            self.track_words(track),
                            self.name(stands)
                        );
                        self.fault(&[goes, stands], track.station, what);
                    }
                    row.retain(|one| *one != at);
                }
                Happens::Gone => {
                    // The same cars go on under another name.
                    let after = (0..here.len()).find(|next| before(here[*next]) == Some(at));
                    match (row.iter().position(|one| *one == at), after) {
                        (Some(place), Some(next)) => row[place] = next,
                        _ => row.retain(|one| *one != at),
                    }
                }
            }
        }
        self.moves_apart(track, here);
    }

    /// Two trains do not move over the same end of the track at once.
    fn moves_apart(&mut self, track: TrackRef, here: &[&Visit]) {
        let of = |visit: &Visit, side: usize| {
            let (from, until) = visit.moves[side]?;
            (until - from > RailSpan::ZERO).then_some((from, until, visit.by_low[side]?))
        };
        for (at, first) in here.iter().enumerate() {
            for second in &here[at + 1..] {
                let rakes = [first, second].map(|visit| self.facts.trains[visit.train].rake);
                let clash = rakes[0] != rakes[1]
                    && [(0, 0), (0, 1), (1, 0), (1, 1)].into_iter().any(|(a, b)| {
                        of(first, a).zip(of(second, b)).is_some_and(|(one, other)| {
                            one.2 == other.2 && one.0 < other.1 && other.0 < one.1
                        })
                    });
                if clash {
                    let what = format!(
                        "{} and {} move over the same end of {} at once",
                        self.name(first.train),
                        self.name(second.train),
                        self.track_words(track)
                    );
                    self.fault(&[first.train, second.train], track.station, what);
                }
            }
        }
    }
}
