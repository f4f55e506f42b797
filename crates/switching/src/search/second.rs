//! Leaving one engine and taking the other.

use super::map::Term;
use super::problem::{LOOSE, rev};
use super::route::Reach;
use super::state::{Found, GONE, Kind, Measure, Op, Pos, Stepper, rest};
use super::step::Here;

impl Stepper {
    /// Leaving the engine with its cars and taking the spare one.
    #[allow(clippy::too_many_arguments)]
    pub(super) fn changes(
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
                        let face = Term::Face(q as u8, end);
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
                    map.containing(None, halves, None).and_then(|(j, flipped)| {
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
                    after: GONE,
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
}
