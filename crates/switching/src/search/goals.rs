//! Listing every state in which the work is done, where that is possible, so that a search can
//! also start from the end.

use std::collections::HashSet;

use super::problem::LOOSE;
use super::state::{Pos, Stepper};
use crate::work::Goal;

/// Every goal state, or `None` if there are more than `most`, or if positions matter somewhere.
pub(crate) fn goals(s: &mut Stepper, most: usize) -> Option<Vec<Vec<u8>>> {
    let engines = s.p.classes.iter().filter(|c| c.engine.is_some()).count();
    if s.p.any_marked || engines != 1 {
        return None;
    }
    let mut left = vec![0usize; s.p.classes.len()];
    for &c in &s.p.class_of {
        left[c as usize] += 1;
    }
    let np = s.np();
    let mut found = vec![];
    let mut groups: Vec<Vec<u8>> = vec![vec![]; np + 1];
    // Give up early: contents alone may be too many.
    let ok = fill(s, &mut left, &mut groups, 0, 0, most, &mut found);
    if !ok {
        return None;
    }
    let signs = signs(s);
    let want = {
        let start = s.start.clone();
        signs.as_ref().and_then(|v| facing(s, &start, v))
    };
    let mut out = vec![];
    let mut seen = HashSet::new();
    // Any item of each class stands for it.
    let item_of: Vec<u16> = (0..s.p.classes.len())
        .map(|c| {
            s.p.class_of
                .iter()
                .position(|&x| x as usize == c)
                .unwrap_or(0) as u16
        })
        .collect();
    for g in found {
        let listed: Vec<Vec<(u16, u16)>> = g
            .iter()
            .map(|list| list.iter().map(|&c| (item_of[c as usize], LOOSE)).collect())
            .collect();
        let engine = g[np].iter().position(|&c| s.p.is_engine(c))?;
        let mut buf = s.build(&listed, engine);
        let map = s.map_of(&buf);
        let Some(rests) = s.rests_of(&buf) else {
            continue;
        };
        let length = s.train_len(&buf);
        for path in 0..s.maps[map as usize].paths.len() {
            let q = &s.maps[map as usize].paths[path];
            let total =
                super::state::rest(&rests, q.start) + q.len + super::state::rest(&rests, q.end);
            if total < length {
                continue;
            }
            for o in [false, true] {
                s.set_pos(
                    &mut buf,
                    Pos {
                        path: path as u16,
                        o,
                        x: 0,
                    },
                );
                if let (Some(v), Some(w)) = (&signs, want)
                    && facing(s, &buf, v).is_some_and(|f| f != w)
                {
                    continue;
                }
                let mut named = buf.clone();
                s.canonical(&mut named);
                if !seen.contains(&named) && s.is_goal(&named) {
                    seen.insert(named.clone());
                    out.push(named);
                    if out.len() > most {
                        return None;
                    }
                }
            }
        }
    }
    Some(out)
}

/// Fills the groups one after another with classes whose goal allows it; `false` if too many.
fn fill(
    s: &Stepper,
    left: &mut [usize],
    groups: &mut Vec<Vec<u8>>,
    g: usize,
    used: u32,
    most: usize,
    found: &mut Vec<Vec<Vec<u8>>>,
) -> bool {
    let np = s.np();
    if g == np {
        return fill_train(s, left, groups, most, found);
    }
    // Close this place and go on with the next.
    if !fill(s, left, groups, g + 1, 0, most, found) {
        return false;
    }
    let place = &s.p.places[g];
    if place.clear_at_end {
        return true;
    }
    let shared = |q: usize| {
        s.p.places[q]
            .halves
            .iter()
            .any(|h| place.halves.iter().any(|x| x / 2 == h / 2))
    };
    if groups[g].is_empty() && (0..g).any(|q| !groups[q].is_empty() && shared(q)) {
        return true;
    }
    for c in 0..left.len() {
        let class = &s.p.classes[c];
        if left[c] == 0 || class.engine.is_some() || used + class.len > place.len {
            continue;
        }
        let ok = match &class.goal {
            Goal::Anywhere => true,
            Goal::Track { places, rank } => {
                let last =
                    groups[g]
                        .iter()
                        .rev()
                        .find_map(|&d| match s.p.classes[d as usize].goal {
                            Goal::Track { rank, .. } => rank,
                            _ => None,
                        });
                places.iter().any(|p| p.index() == g)
                    && (last.is_none() || rank.is_none() || last <= *rank)
            }
            _ => false,
        };
        if ok {
            left[c] -= 1;
            groups[g].push(c as u8);
            let more = fill(s, left, groups, g, used + class.len, most, found);
            groups[g].pop();
            left[c] += 1;
            if !more {
                return false;
            }
        }
    }
    true
}

fn fill_train(
    s: &Stepper,
    left: &mut [usize],
    groups: &mut Vec<Vec<u8>>,
    most: usize,
    found: &mut Vec<Vec<Vec<u8>>>,
) -> bool {
    let np = s.np();
    let remaining: usize = left.iter().sum();
    if remaining == 0 {
        found.push(groups.clone());
        return found.len() <= most;
    }
    for c in 0..left.len() {
        let class = &s.p.classes[c];
        if left[c] == 0 {
            continue;
        }
        let fits = class.engine.is_some()
            || match class.goal {
                Goal::Leave { .. } | Goal::Anywhere => true,
                Goal::Track { .. } | Goal::Spot { .. } => return true,
            };
        // The engine of a departing train is first or last.
        let at_end = groups[np].is_empty() || remaining == 1;
        if !fits || (class.engine.is_some() && s.p.departure.is_some() && !at_end) {
            continue;
        }
        left[c] -= 1;
        groups[np].push(c as u8);
        let more = fill_train(s, left, groups, most, found);
        groups[np].pop();
        left[c] += 1;
        if !more {
            return false;
        }
    }
    true
}

/// A direction for every half such that every through movement keeps it, or `None` if some track
/// lets a train turn round.
fn signs(s: &Stepper) -> Option<Vec<bool>> {
    let n = s.p.next.len();
    let mut sign: Vec<Option<bool>> = vec![None; n];
    for first in 0..n {
        if sign[first].is_some() {
            continue;
        }
        let mut open = vec![(first, true)];
        while let Some((h, v)) = open.pop() {
            match sign[h] {
                Some(x) if x != v => return None,
                Some(_) => continue,
                None => {}
            }
            sign[h] = Some(v);
            open.push((h ^ 1, !v));
            open.extend(s.p.next[h].iter().map(|&g| (g as usize, v)));
        }
    }
    sign.into_iter().collect()
}

/// Which way the front looks.
fn facing(s: &mut Stepper, buf: &[u8], signs: &[bool]) -> Option<bool> {
    let map = s.map_of(buf);
    let pos = s.pos(buf);
    let path = &s.maps[map as usize].paths[pos.path as usize];
    let along = match path.halves.first() {
        Some(&h) => signs[h as usize],
        None => {
            let (p, e) = path.start.face()?;
            signs[s.p.places[p].out(e as u8) as usize]
        }
    };
    // With `o` the rear looks to the start, so the front looks along the path.
    Some(along == pos.o)
}
