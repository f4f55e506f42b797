//! Waiting in the clear for trains that are due, and leaving.

use super::map::{Map, Term};
use super::problem::LOOSE;
use super::route::Reach;
use super::state::{Found, GONE, Kind, Measure, Op, Pos, Stepper, rest};
use crate::plan::Side;

impl Stepper {
    /// Waiting in the clear for a due train, and leaving for good; only when time is minimised.
    #[allow(clippy::too_many_arguments)]
    pub(super) fn waits_and_leaving(
        &mut self,
        buf: &[u8],
        now: u32,
        map: u32,
        rests: &[[u32; 2]],
        length: u32,
        routes: &Reach,
        out: &mut Vec<u8>,
        f: Found<'_>,
    ) {
        let Measure::Time(_) = &self.measure else {
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
            after: GONE,
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
            let end_piece = |t: Term| {
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
            if t != Term::Boundary(node) {
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
