//! Which track each stay of the candidate is spent on; and, where there are too few tracks for those
//! who are there at once, who they are.
//!
//! If more trains stay somewhere at one moment than all the tracks that any of them may use, two of
//! them must be kept apart in time. That holds whatever the times, so it is learned once as a nogood
//! over the orders of these visits, and no track needs to be chosen to see it.

use super::model::{INF, Visit, plus};
use super::theory::Theory;

/// Visits that cannot all overlap.
#[derive(Debug, Clone)]
pub(super) struct Crowd {
    pub visits: Vec<u32>,
    /// A moment at which they do.
    pub time: i64,
}

/// Scratch space.
#[derive(Debug, Default)]
pub(super) struct Tracks {
    stays: Vec<(i64, i64, u32)>,
    /// Until when a resource is taken, by the stays dealt with so far.
    taken: Vec<i64>,
    /// Operation chosen for each visit.
    pub chosen: Vec<Option<u32>>,
}

impl Tracks {
    /// Chooses a track for every visit of a pool: the least sought one that is free. Lists who is too
    /// many.
    pub fn assign(&mut self, t: &mut Theory, p: usize, crowds: &mut Vec<Crowd>) {
        crowds.clear();
        self.taken.resize(t.m.resources, 0);
        self.chosen.resize(t.m.visits.len(), None);
        {
            self.stays.clear();
            for v in &t.m.pools[p] {
                let visit = &t.m.visits[*v as usize];
                self.stays
                    .push((t.s.first(visit.start), t.s.first(visit.end), *v));
                for track in &visit.tracks {
                    self.taken[track.resource as usize] = i64::MIN;
                }
            }
            // Of stays of no length at one instant the one released first may go first.
            self.stays.sort_unstable_by_key(|(start, end, v)| {
                (*start, plus(*end, t.m.visits[*v as usize].release), *v)
            });
            t.s.work += self.stays.len() as u64 / 2;
            for i in 0..self.stays.len() {
                let (start, end, v) = self.stays[i];
                let visit = &t.m.visits[v as usize];
                let mut best: Option<(bool, i64, u32, i64, usize)> = None;
                for (k, track) in visit.tracks.iter().enumerate() {
                    if !usable(t, track.operation, start, end) {
                        continue;
                    }
                    let r = track.resource as usize;
                    let free = self.taken[r];
                    let late = if free > start { free } else { 0 };
                    let demand = t.m.demand[r];
                    let key = (!t.s.on(track.operation), late, demand, -free.max(0), k);
                    if best.is_none_or(|b| key < b) {
                        best = Some(key);
                    }
                }
                let Some((_, late, _, _, k)) = best else {
                    // None fits these times: something else must be decided first.
                    self.chosen[v as usize] = None;
                    continue;
                };
                let track = visit.tracks[k];
                self.chosen[v as usize] = Some(track.operation);
                if late > 0 {
                    crowds.extend(self.crowd(t, i));
                }
                let taken = &mut self.taken[track.resource as usize];
                *taken = (*taken).max(plus(end, track.release));
            }
        }
    }

    /// Among the stays at the moment when stay `i` begins: those that are one too many for all the
    /// tracks they may use, `i` among them.
    fn crowd(&self, t: &Theory, i: usize) -> Option<Crowd> {
        let time = self.stays[i].0;
        let mut here: Vec<&Visit> = Vec::new();
        let mut numbers: Vec<u32> = Vec::new();
        for (_, end, v) in self.stays[..i].iter().chain([&self.stays[i]]) {
            let visit = &t.m.visits[*v as usize];
            let last = *v == self.stays[i].2;
            let same = visit.train == t.m.visits[self.stays[i].2 as usize].train;
            if last || (plus(*end, visit.release) > time && !same) {
                // Of two stays of one train, of which one is being released, the later counts.
                if let Some(k) = here.iter().position(|x| x.train == visit.train) {
                    here.remove(k);
                    numbers.remove(k);
                }
                here.push(visit);
                numbers.push(*v);
            }
        }
        // A greatest matching of all but the last to tracks, then the last one's alternating paths.
        let mut holder: Vec<(u32, usize)> = Vec::new();
        for k in 0..here.len() {
            let mut seen: Vec<u32> = Vec::new();
            if seat(&here, k, &mut holder, &mut seen) || k + 1 < here.len() {
                continue;
            }
            let mut visits: Vec<u32> = holder
                .iter()
                .filter(|h| seen.contains(&h.0))
                .map(|h| numbers[h.1])
                .collect();
            visits.push(numbers[k]);
            return Some(Crowd { visits, time });
        }
        None
    }
}

/// Whether a track's operation fits in a stay of these times.
fn usable(t: &Theory, o: u32, start: i64, end: i64) -> bool {
    let begin = t.s.first(o);
    begin == start
        && begin < INF
        && end >= begin + t.m.dur[o as usize]
        && end <= plus(begin, t.m.max_dur[o as usize])
}

/// Kuhn's augmenting path: finds visit `k` a track, moving others if need be.
fn seat(here: &[&Visit], k: usize, holder: &mut Vec<(u32, usize)>, seen: &mut Vec<u32>) -> bool {
    for track in &here[k].tracks {
        if seen.contains(&track.resource) {
            continue;
        }
        seen.push(track.resource);
        match holder.iter().position(|h| h.0 == track.resource) {
            None => {
                holder.push((track.resource, k));
                return true;
            }
            Some(x) => {
                if seat(here, holder[x].1, holder, seen) {
                    holder[x].1 = k;
                    return true;
                }
            }
        }
    }
    false
}
