//! States, and where the train can go in them.
//!
//! A state is a short string of bytes: how many items stand on each place and in the train, which
//! of the train's items is the engine, where the train is, how many due trains have passed, then
//! the classes of all items place by place and at last those of the train, then (if positions
//! matter anywhere) two bytes of position for each item.
//!
//! When the number of moves is minimised, running about costs nothing, so "where the train is"
//! means the component of positions it can reach, named by its first path. When time is minimised
//! it is the exact position.

use std::sync::{Arc, PoisonError};

use super::join::Joined;
use super::map::{Map, Maps, Site};
use super::problem::{LOOSE, Problem, rev};
use super::store::Quick;
use crate::rates::Rates;
use crate::work::Work;

/// What is minimised.
#[derive(Clone, Debug)]
pub(crate) enum Measure {
    /// Couplings and set-outs.
    Moves,
    /// Hundredths of a second at these rates.
    Time(Box<Rates>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Couple,
    SetOut,
    Change { to_place: u8, to_end: u8 },
    Wait,
    Leave,
}

/// A move in terms of the search. `path` and `o` say on which path of the state's map the train
/// is when it handles cars, and which way round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Op {
    pub kind: Kind,
    pub place: u8,
    pub end: u8,
    /// 0: the train's front handles; 1: its rear.
    pub side: u8,
    pub k: u8,
    /// Distance from end 0 of the place to the near face of the cut, if it is put on a mark.
    pub at: u16,
    pub path: u16,
    pub o: bool,
    /// Where the start-side face of the train is on that path when it stops.
    pub x: u32,
    /// Its path afterwards, in the map of the state that results.
    pub after: u16,
}

/// Where cars were handled last: place, end, side of the train, and the path on which the train
/// then stood.
pub(crate) type Via = (u8, u8, u8, u16);

/// Exact position of a train: path, which way round (`true`: its rear looks to the path's start),
/// and distance of its start-side face from the start of the path.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Pos {
    pub path: u16,
    pub o: bool,
    pub x: u32,
}

pub(crate) const GONE: u16 = u16::MAX;
type Link = (u32, u16, bool);

/// What takes the successors: the state, its cost and the move.
pub(crate) type Found<'a> = &'a mut dyn FnMut(&mut Stepper, &[u8], u32, Op);

pub(crate) struct Stepper {
    pub p: Problem,
    pub measure: Measure,
    pub maps: Vec<Arc<Map>>,
    made: Maps,
    pub(super) index: Quick<u64, u32>,
    pub(super) links: Quick<(u32, u16, u8), Option<Link>>,
    pub(super) comp: Vec<(u16, bool)>,
    pub(super) comp2: Vec<(u16, bool)>,
    joins: Quick<(u32, u32), Joined>,
    groups: Vec<u16>,
    pub(super) rests: Vec<[u32; 2]>,
    pub(super) rests2: Vec<[u32; 2]>,
    pub start: Vec<u8>,
    pub start_items: Vec<Vec<u16>>,
    /// How the state was reached: the same need not be tried again, since two handlings in a row at
    /// one face of a place without marks, from one path, come to one.
    pub skip: Option<Via>,
    /// Which classes may stay coupled, if cuts between them are not to be tried (which may miss
    /// plans).
    pub glued: Option<Vec<bool>>,
}

impl Stepper {
    /// Compiles a checked town and work. `None` if the start makes no sense (the checks should
    /// have said so).
    pub fn new(p: Problem, work: &Work, measure: Measure, made: &Maps) -> Option<Self> {
        let np = p.places.len();
        let mut s = Self {
            p,
            measure,
            maps: vec![],
            made: Arc::clone(made),
            index: Quick::default(),
            links: Quick::default(),
            comp: vec![],
            comp2: vec![],
            joins: Quick::default(),
            groups: vec![],
            rests: vec![[0; 2]; np],
            rests2: vec![[0; 2]; np],
            start: vec![],
            start_items: vec![],
            skip: None,
            glued: None,
        };
        let mut groups: Vec<Vec<(u16, u16)>> = vec![vec![]; np + 1];
        for st in &work.standing {
            for c in &st.cars {
                groups[st.place.index()].push((c.car.0, c.at.map_or(LOOSE, |a| a as u16)));
            }
        }
        let engine = work.cars.len() as u16;
        if let Some(sp) = &work.spare {
            let g = &mut groups[sp.place.index()];
            let at = if sp.end == 0 { 0 } else { g.len() };
            g.insert(at, (engine + 1, LOOSE));
        }
        for c in &work.train.ahead {
            groups[np].push((c.0, LOOSE));
        }
        let engine_at = groups[np].len();
        groups[np].push((engine, LOOSE));
        for c in &work.train.behind {
            groups[np].push((c.0, LOOSE));
        }
        let mut buf = s.build(&groups, engine_at);
        s.start_items = groups
            .iter()
            .map(|g| g.iter().map(|x| x.0).collect())
            .collect();
        // Find the train: its tracks from front to rear, as halves that run from rear to front.
        let on = &work.train.on;
        let mut halves: Vec<u16> = vec![];
        let first = on.first()?.0;
        let towards = [first * 2, first * 2 + 1]
            .into_iter()
            .find(|&h| s.p.head[h as usize] == work.train.front_towards.0)?;
        halves.push(towards);
        for t in &on[1..] {
            let last = *halves.last()?;
            let h = [t.0 * 2, t.0 * 2 + 1]
                .into_iter()
                .find(|&h| s.p.next[h as usize].contains(&last))?;
            halves.push(h);
        }
        halves.reverse();
        let map = s.map_of(&buf);
        let (path, flipped) = s.maps[map as usize].containing(None, &halves, None)?;
        // The run goes rear to front; not flipped means the rear looks to the path's start.
        let o = !flipped;
        let path_ref = &s.maps[map as usize].paths[path as usize];
        let rests = s.rests_of(&buf)?;
        // Stand with the front at the forward end of its tracks.
        let front_half = if flipped { rev(towards) } else { towards };
        let at = path_ref.halves.iter().position(|&h| h == front_half)?;
        let upto: u32 = rest(&rests, path_ref.start)
            + path_ref.halves[..at]
                .iter()
                .map(|&h| s.p.half_len(h))
                .sum::<u32>();
        let length = s.train_len(&buf);
        let x = if o {
            upto + s.p.half_len(front_half) - length
        } else {
            upto
        };
        s.set_pos(&mut buf, Pos { path, o, x });
        s.start = buf;
        Some(s)
    }

    /// A state from the items (and their positions) of every group; the train's place is not set.
    pub fn build(&self, groups: &[Vec<(u16, u16)>], engine_at: usize) -> Vec<u8> {
        let mut buf = vec![0; self.stride()];
        let mut i = 0;
        for (g, items) in groups.iter().enumerate() {
            buf[g] = items.len() as u8;
            for &(item, at) in items {
                buf[self.body() + i] = self.p.class_of[item as usize];
                self.put_at(&mut buf, i, at);
                i += 1;
            }
        }
        debug_assert_eq!(i, self.p.n_items);
        buf[self.np() + 1] = engine_at as u8;
        buf
    }

    pub fn np(&self) -> usize {
        self.p.places.len()
    }

    pub fn body(&self) -> usize {
        self.np() + 10
    }

    pub fn stride(&self) -> usize {
        self.body() + self.p.n_items * if self.p.any_marked { 3 } else { 1 }
    }

    pub fn put_at(&self, buf: &mut [u8], i: usize, at: u16) {
        if self.p.any_marked {
            let o = self.body() + self.p.n_items + 2 * i;
            buf[o..o + 2].copy_from_slice(&at.to_le_bytes());
        }
    }

    pub fn at(&self, buf: &[u8], i: usize) -> u16 {
        if self.p.any_marked {
            let o = self.body() + self.p.n_items + 2 * i;
            u16::from_le_bytes([buf[o], buf[o + 1]])
        } else {
            LOOSE
        }
    }

    pub fn class(&self, buf: &[u8], i: usize) -> u8 {
        buf[self.body() + i]
    }

    /// Where the items of a group begin; places first, the train last.
    pub fn group(&self, buf: &[u8], g: usize) -> std::ops::Range<usize> {
        let from: usize = buf[..g].iter().map(|&c| c as usize).sum();
        from..from + buf[g] as usize
    }

    pub fn engine_at(&self, buf: &[u8]) -> usize {
        buf[self.np() + 1] as usize
    }

    pub fn pos(&self, buf: &[u8]) -> Pos {
        let b = self.np();
        Pos {
            path: u16::from_le_bytes([buf[b + 2], buf[b + 3]]),
            o: buf[b + 4] == 1,
            x: u32::from_le_bytes([buf[b + 6], buf[b + 7], buf[b + 8], buf[b + 9]]),
        }
    }

    pub fn set_pos(&self, buf: &mut [u8], pos: Pos) {
        let b = self.np();
        buf[b + 2..b + 4].copy_from_slice(&pos.path.to_le_bytes());
        buf[b + 4] = u8::from(pos.o);
        buf[b + 6..b + 10].copy_from_slice(&pos.x.to_le_bytes());
    }

    pub fn epoch(&self, buf: &[u8]) -> usize {
        buf[self.np() + 5] as usize
    }

    /// When the last train waited for had passed, in hundredths of a second.
    pub fn resumed(&self, buf: &[u8]) -> u32 {
        self.epoch(buf)
            .checked_sub(1)
            .map_or(0, |e| self.p.due[e].1)
    }

    pub fn gone(&self, buf: &[u8]) -> bool {
        self.pos(buf).path == GONE
    }

    pub fn mask(&self, buf: &[u8]) -> u64 {
        (0..self.np())
            .filter(|&g| buf[g] > 0)
            .fold(0, |m, g| m | 1 << g)
    }

    pub fn map_for(&mut self, mask: u64) -> u32 {
        if let Some(&m) = self.index.get(&mask) {
            return m;
        }
        let map = Arc::clone(
            self.made
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .entry(mask)
                .or_insert_with(|| Arc::new(Map::new(&self.p, mask))),
        );
        self.maps.push(map);
        let m = (self.maps.len() - 1) as u32;
        self.index.insert(mask, m);
        m
    }

    pub fn map_of(&mut self, buf: &[u8]) -> u32 {
        let mask = self.mask(buf);
        self.map_for(mask)
    }

    pub fn train_len(&self, buf: &[u8]) -> u32 {
        self.group(buf, self.np())
            .map(|i| self.p.classes[self.class(buf, i) as usize].len)
            .sum()
    }

    /// Free length at both ends of every place, as far as the first car with a fixed position;
    /// `None` if the cars do not fit.
    pub fn rests_into(&self, buf: &[u8], out: &mut [[u32; 2]]) -> bool {
        let mut from = 0;
        for (g, r) in out.iter_mut().enumerate() {
            let m = buf[g] as usize;
            if m == 0 {
                *r = [0; 2];
                continue;
            }
            let place = &self.p.places[g];
            if !place.marked {
                let sum: u32 = (from..from + m)
                    .map(|i| self.p.classes[self.class(buf, i) as usize].len)
                    .sum();
                if sum > place.len {
                    return false;
                }
                *r = [place.len - sum; 2];
            } else {
                for (e, r) in r.iter_mut().enumerate() {
                    let mut loose = 0;
                    let mut limit = place.len;
                    for step in 0..m {
                        let i = if e == 0 {
                            from + step
                        } else {
                            from + m - 1 - step
                        };
                        let at = self.at(buf, i);
                        let len = self.p.classes[self.class(buf, i) as usize].len;
                        if at != LOOSE {
                            let at = u32::from(at);
                            limit = if e == 0 { at } else { place.len - (at + len) };
                            break;
                        }
                        loose += len;
                    }
                    if loose > limit {
                        return false;
                    }
                    *r = limit - loose;
                }
            }
            from += m;
        }
        true
    }

    pub fn rests_of(&self, buf: &[u8]) -> Option<Vec<[u32; 2]>> {
        let mut r = vec![[0; 2]; self.np()];
        self.rests_into(buf, &mut r).then_some(r)
    }

    /// How the positions of a map hang together for a train of a length.
    fn joined(&mut self, map: u32, length: u32) -> &Joined {
        let maps = &self.maps;
        self.joins
            .entry((map, length))
            .or_insert_with(|| Joined::new(&maps[map as usize], length))
    }

    /// All positions reachable without handling: paths and ways round.
    pub fn component(
        &mut self,
        map: u32,
        rests: &[[u32; 2]],
        length: u32,
        from: (u16, bool),
        out: &mut Vec<(u16, bool)>,
    ) {
        let mut groups = std::mem::take(&mut self.groups);
        let joined = self.joined(map, length);
        joined.reached(from, rests, &mut groups);
        out.clear();
        for &group in &groups {
            out.extend_from_slice(joined.members(group));
        }
        self.groups = groups;
    }

    /// The name of the component that a position belongs to.
    pub fn canonical(&mut self, buf: &mut [u8]) {
        if matches!(self.measure, Measure::Time(_)) {
            return;
        }
        let map = self.map_of(buf);
        let length = self.train_len(buf);
        let mut rests = std::mem::take(&mut self.rests2);
        let fits = self.rests_into(buf, &mut rests);
        debug_assert!(fits);
        let pos = self.pos(buf);
        let mut groups = std::mem::take(&mut self.groups);
        let joined = self.joined(map, length);
        joined.reached((pos.path, pos.o), &rests, &mut groups);
        let (path, o) = joined.first(&groups).unwrap_or((pos.path, pos.o));
        self.rests2 = rests;
        self.groups = groups;
        self.set_pos(buf, Pos { path, o, x: 0 });
    }

    /// The state when work begins.
    pub fn start_state(&mut self) -> Vec<u8> {
        let mut b = self.start.clone();
        self.canonical(&mut b);
        b
    }

    /// Where the train's path goes when a place fills or empties: the new map, the path in it and
    /// whether it runs the other way. For a place that fills, the train is at its face; for one
    /// that empties, the train lies on it and on the old path.
    pub fn link(&mut self, map: u32, path: u16, site_no: u8, site: Site) -> Option<Link> {
        if let Some(&l) = self.links.get(&(map, path, site_no)) {
            return l;
        }
        let old = &self.maps[map as usize];
        let mask = old.mask ^ (1 << site.place);
        let halves = &old.paths[path as usize].halves;
        // The train may reach into the rest at standing cars behind it: its path still ends there.
        let tail = site.tail.face().filter(|&(q, _)| q != site.place as usize);
        let tail = tail.map(|(q, e)| (q as u8, e as u8));
        let back = |r: &[u16]| r.iter().rev().map(|&h| rev(h)).collect::<Vec<u16>>();
        let l = if site.occupied {
            // Empties: run from the far end of the place out through `end`, then along the path.
            let place = &self.p.places[site.place as usize];
            let mut run = if site.end == 1 {
                place.halves.clone()
            } else {
                back(&place.halves)
            };
            run.extend(if site.at_start {
                halves.clone()
            } else {
                back(halves)
            });
            let m = self.map_for(mask);
            self.maps[m as usize]
                .containing(None, &run, tail)
                .map(|(q, flip)| (m, q, flip))
        } else {
            let run: Vec<u16> = if site.at_start {
                halves[site.span.1 as usize..].to_vec()
            } else {
                back(&halves[..site.span.0 as usize])
            };
            let m = self.map_for(mask);
            self.maps[m as usize]
                .containing(Some((site.place, site.end)), &run, tail)
                .map(|(q, flip)| (m, q, flip))
        };
        self.links.insert((map, path, site_no), l);
        l
    }
}

/// The rest at a path's end.
pub(crate) fn rest(rests: &[[u32; 2]], t: super::map::Term) -> u32 {
    t.face().map_or(0, |(p, e)| rests[p][e])
}
