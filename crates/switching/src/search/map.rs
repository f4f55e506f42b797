//! Where a train can stand and how it gets from one place to another, given which places are
//! occupied.
//!
//! A *path* is a longest line of free track: it runs from a bumper, a boundary or a standing cut
//! to another, and cannot be prolonged. A train on a path can slide along all of it. It can change
//! from one path to another exactly where both share a run of track long enough to hold the whole
//! train: that is what clearing a switch and reversing means. So the positions a train can reach
//! without handling a car form a component of the graph whose vertices are paths and whose edges
//! are shared runs at least as long as the train.
//!
//! At a standing cut the free rest of its place belongs to the path; its length depends on how
//! much stands there, so lengths are kept as a constant plus such *rests*. Which paths and shared
//! runs exist depends only on which places are occupied, and is computed once for each such set.

use super::problem::{Problem, rev};

/// What stops a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Term {
    /// Bumper, or track that leads nowhere.
    Dead,
    /// A switch fouled by cars that stand across it, or a line that would cross itself.
    Fouled,
    /// A boundary node.
    Boundary(u16),
    /// Cars at a place, seen from one of its ends.
    Face(u8, u8),
}

impl Term {
    pub fn face(self) -> Option<(usize, usize)> {
        match self {
            Self::Face(p, e) => Some((p as usize, e as usize)),
            _ => None,
        }
    }
}

/// Where cars can be handled on a path.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Site {
    pub place: u8,
    /// The end of the place through which the train reaches out.
    pub end: u8,
    /// The train's cut end looks towards the start of the path.
    pub at_start: bool,
    pub occupied: bool,
    /// Track from the far end of the (empty) place to the path's end behind the train, without
    /// the rest there.
    pub room: u32,
    /// What stops the path behind the train.
    pub tail: Term,
    /// Halves of the path that belong to the empty place.
    pub span: (u16, u16),
}

#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub start: Term,
    pub end: Term,
    pub halves: Vec<u16>,
    pub len: u32,
    pub sites: Vec<Site>,
}

/// A run of track shared with another path.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Share {
    pub other: u16,
    /// The other path runs it the opposite way.
    pub flip: bool,
    pub len: u32,
    /// The run also contains the rest at this face.
    pub face: Option<(u8, u8)>,
    /// Where the run lies: halves of this path, and of the other.
    pub here: (u16, u16),
    pub there: (u16, u16),
}

#[derive(Clone, Debug)]
pub(crate) struct Map {
    pub mask: u64,
    pub paths: Vec<Path>,
    pub shares: Vec<Vec<Share>>,
}

impl Map {
    pub fn new(p: &Problem, mask: u64) -> Self {
        let mut occupant: Vec<Option<u8>> = vec![None; p.track_len.len()];
        for (i, place) in p.places.iter().enumerate() {
            if mask >> i & 1 == 1 {
                for h in &place.halves {
                    occupant[*h as usize / 2] = Some(i as u8);
                }
            }
        }
        let face_ahead = |last: u16, next: u16| -> Term {
            // `next` is occupied and follows `last`.
            match occupant[next as usize / 2] {
                Some(q) => (0..2)
                    .find(|&e| {
                        let out = p.places[q as usize].out(e);
                        out == rev(next) && p.next[out as usize].contains(&rev(last))
                    })
                    .map_or(Term::Fouled, |e| Term::Face(q, e)),
                None => Term::Fouled,
            }
        };
        let mut raw: Vec<(Term, Vec<u16>, Term)> = vec![];
        let free = |h: u16| occupant[h as usize / 2].is_none();
        // Prolongs a line in all ways.
        fn grow(
            p: &Problem,
            free: &dyn Fn(u16) -> bool,
            face_ahead: &dyn Fn(u16, u16) -> Term,
            start: Term,
            line: &mut Vec<u16>,
            seen: &mut Vec<u16>,
            raw: &mut Vec<(Term, Vec<u16>, Term)>,
        ) {
            let last = line[line.len() - 1];
            let node = p.head[last as usize];
            if seen.contains(&node) {
                raw.push((start, line.clone(), Term::Fouled));
                return;
            }
            if p.next[last as usize].is_empty() {
                let t = if p.boundary[last as usize] {
                    Term::Boundary(node)
                } else {
                    Term::Dead
                };
                raw.push((start, line.clone(), t));
                return;
            }
            for &n in &p.next[last as usize] {
                if free(n) {
                    seen.push(node);
                    line.push(n);
                    grow(p, free, face_ahead, start, line, seen, raw);
                    line.pop();
                    seen.pop();
                } else {
                    raw.push((start, line.clone(), face_ahead(last, n)));
                }
            }
        }
        for h in 0..p.next.len() as u16 {
            if !free(h) {
                continue;
            }
            let tail_node = p.head[rev(h) as usize];
            let before = &p.next[rev(h) as usize];
            let mut starts: Vec<Term> = vec![];
            if before.is_empty() {
                let b = p.boundary[rev(h) as usize];
                starts.push(if b {
                    Term::Boundary(tail_node)
                } else {
                    Term::Dead
                });
            }
            for &q in before {
                if !free(q) {
                    starts.push(face_ahead(rev(h), q));
                }
            }
            starts.sort_unstable();
            starts.dedup();
            for s in starts {
                grow(
                    p,
                    &free,
                    &face_ahead,
                    s,
                    &mut vec![h],
                    &mut vec![tail_node],
                    &mut raw,
                );
            }
        }
        // Lines of no track at all, between two cuts that meet at a node.
        for (i, place) in p.places.iter().enumerate() {
            if mask >> i & 1 == 0 {
                continue;
            }
            for e in 0..2u8 {
                let out = place.out(e);
                for &n in &p.next[out as usize] {
                    if !free(n) {
                        raw.push((Term::Face(i as u8, e), vec![], face_ahead(out, n)));
                    }
                }
            }
        }
        // Each line was found from both sides: keep one of the two.
        let mut kept: Vec<(Vec<u16>, Term, Term)> = raw
            .into_iter()
            .map(|(s, line, e)| {
                let back: Vec<u16> = line.iter().rev().map(|&h| rev(h)).collect();
                if (&back, e, s) < (&line, s, e) {
                    (back, e, s)
                } else {
                    (line, s, e)
                }
            })
            .collect();
        kept.sort();
        kept.dedup();
        let paths: Vec<Path> = kept
            .into_iter()
            .map(|(halves, start, end)| {
                let len = halves.iter().map(|&h| p.half_len(h)).sum();
                let mut path = Path {
                    start,
                    end,
                    halves,
                    len,
                    sites: vec![],
                };
                path.sites = sites(p, &path);
                path
            })
            .collect();
        let mut shares = vec![vec![]; paths.len()];
        for i in 0..paths.len() {
            for j in 0..paths.len() {
                if i != j {
                    common(p, &paths[i], &paths[j], j as u16, &mut shares[i]);
                }
            }
        }
        Self {
            mask,
            paths,
            shares,
        }
    }

    /// A path that contains this run of halves (from the one given face up to the other, where they
    /// are given), and whether the path runs it the other way.
    pub fn containing(
        &self,
        start: Option<(u8, u8)>,
        run: &[u16],
        end: Option<(u8, u8)>,
    ) -> Option<(u16, bool)> {
        let back: Vec<u16> = run.iter().rev().map(|&h| rev(h)).collect();
        let holds = |halves: &[u16], run: &[u16], start: bool, end: bool| match (start, end) {
            (true, true) => halves == run,
            (true, false) => halves.starts_with(run),
            (false, true) => halves.ends_with(run),
            (false, false) => halves.windows(run.len()).any(|w| w == run),
        };
        let at = |face: Option<(u8, u8)>, term: Term| {
            face.is_none_or(|(place, end)| term == Term::Face(place, end))
        };
        for (i, path) in self.paths.iter().enumerate() {
            let halves = &path.halves;
            let (from, to) = (start.is_some(), end.is_some());
            if at(start, path.start) && at(end, path.end) && holds(halves, run, from, to) {
                return Some((i as u16, false));
            }
            if at(start, path.end) && at(end, path.start) && holds(halves, &back, to, from) {
                return Some((i as u16, true));
            }
        }
        None
    }
}

fn sites(p: &Problem, path: &Path) -> Vec<Site> {
    let mut out = vec![];
    let n = path.halves.len() as u16;
    for (term, at_start, tail) in [(path.start, true, path.end), (path.end, false, path.start)] {
        if let Term::Face(place, end) = term {
            let span = if at_start { (0, 0) } else { (n, n) };
            out.push(Site {
                place,
                end,
                at_start,
                occupied: true,
                room: path.len,
                tail,
                span,
            });
        }
    }
    for (i, place) in p.places.iter().enumerate() {
        let k = place.halves.len();
        let back: Vec<u16> = place.halves.iter().rev().map(|&h| rev(h)).collect();
        for (run, far) in [(&place.halves, 1u8), (&back, 0u8)] {
            let Some(at) = path.halves.windows(k).position(|w| w == run.as_slice()) else {
                continue;
            };
            let sum = |r: &[u16]| r.iter().map(|&h| p.half_len(h)).sum();
            let span = (at as u16, (at + k) as u16);
            // `far` is the end of the place that looks towards the end of the path.
            out.push(Site {
                place: i as u8,
                end: far,
                at_start: true,
                occupied: false,
                room: sum(&path.halves[at..]),
                tail: path.end,
                span,
            });
            out.push(Site {
                place: i as u8,
                end: 1 - far,
                at_start: false,
                occupied: false,
                room: sum(&path.halves[..at + k]),
                tail: path.start,
                span,
            });
        }
    }
    out
}

/// All maximal runs that two paths share.
fn common(p: &Problem, a: &Path, b: &Path, other: u16, out: &mut Vec<Share>) {
    for flip in [false, true] {
        let bh: Vec<u16> = if flip {
            b.halves.iter().rev().map(|&h| rev(h)).collect()
        } else {
            b.halves.clone()
        };
        let (bs, be) = if flip {
            (b.end, b.start)
        } else {
            (b.start, b.end)
        };
        let (na, nb) = (a.halves.len(), bh.len());
        let place_there = |from: usize, to: usize| {
            let (f, t) = if flip {
                (nb - to, nb - from)
            } else {
                (from, to)
            };
            (f as u16, t as u16)
        };
        let same_face = |x: Term, y: Term| match (x, y) {
            (Term::Face(p, e), Term::Face(q, f)) if (p, e) == (q, f) => Some((p, e)),
            _ => None,
        };
        let start_face = same_face(a.start, bs);
        let end_face = same_face(a.end, be);
        let mut i = 0;
        while i < na {
            let Some(j) = bh.iter().position(|&h| h == a.halves[i]) else {
                i += 1;
                continue;
            };
            let mut k = 1;
            while i + k < na && j + k < nb && a.halves[i + k] == bh[j + k] {
                k += 1;
            }
            let face = if i == 0 && j == 0 && start_face.is_some() {
                start_face
            } else if i + k == na && j + k == nb {
                end_face
            } else {
                None
            };
            out.push(Share {
                other,
                flip,
                len: a.halves[i..i + k].iter().map(|&h| p.half_len(h)).sum(),
                face,
                here: (i as u16, (i + k) as u16),
                there: place_there(j, j + k),
            });
            i += k;
        }
        // Both start (or end) at one cut but part at once: the rest alone is shared.
        if start_face.is_some() && (na == 0 || nb == 0 || a.halves[0] != bh[0]) {
            out.push(Share {
                other,
                flip,
                len: 0,
                face: start_face,
                here: (0, 0),
                there: place_there(0, 0),
            });
        }
        if end_face.is_some() && (na == 0 || nb == 0 || a.halves[na - 1] != bh[nb - 1]) {
            out.push(Share {
                other,
                flip,
                len: 0,
                face: end_face,
                here: (na as u16, na as u16),
                there: place_there(nb, nb),
            });
        }
    }
}
