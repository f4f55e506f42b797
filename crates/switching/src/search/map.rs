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

use std::cmp::Reverse;
use std::sync::{Arc, Mutex};

use super::problem::{Problem, rev};
use super::store::Quick;

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

/// From one path to another, if the run they share holds the train.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Over {
    pub other: u16,
    /// The other path runs it the opposite way.
    pub flip: bool,
    pub len: u32,
    /// The rest at this face belongs to the run.
    pub face: Option<(u8, u8)>,
}

#[derive(Clone, Debug)]
pub(crate) struct Map {
    pub mask: u64,
    pub paths: Vec<Path>,
    pub shares: Vec<Vec<Share>>,
    /// For each path the shared runs that count for whether a train gets over: those at a cut first, then
    /// for each other path and way round the longest, longest first.
    pub over: Vec<Vec<Over>>,
}

/// Maps that were made for a town, by what is occupied: searches for other work in the same town need not
/// make them again.
pub(crate) type Maps = Arc<Mutex<Quick<u64, Arc<Map>>>>;

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
        let mut whereabouts = Vec::with_capacity(kept.len());
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
                let found = Whereabouts::new(p, &path);
                path.sites = sites(p, &path, &found);
                whereabouts.push(found);
                path
            })
            .collect();
        let mut shares = vec![vec![]; paths.len()];
        for i in 0..paths.len() {
            for j in 0..paths.len() {
                let (a, b) = (&paths[i], &paths[j]);
                if i != j && (whereabouts[i].meets(&whereabouts[j]) || one_cut(a, b)) {
                    common(p, a, b, &whereabouts[j], j as u16, &mut shares[i]);
                }
            }
        }
        let over = shares.iter().map(|list| ways_over(list)).collect();
        Self {
            mask,
            paths,
            shares,
            over,
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

/// Where on a path each half lies. No path runs a half twice.
struct Whereabouts {
    /// Number along the path, or `ABSENT`.
    at: Vec<u16>,
    /// Which tracks the path lies on, a bit for each.
    tracks: Vec<u64>,
}

const ABSENT: u16 = u16::MAX;

impl Whereabouts {
    fn new(p: &Problem, path: &Path) -> Self {
        let mut at = vec![ABSENT; p.next.len()];
        let mut tracks = vec![0; p.next.len().div_ceil(128)];
        for (i, &h) in path.halves.iter().enumerate() {
            at[h as usize] = i as u16;
            tracks[h as usize / 128] |= 1 << (h / 2 % 64);
        }
        Self { at, tracks }
    }

    /// Where a half lies.
    fn of(&self, half: u16) -> Option<usize> {
        let at = self.at[half as usize];
        (at != ABSENT).then_some(at as usize)
    }

    /// Whether two paths lie on some track together.
    fn meets(&self, other: &Self) -> bool {
        self.tracks
            .iter()
            .zip(&other.tracks)
            .any(|(a, b)| a & b != 0)
    }
}

/// The runs that matter for getting over from one path to others.
fn ways_over(shares: &[Share]) -> Vec<Over> {
    let mut over: Vec<Over> = shares
        .iter()
        .map(|s| Over {
            other: s.other,
            flip: s.flip,
            len: s.len,
            face: s.face,
        })
        .collect();
    over.sort_by_key(|o| (o.face.is_none(), Reverse(o.len), o.other, o.flip));
    let mut seen = vec![];
    over.retain(|o| {
        let new = o.face.is_some() || !seen.contains(&(o.other, o.flip));
        if o.face.is_none() && new {
            seen.push((o.other, o.flip));
        }
        new
    });
    over
}

/// Whether two paths end at the same cut.
fn one_cut(a: &Path, b: &Path) -> bool {
    [a.start, a.end]
        .iter()
        .any(|t| t.face().is_some() && (*t == b.start || *t == b.end))
}

fn sites(p: &Problem, path: &Path, found: &Whereabouts) -> Vec<Site> {
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
        for far in [1u8, 0] {
            // The place's halves as a train runs them that comes by the end other than `far`.
            let run = |j: usize| match far {
                1 => place.halves[j],
                _ => rev(place.halves[k - 1 - j]),
            };
            let Some(at) = found
                .of(run(0))
                .filter(|at| at + k <= path.halves.len())
                .filter(|at| (1..k).all(|j| path.halves[at + j] == run(j)))
            else {
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

/// All maximal runs that two paths share; `found` is where the halves of `b` lie.
fn common(p: &Problem, a: &Path, b: &Path, found: &Whereabouts, other: u16, out: &mut Vec<Share>) {
    let (na, nb) = (a.halves.len(), b.halves.len());
    for flip in [false, true] {
        // The other path's halves, the other way round if it runs so.
        let there = |j: usize| match flip {
            true => rev(b.halves[nb - 1 - j]),
            false => b.halves[j],
        };
        let position = |h: u16| match flip {
            true => found.of(rev(h)).map(|at| nb - 1 - at),
            false => found.of(h),
        };
        let (bs, be) = if flip {
            (b.end, b.start)
        } else {
            (b.start, b.end)
        };
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
            let Some(j) = position(a.halves[i]) else {
                i += 1;
                continue;
            };
            let mut k = 1;
            while i + k < na && j + k < nb && a.halves[i + k] == there(j + k) {
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
        if start_face.is_some() && (na == 0 || nb == 0 || a.halves[0] != there(0)) {
            out.push(Share {
                other,
                flip,
                len: 0,
                face: start_face,
                here: (0, 0),
                there: place_there(0, 0),
            });
        }
        if end_face.is_some() && (na == 0 || nb == 0 || a.halves[na - 1] != there(nb - 1)) {
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
