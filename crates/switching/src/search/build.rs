//! From a row of states to a plan that names cars, tracks and stops.

use super::clear::leaving_positions;
use super::map::{Map, Term};
use super::problem::{LOOSE, rev};
use super::route::{Slide, reach, slide_effort};
use super::state::{Kind, Measure, Op, Pos, Stepper, rest};
use crate::plan::{Handling, Leaving, Leg, Move, Plan, Side, Stand};
use crate::rates::{Effort, Rates};
use crate::town::{Length, NodeId, PlaceId, TrackId};
use crate::work::CarId;

/// Builds the plan. `keys` are the states found, in the search's own measure (`searched`);
/// `s` is a stepper that minimises time, used to choose the quickest run for each move.
pub(crate) fn build(
    searched: &mut Stepper,
    s: &mut Stepper,
    rates: &Rates,
    keys: &[Vec<u8>],
) -> Option<Plan> {
    let mut here = s.start.clone();
    let mut items: Vec<Vec<u16>> = s.start_items.clone();
    let mut now = 0u32;
    let mut moves = vec![];
    let mut leaving = None;
    let exact = matches!(searched.measure, Measure::Time(_));
    for key in &keys[1..] {
        // Every way to make this move; the quickest counts.
        let mut best: Option<(u32, Op, Vec<u8>)> = None;
        s.successors(&here, now, &mut |_, succ, cost, op| {
            let same = if exact {
                succ == &key[..]
            } else {
                let mut named = succ.to_vec();
                searched.canonical(&mut named);
                named == *key
            };
            if same && best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, op, succ.to_vec()));
            }
        });
        let (cost, op, succ) = best?;
        let (legs, run) = legs(
            s,
            rates,
            &here,
            Pos {
                path: op.path,
                o: op.o,
                x: op.x,
            },
        )?;
        let effort = run + s.handling_effort(&here, &op);
        match op.kind {
            Kind::Leave => {
                let boundary = s.p.departure?.0;
                leaving = Some(Leaving {
                    legs,
                    boundary: NodeId(boundary),
                    effort,
                });
            }
            _ => {
                let handling = handle(s, &here, &succ, &op, &mut items, now + cost);
                moves.push(Move {
                    legs,
                    handling,
                    effort,
                });
            }
        }
        now += cost;
        here = succ;
    }
    if leaving.is_none()
        && let Some((boundary, _)) = s.p.departure
    {
        // The quickest way out.
        let map = s.map_of(&here);
        let rests = s.rests_of(&here)?;
        let length = s.train_len(&here);
        let r = reach(
            &s.p,
            &s.maps[map as usize],
            &rests,
            length,
            s.pos(&here),
            rates,
        );
        let out = leaving_positions(s, &here, map, &rests, length, r.paths());
        let m = &s.maps[map as usize];
        let to = out
            .into_iter()
            .filter_map(|pos| r.cost_to(&s.p, m, &rests, pos).map(|c| (c.0, pos)))
            .min_by_key(|x| x.0)?
            .1;
        let (legs, effort) = legs(s, rates, &here, to)?;
        leaving = Some(Leaving {
            legs,
            boundary: NodeId(boundary),
            effort,
        });
    }
    Some(Plan { moves, leaving })
}

fn side(side: u8) -> Side {
    if side == 0 { Side::Front } else { Side::Rear }
}

/// Moves the real cars and describes what was done.
fn handle(
    s: &Stepper,
    here: &[u8],
    succ: &[u8],
    op: &Op,
    items: &mut [Vec<u16>],
    until: u32,
) -> Handling {
    let np = s.np();
    let (place, k) = (op.place as usize, op.k as usize);
    let cars = |v: &[u16]| v.iter().map(|&i| CarId(i)).collect::<Vec<_>>();
    match op.kind {
        Kind::Couple => {
            // From the train outward.
            let mut cut: Vec<u16> = if op.end == 0 {
                items[place].drain(..k).collect()
            } else {
                let m = items[place].len();
                items[place].drain(m - k..).rev().collect()
            };
            let taken = cars(&cut);
            if op.side == 0 {
                cut.reverse();
                items[np].splice(0..0, cut);
            } else {
                items[np].extend(cut);
            }
            Handling::Couple {
                place: PlaceId(place as u16),
                end: op.end,
                side: side(op.side),
                cars: taken,
            }
        }
        Kind::SetOut => {
            let mut cut: Vec<u16> = if op.side == 0 {
                items[np].drain(..k).rev().collect()
            } else {
                let m = items[np].len();
                items[np].drain(m - k..).collect()
            };
            let left = cars(&cut);
            let group = s.group(succ, place);
            let n = group.len();
            let at = (0..k)
                .map(|j| {
                    let i = if op.end == 0 {
                        group.start + j
                    } else {
                        group.start + n - 1 - j
                    };
                    let at = s.at(succ, i);
                    (at != LOOSE).then_some(Length::from(at))
                })
                .collect();
            if op.end == 0 {
                items[place].splice(0..0, cut);
            } else {
                cut.reverse();
                items[place].extend(cut);
            }
            Handling::SetOut {
                place: PlaceId(place as u16),
                end: op.end,
                side: side(op.side),
                cars: left,
                at,
                brakes: if s.p.places[place].on_grade { k } else { 0 },
            }
        }
        Kind::Change { to_place, to_end } => {
            let mut train = std::mem::take(&mut items[np]);
            let n = train.len();
            // Deepest is the handling side.
            if (op.end == 0) == (op.side == 0) {
                train.reverse();
            }
            if op.end == 0 {
                items[place].splice(0..0, train);
            } else {
                items[place].extend(train);
            }
            let q = to_place as usize;
            let at = if to_end == 0 { 0 } else { items[q].len() - 1 };
            let engine = items[q].remove(at);
            items[np] = vec![engine];
            Handling::ChangeEngine {
                place: PlaceId(place as u16),
                end: op.end,
                side: side(op.side),
                brakes: if s.p.places[place].on_grade { n } else { 0 },
                to_place: PlaceId(u16::from(to_place)),
                to_end,
            }
        }
        Kind::Wait | Kind::Leave => Handling::Wait {
            due: s.epoch(here),
            until_s: until.div_ceil(100),
        },
    }
}

fn legs(s: &mut Stepper, rates: &Rates, here: &[u8], to: Pos) -> Option<(Vec<Leg>, Effort)> {
    let map_no = s.map_of(here);
    let rests = s.rests_of(here)?;
    let length = s.train_len(here);
    let map = &s.maps[map_no as usize];
    let r = reach(&s.p, map, &rests, length, s.pos(here), rates);
    let slides = r.slides_to(&s.p, map, &rests, to)?;
    let effort = r.cost_to(&s.p, map, &rests, to)?.1;
    let legs = slides
        .into_iter()
        .map(|x| leg(s, map, &rests, length, x))
        .collect();
    debug_assert_eq!(slide_effort(&[], length, 0, 0), Effort::default());
    Some((legs, effort))
}

/// The whole line of a path, with the places at its ends in full, and how far the path's start
/// lies along it.
fn full_line(s: &Stepper, map: &Map, rests: &[[u32; 2]], path: u16) -> (Vec<(u16, u32)>, u32) {
    let q = &map.paths[path as usize];
    let outward = |t: Term| -> Vec<u16> {
        t.face().map_or(vec![], |(i, e)| {
            let h = &s.p.places[i].halves;
            if e == 1 {
                h.clone()
            } else {
                h.iter().rev().map(|&x| rev(x)).collect()
            }
        })
    };
    let start = outward(q.start);
    let shift = q.start.face().map_or(0, |(i, _)| s.p.places[i].len) - rest(rests, q.start);
    let end: Vec<u16> = outward(q.end).into_iter().rev().map(rev).collect();
    let line = start.into_iter().chain(q.halves.iter().copied()).chain(end);
    (line.map(|h| (h, s.p.half_len(h))).collect(), shift)
}

fn leg(s: &Stepper, map: &Map, rests: &[[u32; 2]], length: u32, slide: Slide) -> Leg {
    let (line, shift) = full_line(s, map, rests, slide.path);
    let covered = |from: u32, to: u32| -> (usize, usize, Vec<(u32, u32)>) {
        let mut at = 0;
        let spans: Vec<(u32, u32)> = line
            .iter()
            .map(|&(_, len)| {
                at += len;
                (at - len, at)
            })
            .collect();
        let first = spans.iter().position(|x| x.1 > from).unwrap_or(0);
        let last = spans
            .iter()
            .rposition(|x| x.0 < to)
            .unwrap_or(line.len() - 1);
        (first, last, spans)
    };
    // The front looks to the start of the path unless turned round.
    let list = |first: usize, last: usize| -> Vec<TrackId> {
        let mut v: Vec<TrackId> = line[first..=last]
            .iter()
            .map(|x| TrackId(x.0 / 2))
            .collect();
        if slide.o {
            v.reverse();
        }
        v
    };
    let (a, b) = (
        slide.from.min(slide.to) + shift,
        slide.from.max(slide.to) + shift + length,
    );
    let (first, last, _) = covered(a, b);
    let (from, to) = (slide.to + shift, slide.to + shift + length);
    let (sf, sl, spans) = covered(from, to);
    let front_at = if slide.o {
        spans[sl].1 - to
    } else {
        from - spans[sf].0
    };
    let towards_start = slide.to < slide.from;
    Leg {
        leading: if towards_start == slide.o {
            Side::Rear
        } else {
            Side::Front
        },
        line: list(first, last),
        distance: slide.from.abs_diff(slide.to),
        stop: Stand {
            tracks: list(sf, sl),
            front_at,
        },
    }
}
