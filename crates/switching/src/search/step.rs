//! States and the moves that lead from one to the next.
//!
//! A state is a short string of bytes: how many items stand on each place and in the train, which
//! of the train's items is the engine, where the train is, how many due trains have passed, then
//! the classes of all items place by place and at last those of the train, then (if positions
//! matter anywhere) two bytes of position for each item.
//!
//! When the number of moves is minimised, running about costs nothing, so "where the train is"
//! means the component of positions it can reach, named by its first path. When time is minimised
//! it is the exact position.

use std::collections::HashMap;

use super::map::{Map, Site};
use super::problem::{LOOSE, Problem, rev};
use super::route::{Reach, reach};
use crate::plan::Side;
use crate::rates::{Effort, Rates};
use crate::work::{Goal, Work};

/// What is minimised.
#[derive(Clone, Debug)]
pub(crate) enum Measure {
    /// Couplings and set-outs.
    Moves,
    /// Hundredths of a second at these rates.
    Time(Rates),
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
}

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

pub(crate) struct Stepper {
    pub p: Problem,
    pub measure: Measure,
    pub maps: Vec<Map>,
    index: HashMap<u64, u32>,
    links: HashMap<(u32, u16, u8), Option<Link>>,
    comp: Vec<(u16, bool)>,
    comp2: Vec<(u16, bool)>,
    bits: Vec<bool>,
    rests: Vec<[u32; 2]>,
    rests2: Vec<[u32; 2]>,
    pub start: Vec<u8>,
    pub start_items: Vec<Vec<u16>>,
    /// Which classes may stay coupled, if cuts between them are not to be tried (which may miss
    /// plans).
    pub glued: Option<Vec<bool>>,
}

impl Stepper {
    /// Compiles a checked town and work. `None` if the start makes no sense (the checks should
    /// have said so).
    pub fn new(p: Problem, work: &Work, measure: Measure) -> Option<Self> {
        let np = p.places.len();
        let mut s = Self {
            p,
            measure,
            maps: vec![],
            index: HashMap::new(),
            links: HashMap::new(),
            comp: vec![],
            comp2: vec![],
            bits: vec![],
            rests: vec![[0; 2]; np],
            rests2: vec![[0; 2]; np],
            start: vec![],
            start_items: vec![],
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
        let (path, flipped) = s.maps[map as usize].containing(None, &halves)?;
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

    fn put_at(&self, buf: &mut [u8], i: usize, at: u16) {
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
        self.maps.push(Map::new(&self.p, mask));
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
    fn rests_into(&self, buf: &[u8], out: &mut [[u32; 2]]) -> bool {
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

    /// All positions reachable without handling: paths and ways round.
    fn component(
        map: &Map,
        rests: &[[u32; 2]],
        length: u32,
        from: (u16, bool),
        out: &mut Vec<(u16, bool)>,
        bits: &mut Vec<bool>,
    ) {
        out.clear();
        bits.clear();
        bits.resize(map.paths.len() * 2, false);
        out.push(from);
        bits[from.0 as usize * 2 + usize::from(from.1)] = true;
        let mut i = 0;
        while i < out.len() {
            let (path, o) = out[i];
            i += 1;
            for s in &map.shares[path as usize] {
                let extra = s.face.map_or(0, |(p, e)| rests[p as usize][e as usize]);
                if s.len + extra >= length {
                    let to = (s.other, o ^ s.flip);
                    let b = &mut bits[to.0 as usize * 2 + usize::from(to.1)];
                    if !*b {
                        *b = true;
                        out.push(to);
                    }
                }
            }
        }
    }

    /// The name of the component that a position belongs to.
    pub fn canonical(&mut self, buf: &mut [u8]) {
        if matches!(self.measure, Measure::Time(_)) {
            return;
        }
        let map = self.map_of(buf) as usize;
        let length = self.train_len(buf);
        let mut rests = std::mem::take(&mut self.rests2);
        let fits = self.rests_into(buf, &mut rests);
        debug_assert!(fits);
        let pos = self.pos(buf);
        let mut comp = std::mem::take(&mut self.comp2);
        let mut bits = std::mem::take(&mut self.bits);
        Self::component(
            &self.maps[map],
            &rests,
            length,
            (pos.path, pos.o),
            &mut comp,
            &mut bits,
        );
        let (path, o) = comp.iter().copied().min().unwrap_or((pos.path, pos.o));
        self.rests2 = rests;
        self.comp2 = comp;
        self.bits = bits;
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
    fn link(&mut self, map: u32, path: u16, site_no: u8, site: Site) -> Option<Link> {
        if let Some(&l) = self.links.get(&(map, path, site_no)) {
            return l;
        }
        let old = &self.maps[map as usize];
        let mask = old.mask ^ (1 << site.place);
        let halves = &old.paths[path as usize].halves;
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
                .containing(None, &run)
                .map(|(q, flip)| (m, q, flip))
        } else {
            let run: Vec<u16> = if site.at_start {
                halves[site.span.1 as usize..].to_vec()
            } else {
                back(&halves[..site.span.0 as usize])
            };
            let m = self.map_for(mask);
            self.maps[m as usize]
                .containing(Some((site.place, site.end)), &run)
                .map(|(q, flip)| (m, q, flip))
        };
        self.links.insert((map, path, site_no), l);
        l
    }

    /// Calls `f` with every state one move away, its cost and the move.
    pub fn successors(
        &mut self,
        buf: &[u8],
        now: u32,
        f: &mut dyn FnMut(&mut Self, &[u8], u32, Op),
    ) {
        if self.gone(buf) {
            return;
        }
        let map = self.map_of(buf);
        let length = self.train_len(buf);
        let mut rests = std::mem::take(&mut self.rests);
        let fits = self.rests_into(buf, &mut rests);
        debug_assert!(fits);
        let pos = self.pos(buf);
        let routes = match &self.measure {
            Measure::Time(rates) => Some(reach(
                &self.p,
                &self.maps[map as usize],
                &rests,
                length,
                pos,
                rates,
            )),
            Measure::Moves => None,
        };
        let mut comp = std::mem::take(&mut self.comp);
        match &routes {
            Some(r) => r.paths_into(&mut comp),
            None => {
                let mut bits = std::mem::take(&mut self.bits);
                Self::component(
                    &self.maps[map as usize],
                    &rests,
                    length,
                    (pos.path, pos.o),
                    &mut comp,
                    &mut bits,
                );
                self.bits = bits;
            }
        }
        let mut out = Vec::with_capacity(buf.len());
        for &(path, o) in &comp {
            let n_sites = self.maps[map as usize].paths[path as usize].sites.len();
            for site_no in 0..n_sites {
                let site = self.maps[map as usize].paths[path as usize].sites[site_no];
                if site.room + rest(&rests, site.tail) < length && !site.occupied {
                    continue;
                }
                let side = u8::from(site.at_start == o);
                let here = Here {
                    map,
                    path,
                    o,
                    site_no: site_no as u8,
                    site,
                    side,
                };
                self.handle(buf, now, &rests, length, here, routes.as_ref(), &mut out, f);
            }
        }
        if let Some(r) = &routes {
            self.waits_and_leaving(buf, now, map, &rests, length, r, &mut out, f);
        }
        self.comp = comp;
        self.rests = rests;
    }

    /// All couplings and set-outs at one site.
    #[allow(clippy::too_many_arguments)] // one hot inner function, called from one place
    fn handle(
        &mut self,
        buf: &[u8],
        now: u32,
        rests: &[[u32; 2]],
        length: u32,
        here: Here,
        routes: Option<&Reach>,
        out: &mut Vec<u8>,
        f: &mut dyn FnMut(&mut Self, &[u8], u32, Op),
    ) {
        let Here { site, side, .. } = here;
        let train = self.group(buf, self.np());
        let engine = self.engine_at(buf);
        let n_train = train.len();
        let spare = if side == 0 {
            engine
        } else {
            n_train - 1 - engine
        };
        let place = site.place as usize;
        let standing = self.group(buf, place);
        let marked = self.p.places[place].marked;
        if site.occupied {
            for k in 1..=standing.len() {
                let i = if site.end == 0 {
                    standing.start + k - 1
                } else {
                    standing.end - k
                };
                let class = self.class(buf, i);
                if self.p.classes[class as usize].immovable || self.p.is_engine(class) {
                    break;
                }
                if k < standing.len() {
                    let j = if site.end == 0 { i + 1 } else { i - 1 };
                    if self.glued(class, self.class(buf, j)) {
                        continue;
                    }
                }
                self.finish(
                    buf,
                    now,
                    rests,
                    length,
                    here,
                    Kind::Couple,
                    k,
                    LOOSE,
                    routes,
                    out,
                    f,
                );
            }
        }
        let mut cut_len = 0;
        for k in 1..=spare {
            let i = if side == 0 {
                train.start + k - 1
            } else {
                train.end - k
            };
            // The k-th car from the cut end; the cut is the k outermost.
            cut_len += self.p.classes[self.class(buf, i) as usize].len;
            if cut_len > self.p.places[place].len {
                break;
            }
            let inner = if side == 0 { i + 1 } else { i - 1 };
            let glued = self.glued(self.class(buf, i), self.class(buf, inner));
            if !marked {
                let room = if site.occupied {
                    rests[place][site.end as usize]
                } else {
                    self.p.places[place].len
                };
                if cut_len > room {
                    break;
                }
                // The most that fits is always tried.
                let more = self.p.classes[self.class(buf, inner) as usize].len;
                if glued && k < spare && cut_len + more <= room {
                    continue;
                }
                self.finish(
                    buf,
                    now,
                    rests,
                    length,
                    here,
                    Kind::SetOut,
                    k,
                    LOOSE,
                    routes,
                    out,
                    f,
                );
                continue;
            }
            self.finish(
                buf,
                now,
                rests,
                length,
                here,
                Kind::SetOut,
                k,
                LOOSE,
                routes,
                out,
                f,
            );
            // On a place with marks: put some car of the cut exactly on a spot it is to go to.
            let flip = (site.end == 0) == (side == 0);
            let mut tried: Vec<u16> = vec![];
            let cut = if side == 0 {
                train.start..train.start + k
            } else {
                train.end - k..train.end
            };
            let mut before = 0u32;
            for step in 0..k {
                let i = if flip {
                    cut.end - 1 - step
                } else {
                    cut.start + step
                };
                let class = self.class(buf, i);
                let len = self.p.classes[class as usize].len;
                if let Goal::Spot { place: q, spots } = &self.p.classes[class as usize].goal
                    && q.index() == place
                {
                    for &s in spots {
                        let centre = self.p.places[place].spots[s as usize].0;
                        if let Some(at) = centre.checked_sub(len / 2 + before) {
                            tried.push(at as u16);
                        }
                    }
                }
                before += len;
            }
            tried.sort_unstable();
            tried.dedup();
            for at in tried {
                self.finish(
                    buf,
                    now,
                    rests,
                    length,
                    here,
                    Kind::SetOut,
                    k,
                    at,
                    routes,
                    out,
                    f,
                );
            }
        }
        self.changes(buf, now, rests, length, here, routes, out, f);
    }

    fn glued(&self, a: u8, b: u8) -> bool {
        let n = self.p.classes.len();
        self.glued
            .as_ref()
            .is_some_and(|g| g[a as usize * n + b as usize])
    }

    /// Builds the successor, checks that the train is not stuck, and hands it over.
    #[allow(clippy::too_many_arguments)]
    fn finish(
        &mut self,
        buf: &[u8],
        now: u32,
        rests: &[[u32; 2]],
        length: u32,
        here: Here,
        kind: Kind,
        k: usize,
        at: u16,
        routes: Option<&Reach>,
        out: &mut Vec<u8>,
        f: &mut dyn FnMut(&mut Self, &[u8], u32, Op),
    ) {
        let Some(pos) = self.apply(buf, here, kind, k, at, out) else {
            return;
        };
        self.set_pos(out, pos);
        let mut op = Op {
            kind,
            place: here.site.place,
            end: here.site.end,
            side: here.side,
            k: k as u8,
            at,
            path: here.path,
            o: here.o,
            x: 0,
        };
        let new_map = self.map_of(out) as usize;
        let mut new_rests = std::mem::take(&mut self.rests2);
        let fits = self.rests_into(out, &mut new_rests);
        debug_assert!(fits, "apply checks that the cars fit");
        let new_length = self.train_len(out);
        if !self.p.places[here.site.place as usize].marked
            && !self.can_go_on(out, new_map, &new_rests, new_length, pos, here)
        {
            self.rests2 = new_rests;
            return;
        }
        let stop = if routes.is_some() || at != LOOSE {
            let x = self.stop_x(here, rests, length, kind, k, &new_rests, buf);
            if x.is_none() {
                self.rests2 = new_rests;
                return;
            }
            x
        } else {
            None
        };
        let cost = match routes {
            Some(r) => {
                op.x = stop.unwrap_or(0);
                let target = Pos {
                    path: here.path,
                    o: here.o,
                    x: op.x,
                };
                let run = r.cost_to(&self.p, &self.maps[here.map as usize], rests, target);
                let Some(run) = run else {
                    self.rests2 = new_rests;
                    return;
                };
                let Measure::Time(rates) = &self.measure else {
                    return;
                };
                let mut e = run.1;
                e = e + self.handling_effort(buf, &op);
                rates.hundredths(&e).max(run.0)
            }
            None => 1,
        };
        self.rests2 = new_rests;
        if let Some(&(from, _)) = self.p.due.get(self.epoch(buf))
            && routes.is_some()
            && now.saturating_add(cost) > from
        {
            return;
        }
        let mut done = std::mem::take(out);
        self.canonical(&mut done);
        f(self, &done, cost, op);
        *out = done;
    }

    /// Effort of the handling itself, without the run.
    pub fn handling_effort(&self, buf: &[u8], op: &Op) -> Effort {
        let k = u32::from(op.k);
        let place = op.place as usize;
        let graded = self.p.places[place].on_grade;
        let train = self.group(buf, self.np());
        let standing = self.group(buf, place);
        let lens = |r: std::ops::Range<usize>| -> u32 {
            r.map(|i| self.p.classes[self.class(buf, i) as usize].len)
                .sum()
        };
        let n = op.k as usize;
        match op.kind {
            Kind::Couple => {
                let all = n == standing.len();
                let cars = if op.end == 0 {
                    standing.start..standing.start + n
                } else {
                    standing.end - n..standing.end
                };
                Effort {
                    couplings: 1,
                    cuts: u32::from(!all),
                    brakes_released: if graded { k } else { 0 },
                    walked: if all { 0 } else { lens(cars) },
                    hoses: k,
                    ..Effort::default()
                }
            }
            Kind::SetOut => {
                let cars = if op.side == 0 {
                    train.start..train.start + n
                } else {
                    train.end - n..train.end
                };
                Effort {
                    couplings: u32::from(!standing.is_empty() && op.at == LOOSE),
                    cuts: 1,
                    brakes_set: if graded { k } else { 0 },
                    walked: lens(cars),
                    ..Effort::default()
                }
            }
            Kind::Change { .. } => Effort {
                brakes_set: if graded { train.len() as u32 } else { 0 },
                walked: lens(train),
                ..Effort::default()
            },
            Kind::Wait | Kind::Leave => Effort::default(),
        }
    }

    /// Where on the path the train stops to handle: against the cars, or deep enough in the place
    /// that what it leaves stands right; `None` if it is too long to stand there.
    #[allow(clippy::too_many_arguments)]
    fn stop_x(
        &self,
        here: Here,
        rests: &[[u32; 2]],
        length: u32,
        kind: Kind,
        k: usize,
        new_rests: &[[u32; 2]],
        buf: &[u8],
    ) -> Option<u32> {
        let site = here.site;
        let path = &self.maps[here.map as usize].paths[here.path as usize];
        let before = |i: u16| {
            rest(rests, path.start)
                + path.halves[..i as usize]
                    .iter()
                    .map(|&h| self.p.half_len(h))
                    .sum::<u32>()
        };
        let place = site.place as usize;
        // Depth of the train's end inside the place, from the end at which it entered.
        let depth = match kind {
            Kind::SetOut => {
                let train = self.group(buf, self.np());
                let cut = if here.side == 0 {
                    train.start..train.start + k
                } else {
                    train.end - k..train.end
                };
                let cut: u32 = cut
                    .map(|i| self.p.classes[self.class(buf, i) as usize].len)
                    .sum();
                let d = new_rests[place][site.end as usize] + cut;
                // Shoving cars off their marks begins by touching them.
                if site.occupied {
                    d.min(rests[place][site.end as usize])
                } else {
                    d
                }
            }
            _ if site.occupied => rests[place][site.end as usize],
            _ => self.p.places[place].len,
        };
        let total = before(path.halves.len() as u16) + rest(rests, path.end);
        let x = match (site.occupied, site.at_start) {
            (true, true) => rests[place][site.end as usize].checked_sub(depth)?,
            (true, false) => {
                (total + depth).checked_sub(rests[place][site.end as usize] + length)?
            }
            (false, true) => before(site.span.1).checked_sub(depth)?,
            (false, false) => (before(site.span.0) + depth).checked_sub(length)?,
        };
        // The rest of the train must fit behind it.
        (x + length <= total).then_some(x)
    }

    /// Whether the train, after handling at a site, can draw clear of it, or at least do something
    /// at another.
    fn can_go_on(
        &mut self,
        out: &[u8],
        map: usize,
        rests: &[[u32; 2]],
        length: u32,
        pos: Pos,
        here: Here,
    ) -> bool {
        // What lies beyond the place on the path: the place's own rest does not count.
        let place = here.site.place as usize;
        let beyond = if out[place] > 0 {
            let q = &self.maps[map].paths[pos.path as usize];
            let own = |t: super::map::Term| t.face() == Some((place, here.site.end as usize));
            q.len
                + if own(q.start) {
                    0
                } else {
                    rest(rests, q.start)
                }
                + if own(q.end) { 0 } else { rest(rests, q.end) }
        } else {
            here.site.room + rest(rests, here.site.tail)
        };
        if beyond >= length {
            return true;
        }
        let mut comp = std::mem::take(&mut self.comp2);
        let mut bits = std::mem::take(&mut self.bits);
        Self::component(
            &self.maps[map],
            rests,
            length,
            (pos.path, pos.o),
            &mut comp,
            &mut bits,
        );
        let engine = self.engine_at(out);
        let n = out[self.np()] as usize;
        let spare = [engine, n - 1 - engine];
        let mut ok = false;
        'all: for &(path, o) in &comp {
            let path = &self.maps[map].paths[path as usize];
            if self.p.departure.is_some()
                && [path.start, path.end]
                    .iter()
                    .any(|t| matches!(t, super::map::Term::Boundary(_)))
            {
                ok = true;
                break;
            }
            for s in &path.sites {
                let side = u8::from(s.at_start == o);
                if (s.place, s.end, side) != (here.site.place, here.site.end, here.side)
                    && (s.occupied
                        || (spare[side as usize] > 0 && s.room + rest(rests, s.tail) >= length))
                {
                    ok = true;
                    break 'all;
                }
            }
        }
        self.comp2 = comp;
        self.bits = bits;
        ok
    }

    /// The state after coupling or setting out (all but the naming of the position), and the exact
    /// position of the train.
    fn apply(
        &mut self,
        buf: &[u8],
        here: Here,
        kind: Kind,
        k: usize,
        at: u16,
        out: &mut Vec<u8>,
    ) -> Option<Pos> {
        let np = self.np();
        let body = self.body();
        let site = here.site;
        let place = site.place as usize;
        let flip = (site.end == 0) == (here.side == 0);
        let train = self.group(buf, np);
        let standing = self.group(buf, place);
        out.clear();
        out.extend_from_slice(buf);
        let n = self.p.n_items;
        // New order of the old item indices.
        let mut order = [0u8; crate::work::MAX_CARS + 8];
        let mut w = 0;
        let mut push = |r: std::ops::Range<usize>, backwards: bool| {
            for s in 0..r.len() {
                order[w] = (if backwards {
                    r.end - 1 - s
                } else {
                    r.start + s
                }) as u8;
                w += 1;
            }
        };
        let (lo, hi) = (standing.start, standing.end);
        match kind {
            Kind::Couple => {
                let (cut, keep) = if site.end == 0 {
                    (lo..lo + k, lo + k..hi)
                } else {
                    (hi - k..hi, lo..hi - k)
                };
                push(0..lo, false);
                push(keep, false);
                push(hi..train.start, false);
                if here.side == 0 {
                    push(cut, flip);
                    push(train.clone(), false);
                } else {
                    push(train.clone(), false);
                    push(cut, flip);
                }
                out[place] -= k as u8;
                out[np] += k as u8;
                if here.side == 0 {
                    out[np + 1] += k as u8;
                }
            }
            Kind::SetOut => {
                let (cut, keep) = if here.side == 0 {
                    (train.start..train.start + k, train.start + k..train.end)
                } else {
                    (train.end - k..train.end, train.start..train.end - k)
                };
                push(0..lo, false);
                if site.end == 0 {
                    push(cut, flip);
                    push(lo..hi, false);
                } else {
                    push(lo..hi, false);
                    push(cut, flip);
                }
                push(hi..train.start, false);
                push(keep, false);
                out[place] += k as u8;
                out[np] -= k as u8;
                if here.side == 0 {
                    out[np + 1] -= k as u8;
                }
            }
            _ => return None,
        }
        debug_assert_eq!(w, n);
        for (i, &from) in order[..n].iter().enumerate() {
            out[body + i] = buf[body + from as usize];
        }
        if self.p.any_marked {
            for (i, &from) in order[..n].iter().enumerate() {
                let a = self.at(buf, from as usize);
                self.put_at(out, i, a);
            }
            let train = self.group(out, np);
            for i in train {
                self.put_at(out, i, LOOSE);
            }
            if kind == Kind::SetOut && self.p.places[place].marked {
                let lo = self.group(out, place).start;
                let m = standing.len() + k;
                let cut = if site.end == 0 {
                    lo..lo + k
                } else {
                    lo + m - k..lo + m
                };
                if !self.settle(out, place, site.end, lo..lo + m, cut, at) {
                    return None;
                }
            }
        }
        let fills = kind == Kind::SetOut && standing.is_empty();
        let empties = kind == Kind::Couple && k == standing.len();
        let (map, path, turned) = if fills || empties {
            let l = self.link(here.map, here.path, here.site_no, site)?;
            // `link` names the run as seen from the site outward.
            (l.0, l.1, l.2)
        } else {
            (here.map, here.path, !site.at_start)
        };
        // Seen from the site outward, the train's handling side comes first: side 0 first is
        // `o = false` on a path that starts there.
        let o = (here.side == 1) ^ turned;
        let mut x = 0;
        if matches!(self.measure, Measure::Time(_)) {
            let rests = self.rests_of(out)?;
            let length = self.train_len(out);
            let path_ref = &self.maps[map as usize].paths[path as usize];
            let total = rest(&rests, path_ref.start) + path_ref.len + rest(&rests, path_ref.end);
            // Distance from the path's start to the site's innermost point.
            let inner = if empties {
                let place = &self.p.places[place];
                let far = if site.end == 1 {
                    place.halves[0]
                } else {
                    rev(*place.halves.last()?)
                };
                let far = if turned { rev(far) } else { far };
                let i = path_ref.halves.iter().position(|&h| h == far)?;
                let upto = rest(&rests, path_ref.start)
                    + path_ref.halves[..i]
                        .iter()
                        .map(|&h| self.p.half_len(h))
                        .sum::<u32>();
                if turned {
                    upto + self.p.half_len(far)
                } else {
                    upto
                }
            } else if turned {
                total
            } else {
                0
            };
            x = if turned {
                inner.checked_sub(length)?
            } else {
                inner
            };
        }
        Some(Pos { path, o, x })
    }

    /// Gives a cut its positions on a place with marks. Loose: it shoves what stands in the way,
    /// car by car off its mark, as far as needed. On a mark: nothing with a position may be in the
    /// way.
    fn settle(
        &self,
        out: &mut [u8],
        place: usize,
        end: u8,
        all: std::ops::Range<usize>,
        cut: std::ops::Range<usize>,
        at: u16,
    ) -> bool {
        let len = |out: &[u8], i: usize| self.p.classes[self.class(out, i) as usize].len;
        let limit = self.p.places[place].len;
        if at != LOOSE {
            let mut a = u32::from(at);
            for i in cut.clone() {
                self.put_at(out, i, a as u16);
                a += len(out, i);
            }
            if a > limit || a >= u32::from(LOOSE) {
                return false;
            }
            // Loose cars between the cut and the next car with a position must have room.
            let mut loose = 0;
            if end == 0 {
                for i in cut.end..all.end {
                    let b = self.at(out, i);
                    if b != LOOSE {
                        return u32::from(b) >= a + loose;
                    }
                    loose += len(out, i);
                }
                return a + loose <= limit;
            }
            for i in (all.start..cut.start).rev() {
                let b = self.at(out, i);
                if b != LOOSE {
                    return u32::from(b) + len(out, i) + loose <= u32::from(at);
                }
                loose += len(out, i);
            }
            return loose <= u32::from(at);
        }
        for i in cut {
            self.put_at(out, i, LOOSE);
        }
        loop {
            let mut loose = 0;
            let mut hit = None;
            let mut room = limit;
            for s in 0..all.len() {
                let i = if end == 0 {
                    all.start + s
                } else {
                    all.end - 1 - s
                };
                let b = self.at(out, i);
                if b != LOOSE {
                    let b = u32::from(b);
                    room = if end == 0 {
                        b
                    } else {
                        limit - (b + len(out, i))
                    };
                    hit = Some(i);
                    break;
                }
                loose += len(out, i);
            }
            if loose <= room {
                return true;
            }
            match hit {
                Some(i) if !self.p.classes[self.class(out, i) as usize].immovable => {
                    self.put_at(out, i, LOOSE);
                }
                _ => return false,
            }
        }
    }

    /// Leaving the engine with its cars and taking the spare one.
    #[allow(clippy::too_many_arguments)]
    fn changes(
        &mut self,
        buf: &[u8],
        now: u32,
        rests: &[[u32; 2]],
        length: u32,
        here: Here,
        routes: Option<&Reach>,
        out: &mut Vec<u8>,
        f: &mut dyn FnMut(&mut Self, &[u8], u32, Op),
    ) {
        if self.p.classes.iter().filter(|c| c.engine.is_some()).count() < 2 {
            return;
        }
        let np = self.np();
        let body = self.body();
        let site = here.site;
        let place = site.place as usize;
        let room = if site.occupied {
            rests[place][site.end as usize]
        } else {
            self.p.places[place].len
        };
        if self.p.places[place].marked || length > room {
            return;
        }
        // The other engine, outermost at an end of its place.
        for q in 0..np {
            let g = self.group(buf, q);
            for end in 0..2u8 {
                if g.is_empty() || (end == 1 && g.len() == 1) {
                    continue;
                }
                let i = if end == 0 { g.start } else { g.end - 1 };
                if q == place || !self.p.is_engine(self.class(buf, i)) || self.p.places[q].marked {
                    continue;
                }
                // Lay the train down, then take the engine out of its place.
                let train = self.group(buf, np);
                let flip = (site.end == 0) == (here.side == 0);
                let mut groups: Vec<Vec<u8>> = (0..np)
                    .map(|g| self.group(buf, g).map(|i| self.class(buf, i)).collect())
                    .collect();
                let mut ats: Vec<Vec<u16>> = (0..np)
                    .map(|g| self.group(buf, g).map(|i| self.at(buf, i)).collect())
                    .collect();
                let mut cut: Vec<u8> = train.map(|i| self.class(buf, i)).collect();
                if flip {
                    cut.reverse();
                }
                let m = cut.len();
                if site.end == 0 {
                    groups[place].splice(0..0, cut);
                    ats[place].splice(0..0, vec![LOOSE; m]);
                } else {
                    groups[place].extend(cut);
                    ats[place].extend(vec![LOOSE; m]);
                }
                let idx = if end == 0 { 0 } else { groups[q].len() - 1 };
                let class = groups[q].remove(idx);
                ats[q].remove(idx);
                out.clear();
                out.extend_from_slice(buf);
                let mut i = 0;
                for (g, (cs, xs)) in groups.iter().zip(&ats).enumerate() {
                    out[g] = cs.len() as u8;
                    for (&c, &x) in cs.iter().zip(xs) {
                        out[body + i] = c;
                        self.put_at(out, i, x);
                        i += 1;
                    }
                }
                out[np] = 1;
                out[np + 1] = 0;
                out[body + i] = class;
                self.put_at(out, i, LOOSE);
                let Some(new_rests) = self.rests_of(out) else {
                    continue;
                };
                // The engine stands at the face of what is left, or in its empty place. Its front
                // looks to end 0 of the place.
                let m = self.map_of(out);
                let map = &self.maps[m as usize];
                let length2 = self.train_len(out);
                let halves = &self.p.places[q].halves;
                let pos = if out[q] > 0 {
                    // Any path from that face will do: they share the rest it stands on.
                    map.paths.iter().enumerate().find_map(|(j, path)| {
                        let face = super::map::Term::Face(q as u8, end);
                        let total =
                            rest(&new_rests, path.start) + path.len + rest(&new_rests, path.end);
                        if path.start == face {
                            // Front looks to end 0, the outside at end 0.
                            Some(Pos {
                                path: j as u16,
                                o: end == 0,
                                x: 0,
                            })
                        } else if path.end == face {
                            Some(Pos {
                                path: j as u16,
                                o: end == 1,
                                x: total - length2,
                            })
                        } else {
                            None
                        }
                    })
                } else {
                    map.containing(None, halves).and_then(|(j, flipped)| {
                        let path = &map.paths[j as usize];
                        let first = if flipped {
                            rev(*halves.last()?)
                        } else {
                            halves[0]
                        };
                        let at = path.halves.iter().position(|&h| h == first)?;
                        let upto = rest(&new_rests, path.start)
                            + path.halves[..at]
                                .iter()
                                .map(|&h| self.p.half_len(h))
                                .sum::<u32>();
                        // It stood outermost at `end`.
                        let near_start = (end == 0) != flipped;
                        let x = if near_start {
                            upto
                        } else {
                            upto + self.p.places[q].len - length2
                        };
                        Some(Pos {
                            path: j,
                            o: flipped,
                            x,
                        })
                    })
                };
                let Some(pos) = pos else { continue };
                self.set_pos(out, pos);
                let mut op = Op {
                    kind: Kind::Change {
                        to_place: q as u8,
                        to_end: end,
                    },
                    place: site.place,
                    end: site.end,
                    side: here.side,
                    k: 0,
                    at: LOOSE,
                    path: here.path,
                    o: here.o,
                    x: 0,
                };
                let cost = match routes {
                    Some(r) => {
                        let kind = op.kind;
                        let Some(x) = self.stop_x(here, rests, length, kind, 0, &new_rests, buf)
                        else {
                            continue;
                        };
                        op.x = x;
                        let target = Pos {
                            path: here.path,
                            o: here.o,
                            x: op.x,
                        };
                        let map = &self.maps[here.map as usize];
                        let Some(run) = r.cost_to(&self.p, map, rests, target) else {
                            continue;
                        };
                        let Measure::Time(rates) = &self.measure else {
                            continue;
                        };
                        rates.hundredths(&(run.1 + self.handling_effort(buf, &op)))
                    }
                    None => 1,
                };
                if let Some(&(from, _)) = self.p.due.get(self.epoch(buf))
                    && routes.is_some()
                    && now.saturating_add(cost) > from
                {
                    continue;
                }
                let mut done = std::mem::take(out);
                self.canonical(&mut done);
                f(self, &done, cost, op);
                *out = done;
            }
        }
    }

    /// Waiting in the clear for a due train, and leaving for good; only when time is minimised.
    #[allow(clippy::too_many_arguments)]
    fn waits_and_leaving(
        &mut self,
        buf: &[u8],
        now: u32,
        map: u32,
        rests: &[[u32; 2]],
        length: u32,
        routes: &Reach,
        out: &mut Vec<u8>,
        f: &mut dyn FnMut(&mut Self, &[u8], u32, Op),
    ) {
        let Measure::Time(rates) = &self.measure else {
            return;
        };
        let epoch = self.epoch(buf);
        let none = Op {
            kind: Kind::Wait,
            place: 0,
            end: 0,
            side: 0,
            k: 0,
            at: LOOSE,
            path: 0,
            o: false,
            x: 0,
        };
        let m = &self.maps[map as usize];
        let due = self.p.due.get(epoch).copied();
        let mut found: Vec<(Pos, u32, Kind)> = vec![];
        if self.p.departure.is_some() && self.goal_but_leaving(buf) {
            let mut best: Option<(u32, Pos)> = None;
            for pos in leaving_positions(self, buf, map, rests, length, routes.paths()) {
                if let Some((c, _)) = routes.cost_to(&self.p, m, rests, pos)
                    && best.is_none_or(|b| c < b.0)
                {
                    best = Some((c, pos));
                }
            }
            if let Some((c, pos)) = best
                && due.is_none_or(|d| now.saturating_add(c) <= d.0)
            {
                found.push((pos, c.max(1), Kind::Leave));
            }
        }
        if let Some((from, to)) = due
            && (0..self.np()).all(|g| buf[g] == 0 || !self.p.places[g].main)
        {
            for pos in self.clear_positions(m, rests, length, routes.paths()) {
                if let Some((c, _)) = routes.cost_to(&self.p, m, rests, pos)
                    && now.saturating_add(c) <= from
                {
                    found.push((pos, to.saturating_sub(now), Kind::Wait));
                }
            }
        }
        let _ = rates;
        for (pos, cost, kind) in found {
            out.clear();
            out.extend_from_slice(buf);
            let b = self.np();
            if kind == Kind::Wait {
                out[b + 5] += 1;
                self.set_pos(out, pos);
            } else {
                self.set_pos(
                    out,
                    Pos {
                        path: GONE,
                        o: false,
                        x: 0,
                    },
                );
            }
            let op = Op {
                kind,
                path: pos.path,
                o: pos.o,
                x: pos.x,
                ..none
            };
            let done = std::mem::take(out);
            f(self, &done, cost, op);
            *out = done;
        }
    }

    /// Positions clear of all main track.
    fn clear_positions(
        &self,
        map: &Map,
        rests: &[[u32; 2]],
        length: u32,
        paths: &[(u16, bool)],
    ) -> Vec<Pos> {
        let mut out = vec![];
        for &(path, o) in paths {
            let q = &map.paths[path as usize];
            // Pieces of the path in order, with whether they are main.
            let end_piece = |t: super::map::Term| {
                t.face()
                    .map_or((0, true), |(p, e)| (rests[p][e], self.p.places[p].main))
            };
            let mut pieces = vec![end_piece(q.start)];
            pieces.extend(
                q.halves
                    .iter()
                    .map(|&h| (self.p.half_len(h), self.p.main[h as usize / 2])),
            );
            pieces.push(end_piece(q.end));
            let mut at = 0;
            let mut begin = None;
            for (len, main) in pieces.into_iter().chain([(0, true)]) {
                if main {
                    if let Some(b) = begin.take()
                        && at - b >= length
                    {
                        out.push(Pos { path, o, x: b });
                        if at - b > length {
                            out.push(Pos {
                                path,
                                o,
                                x: at - length,
                            });
                        }
                    }
                } else if begin.is_none() {
                    begin = Some(at);
                }
                at += len;
            }
        }
        out
    }

    /// Whether the work is done: for a train that leaves, that nothing remains but to leave.
    pub fn is_goal(&mut self, buf: &[u8]) -> bool {
        if self.gone(buf) {
            return true;
        }
        if matches!(self.measure, Measure::Time(_))
            && (self.p.departure.is_some() || self.epoch(buf) < self.p.due.len())
        {
            return false;
        }
        if !self.goal_but_leaving(buf) {
            return false;
        }
        if self.p.departure.is_none() {
            return true;
        }
        let map = self.map_of(buf);
        let Some(rests) = self.rests_of(buf) else {
            return false;
        };
        let length = self.train_len(buf);
        let pos = self.pos(buf);
        let mut comp = vec![];
        let mut bits = vec![];
        Self::component(
            &self.maps[map as usize],
            &rests,
            length,
            (pos.path, pos.o),
            &mut comp,
            &mut bits,
        );
        !leaving_positions(self, buf, map, &rests, length, &comp).is_empty()
    }

    /// All goals but the departure itself.
    pub fn goal_but_leaving(&self, buf: &[u8]) -> bool {
        let np = self.np();
        let mut i = 0;
        for g in 0..np {
            let m = buf[g] as usize;
            if m > 0 && self.p.places[g].clear_at_end {
                return false;
            }
            let mut last = None;
            for j in i..i + m {
                let class = self.class(buf, j);
                let c = &self.p.classes[class as usize];
                match &c.goal {
                    Goal::Anywhere => {}
                    Goal::Track { places, rank } => {
                        if !places.iter().any(|p| p.index() == g) {
                            return false;
                        }
                        if let Some(r) = rank {
                            if last.is_some_and(|l| l > *r) {
                                return false;
                            }
                            last = Some(*r);
                        }
                    }
                    Goal::Spot { .. } => {
                        if !self.p.on_goal_spot(class, g, self.at(buf, j)) {
                            return false;
                        }
                    }
                    Goal::Leave { .. } => return false,
                }
                // The train's own engine must leave with the train.
                if c.engine == Some(0) && self.p.departure.is_some() {
                    return false;
                }
            }
            i += m;
        }
        let train = self.group(buf, np);
        let engine = self.engine_at(buf);
        let n = train.len();
        if self.p.departure.is_some() && engine != 0 && engine != n - 1 {
            return false;
        }
        for backwards in [false, true] {
            // From the engine outward, one way and the other.
            let m = if backwards { engine } else { n - 1 - engine };
            let mut last = 0;
            for s in 1..=m {
                let j = train.start + if backwards { engine - s } else { engine + s };
                let c = &self.p.classes[self.class(buf, j) as usize];
                match c.goal {
                    Goal::Leave { block } => {
                        if block < last {
                            return false;
                        }
                        last = block;
                    }
                    Goal::Anywhere => {}
                    _ => return false,
                }
                if c.caboose && s != m {
                    return false;
                }
            }
        }
        true
    }
}

/// A site with everything needed to handle there.
#[derive(Clone, Copy, Debug)]
struct Here {
    map: u32,
    path: u16,
    o: bool,
    site_no: u8,
    site: Site,
    side: u8,
}

/// The rest at a path's end.
pub(crate) fn rest(rests: &[[u32; 2]], t: super::map::Term) -> u32 {
    t.face().map_or(0, |(p, e)| rests[p][e])
}

/// Positions at the departure boundary, the right way round.
pub(crate) fn leaving_positions(
    s: &Stepper,
    buf: &[u8],
    map: u32,
    rests: &[[u32; 2]],
    length: u32,
    paths: &[(u16, bool)],
) -> Vec<Pos> {
    let Some((node, ahead)) = s.p.departure else {
        return vec![];
    };
    let n = buf[s.np()] as usize;
    let engine = s.engine_at(buf);
    let mut out = vec![];
    for &(path, o) in paths {
        let q = &s.maps[map as usize].paths[path as usize];
        let total = rest(rests, q.start) + q.len + rest(rests, q.end);
        for (t, at_start) in [(q.start, true), (q.end, false)] {
            if t != super::map::Term::Boundary(node) {
                continue;
            }
            // The side of the train that looks to the boundary.
            let side = if at_start == o {
                Side::Rear
            } else {
                Side::Front
            };
            let engine_side =
                (side == Side::Front && engine == 0) || (side == Side::Rear && engine == n - 1);
            if engine_side == ahead || n == 1 {
                out.push(Pos {
                    path,
                    o,
                    x: if at_start { 0 } else { total - length },
                });
            }
        }
    }
    out
}
