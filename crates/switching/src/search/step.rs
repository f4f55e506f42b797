//! Couplings and set-outs: from one state to the next.

use super::map::{Site, Term};
use super::problem::{LOOSE, rev};
use super::route::{Reach, reach};
use super::state::{Found, Kind, Measure, Op, Pos, Stepper, rest};
use crate::rates::Effort;
use crate::work::{Goal, MAX_CARS};

/// A site with everything needed to handle there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Here {
    pub map: u32,
    pub path: u16,
    pub o: bool,
    pub site_no: u8,
    pub site: Site,
    pub side: u8,
}

impl Stepper {
    /// Calls `f` with every state one move away, its cost and the move.
    pub fn successors(&mut self, buf: &[u8], now: u32, f: Found<'_>) {
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
                self.component(map, &rests, length, (pos.path, pos.o), &mut comp);
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
        f: Found<'_>,
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
        if !marked && self.skip == Some((site.place, site.end, side, here.path)) {
            self.changes(buf, now, rests, length, here, routes, out, f);
            return;
        }
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
        f: Found<'_>,
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
            after: pos.path,
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
    pub(super) fn stop_x(
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
            let own = |t: Term| t.face() == Some((place, here.site.end as usize));
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
        self.component(map as u32, rests, length, (pos.path, pos.o), &mut comp);
        let engine = self.engine_at(out);
        let n = out[self.np()] as usize;
        let spare = [engine, n - 1 - engine];
        let mut ok = false;
        'all: for &(path, o) in &comp {
            let path = &self.maps[map].paths[path as usize];
            if self.p.departure.is_some()
                && [path.start, path.end]
                    .iter()
                    .any(|t| matches!(t, Term::Boundary(_)))
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
        let mut order = [0u8; MAX_CARS + 8];
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
                    push(train, false);
                } else {
                    push(train, false);
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
}
